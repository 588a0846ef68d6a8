/* The lines of a trace. Its spectrum, averaged over pieces short enough that a wandering speed does not smear
 * them, gives peaks; the highest frequency that all peaks are multiples of is the base; each piece is then
 * read at its own base, on the times as they stand. */
#include "bench/spectrum.h"
#include "bench/trace_inside.h"
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

enum { PEAKS = 24, PIECES = 16, TOP_PERIODS = 60, HALVINGS = 30, GRID = 20, WAVE = 96, SMOOTH = 6 };
#define STANDS_OUT 4.0 /* a peak, over what noise gives a line, rms */
#define COUNTS 1.5e-3  /* a peak's amplitude, of the highest's */
#define BELOW 0.97     /* lines are looked for from this far below the lowest electrical frequency */
#define WANDER 0.008   /* how far a line may lie off its multiple */

/* On even times, as many samples as there were, straight between them, without the mean. */
static double *even(cw_arena *arena, const double *time, const double *volts, size_t count)
{
    double *out = CW_NEW_ARRAY(arena, double, count);
    double step = (time[count - 1] - time[0]) / (double)(count - 1), mean = 0;
    if (out == NULL)
        return NULL;
    for (size_t i = 0, k = 0; i < count; i++) {
        double at = time[0] + step * (double)i;
        while (k + 2 < count && time[k + 1] < at)
            k++;
        double share = (at - time[k]) / (time[k + 1] - time[k]);
        out[i] = volts[k] + (volts[k + 1] - volts[k]) * share;
        mean += out[i] / (double)count;
    }
    for (size_t i = 0; i < count; i++)
        out[i] -= mean;
    return out;
}

typedef struct peak_list {
    cw_peak peaks[PEAKS]; /* falling amplitude */
    size_t count;
    double step; /* Hz between the lines they were read from */
} peak_list;

static void keep(peak_list *list, cw_peak peak)
{
    size_t k = list->count < PEAKS ? list->count++ : PEAKS - 1;
    if (k == PEAKS - 1 && list->count == PEAKS && list->peaks[k].amplitude > peak.amplitude)
        return;
    for (; k > 0 && list->peaks[k - 1].amplitude < peak.amplitude; k--)
        list->peaks[k] = list->peaks[k - 1];
    list->peaks[k] = peak;
}

/* Local maxima above `low` Hz that stand out of the noise. */
static void find_peaks(const cw_spectrum *spectrum, double noise, double low, peak_list *out)
{
    const double *a = spectrum->amplitude;
    *out = (peak_list){.step = spectrum->step};
    for (size_t k = 2; k + 1 < spectrum->count; k++) {
        double at = (double)k * spectrum->step;
        if (at < low || a[k] < a[k - 1] || a[k] <= a[k + 1])
            continue;
        cw_peak peak = cw_spectrum_peak(spectrum, at, at);
        if (peak.amplitude > STANDS_OUT * noise)
            keep(out, peak);
    }
    while (out->count > 0 && out->peaks[out->count - 1].amplitude < COUNTS * out->peaks[0].amplitude)
        out->count--;
}

/* Power of the peaks that are multiples of the base; *better is the base that fits them best. */
static double explained(const peak_list *list, double base, double *better)
{
    double power = 0, up = 0, down = 0;
    for (size_t i = 0; i < list->count; i++) {
        const cw_peak *peak = &list->peaks[i];
        double n = round(peak->frequency / base), weight = peak->amplitude * peak->amplitude;
        double allowed = fmin(fmax(0.6 * list->step, WANDER * peak->frequency), 0.25 * base);
        if (n < 1 || fabs(peak->frequency - n * base) > allowed)
            continue;
        power += weight;
        up += weight * n * peak->frequency;
        down += weight * n * n;
    }
    *better = down > 0 ? up / down : base;
    return power;
}

static bool may_be(double base, const cw_trace_setup *setup)
{
    if (!isnan(setup->frequency))
        return fabs(base / setup->frequency - 1) <= setup->share;
    return base >= setup->low;
}

/* The highest base that explains as much as any does, nearly. */
static double find_base(const peak_list *list, const cw_trace_setup *setup, double explains)
{
    double best = NAN, most = 0;
    for (int round = 0; round < 2; round++) {
        for (size_t i = 0; i < list->count; i++) {
            for (int n = 1; n <= 6; n++) {
                double base = list->peaks[i].frequency / n, better;
                explained(list, base, &better);
                double power = explained(list, better, &base);
                if (!may_be(base, setup))
                    continue;
                if (round == 0)
                    most = fmax(most, power);
                else if (power >= explains * most && !(base <= best))
                    best = base;
            }
        }
    }
    return best;
}

