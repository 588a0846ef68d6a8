/* A cause in the sweep: its halves, what leads to it and what it draws. */
#include "rank/sweep_numbers.h"

/* Of a finding nothing has been drawn yet; what has been worked in so far says the same of a cause, present
 * or absent. */
static void open_bits(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    for (uint32_t i = 0; i < step->opens.count; i++) {
        const size_t size = sweep_span(sweep, sweep_place(sweep, step->opens, i)->place);
        if (sweep_place(sweep, step->opens, i)->either)
            memset(x + size, 0, size * sizeof *x);
        else
            memcpy(x + size, x, size * sizeof *x);
    }
}

static void halve(double *restrict x, size_t size, const sweep_halves *of, uint32_t lanes,
                  double *restrict present)
{
    if (lanes == 1) {
        for (size_t s = 0; s < size; s++) {
            present[s] = x[s] * of->own[0];
            x[s] *= of->absent[0];
        }
        return;
    }
    double own[SWEEP_LANES], absent[SWEEP_LANES];
    memcpy(own, of->own, sizeof own);
    memcpy(absent, of->absent, sizeof absent);
    for (size_t s = 0; s < size; s += SWEEP_LANES)
        for (size_t k = 0; k < SWEEP_LANES; k++) {
            present[s + k] = x[s + k] * own[k];
            x[s + k] *= absent[k];
        }
}

/* A parent leads to the present half; not where the cause is ruled out. */
static void lead(const rank_sweep *sweep, const sweep_at *parent, const bool *ruled, double *restrict x,
                 double *restrict present, size_t size)
{
    const double hit = parent->hit, miss = parent->miss;
    SWEEP_EACH_PAIR(size, sweep_span(sweep, parent->place))
    {
        (void)clear;
        if (ruled != NULL && ruled[set % SWEEP_LANES])
            continue;
        present[set] += x[set] * hit;
        x[set] *= miss;
    }
}

static void unlead(const rank_sweep *sweep, const sweep_at *parent, const bool *ruled, double *restrict y,
                   const double *restrict present, size_t size)
{
    const double hit = parent->hit, miss = parent->miss;
    SWEEP_EACH_PAIR(size, sweep_span(sweep, parent->place))
    {
        (void)clear;
        if (ruled == NULL || !ruled[set % SWEEP_LANES])
            y[set] = y[set] * miss + present[set] * hit;
    }
}

/* Absent stays in the lower half, present goes to the upper one. */
static void split(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const size_t size = sweep_span(sweep, step->width);
    const sweep_halves of = sweep_halves_of(sweep, step->who);
    halve(x, size, &of, sweep->lanes, x + size);
    for (uint32_t i = 0; i < step->parents.count; i++)
        lead(sweep, sweep_place(sweep, step->parents, i), of.ruled, x, x + size, size);
    const double absent = sweep->absent_factor[step->who];
    for (size_t s = 0; absent != 1 && s < size; s++)
        x[s] *= absent;
}

static void touch_findings(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = sweep_span(sweep, step->width);
    sweep_multiply(present, size, sweep_halves_of(sweep, step->who).present, sweep->lanes);
    for (uint32_t i = 0; i < step->touches.count; i++) {
        const sweep_at *touch = sweep_place(sweep, step->touches, i);
        const double hit = touch->hit, miss = touch->miss, both = miss + hit;
        SWEEP_EACH_PAIR(size, sweep_span(sweep, touch->place))
        {
            present[set] = present[set] * both + present[clear] * hit;
            present[clear] *= miss;
        }
    }
}

void sweep_work_in_cause(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const size_t size = sweep_span(sweep, step->width);
    open_bits(sweep, step, x);
    split(sweep, step, x);
    touch_findings(sweep, step, x + size);
    for (size_t s = 0; !step->leads && s < size; s++)
        x[s] += x[size + s];
}

static void untouch(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = sweep_span(sweep, step->width);
    for (uint32_t i = step->touches.count; i-- > 0;) {
        const sweep_at *touch = sweep_place(sweep, step->touches, i);
        const double hit = touch->hit, miss = touch->miss, both = miss + hit;
        SWEEP_EACH_PAIR(size, sweep_span(sweep, touch->place))
        {
            present[clear] = present[clear] * miss + present[set] * hit;
            present[set] *= both;
        }
    }
    sweep_multiply(present, size, sweep_halves_of(sweep, step->who).present, sweep->lanes);
}

static void unhalve(double *restrict y, size_t size, const sweep_halves *of, uint32_t lanes,
                    const double *restrict present)
{
    if (lanes == 1) {
        for (size_t s = 0; s < size; s++)
            y[s] = y[s] * of->absent[0] + present[s] * of->own[0];
        return;
    }
    double own[SWEEP_LANES], absent[SWEEP_LANES];
    memcpy(own, of->own, sizeof own);
    memcpy(absent, of->absent, sizeof absent);
    for (size_t s = 0; s < size; s += SWEEP_LANES)
        for (size_t k = 0; k < SWEEP_LANES; k++)
            y[s + k] = y[s + k] * absent[k] + present[s + k] * own[k];
}

static void unsplit(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    const size_t size = sweep_span(sweep, step->width);
    const sweep_halves of = sweep_halves_of(sweep, step->who);
    const double *present = y + size;
    const double absent = sweep->absent_factor[step->who];
    for (size_t s = 0; absent != 1 && s < size; s++)
        y[s] *= absent;
    for (uint32_t i = step->parents.count; i-- > 0;)
        unlead(sweep, sweep_place(sweep, step->parents, i), of.ruled, y, present, size);
    unhalve(y, size, &of, sweep->lanes, present);
}

static void unopen_bits(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    for (uint32_t i = step->opens.count; i-- > 0;) {
        const size_t size = sweep_span(sweep, sweep_place(sweep, step->opens, i)->place);
        for (size_t s = 0; !sweep_place(sweep, step->opens, i)->either && s < size; s++)
            y[s] += y[size + s];
    }
}

/* Only the upper half's touches are walked back before the halves are weighed, so that it is right for both
 * ends: x before the touches, y after them. */
void sweep_work_out_cause(const rank_sweep *sweep, const sweep_step *step, double *y, double *by_cause)
{
    const size_t size = sweep_span(sweep, step->width);
    double *x = sweep_forth(sweep), absent[SWEEP_LANES], present[SWEEP_LANES];
    if (!step->leads)
        memcpy(y + size, y, size * sizeof *y);
    untouch(sweep, step, y + size);
    memcpy(x, sweep_kept(sweep, step->saved), sweep_span(sweep, step->width_in) * sizeof *x);
    open_bits(sweep, step, x);
    split(sweep, step, x);
    sweep_dot(x, y, size, sweep->lanes, absent);
    sweep_dot(x + size, y + size, size, sweep->lanes, present);
    for (uint32_t k = 0; k < sweep->lanes; k++)
        by_cause[step->who * sweep->lanes + k] = present[k] / (present[k] + absent[k]);
    unsplit(sweep, step, y);
    unopen_bits(sweep, step, y);
}
