/* Rib pitches as printed, and the ratio by pitch diameters. */
#include "bench/belt.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>

/* A measured pitch up to a twentieth off still names its profile. */
Test(belts, profiles)
{
    FILE *file = fopen(CW_SOURCE_DIR "/tests/outside/belts/profiles.csv", "r");
    cr_assert_not_null(file);
    char name[8], standard[16], heading[80];
    double pitch;
    int rows = 0;
    cr_assert_not_null(fgets(heading, sizeof heading, file));
    for (; fscanf(file, " %7[^,],%lf,%15[^\n]", name, &pitch, standard) == 3; rows++)
        for (int off = -1; off <= 1; off++) {
            const cw_belt_profile *profile = cw_belt_profile_of(pitch * 1e-3 * (1 + off * 0.05));
            cr_assert_not_null(profile, "%s", name);
            cr_expect_str_eq(profile->name, name);
            cr_expect_str_eq(profile->standard, standard);
            cr_expect_leq(fabs(profile->pitch * 1e3 - pitch), 1e-9);
        }
    fclose(file);
    cr_assert_eq(rows, 5);
}

/* Printed: six ribs are about 21.4 mm or 0.84 in, the pitch 0.140 in. */
Test(belts, six_ribs)
{
    cr_expect_str_eq(cw_belt_profile_of(21.4e-3 / 6)->name, "PK");
    cr_expect_str_eq(cw_belt_profile_of(0.84 * 0.0254 / 6)->name, "PK");
    cr_expect_str_eq(cw_belt_profile_of(0.140 * 0.0254)->name, "PK");
}

/* The effective line of PK lies nominally 2 mm outside: effective 180 and 60 mm turn as 184 to 64. */
Test(belts, ratio)
{
    cr_expect_leq(fabs(cw_pulley_ratio(0.180, 0.060, CW_BELT_LINE) - 2.875), 1e-12);
}
