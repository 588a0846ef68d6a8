/* What the lines mean: each state at each electrical frequency that the base allows, weighed by how many
 * spreads its ratios, lean, level and frequency are off. */
#include "bench/trace_inside.h"
#include <math.h>

static const int first_lines[] = {
#define CW_TRACE(name, title, line) line,
#include "bench/trace.def"
#undef CW_TRACE
};

typedef struct trace_look {
    cw_trace_state state;
    double second, second_spread, third, third_spread, fifth, fifth_spread, lean, lean_spread;
} trace_look;
static const trace_look looks[] = {
#define CW_LOOK(state, ...) {CW_TRACE_##state, __VA_ARGS__},
#include "bench/trace.def"
#undef CW_LOOK
};
enum { LOOKS = sizeof looks / sizeof *looks };

#define OFF_SHARE 0.10    /* of the power, that unequal windings put beside a state's own lines */
#define NO_LINE 0.01      /* of the first: what is less is as good as none */
#define LIKE_NONE 30.0    /* misfit that no state may pass */
#define LIKE_TWO 2.0      /* by how much the second must be worse */
#define HEALTHY_LEVEL 0.1 /* rms against mean that a sound bridge stays below: the ideal one has 0.042 */
#define COUPLED 28.0      /* V */
#define BOUNDS 2.0        /* spreads from the middle of the electrical frequency's bounds to either */

static double squared(double x)
{
    return x * x;
}

/* Of the line at `times` the first one's order. The logarithm of a spread pays for its width. */
static double ratio_misfit(const trace_lines *lines, int first, int times, double centre, double spread)
{
    int order = first * times;
    if (order > CW_TRACE_ORDERS || order * lines->base >= lines->top)
        return 0;
    double noise = lines->noise, base = fmax(lines->amplitude[first], noise);
    double a = fmax(fmax(lines->amplitude[order], noise), NO_LINE * base);
    double wide = squared(spread) + squared(noise / a) + squared(noise / base);
    return squared(log(a / base / centre)) / wide + log(wide);
}

/* Share of the power beside the multiples of `first`, noise left out. */
static double off_share(const trace_lines *lines, int first)
{
    double off = 0, all = 0;
    for (int n = 1; n <= CW_TRACE_ORDERS; n++) {
        double power = fmax(squared(lines->amplitude[n]) - squared(lines->noise), 0);
        all += power;
        off += n % first != 0 ? power : 0;
    }
    return all > 0 ? off / all : 0;
}

static double frequency_misfit(double frequency, const cw_trace_setup *setup)
{
    if (!isnan(setup->frequency))
        return 0; /* the base was only looked for there */
    double middle = (log(setup->low) + log(setup->high)) / 2, half = log(setup->high) - middle;
    return squared(BOUNDS * (log(frequency) - middle) / half);
}

static double look_misfit(const trace_lines *lines, int first, const trace_look *look)
{
    double spoilt = lines->noise / fmax(lines->amplitude[first], 1e-300);
    double wide = squared(look->lean_spread) + squared(spoilt);
    return ratio_misfit(lines, first, 2, look->second, look->second_spread) +
           ratio_misfit(lines, first, 3, look->third, look->third_spread) +
           ratio_misfit(lines, first, 5, look->fifth, look->fifth_spread) +
           squared(lines->lean - look->lean) / wide + log(wide);
}

/* times: the base is this multiple of the electrical frequency. */
static double misfit_of(const trace_lines *lines, const cw_trace_setup *setup, int state, int times,
                        double level)
{
    int first = first_lines[state] / times;
    double best = INFINITY;
    for (size_t i = 0; i < LOOKS; i++)
        if (looks[i].state == (cw_trace_state)state)
            best = fmin(best, look_misfit(lines, first, &looks[i]));
    best += squared(off_share(lines, first) / OFF_SHARE) + frequency_misfit(lines->base / times, setup);
    if (state == CW_TRACE_healthy && level > HEALTHY_LEVEL)
        best += LIKE_NONE;
    return best;
}

