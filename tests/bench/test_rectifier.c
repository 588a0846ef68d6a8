#include "bench/near.h"
#include "bench/rectifier.h"
#include "support/random.h"
#include <string.h>

#define PI 3.14159265358979323846

/* As near to ideal as the bounds let it be: 100 V peak, a load of 100 ohm. */
static cw_rectifier ideal(void)
{
    return (cw_rectifier){.winding = CW_WYE,
                          .emf = 100,
                          .frequency = 500,
                          .resistance = 1e-5,
                          .iron = INFINITY,
                          .diode = {CW_DIODE_STRAIGHT, 0, 0, 0, 1e-5},
                          .battery_resistance = INFINITY,
                          .load = 100};
}

/* A unit on a battery. */
static cw_rectifier charging(void)
{
    return (cw_rectifier){.winding = CW_WYE,
                          .emf = 14,
                          .frequency = 500,
                          .resistance = 30e-3,
                          .inductance = 50e-6,
                          .iron = 100,
                          .diode = cw_diode_silicon(),
                          .battery = 12.6,
                          .battery_resistance = 20e-3,
                          .load = 0.7};
}

static cw_rectified solve(const cw_rectifier *r, uint32_t steps)
{
    cw_rectified out;
    cr_assert_eq(cw_rectifier_solve(r, steps, NULL, &out), CW_OK);
    return out;
}

static double ten(random_state *random, double low, double high)
{
    return pow(10, random_between(random, low, high));
}

/* Anything a shop could have on its bench, and some things nobody has. */
static cw_rectifier draw(random_state *random)
{
    cw_rectifier r = {.winding = random_below(random, 2) == 0 ? CW_WYE : CW_DELTA};
    r.emf = ten(random, 0, 2);
    r.frequency = ten(random, 1.5, 3.5);
    r.resistance = ten(random, -3, 0);
    r.inductance = random_below(random, 4) > 0 ? ten(random, -7, -3) : 0;
    r.iron = random_below(random, 2) == 0 ? INFINITY : ten(random, 1, 3);
    r.diode = cw_diode_silicon();
    if (random_below(random, 2) == 0)
        r.diode = (cw_diode){CW_DIODE_STRAIGHT, 0, 0, random_between(random, 0, 1), ten(random, -4, -1)};
    r.battery = random_between(random, 0, 28);
    r.battery_resistance = random_below(random, 3) > 0 ? ten(random, -3, 0) : INFINITY;
    r.load = ten(random, -1, 2);
    for (int k = 0; k < 6; k++)
        r.diodes[k] = random_below(random, 5) > 0 ? CW_PART_GOOD : (cw_part_state)random_below(random, 3);
    for (int k = 0; k < 3; k++)
        r.windings[k] = random_below(random, 6) > 0 ? CW_PART_GOOD : (cw_part_state)random_below(random, 3);
    return r;
}

/* -- Closed forms -- */

/* mean 3 sqrt3 / pi of the peak, 6f 2/35 and 12f 2/143 of the mean, ripple 4.197 %, peak to peak 1 - cos 30
 * deg. */
Test(rectifier, six_pulses)
{
    cw_rectifier r = ideal();
    cw_rectified out = solve(&r, 720);
    double mean = 100 * 3 * sqrt(3) / PI;
    NEAR(out.mean, mean, 1e-4);
    NEAR(out.mean_current, mean / 100, 1e-4);
    NEAR(out.ripple, 0.04197 * mean, 1e-3);
    NEAR(out.peak_to_peak, (1 - sqrt(3) / 2) * 100 * sqrt(3), 1e-4);
    NEAR(out.amplitude[6], mean * 2 / 35, 1e-3);
    NEAR(out.amplitude[12], mean * 2 / 143, 5e-3);
    for (int k = 1; k < 12; k++)
        if (k != 6)
            NEAR(out.amplitude[k], 0, 1e-6);
}

/* The wave without one diode, by Fourier over the gap it leaves: 5/6 of the mean; f is 1/2, the others
 * (2 sqrt3 / pi) (cos 60 - cos 60 k) / (k^2 - 1) of the peak, on top of what a whole bridge has. */
Test(rectifier, any_one_diode_open)
{
    for (int k = 0; k < 6; k++) {
        cw_rectifier r = ideal();
        r.diodes[k] = CW_PART_OPEN;
        cw_rectified out = solve(&r, 720);
        NEAR(out.mean, 100 * 3 * sqrt(3) / PI * 5 / 6, 1e-4);
        NEAR(out.amplitude[1], 50, 1e-3);
        NEAR(out.amplitude[2], 36.755, 1e-3);
        NEAR(out.amplitude[3], 20.675, 1e-3);
        NEAR(out.ripple, 0.3407 * out.mean, 1e-3);
    }
}

