#include "bench/cable.h"
#include "bench/near.h"
#include "support/random.h"

#define TWENTY 293.15

/* By the definition: gauge 36 is 0.127 mm, 4/0 is 11.684 mm, 92 times that. */
Test(cable, gauge)
{
    NEAR(cw_gauge_diameter(36), 0.127e-3, 1e-12);
    NEAR(cw_gauge_diameter(-3), 0.127e-3 * 92, 1e-12);
    NEAR(cw_gauge_area(8), 8.366e-6, 1e-3);
    for (int gauge = CW_GAUGE_THICKEST; gauge <= CW_GAUGE_THINNEST; gauge++)
        cr_assert_leq(fabs(cw_area_gauge(cw_gauge_area(gauge)) - gauge), 1e-9);
}

/* 10 mm2, 2 m out and 2 m back: 1.7241e-8 x 4 / 10e-6 = 6.8964 mohm; at 90 A 0.62068 V and 55.86 W. */
Test(cable, round_trip)
{
    cw_cable cable = {10e-6, 2, 2, TWENTY, 0};
    cw_cable_loss loss;
    cr_assert_eq(cw_cable_lose(&cable, 90, &loss), CW_OK);
    NEAR(loss.resistance, 6.8964e-3, 1e-9);
    NEAR(loss.drop, 0.620676, 1e-9);
    NEAR(loss.heat, 55.86084, 1e-9);
    cable.sides = 1;
    cr_assert_eq(cw_cable_lose(&cable, 90, &loss), CW_OK);
    NEAR(loss.drop, 0.310338, 1e-9);
    cable.joints = 1e-3;
    cr_assert_eq(cw_cable_lose(&cable, 90, &loss), CW_OK);
    NEAR(loss.drop, 0.400338, 1e-9);
}

Test(cable, area_for_a_drop_loses_that_drop)
{
    random_state random = random_start(8);
    for (int round = 0; round < 300; round++) {
        cw_cable cable = {NAN, random_between(&random, 0.1, 10), 1 + random_below(&random, 2),
                          random_between(&random, 250, 400), random_between(&random, 0, 1e-3)};
        double amps = random_between(&random, 1, 200);
        double drop = cable.joints * amps + random_between(&random, 0.05, 1);
        cable.area = cw_cable_area(&cable, amps, drop);
        cw_cable_loss loss;
        cr_assert_eq(cw_cable_lose(&cable, amps, &loss), CW_OK);
        NEAR(loss.drop, drop, 1e-9);
    }
}

Test(cable, numbers_out_of_bounds_are_refused)
{
    cw_cable good = {10e-6, 2, 2, TWENTY, 0};
    cw_cable_loss loss;
    cw_cable bad[] = {good, good, good, good, good};
    bad[0].area = 0;
    bad[1].length = -1;
    bad[2].sides = 0;
    bad[3].temperature = 20;
    bad[4].joints = -1e-3;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        cr_assert_eq(cw_cable_lose(&bad[i], 90, &loss), CW_BAD_CALL, "%zu", i);
    cr_assert_eq(cw_cable_lose(&good, NAN, &loss), CW_BAD_CALL);
    cr_assert_eq(cw_cable_lose(NULL, 90, &loss), CW_BAD_CALL);
    good.joints = 5e-3;
    cr_assert(isnan(cw_cable_area(&good, 90, 0.45)));
    cr_assert(isnan(cw_cable_area(&good, 0, 0.5)));
}
