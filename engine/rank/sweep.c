#include "rank/sweep.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* All pairs of states that differ in one bit only, as `clear` and `set`. */
#define EACH_PAIR(size, place)                                                                               \
    for (size_t high_ = 0, span_ = (size_t)1 << (place); high_ < (size); high_ += 2 * span_)                 \
        for (size_t clear = high_, set = high_ + span_; clear < high_ + span_; clear++, set++)

static const sweep_bit *bit_at(const rank_sweep *sweep, cw_run run, uint32_t i)
{
    return &sweep->bits[run.first + i];
}

static void open_findings(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    for (uint32_t i = 0; i < step->opens.count; i++) {
        const sweep_bit *bit = bit_at(sweep, step->opens, i);
        const size_t size = (size_t)1 << bit->place;
        for (size_t s = 0; s < size; s++) {
            x[size + s] = x[s] * bit->hit;
            x[s] *= bit->miss;
        }
    }
}

/* Absent stays in the lower half, present goes to the upper one. */
static void split(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const size_t size = (size_t)1 << step->width;
    const double own = sweep->net->causes[step->cause].own;
    double *present = x + size;
    for (size_t s = 0; s < size; s++) {
        present[s] = x[s] * own;
        x[s] *= 1 - own;
    }
    for (uint32_t i = 0; i < step->parents.count; i++) {
        const sweep_bit *parent = bit_at(sweep, step->parents, i);
        EACH_PAIR(size, parent->place)
        {
            (void)clear;
            present[set] += x[set] * parent->hit;
            x[set] *= 1 - parent->hit;
        }
    }
    for (size_t s = 0; step->absent != 1 && s < size; s++)
        x[s] *= step->absent;
}

static void touch_findings(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = (size_t)1 << step->width;
    for (size_t s = 0; s < size; s++)
        present[s] *= step->present;
    for (uint32_t i = 0; i < step->touches.count; i++) {
        const sweep_bit *touch = bit_at(sweep, step->touches, i);
        EACH_PAIR(size, touch->place)
        {
            present[set] = present[set] * (touch->miss + touch->hit) + present[clear] * touch->hit;
            present[clear] *= touch->miss;
        }
    }
}

static void close_bits(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    size_t size = (size_t)1 << (step->width + step->leads);
    for (uint32_t i = 0; i < step->closes.count; i++, size /= 2) {
        const sweep_bit *bit = bit_at(sweep, step->closes, i);
        size_t to = 0; /* never overtakes what is still to be read */
        EACH_PAIR(size, bit->place)
        {
            x[to++] = bit->cause ? x[clear] + x[set] : x[set];
        }
    }
}

/* Keeps the largest number near 1, by powers of two so that nothing is rounded; returns the exponent taken
 * out. */
static int scale(double *x, size_t size)
{
    double largest = 0;
    for (size_t s = 0; s < size; s++)
        if (x[s] > largest)
            largest = x[s];
    if (largest >= 0x1p-64)
        return 0;
    int exponent = 0;
    (void)frexp(largest, &exponent);
    exponent = exponent < -1000 ? -1000 : exponent;
    const double factor = ldexp(1.0, -exponent);
    for (size_t s = 0; s < size; s++)
        x[s] *= factor;
    return exponent;
}

static uint32_t width_after(const sweep_step *step)
{
    return step->width + step->leads - step->closes.count;
}

static void join(const sweep_step *step, double *x)
{
    const size_t size = (size_t)1 << step->width;
    if (!step->leads)
        for (size_t s = 0; s < size; s++)
            x[s] += x[size + s];
}

static cw_status make_room(rank_sweep *sweep, bool keep)
{
    const double needed = keep ? sweep->numbers_needed + 2 * sweep->widest : sweep->widest;
    assert(needed <= (double)SWEEP_MAX_NUMBERS);
    const size_t room = (size_t)needed;
    if (room <= sweep->numbers_room)
        return CW_OK;
    double *numbers = cw_allocate(sweep->allocator, room * sizeof *numbers);
    if (numbers == NULL)
        return CW_NO_MEMORY;
    if (sweep->numbers != NULL)
        cw_release(sweep->allocator, sweep->numbers, sweep->numbers_room * sizeof *numbers);
    sweep->numbers = numbers;
    sweep->numbers_room = room;
    return CW_OK;
}

/* The two halves of each cause that stands alone. */
static double log_alone(const rank_sweep *sweep)
{
    double sum = 0;
    for (uint32_t i = 0; i < sweep->net->live_count; i++) {
        const cw_cause_id id = sweep->net->live[i];
        const net_cause *cause = &sweep->net->causes[id];
        const bool absent = sweep->forced != NULL && sweep->forced[id];
        if (!absent && sweep->alone[id])
            sum += log((1 - cause->own) * sweep->absent_factor[id] + cause->own * sweep->present_factor[id]);
    }
    return sum;
}

static double *saved_vectors(const rank_sweep *sweep)
{
    return sweep->numbers + 2 * (size_t)sweep->widest;
}