static void cr_assert_two_pulses(const cw_rectifier *r)
{
    cw_rectified out = solve(r, 720);
    NEAR(out.mean, 100 * sqrt(3) * 2 / PI, 1e-4);
    NEAR(out.amplitude[1], 0, 1e-3);
    NEAR(out.amplitude[2], out.mean * 2 / 3, 1e-3);
    NEAR(out.ripple, out.mean * 0.4834, 1e-3);
}

Test(rectifier, a_winding_or_a_leg_open_leaves_full_waves_of_one_pair)
{
    for (int k = 0; k < 3; k++) {
        cw_rectifier r = ideal();
        r.windings[k] = CW_PART_OPEN;
        cr_assert_two_pulses(&r);
        r = ideal();
        r.diodes[k] = r.diodes[k + 3] = CW_PART_OPEN;
        cr_assert_two_pulses(&r);
    }
}

Test(rectifier, two_diodes_of_a_bank_open_leave_half)
{
    for (int k = 0; k < 6; k++) {
        cw_rectifier r = ideal();
        r.diodes[k] = r.diodes[k / 3 * 3 + (k + 1) % 3] = CW_PART_OPEN;
        cw_rectified out = solve(&r, 720);
        NEAR(out.mean, 100 * 3 * sqrt(3) / PI / 2, 1e-4);
        NEAR(out.amplitude[2], 0, 0.02);
        cr_assert_geq(out.amplitude[1], 99);
    }
}

/* One pair of windings onto a battery, no inductance: current flows while sqrt3 E |sin| is above the battery,
 * through two windings, two diodes and the battery. */
Test(rectifier, charging_current_of_one_pair)
{
    cw_rectifier r = ideal();
    r.emf = 12;
    r.resistance = 0.1;
    r.diode.resistance = 0.02;
    r.diode.threshold = 0.7;
    r.load = INFINITY;
    r.battery = 12.6;
    r.battery_resistance = 0.05;
    r.windings[2] = CW_PART_OPEN;
    double peak = sqrt(3) * 12;
    double against = 12.6 + 1.4;
    double from = asin(against / peak);
    double around = 2 * 0.1 + 2 * 0.02 + 0.05;
    double wanted = (2 * peak * cos(from) - against * (PI - 2 * from)) / PI / around;
    NEAR(solve(&r, 2880).mean_current, wanted, 1e-3);
}

/* Plus joined to minus: each winding's current is a sine against its impedance and one diode, and the
 * positive halves of the three make 3 / pi of the peak. */
Test(rectifier, short_circuit_through_inductance)
{
    cw_rectifier r = ideal();
    r.resistance = 0.03;
    r.inductance = 50e-6;
    r.diode.resistance = 0.005;
    r.load = 1e-6;
    double peak = 100 / hypot(0.035, 2 * PI * 500 * 50e-6);
    cw_rectified out = solve(&r, 720);
    NEAR(out.winding_current[0], peak / sqrt(2), 2e-3);
    NEAR(out.winding_current[2], peak / sqrt(2), 2e-3);
    NEAR(out.mean_current, 3 * peak / PI, 2e-3);
    NEAR(out.copper, 3 * 0.03 * peak * peak / 2, 4e-3);
}

/* Below cut-in nothing comes; the battery alone feeds the load. */
Test(rectifier, below_cut_in)
{
    cw_rectifier r = charging();
    r.emf = 3;
    cw_rectified out = solve(&r, 720);
    NEAR(out.mean, 12.6 * 0.7 / 0.72, 1e-4);
    cr_assert_leq(fabs(out.mean_current), 1e-3);
    cr_assert_leq(out.peak_to_peak, 1e-4);
}

/* A battery above all peaks keeps the diodes shut; the iron across three windings then takes 3 E^2 / 2 over
 * its resistance, and the windings' own resistance carries that alone. */
Test(rectifier, iron_takes_its_share)
{
    cw_rectifier r = ideal();
    r.battery = 400;
    r.battery_resistance = 0.02;
    r.iron = 50;
    for (int delta = 0; delta < 2; delta++) {
        r.winding = delta == 1 ? CW_DELTA : CW_WYE;
        cw_rectified out = solve(&r, 720);
        NEAR(out.iron, 3 * 100 * 100 / 2.0 / 50, 1e-5);
        NEAR(out.given, out.iron, 1e-3); /* and the diodes leak */
        NEAR(out.winding_current[1], 2 / sqrt(2), 1e-4);
    }
}