/* The best electrical frequency for a state; its misfit. */
static double best_for(const trace_lines *lines, const cw_trace_setup *setup, int state, double level,
                       int *times)
{
    static const int multiples[] = {1, 2, 3, 6};
    double best = INFINITY;
    for (size_t i = 0; i < sizeof multiples / sizeof *multiples; i++) {
        int m = multiples[i];
        if (first_lines[state] % m != 0 || (m > 1 && !isnan(setup->frequency)))
            continue;
        double misfit = misfit_of(lines, setup, state, m, level);
        if (misfit < best) {
            best = misfit;
            *times = m;
        }
    }
    return best;
}

static void rank(cw_trace_reading *out)
{
    for (int s = 0; s < CW_TRACE_STATES; s++) {
        if (out->first == CW_TRACE_unclear || out->misfit[s] < out->misfit[out->first]) {
            out->second = out->first;
            out->first = (cw_trace_state)s;
        } else if (out->second == CW_TRACE_unclear || out->misfit[s] < out->misfit[out->second]) {
            out->second = (cw_trace_state)s;
        }
    }
}

/* rms against the mean. A scope that is coupled by a condenser shows the ripple about zero: then against the
 * most volts there are. */
static double level_of(const cw_trace_reading *reading)
{
    double mean = fabs(reading->mean);
    return reading->rms / (mean > reading->rms ? mean : COUPLED);
}

/* The likeliest state of a wave turned over; its misfit. */
static double turned_over(const trace_lines *lines, const cw_trace_setup *setup, double level, int *state)
{
    trace_lines over = *lines;
    double best = INFINITY;
    over.lean = -lines->lean;
    for (int s = 0; s < CW_TRACE_STATES; s++) {
        int times;
        double misfit = best_for(&over, setup, s, level, &times);
        if (misfit < best) {
            best = misfit;
            *state = s;
        }
    }
    return best;
}

/* Without a mean nothing says which way round the clips are. */
static bool either_way(const trace_lines *lines, const cw_trace_setup *setup, const cw_trace_reading *reading)
{
    int other = (int)reading->first;
    if (fabs(reading->mean) > reading->rms)
        return false;
    double misfit = turned_over(lines, setup, level_of(reading), &other);
    return other != (int)reading->first && misfit - reading->misfit[reading->first] < LIKE_TWO;
}

static cw_trace_doubt doubt_of(const cw_trace_reading *reading)
{
    if (reading->periods < CW_TRACE_PERIODS)
        return CW_TRACE_FEW_PERIODS;
    if (reading->misfit[reading->first] > LIKE_NONE)
        return CW_TRACE_LIKE_NONE;
    if (reading->misfit[reading->second] - reading->misfit[reading->first] < LIKE_TWO)
        return CW_TRACE_LIKE_TWO;
    return CW_TRACE_SURE;
}

void trace_weigh(const trace_lines *found, const cw_trace_setup *setup, double seconds, cw_trace_reading *out)
{
    int times[CW_TRACE_STATES];
    trace_lines upright = *found;
    const trace_lines *lines = &upright;
    if (out->mean < -out->rms) /* the clips are the wrong way round */
        upright.lean = -upright.lean;
    *out = (cw_trace_reading){.state = CW_TRACE_unclear,
                              .first = CW_TRACE_unclear,
                              .second = CW_TRACE_unclear,
                              .doubt = CW_TRACE_NO_LINES,
                              .frequency = NAN,
                              .mean = out->mean,
                              .rms = out->rms,
                              .peak_to_peak = out->peak_to_peak,
                              .noise = lines->noise,
                              .lean = lines->lean,
                              .pieces = lines->pieces};
    if (isnan(lines->base))
        return;
    for (int s = 0; s < CW_TRACE_STATES; s++)
        out->misfit[s] = best_for(lines, setup, s, level_of(out), &times[s]);
    rank(out);
    int factor = times[out->first];
    out->frequency = lines->base / factor;
    for (int n = 1, order = factor; order <= CW_TRACE_ORDERS; n++, order += factor)
        out->amplitude[order] = lines->amplitude[n];
    out->periods = seconds * out->frequency;
    out->doubt = doubt_of(out);
    if (out->doubt == CW_TRACE_SURE && either_way(lines, setup, out))
        out->doubt = CW_TRACE_EITHER_WAY;
    if (out->doubt == CW_TRACE_SURE)
        out->state = out->first;
}

double trace_misfit(const cw_trace_reading *reading)
{
    return isnan(reading->frequency) ? INFINITY : reading->misfit[reading->first];
}
