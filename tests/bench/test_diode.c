#include "bench/diode.h"
#include "bench/near.h"
#include "support/random.h"

static cw_diode draw(random_state *random)
{
    return (cw_diode){CW_DIODE_EXPONENTIAL, pow(10, random_between(random, -15, -5)),
                      pow(10, random_between(random, -3, -1)), 0, pow(10, random_between(random, -5, 0))};
}

/* The law itself, put in: i = saturation * (exp((v - i r) / steepness) - 1). */
Test(diode, current_obeys_the_law)
{
    random_state random = random_start(1);
    for (int round = 0; round < 2000; round++) {
        cw_diode d = draw(&random);
        double slope;
        double v = random_between(&random, -2, 2);
        double i = cw_diode_current(&d, v, &slope);
        double law = d.saturation * expm1((v - i * d.resistance) / d.steepness);
        cr_assert_leq(fabs(law - i), 1e-9 * (fabs(i) + d.saturation) * (1 + fabs(v) / d.steepness), "%g %g",
                      law, i);
    }
}

Test(diode, volts_give_the_current_back)
{
    random_state random = random_start(2);
    for (int round = 0; round < 2000; round++) {
        cw_diode d = draw(&random);
        double slope;
        double i = pow(10, random_between(&random, -3, 2.5));
        NEAR(cw_diode_current(&d, cw_diode_voltage(&d, i), &slope), i, 1e-6);
    }
}

/* Against the difference quotient, and never falling. */
Test(diode, slope_is_the_currents_own)
{
    random_state random = random_start(3);
    for (int round = 0; round < 2000; round++) {
        cw_diode d = draw(&random);
        double slope, other;
        double v = random_between(&random, -0.5, 2);
        double step = d.steepness * 1e-4;
        double rise = cw_diode_current(&d, v + step, &other) - cw_diode_current(&d, v - step, &other);
        cw_diode_current(&d, v, &slope);
        cr_assert_geq(slope, 0);
        cr_assert_leq(fabs(rise / 2 / step - slope), 1e-5 * (slope + d.saturation / d.steepness), "%g %g",
                      rise / 2 / step, slope);
    }
}

Test(diode, far_back_only_the_saturation_current_flows)
{
    cw_diode d = cw_diode_silicon();
    double slope;
    NEAR(cw_diode_current(&d, -100, &slope), -1e-9, 1e-9);
    cr_assert_eq(slope, slope);
    cr_assert_leq(slope, 1e-30);
}

/* By hand: 1.4 x 25.85 mV x ln(50 / 1e-9) = 36.19 mV x 24.6353 = 0.89156 V, and 0.15 V over 3 mohm. */
Test(diode, silicon_at_fifty_amps)
{
    cw_diode d = cw_diode_silicon();
    NEAR(cw_diode_voltage(&d, 50), 1.04156, 1e-5);
}

Test(diode, straight)
{
    cw_diode d = {CW_DIODE_STRAIGHT, 0, 0, 0.7, 0.01};
    double slope;
    cr_assert_eq(cw_diode_current(&d, 0.7, &slope), 0);
    cr_assert_eq(slope, 0);
    NEAR(cw_diode_current(&d, 0.9, &slope), 20, 1e-12);
    NEAR(slope, 100, 1e-12);
    NEAR(cw_diode_voltage(&d, 20), 0.9, 1e-12);
}

Test(diode, bounds)
{
    cw_diode good = cw_diode_silicon();
    cr_assert(cw_diode_sound(&good));
    cw_diode d = good;
    d.resistance = 0;
    cr_assert_not(cw_diode_sound(&d));
    d = good;
    d.saturation = 0;
    cr_assert_not(cw_diode_sound(&d));
    d = good;
    d.steepness = NAN;
    cr_assert_not(cw_diode_sound(&d));
    d = (cw_diode){CW_DIODE_STRAIGHT, 0, 0, -0.1, 0.01};
    cr_assert_not(cw_diode_sound(&d));
    d.threshold = 0;
    cr_assert(cw_diode_sound(&d));
}
