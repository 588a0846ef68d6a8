/* Tones read their own amplitude and frequency, noise its own floor; an envelope is that of the tone's
 * swelling. */
#include "bench/spectrum.h"
#include "near.h"
#include "support/failing.h"
#include "support/random.h"
#include <stdint.h>

#define PI 3.14159265358979323846
enum { COUNT = 20000 };
#define RATE 10000.0

static cw_arena *arena;
static double signal_[COUNT];

static void start(void)
{
    arena = cw_arena_new(&cw_system_allocator);
}

static void stop(void)
{
    cw_arena_free(arena);
}

static void add_tone(double amplitude, double frequency, double turn)
{
    for (size_t i = 0; i < COUNT; i++)
        signal_[i] += amplitude * sin(2 * PI * (frequency * (double)i / RATE + turn));
}

/* What is left of the leakage of the tone's image below 0 Hz and of the other tones is below 1e-6 here. */
Test(spectrum, pure_tones_are_exact_wherever_they_lie, .init = start, .fini = stop)
{
    static const double frequencies[] = {500, 500.1, 500.25, 500.37, 1234.5678, 4321.01};
    for (size_t i = 0; i < sizeof frequencies / sizeof *frequencies; i++) {
        cw_spectrum spectrum;
        memset(signal_, 0, sizeof signal_);
        add_tone(0.7, frequencies[i], 0.1 * (double)i);
        add_tone(0.2, frequencies[i] + 300, 0);
        cr_assert_eq(cw_spectrum_take(arena, signal_, COUNT, RATE, SIZE_MAX, &spectrum), CW_OK);
        cr_assert_eq(spectrum.pieces, 1);
        cw_peak peak = cw_spectrum_peak(&spectrum, frequencies[i] - 20, frequencies[i] + 20);
        NEAR(peak.amplitude, 0.7, 1e-5);
        cr_expect(fabs(peak.frequency - frequencies[i]) < 1e-4, "%.9g for %g", peak.frequency,
                  frequencies[i]);
        peak = cw_spectrum_peak(&spectrum, frequencies[i] + 280, frequencies[i] + 320);
        NEAR(peak.amplitude, 0.2, 1e-5);
    }
}

Test(spectrum, averaging_keeps_the_amplitude, .init = start, .fini = stop)
{
    cw_spectrum spectrum;
    memset(signal_, 0, sizeof signal_);
    add_tone(3, 1000, 0.3);
    for (size_t i = 0; i < COUNT; i++)
        signal_[i] += 42; /* the mean is left out */
    cr_assert_eq(cw_spectrum_take(arena, signal_, COUNT, RATE, 1000, &spectrum), CW_OK);
    cr_expect_eq(spectrum.pieces, 39, "%zu", spectrum.pieces); /* 20000 / 500 - 1 */
    NEAR(spectrum.step, 10, 1e-12);
    NEAR(spectrum.amplitude[100], 3, 1e-9);
    NEAR(spectrum.amplitude[99], 1.5, 1e-9); /* a Hann window's neighbours have half */
    cr_expect_lt(spectrum.amplitude[0], 1e-9);
    cr_expect_lt(spectrum.amplitude[300], 1e-9);
}

/* White noise of variance s2: a line's mean power is 4 s2 sum w2 / (sum w)2 = 6 s2 / n for a Hann window;
 * averaged over many pieces the median is little less. */
Test(spectrum, noise_has_its_floor, .init = start, .fini = stop)
{
    random_state random = random_start(5);
    cw_spectrum spectrum;
    for (size_t i = 0; i < COUNT; i++)
        signal_[i] = random_between(&random, -1, 1); /* variance 1/3 */
    cr_assert_eq(cw_spectrum_take(arena, signal_, COUNT, RATE, 400, &spectrum), CW_OK);
    NEAR(cw_spectrum_floor(&spectrum, 2500, 90), sqrt(6.0 / 3 / 400), 0.05);
}

Test(spectrum, an_envelope_is_how_a_tone_swells, .init = start, .fini = stop)
{
    cw_bands bands;
    double *envelope, rate;
    size_t count;
    for (size_t i = 0; i < COUNT; i++) {
        double t = (double)i / RATE;
        signal_[i] = (1 + 0.5 * cos(2 * PI * 50 * t)) * sin(2 * PI * 3000 * t) + 2 * sin(2 * PI * 700 * t);
    }
    cr_assert_eq(cw_bands_take(arena, signal_, COUNT, RATE, &bands), CW_OK);
    cr_assert_eq(cw_bands_envelope(arena, &bands, 2500, 3500, &envelope, &count, &rate), CW_OK);
    NEAR(rate, 1000, 0.02);
    for (size_t i = 0; i < count; i++)
        cr_assert_float_eq(envelope[i], 1 + 0.5 * cos(2 * PI * 50 * (double)i / rate), 1e-6, "%zu: %g", i,
                           envelope[i]);
}

Test(spectrum, bad_calls_are_told, .init = start, .fini = stop)
{
    cw_spectrum spectrum;
    cw_bands bands;
    double *envelope, rate;
    size_t count;
    cr_expect_eq(cw_spectrum_take(arena, signal_, 15, RATE, 16, &spectrum), CW_BAD_CALL);
    cr_expect_eq(cw_spectrum_take(arena, signal_, COUNT, RATE, 15, &spectrum), CW_BAD_CALL);
    cr_expect_eq(cw_spectrum_take(arena, signal_, COUNT, 0, 100, &spectrum), CW_BAD_CALL);
    cr_expect_eq(cw_bands_take(arena, signal_, 15, RATE, &bands), CW_BAD_CALL);
    cr_assert_eq(cw_bands_take(arena, signal_, COUNT, RATE, &bands), CW_OK);
    cr_expect_eq(cw_bands_envelope(arena, &bands, 3000, 2000, &envelope, &count, &rate), CW_BAD_CALL);
    cr_expect_eq(cw_bands_envelope(arena, &bands, 3000, 5001, &envelope, &count, &rate), CW_BAD_CALL);
    cr_expect_eq(cw_bands_envelope(arena, &bands, 3000, 3005, &envelope, &count, &rate), CW_BAD_CALL);
    cr_assert_eq(cw_spectrum_take(arena, signal_, COUNT, RATE, 400, &spectrum), CW_OK);
    cr_expect(isnan(cw_spectrum_peak(&spectrum, 101, 102).frequency), "no line lies there");
    cr_expect(isnan(cw_spectrum_peak(&spectrum, 6000, 7000).frequency));
}

Test(spectrum, memory_may_fail_anywhere)
{
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        cw_bands bands;
        cw_spectrum spectrum;
        double *envelope, rate;
        size_t count;
        failing_start(&memory, allowed);
        cw_arena *own = cw_arena_new(&memory.allocator);
        cw_status status =
            own != NULL ? cw_spectrum_take(own, signal_, COUNT, RATE, 400, &spectrum) : CW_NO_MEMORY;
        if (status == CW_OK)
            status = cw_bands_take(own, signal_, COUNT, RATE, &bands);
        if (status == CW_OK)
            status = cw_bands_envelope(own, &bands, 100, 3000, &envelope, &count, &rate);
        cw_arena_free(own);
        cr_assert_eq(failing_bytes(&memory), 0);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        if (!memory.refused)
            break;
    }
}