/* A winding bridged from end to end drives its current round through 1 mohm and itself. */
Test(rectifier, shorted_winding)
{
    cw_rectifier r = ideal();
    r.resistance = 0.03;
    r.inductance = 50e-6;
    r.windings[1] = CW_PART_SHORTED;
    double round = 100 / hypot(0.031, 2 * PI * 500 * 50e-6) / sqrt(2);
    cw_rectified out = solve(&r, 720);
    NEAR(out.winding_current[1], round, 2e-3);
    NEAR(out.iron, round * round * 1e-3, 4e-3);
}

/* -- Properties -- */

/* Each diode of the six in turn, each winding of the three: the same picture, shifted or upside down. */
Test(rectifier, places_are_alike)
{
    for (int delta = 0; delta < 2; delta++)
        for (cw_part_state state = CW_PART_OPEN; state <= CW_PART_SHORTED; state++) {
            cw_rectified first[2];
            for (int k = 0; k < 9; k++) {
                cw_rectifier r = charging();
                r.winding = delta == 1 ? CW_DELTA : CW_WYE;
                r.emf = delta == 1 ? 24 : 14;
                *(k < 6 ? &r.diodes[k] : &r.windings[k - 6]) = state;
                cw_rectified out = solve(&r, 720);
                cw_rectified *like = &first[k < 6 ? 0 : 1];
                if (k == 0 || k == 6)
                    *like = out;
                NEAR(out.mean, like->mean, 1e-6);
                NEAR(out.mean_current, like->mean_current, 1e-5);
                NEAR(out.peak_to_peak, like->peak_to_peak, 1e-4);
                for (int order = 1; order <= 6; order++)
                    cr_assert_leq(fabs(out.amplitude[order] - like->amplitude[order]),
                                  1e-4 * like->peak_to_peak);
            }
        }
}

/* Seen from its terminals a delta is a wye of a third of the impedance and 1 / sqrt3 of the emf, 30 degrees
 * on. */
Test(rectifier, delta_is_a_wye_from_outside)
{
    random_state random = random_start(4);
    for (int round = 0; round < 60; round++) {
        cw_rectifier delta = draw(&random);
        delta.winding = CW_DELTA;
        memset(delta.windings, 0, sizeof delta.windings);
        cw_rectifier wye = delta;
        wye.winding = CW_WYE;
        wye.emf /= sqrt(3);
        wye.resistance /= 3;
        wye.inductance /= 3;
        wye.iron /= 3;
        cw_rectified a = solve(&delta, 720), b = solve(&wye, 720);
        double scale = delta.emf + delta.battery;
        cr_assert_leq(fabs(a.mean - b.mean), 1e-5 * scale, "%d: %g %g", round, a.mean, b.mean);
        cr_assert_leq(fabs(a.peak_to_peak - b.peak_to_peak), 1e-4 * scale, "%d: %g %g", round, a.peak_to_peak,
                      b.peak_to_peak);
        for (int k = 1; k <= 6; k++)
            cr_assert_leq(fabs(a.amplitude[k] - b.amplitude[k]), 1e-4 * scale);
    }
}

/* What the emf gives is what copper, iron, diodes and output take; shares of all that is turned over. */
Test(rectifier, energy_is_kept)
{
    random_state random = random_start(5);
    for (int round = 0; round < 150; round++) {
        cw_rectifier r = draw(&random);
        cw_rectified out = solve(&r, 720);
        double taken = out.copper + out.iron + out.output;
        double turned = fabs(out.given) + out.copper + out.iron + fabs(out.output) + 1e-3;
        for (int k = 0; k < 6; k++) {
            cr_assert_geq(out.diodes[k], 0);
            taken += out.diodes[k];
        }
        cr_assert_leq(fabs(out.given - taken), 2e-3 * turned, "%d: gives %g, takes %g", round, out.given,
                      taken);
    }
}

/* Every case closes, within the bound, and a second run takes the same number of steps to the same figures.
 */
