/* Between the files of the trace reader: lines first, then what they mean. */
#ifndef CW_BENCH_TRACE_INSIDE_H
#define CW_BENCH_TRACE_INSIDE_H

#include "bench/trace.h"

/* The lines of one period, whatever that period is to the machine. */
typedef struct trace_lines {
    double base;                           /* Hz: every line is a multiple of it; NAN: no lines */
    double amplitude[CW_TRACE_ORDERS + 1]; /* V peak, by multiple of base */
    double lean;
    double noise; /* V */
    double top;   /* Hz up to which the sampling reaches */
    size_t pieces;
} trace_lines;

/* Finds them. The base is the highest frequency whose multiples hold the share `explains` of what the peaks
 * of any base hold: near 1 for a clean trace, less when it was sampled so slowly that lines fold back between
 * the others. */
cw_status trace_find_lines(cw_arena *arena, const double *time, const double *volts, size_t count,
                           const cw_trace_setup *setup, double explains, trace_lines *out);
/* Weighs every state by what `found` and the measures already in *out show; fills the rest of it. */
void trace_weigh(const trace_lines *found, const cw_trace_setup *setup, double seconds,
                 cw_trace_reading *out);
/* Misfit of the likeliest state; INFINITY without lines. */
double trace_misfit(const cw_trace_reading *reading);

#endif
