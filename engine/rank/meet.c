/* A message met by a vector. */
#include "rank/sweep_numbers.h"
#include <assert.h>
#include <limits.h>

/* A message laid out for the vector it meets: bits that either side may have drawn lowest, then the others,
 * both by their places there. */
typedef struct meeting {
    size_t either; /* mask of those places in the vector */
    uint32_t either_count, same_count;
    uint32_t same[SWEEP_MAX_WIDTH]; /* places of the others in the vector */
    uint32_t from[SWEEP_MAX_WIDTH]; /* by bit of the layout: its place in the message */
} meeting;

static meeting meet(const rank_sweep *sweep, const sweep_step *step)
{
    meeting out = {.either = 0};
    const sweep_at *by_place[SWEEP_MAX_WIDTH] = {NULL};
    uint32_t taken = 0;
    for (uint32_t i = 0; i < step->touches.count; i++)
        by_place[sweep_place(sweep, step->touches, i)->place] = sweep_place(sweep, step->touches, i);
    for (int round = 0; round < 2; round++)
        for (uint32_t place = 0; place < step->width; place++) {
            const sweep_at *bit = by_place[place];
            if (bit == NULL || bit->either != (round == 0))
                continue;
            out.from[taken++] = (uint32_t)(bit - sweep_place(sweep, step->touches, 0));
            if (bit->either) {
                out.either |= sweep_power(place);
                out.either_count++;
            } else {
                out.same[out.same_count++] = place;
            }
        }
    return out;
}

/* From where an entry of the layout stands in the message to where the next one does: counting on turns the
 * lowest places round, up to the first that was clear. */
static size_t next_in_message(const meeting *m, size_t entry, size_t where)
{
    uint32_t i = 0;
    for (; i < m->either_count + m->same_count && (entry >> i & 1); i++)
        where ^= sweep_power(m->from[i]);
    return i < m->either_count + m->same_count ? where ^ sweep_power(m->from[i]) : where;
}

/* The part of the layout that meets these states. */
static size_t slice_of(const meeting *m, size_t state)
{
    size_t out = 0;
    for (uint32_t i = 0; i < m->same_count; i++)
        out |= (state >> m->same[i] & 1) << i;
    assert(m->either_count < sizeof out * CHAR_BIT);
    return out << m->either_count;
}

/* The next larger state within the mask; 0 after the last. */
static size_t next_within(size_t state, size_t mask)
{
    return (state - mask) & mask;
}

static void gather(const double *x, size_t base, size_t mask, uint32_t lanes, double *out)
{
    size_t state = 0, i = 0;
    do
        sweep_copy_lanes(out + i++ * lanes, x + (base | state) * lanes, lanes);
    while ((state = next_within(state, mask)) != 0);
}

static void scatter(const double *from, size_t base, size_t mask, uint32_t lanes, double *x)
{
    size_t state = 0, i = 0;
    do
        sweep_copy_lanes(x + (base | state) * lanes, from + i++ * lanes, lanes);
    while ((state = next_within(state, mask)) != 0);
}

/* Bits that the vector did not know: it says the same of both. */
static void open_all(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    for (uint32_t width = step->width_in; width < step->width; width++)
        memcpy(x + sweep_span(sweep, width), x, sweep_span(sweep, width) * sizeof *x);
}

static void lay_message(const meeting *m, const double *message, size_t states, uint32_t lanes, double *laid)
{
    for (size_t i = 0, where = 0; i < states; where = next_in_message(m, i++, where))
        sweep_copy_lanes(laid + i * lanes, message + where * lanes, lanes);
}

void sweep_work_in_message(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const uint32_t lanes = sweep->lanes;
    const double *message = sweep_kept(sweep, sweep->messages[step->who].at);
    if (step->width_in == 0) { /* the first: places are the same */
        memcpy(x, message, sweep_span(sweep, step->width) * sizeof *x);
        return;
    }
    const meeting m = meet(sweep, step);
    const size_t size = sweep_span(sweep, step->touches.count), either = sweep_span(sweep, m.either_count);
    double *laid = sweep_spare(sweep), *part = laid + size, *out = part + either, *room = out + either;
    lay_message(&m, message, sweep_power(step->touches.count), lanes, laid);
    open_all(sweep, step, x);
    const size_t rest = ~m.either & (sweep_power(step->width) - 1);
    size_t state = 0;
    do {
        const double *slice = laid + slice_of(&m, state) * lanes;
        if (m.either_count == 0) {
            sweep_multiply(x + state * lanes, lanes, slice, lanes);
            continue;
        }
        gather(x, state, m.either, lanes, part);
        rank_merge(part, slice, m.either_count, lanes, out, room);
        scatter(out, state, m.either, lanes, x);
    } while ((state = next_within(state, rest)) != 0);
}

/* The message's way back goes where its numbers belong. */
void sweep_work_out_message(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    const uint32_t lanes = sweep->lanes;
    const sweep_message *from = &sweep->messages[step->who];
    const double *message = sweep_kept(sweep, from->at);
    double *way_back = sweep_kept(sweep, from->way_back), *x = sweep_forth(sweep);
    if (step->width_in == 0) {
        memcpy(way_back, y, sweep_span(sweep, step->width) * sizeof *y);
        return;
    }
    const meeting m = meet(sweep, step);
    const size_t size = sweep_span(sweep, step->touches.count), either = sweep_span(sweep, m.either_count);
    double *laid = sweep_spare(sweep), *sums = laid + size, *part = sums + size, *other = part + either,
           *out = other + either, *room = out + either;
    lay_message(&m, message, sweep_power(step->touches.count), lanes, laid);
    memset(sums, 0, size * sizeof *sums);
    memcpy(x, sweep_kept(sweep, step->saved), sweep_span(sweep, step->width_in) * sizeof *x);
    open_all(sweep, step, x);
    const size_t rest = ~m.either & (sweep_power(step->width) - 1);
    size_t state = 0;
    do {
        const size_t slice = slice_of(&m, state) * lanes;
        gather(y, state, m.either, lanes, part);
        gather(x, state, m.either, lanes, other);
        rank_unmerge(part, other, m.either_count, lanes, out, room);
        for (size_t i = 0; i < either; i++)
            sums[slice + i] += out[i];
        rank_unmerge(part, laid + slice, m.either_count, lanes, out, room);
        scatter(out, state, m.either, lanes, y);
    } while ((state = next_within(state, rest)) != 0);
    for (uint32_t width = step->width; width-- > step->width_in;)
        for (size_t s = 0; s < sweep_span(sweep, width); s++)
            y[s] += y[sweep_span(sweep, width) + s];
    for (size_t i = 0, where = 0; i < sweep_power(step->touches.count);
         where = next_in_message(&m, i++, where))
        sweep_copy_lanes(way_back + where * lanes, sums + i * lanes, lanes);
}
