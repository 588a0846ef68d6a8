#include "bench/spectrum.h"
#include <assert.h>
#include <fftw3.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

/* FFTW counts in int. */
#define MOST_SAMPLES ((size_t)1 << 30)

/* The nearest count below that has no prime factor above 7: transforms of others cost many times more. */
static size_t smooth_below(size_t count)
{
    static const size_t primes[] = {2, 3, 5, 7};
    for (;; count--) {
        size_t rest = count;
        for (size_t i = 0; i < sizeof primes / sizeof *primes; i++)
            while (rest % primes[i] == 0)
                rest /= primes[i];
        if (rest == 1)
            return count;
    }
}

static double hann(size_t i, size_t count)
{
    return 0.5 - 0.5 * cos(2 * PI * (double)i / (double)count);
}

/* One piece, without its mean and under the window, transformed and added to the powers. */
static void add_piece(const double *signal, size_t piece, fftw_plan plan, double *in, fftw_complex *lines,
                      double *power)
{
    double mean = 0;
    for (size_t i = 0; i < piece; i++)
        mean += signal[i] / (double)piece;
    for (size_t i = 0; i < piece; i++)
        in[i] = (signal[i] - mean) * hann(i, piece);
    fftw_execute(plan);
    for (size_t k = 0; k <= piece / 2; k++)
        power[k] += lines[k][0] * lines[k][0] + lines[k][1] * lines[k][1];
}

cw_status cw_spectrum_take(cw_arena *arena, const double *signal, size_t count, double rate, size_t piece,
                           cw_spectrum *out)
{
    if (count < CW_SPECTRUM_LEAST || piece < CW_SPECTRUM_LEAST || count > MOST_SAMPLES ||
        !(rate > 0 && isfinite(rate)))
        return CW_BAD_CALL;
    piece = smooth_below(piece < count ? piece : count);
    double *in = CW_NEW_ARRAY(arena, double, piece);
    fftw_complex *lines = cw_arena_array(arena, piece / 2 + 1, sizeof *lines);
    double *power = CW_NEW_ARRAY(arena, double, piece / 2 + 1);
    if (in == NULL || lines == NULL || power == NULL)
        return CW_NO_MEMORY;
    fftw_plan plan = fftw_plan_dft_r2c_1d((int)piece, in, lines, FFTW_ESTIMATE);
    if (plan == NULL)
        return CW_NO_MEMORY;
    size_t pieces = 0;
    for (size_t at = 0; at + piece <= count; at += piece - piece / 2, pieces++)
        add_piece(signal + at, piece, plan, in, lines, power);
    fftw_destroy_plan(plan);
    /* The window's mean is a half, and a tone's other half lies at negative frequency. */
    for (size_t k = 0; k <= piece / 2; k++)
        power[k] = sqrt(power[k] / (double)pieces) * 4 / (double)piece;
    *out = (cw_spectrum){power, piece / 2 + 1, rate / (double)piece, pieces};
    return CW_OK;
}

enum { FLOOR_MOST = 100 };

static int rising(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

double cw_spectrum_floor(const cw_spectrum *spectrum, double frequency, size_t lines)
{
    double around[2 * FLOOR_MOST + 1];
    assert(lines <= FLOOR_MOST);
    double at = frequency / spectrum->step;
    size_t middle = at > 0 ? (size_t)(at + 0.5) : 0;
    size_t from = middle > lines ? middle - lines : 0;
    size_t to = middle + lines < spectrum->count ? middle + lines + 1 : spectrum->count;
    if (from >= to)
        return 0;
    memcpy(around, spectrum->amplitude + from, (to - from) * sizeof *around);
    qsort(around, to - from, sizeof *around, rising);
    return around[(to - from) / 2];
}

cw_peak cw_spectrum_peak(const cw_spectrum *spectrum, double low, double high)
{
    const double *a = spectrum->amplitude;
    double from = ceil(low / spectrum->step - 1e-6), to = floor(high / spectrum->step + 1e-6);
    size_t first = from > 1 ? (size_t)from : 1, best = first;
    if (!(to >= (double)first) || first + 1 >= spectrum->count)
        return (cw_peak){NAN, 0, 0};
    for (size_t k = first; (double)k <= to && k + 1 < spectrum->count; k++)
        if (a[k] > a[best])
            best = k;
    double side = a[best + 1] >= a[best - 1] ? 1 : -1;
    double next = side > 0 ? a[best + 1] : a[best - 1];
    cw_peak peak = {(double)best * spectrum->step, a[best], 0};
    peak.floor = cw_spectrum_floor(spectrum, peak.frequency, 40);
    if (a[best] > 0 && next <= a[best]) {
        double off = (2 * next - a[best]) / (next + a[best]);
        peak.frequency += side * off * spectrum->step;
        if (fabs(off) > 1e-9 && fabs(off) < 1)
            peak.amplitude = a[best] * PI * off * (1 - off * off) / sin(PI * off);
    }
    return peak;
}

cw_status cw_bands_take(cw_arena *arena, const double *signal, size_t count, double rate, cw_bands *out)
{
    if (count < CW_SPECTRUM_LEAST || count > MOST_SAMPLES || !(rate > 0 && isfinite(rate)))
        return CW_BAD_CALL;
    count = smooth_below(count);
    double *in = CW_NEW_ARRAY(arena, double, count);
    fftw_complex *lines = cw_arena_array(arena, count / 2 + 1, sizeof *lines);
    if (in == NULL || lines == NULL)
        return CW_NO_MEMORY;
    fftw_plan plan = fftw_plan_dft_r2c_1d((int)count, in, lines, FFTW_ESTIMATE);
    if (plan == NULL)
        return CW_NO_MEMORY;
    memcpy(in, signal, count * sizeof *in);
    fftw_execute(plan);
    fftw_destroy_plan(plan);
    *out = (cw_bands){lines, count / 2 + 1, count, rate};
    return CW_OK;
}

/* Lines at positive frequencies alone, shifted down to begin at 0, are the analytic signal of the band at the
 * band's own rate; its magnitude does not care about the shift. */
cw_status cw_bands_envelope(cw_arena *arena, const cw_bands *bands, double low, double high, double **out,
                            size_t *count, double *rate)
{
    double step = bands->rate / (double)bands->samples;
    if (!(low >= 0 && low < high && high <= bands->rate / 2 * (1 + 1e-9)))
        return CW_BAD_CALL;
    size_t first = (size_t)ceil(low / step - 1e-6), last = (size_t)floor(high / step + 1e-6);
    if (first == 0)
        first = 1; /* the mean is no sound */
    if (last >= bands->count)
        last = bands->count - 1;
    if (last < first || last - first + 1 < CW_SPECTRUM_LEAST)
        return CW_BAD_CALL;
    size_t width = smooth_below(last - first + 1);
    fftw_complex *work = cw_arena_array(arena, width, sizeof *work);
    double *envelope = CW_NEW_ARRAY(arena, double, width);
    if (work == NULL || envelope == NULL)
        return CW_NO_MEMORY;
    fftw_plan plan = fftw_plan_dft_1d((int)width, work, work, FFTW_BACKWARD, FFTW_ESTIMATE);
    if (plan == NULL)
        return CW_NO_MEMORY;
    memcpy(work, bands->lines + first, width * sizeof *work);
    fftw_execute(plan);
    fftw_destroy_plan(plan);
    for (size_t i = 0; i < width; i++)
        envelope[i] = hypot(work[i][0], work[i][1]) * 2 / (double)bands->samples;
    *out = envelope;
    *count = width;
    *rate = (double)width * step;
    return CW_OK;
}