/* One piece of the trace as it was sampled, under a Hann window that minds the spacing. */
typedef struct trace_piece {
    const double *time, *volts;
    double *weight; /* sum 1 */
    size_t count;
    double mean;
} trace_piece;

static void weigh_samples(trace_piece *piece)
{
    const double *t = piece->time;
    size_t last = piece->count - 1;
    double span = t[last] - t[0], sum = 0;
    for (size_t i = 0; i <= last; i++) {
        double width = (t[i < last ? i + 1 : last] - t[i > 0 ? i - 1 : 0]) / 2;
        piece->weight[i] = width * (0.5 - 0.5 * cos(2 * PI * (t[i] - t[0]) / span));
        sum += piece->weight[i];
    }
    piece->mean = 0;
    for (size_t i = 0; i <= last; i++) {
        piece->weight[i] /= sum;
        piece->mean += piece->weight[i] * piece->volts[i];
    }
}

/* Amplitude of the tone at a frequency, and its cosine and sine parts. */
static double tone(const trace_piece *piece, double frequency, double *real, double *imaginary)
{
    double c = 0, s = 0;
    for (size_t i = 0; i < piece->count; i++) {
        double turn = 2 * PI * frequency * (piece->time[i] - piece->time[0]);
        double value = piece->weight[i] * (piece->volts[i] - piece->mean) * 2;
        c += value * cos(turn);
        s += value * sin(turn);
    }
    *real = c;
    *imaginary = s;
    return hypot(c, s);
}

/* Power in the multiples that carry most. */
static double power_at(const trace_piece *piece, double base, const int *orders, size_t count)
{
    double power = 0, c, s;
    for (size_t i = 0; i < count; i++) {
        double a = tone(piece, base * orders[i], &c, &s);
        power += a * a;
    }
    return power;
}

/* The piece's own base near the common one: the best of a grid, then golden-section search. */
static double own_base(const trace_piece *piece, double base, const int *orders, size_t count)
{
    double span = piece->time[piece->count - 1] - piece->time[0];
    double reach = fmin(0.4 / span / orders[0] + WANDER * base, 0.25 * base), best = base, most = -1;
    for (int i = -GRID; i <= GRID; i++) {
        double at = base + reach * i / GRID, power = power_at(piece, at, orders, count);
        if (power > most) {
            most = power;
            best = at;
        }
    }
    const double golden = 0.6180339887498949;
    double low = best - reach / GRID, high = best + reach / GRID;
    double a = high - golden * (high - low), b = low + golden * (high - low);
    double at_a = power_at(piece, a, orders, count), at_b = power_at(piece, b, orders, count);
    for (int i = 0; i < HALVINGS && high - low > 1e-7 * base; i++) {
        if (at_a > at_b) {
            high = b, b = a, at_b = at_a;
            at_a = power_at(piece, a = high - golden * (high - low), orders, count);
        } else {
            low = a, a = b, at_a = at_b;
            at_b = power_at(piece, b = low + golden * (high - low), orders, count);
        }
    }
    return (low + high) / 2;
}

/* Skewness of the wave that its first lines make. */
static double lean_of(const double (*parts)[2], size_t orders)
{
    double second = 0, third = 0;
    for (int i = 0; i < WAVE; i++) {
        double volts = 0;
        for (size_t n = 1; n <= orders; n++) {
            double turn = 2 * PI * (double)n * i / WAVE;
            volts += parts[n][0] * cos(turn) + parts[n][1] * sin(turn);
        }
        second += volts * volts / WAVE;
        third += volts * volts * volts / WAVE;
    }
    return second > 0 ? third / (second * sqrt(second)) : 0;
}

/* Adds one piece's lines to the sums. */
static void read_piece(const trace_piece *piece, trace_lines *lines, const int *orders, size_t count)
{
    double parts[CW_TRACE_ORDERS + 1][2] = {{0}};
    double base = own_base(piece, lines->base, orders, count);
    size_t reach = 0;
    for (size_t n = 1; n <= CW_TRACE_ORDERS && (double)n * base < lines->top; n++) {
        double a = tone(piece, base * (double)n, &parts[n][0], &parts[n][1]);
        lines->amplitude[n] += a * a;
        reach = n;
    }
    size_t strongest = (size_t)orders[0];
    size_t used = strongest * SMOOTH < reach ? strongest * SMOOTH : reach;
    lines->lean += lean_of((const double(*)[2])parts, used);
    lines->pieces++;
}