Test(rectifier, every_period_closes_and_repeats)
{
    random_state random = random_start(6);
    for (int round = 0; round < 150; round++) {
        cw_rectifier r = draw(&random);
        cw_rectified one = solve(&r, 180), two = solve(&r, 180);
        cr_assert_leq(one.mismatch, 1e-6);
        cr_assert_leq(one.periods, CW_RECTIFIER_PERIODS);
        cr_assert_eq(memcmp(&one, &two, sizeof one), 0);
    }
}

/* Finer steps come nearer to the finest: where within a step a diode switches is luck, so the bounds are
 * loose. */
Test(rectifier, steps_converge)
{
    const cw_part_state faults[] = {CW_PART_GOOD, CW_PART_OPEN, CW_PART_SHORTED};
    double coarse = 0;
    for (int k = 0; k < 3; k++) {
        cw_rectifier r = charging();
        r.diodes[4] = faults[k];
        double finest = solve(&r, 23040).mean_current;
        coarse += fabs(solve(&r, 90).mean_current / finest - 1);
        cr_assert_lt(fabs(solve(&r, 720).mean_current / finest - 1), 2e-3);
        cr_assert_lt(fabs(solve(&r, 5760).mean_current / finest - 1), 1e-4);
    }
    cr_assert_gt(coarse, 1e-2);
}

/* The volts handed out are those the figures were made of. */
Test(rectifier, wave_and_figures_agree)
{
    static double wave[720];
    cw_rectifier r = charging();
    r.diodes[1] = CW_PART_OPEN;
    cw_rectified out;
    cr_assert_eq(cw_rectifier_solve(&r, 720, wave, &out), CW_OK);
    double mean = 0, least = INFINITY, most = -INFINITY, c = 0, s = 0;
    for (int i = 0; i < 720; i++) {
        mean += wave[i] / 720;
        least = fmin(least, wave[i]);
        most = fmax(most, wave[i]);
        c += wave[i] * cos(2 * PI * 2 * (i + 1) / 720) / 360;
        s += wave[i] * sin(2 * PI * 2 * (i + 1) / 720) / 360;
    }
    NEAR(out.mean, mean, 1e-12);
    NEAR(out.peak_to_peak, most - least, 1e-12);
    NEAR(out.amplitude[2], hypot(c, s), 1e-9);
}

Test(rectifier, healthy_has_no_fault_and_keeps_the_rest)
{
    cw_rectifier r = charging();
    r.diodes[5] = CW_PART_SHORTED;
    r.windings[1] = CW_PART_OPEN;
    cw_rectifier healthy = cw_rectifier_healthy(&r);
    cw_rectifier wanted = charging();
    cw_rectified a = solve(&healthy, 360), b = solve(&wanted, 360);
    cr_assert_eq(a.mean, b.mean);
    cr_assert_eq(a.peak_to_peak, b.peak_to_peak);
}

static void cr_assert_refused(cw_rectifier r)
{
    cw_rectified out;
    cr_assert_eq(cw_rectifier_solve(&r, 720, NULL, &out), CW_BAD_CALL);
}

#define REFUSED(change)                                                                                      \
    do {                                                                                                     \
        cw_rectifier r = charging();                                                                         \
        change;                                                                                              \
        cr_assert_refused(r);                                                                                \
    } while (0)

Test(rectifier, numbers_out_of_bounds_are_refused)
{
    REFUSED(r.emf = -1);
    REFUSED(r.emf = NAN);
    REFUSED(r.frequency = 0);
    REFUSED(r.resistance = 0);
    REFUSED(r.inductance = -1e-6);
    REFUSED(r.inductance = INFINITY);
    REFUSED(r.iron = 0);
    REFUSED(r.diode.resistance = 0);
    REFUSED(r.battery = NAN);
    REFUSED(r.battery_resistance = 0);
    REFUSED(r.load = 0);
    REFUSED(r.diodes[3] = (cw_part_state)3);
    REFUSED(r.windings[2] = (cw_part_state)3);
    REFUSED(r.winding = (cw_winding_kind)2);
    cw_rectifier r = charging();
    cw_rectified out;
    cr_assert_eq(cw_rectifier_solve(&r, CW_RECTIFIER_LEAST - 1, NULL, &out), CW_BAD_CALL);
    cr_assert_eq(cw_rectifier_solve(&r, CW_RECTIFIER_MOST + 1, NULL, &out), CW_BAD_CALL);
    cr_assert_eq(cw_rectifier_solve(NULL, 720, NULL, &out), CW_BAD_CALL);
    cr_assert_eq(cw_rectifier_solve(&r, 720, NULL, NULL), CW_BAD_CALL);
}
