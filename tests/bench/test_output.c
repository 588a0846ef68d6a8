#include "bench/near.h"
#include "bench/output.h"
#include "support/random.h"

/* By hand: cut-in 1000, most 100 A, bend 1/2. At 2000: 100 sqrt(1 - 1/4) = 86.6025; at 1250: 100 sqrt(1 -
 * .64) = 60. */
Test(output, fit_without_cut_in)
{
    cw_output_curve curve;
    cr_assert_eq(cw_output_fit((cw_output_point){1250, 60}, (cw_output_point){2000, 86.602540}, NAN, &curve),
                 CW_OK);
    NEAR(curve.cut_in, 1000, 1e-6);
    NEAR(curve.most, 100, 1e-6);
    NEAR(curve.bend, 0.5, 1e-12);
    NEAR(cw_output_at(&curve, 6000), 98.601, 1e-5); /* sqrt(35 / 36) */
}

/* By hand: with bend 1, cut-in 1000: at 2000 3/4, at 4000 15/16 of the most. */
Test(output, fit_with_cut_in)
{
    cw_output_curve curve;
    cr_assert_eq(cw_output_fit((cw_output_point){2000, 75}, (cw_output_point){4000, 93.75}, 1000, &curve),
                 CW_OK);
    NEAR(curve.bend, 1, 1e-9);
    NEAR(curve.most, 100, 1e-9);
    NEAR(cw_output_at(&curve, 1250), 36, 1e-9);
}

/* The curve printed in one engine's workshop manual for a small unit at 13.5 V, hot: 16 A at 1300, 41 A at
 * 2500, 48 A at 5000 rpm. From the outer two the middle one comes out within 2.5 A. */
Test(output, a_printed_curve)
{
    cw_output_curve curve;
    cr_assert_eq(cw_output_fit((cw_output_point){1300, 16}, (cw_output_point){5000, 48}, NAN, &curve), CW_OK);
    cr_assert_leq(fabs(cw_output_at(&curve, 2500) - 41), 2.5);
    cr_assert(curve.cut_in > 1000 && curve.cut_in < 1300);
}

Test(output, curve_passes_its_points_and_turns_round)
{
    random_state random = random_start(7);
    for (int round = 0; round < 500; round++) {
        cw_output_point low = {random_between(&random, 1200, 2000), random_between(&random, 10, 90)};
        cw_output_point high = {random_between(&random, 3000, 8000), random_between(&random, 91, 200)};
        double cut_in = round % 2 == 0 ? NAN : random_between(&random, 700, 1150);
        cw_output_curve curve;
        cr_assert_eq(cw_output_fit(low, high, cut_in, &curve), CW_OK);
        NEAR(cw_output_at(&curve, low.speed), low.amps, 1e-9);
        NEAR(cw_output_at(&curve, high.speed), high.amps, 1e-9);
        double speed = random_between(&random, curve.cut_in + 10, 9000);
        NEAR(cw_output_speed(&curve, cw_output_at(&curve, speed)), speed, 1e-6);
        cr_assert_leq(cw_output_at(&curve, speed), cw_output_at(&curve, speed + 1));
        cr_assert_eq(cw_output_at(&curve, curve.cut_in * random_unit(&random)), 0);
    }
}

Test(output, nothing_runs_through_such_points)
{
    cw_output_curve curve;
    cw_output_point low = {1500, 50}, high = {6000, 90};
    cr_assert_eq(cw_output_fit(high, low, NAN, &curve), CW_BAD_CALL);
    cr_assert_eq(cw_output_fit(low, (cw_output_point){6000, 50}, NAN, &curve), CW_BAD_CALL);
    cr_assert_eq(cw_output_fit(low, high, 1500, &curve), CW_BAD_CALL);
    cr_assert_eq(cw_output_fit(low, high, 0, &curve), CW_BAD_CALL);
    cr_assert_eq(cw_output_fit((cw_output_point){1500, 0}, high, NAN, &curve), CW_BAD_CALL);
    cr_assert_eq(cw_output_fit(low, high, NAN, NULL), CW_BAD_CALL);
    cr_assert_eq(cw_output_fit(low, high, NAN, &curve), CW_OK);
    cw_output_curve small;
    cr_assert_eq(cw_output_fit((cw_output_point){0.15, 0.05}, (cw_output_point){0.6, 0.09}, NAN, &small),
                 CW_OK);
    NEAR(small.cut_in, curve.cut_in / 1e4, 1e-9); /* the same curve in other units */
    cr_assert(isnan(cw_output_speed(&curve, curve.most)));
    cr_assert(isnan(cw_output_speed(&curve, -1)));
    cr_assert(isnan(cw_output_at(&curve, NAN)));
}

/* f = rpm x pole pairs / 60: 12 poles at 5000 rpm are 500 Hz. */
Test(output, electrical_frequency)
{
    NEAR(cw_electrical_frequency(5000, 12), 500, 1e-12);
    NEAR(cw_electrical_frequency(1500, 16), 200, 1e-12);
    NEAR(cw_speed_from_frequency(500, 12), 5000, 1e-12);
    NEAR(cw_electrical_frequency(3000, 2), 50, 1e-12);
    NEAR(cw_speed_from_frequency(50, 2), 3000, 1e-12);
    cr_assert(isnan(cw_electrical_frequency(5000, 11)));
    cr_assert(isnan(cw_electrical_frequency(5000, 0)));
    cr_assert(isnan(cw_speed_from_frequency(500, 7)));
}
