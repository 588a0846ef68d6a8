/* Inside the sweep: its numbers, side by side in lanes, and where they are kept. */
#ifndef CW_RANK_SWEEP_NUMBERS_H
#define CW_RANK_SWEEP_NUMBERS_H

#include "rank/sweep_inside.h"

#include <string.h>

/* All pairs of numbers whose states differ in one bit only, as `clear` and `set`; span: numbers between them.
 */
#define SWEEP_EACH_PAIR(size, span)                                                                          \
    for (size_t high_ = 0, span_ = (span); high_ < (size); high_ += 2 * span_)                               \
        for (size_t clear = high_, set = high_ + span_; clear < high_ + span_; clear++, set++)

static inline const sweep_at *sweep_place(const rank_sweep *sweep, cw_run run, uint32_t i)
{
    return &sweep->places[run.first + i];
}

static inline size_t sweep_power(uint32_t bits)
{
    return (size_t)1 << bits;
}

/* Numbers of a vector, and from one state of a place to the other. */
static inline size_t sweep_span(const rank_sweep *sweep, uint32_t bits)
{
    return sweep_power(bits) * sweep->lanes;
}

/* -- Lanes -- */

/* Each number by its lane's factor. The inner loops have a fixed length, or none. */
static inline void sweep_multiply(double *x, size_t size, const double *factors, uint32_t lanes)
{
    if (lanes == 1) {
        const double factor = factors[0];
        for (size_t s = 0; factor != 1 && s < size; s++)
            x[s] *= factor;
        return;
    }
    for (size_t s = 0; s < size; s += SWEEP_LANES)
        for (size_t k = 0; k < SWEEP_LANES; k++)
            x[s + k] *= factors[k];
}

static inline void sweep_dot(const double *x, const double *y, size_t size, uint32_t lanes, double *sums)
{
    if (lanes == 1) {
        double sum = 0;
        for (size_t s = 0; s < size; s++)
            sum += x[s] * y[s];
        sums[0] = sum;
        return;
    }
    double by_lane[SWEEP_LANES] = {0};
    for (size_t s = 0; s < size; s += SWEEP_LANES)
        for (size_t k = 0; k < SWEEP_LANES; k++)
            by_lane[k] += x[s + k] * y[s + k];
    memcpy(sums, by_lane, sizeof by_lane);
}

static inline void sweep_copy_lanes(double *to, const double *from, uint32_t lanes)
{
    for (uint32_t k = 0; k < lanes; k++)
        to[k] = from[k];
}

/* -- Where they are kept -- */

static inline double *sweep_forth(const rank_sweep *sweep)
{
    return sweep->numbers;
}

static inline double *sweep_back(const rank_sweep *sweep)
{
    return sweep->numbers + (size_t)sweep->widest * sweep->lanes;
}

static inline double *sweep_spare(const rank_sweep *sweep)
{
    return sweep->numbers + 2 * (size_t)sweep->widest * sweep->lanes;
}

/* Vectors kept, and messages. */
static inline double *sweep_kept(const rank_sweep *sweep, size_t where)
{
    return sweep_spare(sweep) + ((size_t)sweep->spare + where) * sweep->lanes;
}

/* -- The steps that are more than a few lines, there and back -- */

/* A cause, worked into the vector; back: by cause and lane. sweep_cause.c */
void sweep_work_in_cause(const rank_sweep *sweep, const sweep_step *step, double *x);
void sweep_work_out_cause(const rank_sweep *sweep, const sweep_step *step, double *y, double *by_cause);
/* A message; its way back goes where its numbers belong. meet.c */
void sweep_work_in_message(const rank_sweep *sweep, const sweep_step *step, double *x);
void sweep_work_out_message(const rank_sweep *sweep, const sweep_step *step, double *y);

#endif
