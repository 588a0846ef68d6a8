/* Traces of the bridge as rectifier.h solves it and as paper has it; what is no ripple; memory. */
#include "bench/rectifier.h"
#include "bench/trace.h"
#include "near.h"
#include "support/failing.h"
#include "support/random.h"
#include <string.h>

enum { COUNT = 2000, STEPS = 720 };
static double times[COUNT], volts[COUNT];
static const cw_trace_setup blind = {NAN, 0, 100, 2000};

static cw_trace_reading read_trace(const cw_trace_setup *setup)
{
    cw_trace_reading reading;
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_trace_read(arena, times, volts, COUNT, setup, &reading), CW_OK);
    cw_arena_free(arena);
    return reading;
}

/* One period, again and again at a frequency: `periods` of them, even samples. */
static void repeat(const double *wave, double frequency, double periods, double noise)
{
    random_state random = random_start(3);
    for (size_t i = 0; i < COUNT; i++) {
        double turn = periods * (double)i / COUNT;
        times[i] = turn / frequency;
        double place = (turn - floor(turn)) * STEPS;
        size_t k = (size_t)place % STEPS;
        volts[i] = wave[k] + (wave[(k + 1) % STEPS] - wave[k]) * (place - floor(place)) +
                   noise * random_between(&random, -1, 1);
    }
}

static void solve(int diode_open, int diode_shorted, int phase_open, double *wave)
{
    cw_rectifier bridge = {CW_WYE, 14, 500, 0.03, 50e-6, 100, cw_diode_silicon(), 12.6, 0.02, 0.7, {0}, {0}};
    cw_rectified out;
    bridge.diodes[4] = diode_open ? CW_PART_OPEN : diode_shorted ? CW_PART_SHORTED : CW_PART_GOOD;
    bridge.windings[1] = phase_open ? CW_PART_OPEN : CW_PART_GOOD;
    cr_assert_eq(cw_rectifier_solve(&bridge, STEPS, wave, &out), CW_OK);
}

Test(trace, every_state_of_a_bridge_on_a_battery)
{
    double wave[STEPS];
    static const struct {
        int open, shorted, phase;
        cw_trace_state state;
    } cases[] = {{0, 0, 0, CW_TRACE_healthy},
                 {1, 0, 0, CW_TRACE_diode_open},
                 {0, 1, 0, CW_TRACE_diode_shorted},
                 {0, 0, 1, CW_TRACE_phase_open}};
    for (size_t i = 0; i < 4; i++) {
        solve(cases[i].open, cases[i].shorted, cases[i].phase, wave);
        for (double frequency = 200; frequency < 900; frequency *= 1.7) {
            repeat(wave, frequency, 7.3, 0.01);
            cw_trace_reading reading = read_trace(&blind);
            cr_expect_eq(reading.state, cases[i].state, "%s at %g Hz is %s", cw_trace_name(cases[i].state),
                         frequency, cw_trace_name(reading.state));
            NEAR(reading.frequency, frequency, 2e-3);
            NEAR(reading.periods, 7.3, 5e-3);
        }
    }
}

/* Clips the wrong way round turn the wave over. With its mean in the trace that is seen and set right; a
 * scope coupled by a condenser shows no mean, and what would then be another fault is left open. */
Test(trace, clips_the_wrong_way_round_make_no_other_fault)
{
    double wave[STEPS], mean = 0;
    static const cw_trace_state states[] = {CW_TRACE_healthy, CW_TRACE_diode_open, CW_TRACE_diode_shorted,
                                            CW_TRACE_phase_open};
    for (int state = 0; state < 4; state++) {
        solve(state == 1, state == 2, state == 3, wave);
        repeat(wave, 400, 7.3, 0.01);
        mean = 0;
        for (size_t i = 0; i < COUNT; i++) {
            volts[i] = -volts[i];
            mean += volts[i] / COUNT;
        }
        cr_expect_eq(read_trace(&blind).state, states[state], "with its mean: %d", state);
        for (size_t i = 0; i < COUNT; i++)
            volts[i] -= mean;
        cw_trace_reading reading = read_trace(&blind);
        cr_expect(reading.state == states[state] || reading.state == CW_TRACE_unclear, "coupled: %d is %s",
                  state, cw_trace_name(reading.state));
        for (size_t i = 0; i < COUNT; i++)
            volts[i] = -volts[i];
        cr_expect_eq(read_trace(&blind).state, states[state], "coupled, the right way round: %d", state);
        if (state == 1)
            cr_expect_eq(reading.doubt, CW_TRACE_EITHER_WAY);
    }
}

/* references: a bridge of ideal diodes on 100 V of phase: once 49.99, twice 36.75, three times 20.67, six
 * times 7.87 V with a diode open (ngspice); by paper 1/2, 0.36755, 0.20675, 0.0787 of the peak. */
