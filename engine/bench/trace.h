/* The ripple on the output as a scope shows it: finds the electrical frequency in the trace itself and tells
 * by the orders whether every diode and phase works.
 *
 * The orders' sizes hang on battery, cable and load; their ratios and the lean of the wave hardly do: six
 * times the electrical frequency alone is health, twice without once an open phase; once leading, with round
 * tops over sharp bottoms, an open diode; once, twice and three times alike, leaning to neither or the other
 * side, a shorted one. An unknown speed leaves one of several lines to be the first: every reading of the
 * trace as one of the states is weighed (trace.def), the likeliest wins, and when two states are nearly as
 * likely it cannot be told. The mean tells which way round the clips are; a trace without one is weighed both
 * ways. */
#ifndef CW_BENCH_TRACE_H
#define CW_BENCH_TRACE_H

#include "base/arena.h"
#include "corewright/status.h"
#include <stdbool.h>
#include <stddef.h>

typedef enum cw_trace_state {
#define CW_TRACE(name, title, line) CW_TRACE_##name,
#include "bench/trace.def"
#undef CW_TRACE
    CW_TRACE_unclear
} cw_trace_state;
enum { CW_TRACE_STATES = CW_TRACE_unclear };

const char *cw_trace_name(cw_trace_state state);  /* "diode_open" */
const char *cw_trace_title(cw_trace_state state); /* for people */

typedef struct cw_trace_setup {
    double frequency; /* Hz, electrical; NAN: to be found */
    double share;     /* how far that may be off, as a share */
    double low,
        high; /* Hz: what the electrical frequency is likely to be when it is to be found, in two spreads */
} cw_trace_setup;

/* Why it cannot be told. */
typedef enum cw_trace_doubt {
    CW_TRACE_SURE,
    CW_TRACE_NO_LINES,    /* nothing periodic above the noise */
    CW_TRACE_FEW_PERIODS, /* fewer than CW_TRACE_PERIODS */
    CW_TRACE_LIKE_NONE,   /* no state's ripple looks like this */
    CW_TRACE_LIKE_TWO,    /* two states, nearly as likely */
    CW_TRACE_EITHER_WAY /* no mean says which way round the clips are, and the other way fits another state */
} cw_trace_doubt;

enum { CW_TRACE_ORDERS = 18, CW_TRACE_LEAST = 64 };
#define CW_TRACE_PERIODS 3.0

typedef struct cw_trace_reading {
    cw_trace_state state; /* unclear: see doubt */
    cw_trace_doubt doubt;
    cw_trace_state first, second;   /* likeliest two, whatever the state */
    double misfit[CW_TRACE_STATES]; /* of each state at its best frequency: minus twice the logarithm of its
                                       likelihood, so least is likeliest */
    double frequency;               /* Hz, electrical, as the likeliest has it; NAN without lines */
    double amplitude[CW_TRACE_ORDERS + 1]; /* V peak, by order; 0 where the sampling does not reach */
    double noise;                          /* V: amplitude that noise alone gives an order */
    double lean;                           /* skewness of the wave that the orders make */
    double mean, rms, peak_to_peak;        /* V, of the trace; rms about the mean */
    double periods;                        /* electrical, in the trace */
    size_t pieces; /* that it was read in, so that a wandering speed does not smear the lines */
} cw_trace_reading;

/* time: s, rising, of any spacing; volts: what the scope shows, with or without its mean. CW_BAD_CALL for
 * fewer than CW_TRACE_LEAST samples, times that do not rise, numbers not finite, or a setup out of bounds. */
cw_status cw_trace_read(cw_arena *arena, const double *time, const double *volts, size_t count,
                        const cw_trace_setup *setup, cw_trace_reading *out);

#endif