/* The three multiples with the most power, strongest first; how many there are. */
static size_t strongest(const peak_list *list, double base, int *orders)
{
    size_t count = 0;
    for (size_t i = 0; i < list->count && count < 3; i++) {
        int n = (int)round(list->peaks[i].frequency / base);
        bool seen = n < 1 || fabs(list->peaks[i].frequency - n * base) > 0.25 * base;
        for (size_t k = 0; k < count; k++)
            seen = seen || orders[k] == n;
        if (!seen && list->peaks[i].amplitude > 0.05 * list->peaks[0].amplitude)
            orders[count++] = n;
    }
    if (count == 0)
        orders[count++] = 1;
    return count;
}

static cw_status read_pieces(cw_arena *arena, trace_piece *whole, size_t length, const peak_list *list,
                             trace_lines *lines)
{
    int orders[3];
    size_t count = strongest(list, lines->base, orders);
    size_t pieces = whole->count / length;
    pieces = pieces < 1 ? 1 : pieces > PIECES ? PIECES : pieces;
    double *weight = CW_NEW_ARRAY(arena, double, length);
    if (weight == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < pieces; i++) {
        size_t from = pieces > 1 ? i * ((whole->count - length) / (pieces - 1)) : 0;
        trace_piece piece = {whole->time + from, whole->volts + from, weight, length, 0};
        weigh_samples(&piece);
        read_piece(&piece, lines, orders, count);
    }
    for (size_t n = 1; n <= CW_TRACE_ORDERS; n++)
        lines->amplitude[n] = sqrt(lines->amplitude[n] / (double)lines->pieces);
    lines->lean /= (double)lines->pieces;
    return CW_OK;
}

static int rising(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

/* What noise gives a line (rms), from the quarter of all lines that are lowest: where a trace has few
 * periods, tones fill most of the others. A line of a single piece is then Rayleigh distributed, and its rms
 * is 1.864 times its lower quartile; of several averaged it is less. */
static cw_status noise_of(cw_arena *arena, const cw_spectrum *spectrum, double *out)
{
    double *sorted = CW_NEW_ARRAY(arena, double, spectrum->count);
    if (sorted == NULL)
        return CW_NO_MEMORY;
    memcpy(sorted, spectrum->amplitude, spectrum->count * sizeof *sorted);
    qsort(sorted, spectrum->count, sizeof *sorted, rising);
    *out = 1.864 * sorted[spectrum->count / 4];
    return CW_OK;
}

/* Peaks of the trace's spectrum in pieces of `length` samples. */
static cw_status take_peaks(cw_arena *arena, const double *signal, size_t count, double rate, size_t length,
                            double low, trace_lines *lines, peak_list *out)
{
    cw_spectrum spectrum;
    cw_status status = cw_spectrum_take(arena, signal, count, rate, length, &spectrum);
    if (status == CW_OK)
        status = noise_of(arena, &spectrum, &lines->noise);
    if (status == CW_OK)
        find_peaks(&spectrum, lines->noise, low, out);
    return status;
}

cw_status trace_find_lines(cw_arena *arena, const double *time, const double *volts, size_t count,
                           const cw_trace_setup *setup, double explains, trace_lines *out)
{
    double rate = (double)(count - 1) / (time[count - 1] - time[0]);
    double low = isnan(setup->frequency) ? setup->low : setup->frequency * (1 - setup->share);
    const double *signal = even(arena, time, volts, count);
    peak_list list;
    *out = (trace_lines){.base = NAN, .top = rate / 2};
    if (signal == NULL)
        return CW_NO_MEMORY;
    cw_status status = take_peaks(arena, signal, count, rate, SIZE_MAX, low * BELOW, out, &list);
    if (status != CW_OK || list.count == 0)
        return status;
    double wanted = TOP_PERIODS / list.peaks[0].frequency * rate;
    size_t length = wanted < (double)count ? (size_t)wanted : count;
    if (length < CW_TRACE_LEAST)
        length = CW_TRACE_LEAST;
    if (length < count)
        status = take_peaks(arena, signal, count, rate, length, low * BELOW, out, &list);
    if (status != CW_OK || list.count == 0)
        return status;
    out->base = find_base(&list, setup, explains);
    if (isnan(out->base))
        return CW_OK;
    trace_piece whole = {time, volts, NULL, count, 0};
    return read_pieces(arena, &whole, length, &list, out);
}