Test(trace, amplitudes_are_those_on_paper)
{
    static const double paper[] = {0, 50, 36.755, 20.675, 7.351};
    double wave[STEPS];
    for (int i = 0; i < STEPS; i++) {
        double high = -1e9, low = 1e9;
        for (int k = 0; k < 3; k++) {
            double v = 100 * sin(2 * 3.14159265358979323846 * ((double)i / STEPS - k / 3.0));
            high = k > 0 ? fmax(high, v) : high; /* the upper diode of the first phase is open */
            low = fmin(low, v);
        }
        wave[i] = high - low;
    }
    repeat(wave, 300, 6, 0);
    cw_trace_reading reading = read_trace(&blind);
    cr_expect_eq(reading.state, CW_TRACE_diode_open);
    for (int n = 1; n <= 4; n++)
        NEAR(reading.amplitude[n], paper[n], 2e-3);
    cr_expect_lt(reading.amplitude[5], 0.05);
    NEAR(reading.mean, 137.83, 2e-3); /* 5/6 of 165.4 */
}

Test(trace, a_known_speed_is_held_to)
{
    double wave[STEPS];
    solve(0, 0, 1, wave);
    repeat(wave, 400, 8, 0.01);
    cw_trace_setup told = {404, 0.03, 0, 0};
    cw_trace_reading reading = read_trace(&told);
    cr_expect_eq(reading.state, CW_TRACE_phase_open);
    NEAR(reading.frequency, 400, 2e-3);
    told.frequency = 800; /* what repeats at 400 Hz cannot be the ripple of a machine at 800 */
    cr_expect_neq(read_trace(&told).state, CW_TRACE_phase_open);
}

Test(trace, uneven_times_do_no_harm)
{
    double wave[STEPS];
    random_state random = random_start(9);
    solve(1, 0, 0, wave);
    for (size_t i = 0; i < COUNT; i++) {
        double turn = 6.4 * ((double)i + random_between(&random, -0.4, 0.4)) / COUNT;
        times[i] = turn / 300;
        volts[i] = wave[(size_t)((turn + 1) * STEPS) % STEPS];
    }
    cw_trace_reading reading = read_trace(&blind);
    cr_expect_eq(reading.state, CW_TRACE_diode_open);
    NEAR(reading.frequency, 300, 2e-3);
}

Test(trace, what_is_no_ripple_is_not_called_one)
{
    random_state random = random_start(1);
    for (size_t i = 0; i < COUNT; i++) {
        times[i] = (double)i * 1e-5;
        volts[i] = random_between(&random, 12, 13);
    }
    cw_trace_reading reading = read_trace(&blind);
    cr_expect_eq(reading.state, CW_TRACE_unclear);
    cr_expect_eq(reading.doubt, CW_TRACE_NO_LINES);
    for (size_t i = 0; i < COUNT; i++)
        volts[i] = (i / 50) % 2 != 0 ? 14 : 12; /* a square wave */
    reading = read_trace(&blind);
    cr_expect_eq(reading.state, CW_TRACE_unclear, "%s", cw_trace_name(reading.state));
    cr_expect_eq(reading.doubt, CW_TRACE_LIKE_NONE);
    double wave[STEPS];
    solve(1, 0, 0, wave);
    repeat(wave, 300, 2.4, 0);
    cr_expect_eq(read_trace(&blind).state, CW_TRACE_unclear);
}

Test(trace, bad_calls_are_told)
{
    cw_trace_reading out;
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    for (size_t i = 0; i < COUNT; i++)
        times[i] = (double)i;
    cw_trace_setup upside = {NAN, 0, 2000, 100}, wide = {300, 0.5, 0, 0};
    cr_expect_eq(cw_trace_read(arena, times, volts, CW_TRACE_LEAST - 1, &blind, &out), CW_BAD_CALL);
    cr_expect_eq(cw_trace_read(arena, times, volts, COUNT, NULL, &out), CW_BAD_CALL);
    cr_expect_eq(cw_trace_read(arena, times, volts, COUNT, &upside, &out), CW_BAD_CALL);
    cr_expect_eq(cw_trace_read(arena, times, volts, COUNT, &wide, &out), CW_BAD_CALL);
    times[100] = times[99];
    cr_expect_eq(cw_trace_read(arena, times, volts, COUNT, &blind, &out), CW_BAD_CALL);
    times[100] = 100;
    volts[7] = NAN;
    cr_expect_eq(cw_trace_read(arena, times, volts, COUNT, &blind, &out), CW_BAD_CALL);
    cw_arena_free(arena);
}

Test(trace, memory_may_fail_anywhere)
{
    double wave[STEPS];
    solve(1, 0, 0, wave);
    repeat(wave, 300, 12, 0.01);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        cw_trace_reading out;
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        cw_status status =
            arena != NULL ? cw_trace_read(arena, times, volts, COUNT, &blind, &out) : CW_NO_MEMORY;
        cw_arena_free(arena);
        cr_assert_eq(failing_bytes(&memory), 0);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        if (!memory.refused)
            break;
    }
}