cw_status rank_sweep_forward(rank_sweep *sweep, bool keep, double *log_probability)
{
    const cw_status status = make_room(sweep, keep);
    if (status != CW_OK)
        return status;
    double *x = sweep->numbers;
    long exponents = 0;
    x[0] = 1;
    for (uint32_t i = 0; i < sweep->step_count; i++) {
        const sweep_step *step = &sweep->steps[i];
        if (keep)
            memcpy(saved_vectors(sweep) + step->saved, x, sizeof *x << step->width_in);
        open_findings(sweep, step, x);
        split(sweep, step, x);
        touch_findings(sweep, step, x + ((size_t)1 << step->width));
        join(step, x);
        close_bits(sweep, step, x);
        exponents += scale(x, (size_t)1 << width_after(step));
    }
    *log_probability = sweep->log_factor + log_alone(sweep) + log(x[0]) + (double)exponents * RANK_LOG_2;
    return CW_OK;
}

/* The steps backwards: each is the transpose of the one above. */

static void reopen_bits(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    size_t size = (size_t)1 << width_after(step);
    for (uint32_t i = step->closes.count; i-- > 0; size *= 2) {
        const sweep_bit *bit = bit_at(sweep, step->closes, i);
        const size_t span = (size_t)1 << bit->place;
        for (size_t from = size; from-- > 0;) { /* from the top: what is overwritten has been read */
            const size_t clear = from / span * 2 * span + from % span;
            const double value = y[from];
            y[clear + span] = value;
            y[clear] = bit->cause ? value : 0;
        }
    }
}

static void untouch_findings(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = (size_t)1 << step->width;
    for (uint32_t i = step->touches.count; i-- > 0;) {
        const sweep_bit *touch = bit_at(sweep, step->touches, i);
        EACH_PAIR(size, touch->place)
        {
            present[clear] = present[clear] * touch->miss + present[set] * touch->hit;
            present[set] *= touch->miss + touch->hit;
        }
    }
    for (size_t s = 0; s < size; s++)
        present[s] *= step->present;
}

static void unsplit(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    const size_t size = (size_t)1 << step->width;
    const double own = sweep->net->causes[step->cause].own;
    const double *present = y + size;
    for (size_t s = 0; step->absent != 1 && s < size; s++)
        y[s] *= step->absent;
    for (uint32_t i = step->parents.count; i-- > 0;) {
        const sweep_bit *parent = bit_at(sweep, step->parents, i);
        EACH_PAIR(size, parent->place)
        {
            (void)clear;
            y[set] = y[set] * (1 - parent->hit) + present[set] * parent->hit;
        }
    }
    for (size_t s = 0; s < size; s++)
        y[s] = y[s] * (1 - own) + present[s] * own;
}

static void unopen_findings(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    for (uint32_t i = step->opens.count; i-- > 0;) {
        const sweep_bit *bit = bit_at(sweep, step->opens, i);
        const size_t size = (size_t)1 << bit->place;
        for (size_t s = 0; s < size; s++)
            y[s] = y[s] * bit->miss + y[size + s] * bit->hit;
    }
}

static double dot(const double *x, const double *y, size_t size)
{
    double sum = 0;
    for (size_t s = 0; s < size; s++)
        sum += x[s] * y[s];
    return sum;
}

static void back_step(const rank_sweep *sweep, const sweep_step *step, double *x, double *y, double *by_cause)
{
    const size_t size = (size_t)1 << step->width;
    reopen_bits(sweep, step, y);
    if (!step->leads)
        memcpy(y + size, y, size * sizeof *y);
    untouch_findings(sweep, step, y + size);
    memcpy(x, saved_vectors(sweep) + step->saved, sizeof *x << step->width_in);
    open_findings(sweep, step, x);
    split(sweep, step, x);
    const double absent = dot(x, y, size), present = dot(x + size, y + size, size);
    by_cause[step->cause] = present / (present + absent);
    unsplit(sweep, step, y);
    unopen_findings(sweep, step, y);
    (void)scale(y, (size_t)1 << step->width_in);
}

void rank_sweep_backward(rank_sweep *sweep, double *by_cause)
{
    double *x = sweep->numbers, *y = sweep->numbers + (size_t)sweep->widest;
    memset(by_cause, 0, ((size_t)sweep->net->model->causes_count + 1) * sizeof *by_cause);
    for (uint32_t i = 0; i < sweep->net->live_count; i++) {
        const cw_cause_id id = sweep->net->live[i];
        const net_cause *cause = &sweep->net->causes[id];
        const double present = cause->own * sweep->present_factor[id];
        const double absent = (1 - cause->own) * sweep->absent_factor[id];
        by_cause[id] = sweep->alone[id] ? present / (absent + present) : 0;
    }
    y[0] = 1;
    for (uint32_t i = sweep->step_count; i-- > 0;)
        back_step(sweep, &sweep->steps[i], x, y, by_cause);
}
