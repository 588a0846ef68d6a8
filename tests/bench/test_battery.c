#include "bench/battery.h"
#include "bench/near.h"
#include "support/random.h"

#define AT ((80 + 459.67) * 5 / 9) /* 26.7 degC, 80 degF */

static const cw_charge_table *usual(void)
{
    return cw_charge_table_find("usual");
}

/* Half way between two points of the table is half way in charge. */
Test(battery, between_the_points)
{
    NEAR(cw_battery_charge(usual(), 12.55, AT, 0), 0.875, 1e-9);
    NEAR(cw_battery_charge(usual(), 11.975, AT, 0), 0.125, 1e-9);
    NEAR(cw_battery_charge(usual(), 13.1, AT, 0), 1, 1e-12);
    cr_assert_eq(cw_battery_charge(usual(), 11, AT, 0), 0);
    cr_assert(isnan(cw_battery_charge(usual(), NAN, AT, 0)));
    cr_assert(isnan(cw_battery_charge(usual(), -12, AT, 0)));
}

/* 20 K colder with 2.5 mV/K: a full battery rests 50 mV lower. The sign is the one a maker's page works
 * out: 12.53 V at 30 degF is full, as is 12.698 V at 100 degF. */
Test(battery, cold_lowers_rested_volts)
{
    NEAR(cw_battery_charge(usual(), 12.40, AT - 20, CW_RESTED_SLOPE), 0.75, 1e-9);
    NEAR(cw_battery_charge(usual(), 12.53, ((30 + 459.67) * 5 / 9), 0.024 * 9 / 50), 1, 1e-9);
    cr_assert_lt(cw_battery_charge(usual(), 12.64, 310.9278, 0.024 * 9 / 50), 0.95);
}

Test(battery, volts_and_charge_turn_round)
{
    random_state random = random_start(11);
    for (size_t i = 0; cw_charge_table_at(i) != NULL; i++) {
        const cw_charge_table *table = cw_charge_table_at(i);
        double least = table->points[table->count - 1].charge;
        for (int round = 0; round < 300; round++) {
            double charge = random_between(&random, least, 1);
            double at = random_between(&random, 250, 320);
            double volts = cw_battery_volts(table, charge, at, CW_RESTED_SLOPE);
            cr_assert_leq(fabs(cw_battery_charge(table, volts, at, CW_RESTED_SLOPE) - charge), 1e-9);
        }
        cr_assert(isnan(cw_battery_volts(table, 1.1, AT, 0)));
        cr_assert(isnan(cw_battery_volts(table, -0.1, AT, 0)));
    }
    cr_assert_null(cw_charge_table_find("other"));
}

/* 60 Ah, full, to half, at 50 mA: 30 Ah / 0.05 A = 600 h = 25 days. */
Test(battery, lasts)
{
    NEAR(cw_battery_lasts(60 * 3600, 1, 0.5, 0.05), 25 * 86400.0, 1e-12);
    cr_assert_eq(cw_battery_lasts(60 * 3600, 0.4, 0.5, 0.05), 0);
    NEAR(cw_battery_lasts(60 * 3600, 1, 0, 0.05), 50 * 86400.0, 1e-12);
    cr_assert_eq(cw_battery_lasts(60 * 3600, 0, 0, 0.05), 0);
    cr_assert_eq(cw_battery_lasts(60 * 3600, 1, 1, 0.05), 0);
    cr_assert(isnan(cw_battery_lasts(60 * 3600, 1, 1.1, 0.05)));
    cr_assert(isnan(cw_battery_lasts(60 * 3600, 1, -0.1, 0.05)));
    cr_assert(isnan(cw_battery_lasts(60 * 3600, -0.1, 0, 0.05)));
    cr_assert_eq(cw_battery_charge(usual(), 0, AT, 0), 0);
    cr_assert(isinf(cw_battery_lasts(60 * 3600, 1, 0.5, 0)));
    cr_assert(isnan(cw_battery_lasts(0, 1, 0.5, 0.05)));
    cr_assert(isnan(cw_battery_lasts(60 * 3600, 1.2, 0.5, 0.05)));
    cr_assert(isnan(cw_battery_lasts(60 * 3600, 1, 0.5, -0.05)));
}
