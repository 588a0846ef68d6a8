/* Rested volts of a 12 V battery against the table that two pages print, one naming the battery makers'
 * council. */
#include "bench/battery.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

#define EIGHTY_F (273.15 + (80 - 32) / 1.8)

Test(battery, rested_volts)
{
    FILE *file = fopen(CW_SOURCE_DIR "/tests/outside/battery/rested.csv", "r");
    cr_assert_not_null(file);
    char heading[80];
    double charge, volts, gravity;
    int rows = 0;
    cr_assert_not_null(fgets(heading, sizeof heading, file));
    const cw_charge_table *table = cw_charge_table_find("usual");
    for (; fscanf(file, "%lf,%lf,%lf", &charge, &volts, &gravity) == 3; rows++) {
        cr_expect_leq(fabs(cw_battery_charge(table, volts, EIGHTY_F, CW_RESTED_SLOPE) - charge / 100), 1e-5);
        cr_expect_leq(fabs(cw_battery_volts(table, charge / 100, EIGHTY_F, CW_RESTED_SLOPE) - volts), 1e-5);
        /* Six cells of a specific gravity's own emf, gravity + 0.845 V (a rule of thumb): within 0.15 V. */
        cr_expect_leq(fabs(volts - 6 * (gravity + 0.845)), 0.15, "%g", volts);
    }
    fclose(file);
    cr_assert_eq(rows, 5);
}

/* The other table that is printed parts from it below half charge, so the two must not be mixed. */
Test(battery, tables_differ_below_half)
{
    const cw_charge_table *usual = cw_charge_table_find("usual"), *other = cw_charge_table_find("magazine");
    cr_expect_leq(fabs(cw_battery_charge(other, 12.66, EIGHTY_F, 0) - 1), 1e-9);
    cr_expect_leq(fabs(cw_battery_charge(other, 12.15, EIGHTY_F, 0) - 0.25), 1e-9);
    cr_expect_geq(cw_battery_charge(usual, 12.15, EIGHTY_F, 0) - cw_battery_charge(other, 12.15, EIGHTY_F, 0),
                  0.1);
}
