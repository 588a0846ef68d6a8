#include "rank/sweep_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* All pairs of numbers whose states differ in one bit only, as `clear` and `set`; span: numbers between them.
 */
#define EACH_PAIR(size, span)                                                                                \
    for (size_t high_ = 0, span_ = (span); high_ < (size); high_ += 2 * span_)                               \
        for (size_t clear = high_, set = high_ + span_; clear < high_ + span_; clear++, set++)

static const sweep_at *at(const rank_sweep *sweep, cw_run run, uint32_t i)
{
    return &sweep->places[run.first + i];
}

static size_t power(uint32_t bits)
{
    return (size_t)1 << bits;
}

/* Numbers of a vector, and from one state of a place to the other. */
static size_t span_of(const rank_sweep *sweep, uint32_t bits)
{
    return power(bits) * sweep->lanes;
}

/* -- Lanes -- */

/* Each number by its lane's factor. The inner loops have a fixed length, or none. */
static void multiply(double *x, size_t size, const double *factors, uint32_t lanes)
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

static void dot(const double *x, const double *y, size_t size, uint32_t lanes, double *sums)
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

static void largest_of(const double *x, size_t size, uint32_t lanes, double *out)
{
    double largest[SWEEP_LANES] = {0};
    if (lanes == 1)
        for (size_t s = 0; s < size; s++)
            largest[0] = x[s] > largest[0] ? x[s] : largest[0];
    else
        for (size_t s = 0; s < size; s += SWEEP_LANES)
            for (size_t k = 0; k < SWEEP_LANES; k++)
                largest[k] = x[s + k] > largest[k] ? x[s + k] : largest[k];
    memcpy(out, largest, sizeof largest);
}

/* -- Room -- */

static cw_status make_room(rank_sweep *sweep)
{
    const double needed = sweep->numbers_needed + 2 * sweep->widest + sweep->spare;
    assert(rank_sweep_fits(sweep));
    const size_t room = (size_t)needed * sweep->lanes;
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

static double *forth(const rank_sweep *sweep)
{
    return sweep->numbers;
}

static double *back(const rank_sweep *sweep)
{
    return sweep->numbers + (size_t)sweep->widest * sweep->lanes;
}

static double *spare(const rank_sweep *sweep)
{
    return sweep->numbers + 2 * (size_t)sweep->widest * sweep->lanes;
}

/* Vectors kept, and messages. */
static double *kept(const rank_sweep *sweep, size_t where)
{
    return spare(sweep) + ((size_t)sweep->spare + where) * sweep->lanes;
}

/* Keeps the largest number of each lane near 1, by powers of two so that nothing is rounded; the exponents
 * taken out are added to `taken`. */
static void scale(const rank_sweep *sweep, double *x, size_t size, long *taken)
{
    double largest[SWEEP_LANES], factors[SWEEP_LANES];
    bool any = false;
    largest_of(x, size, sweep->lanes, largest);
    for (uint32_t k = 0; k < sweep->lanes; k++)
        any |= largest[k] < 0x1p-64 || largest[k] > 0x1p64;
    if (!any)
        return;
    for (uint32_t k = 0; k < sweep->lanes; k++) {
        int exponent = 0;
        if (largest[k] < 0x1p-64 || largest[k] > 0x1p64)
            (void)frexp(largest[k], &exponent);
        exponent = exponent < -1000 ? -1000 : exponent;
        factors[k] = ldexp(1.0, -exponent);
        taken[k] += exponent;
    }
    multiply(x, size, factors, sweep->lanes);
}

/* -- Causes -- */

/* Of a finding nothing has been drawn yet; what has been worked in so far says the same of a cause, present
 * or absent. */
void sweep_open(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    for (uint32_t i = 0; i < step->opens.count; i++) {
        const size_t size = span_of(sweep, at(sweep, step->opens, i)->place);
        if (at(sweep, step->opens, i)->either)
            memset(x + size, 0, size * sizeof *x);
        else
            memcpy(x + size, x, size * sizeof *x);
    }
}

static void halve(double *x, size_t size, const sweep_halves *of, uint32_t lanes, double *present)
{
    if (lanes == 1) {
        for (size_t s = 0; s < size; s++) {
            present[s] = x[s] * of->own[0];
            x[s] *= of->absent[0];
        }
        return;
    }
    for (size_t s = 0; s < size; s += SWEEP_LANES)
        for (size_t k = 0; k < SWEEP_LANES; k++) {
            present[s + k] = x[s + k] * of->own[k];
            x[s + k] *= of->absent[k];
        }
}

/* A parent leads to the present half; not where the cause is ruled out. */
static void lead(const rank_sweep *sweep, const sweep_at *parent, const bool *ruled, double *x, size_t size)
{
    double *present = x + size;
    EACH_PAIR(size, span_of(sweep, parent->place))
    {
        (void)clear;
        if (ruled != NULL && ruled[set % SWEEP_LANES])
            continue;
        present[set] += x[set] * parent->hit;
        x[set] *= parent->miss;
    }
}

static void unlead(const rank_sweep *sweep, const sweep_at *parent, const bool *ruled, double *y, size_t size)
{
    const double *present = y + size;
    EACH_PAIR(size, span_of(sweep, parent->place))
    {
        (void)clear;
        if (ruled == NULL || !ruled[set % SWEEP_LANES])
            y[set] = y[set] * parent->miss + present[set] * parent->hit;
    }
}

/* Absent stays in the lower half, present goes to the upper one. */
void sweep_split(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const size_t size = span_of(sweep, step->width);
    const sweep_halves of = sweep_halves_of(sweep, step->who);
    halve(x, size, &of, sweep->lanes, x + size);
    for (uint32_t i = 0; i < step->parents.count; i++)
        lead(sweep, at(sweep, step->parents, i), of.ruled, x, size);
    const double absent = sweep->absent_factor[step->who];
    for (size_t s = 0; absent != 1 && s < size; s++)
        x[s] *= absent;
}

void sweep_touch_findings(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = span_of(sweep, step->width);
    multiply(present, size, sweep_halves_of(sweep, step->who).present, sweep->lanes);
    for (uint32_t i = 0; i < step->touches.count; i++) {
        const sweep_at *touch = at(sweep, step->touches, i);
        const double both = touch->miss + touch->hit;
        EACH_PAIR(size, span_of(sweep, touch->place))
        {
            present[set] = present[set] * both + present[clear] * touch->hit;
            present[clear] *= touch->miss;
        }
    }
}

static void work_in_cause(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const size_t size = span_of(sweep, step->width);
    sweep_open(sweep, step, x);
    sweep_split(sweep, step, x);
    sweep_touch_findings(sweep, step, x + size);
    for (size_t s = 0; !step->leads && s < size; s++)
        x[s] += x[size + s];
}

void sweep_untouch(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = span_of(sweep, step->width);
    for (uint32_t i = step->touches.count; i-- > 0;) {
        const sweep_at *touch = at(sweep, step->touches, i);
        const double both = touch->miss + touch->hit;
        EACH_PAIR(size, span_of(sweep, touch->place))
        {
            present[clear] = present[clear] * touch->miss + present[set] * touch->hit;
            present[set] *= both;
        }
    }
    multiply(present, size, sweep_halves_of(sweep, step->who).present, sweep->lanes);
}

static void unhalve(double *y, size_t size, const sweep_halves *of, uint32_t lanes, const double *present)
{
    if (lanes == 1) {
        for (size_t s = 0; s < size; s++)
            y[s] = y[s] * of->absent[0] + present[s] * of->own[0];
        return;
    }
    for (size_t s = 0; s < size; s += SWEEP_LANES)
        for (size_t k = 0; k < SWEEP_LANES; k++)
            y[s + k] = y[s + k] * of->absent[k] + present[s + k] * of->own[k];
}

static void unsplit(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    const size_t size = span_of(sweep, step->width);
    const sweep_halves of = sweep_halves_of(sweep, step->who);
    const double *present = y + size;
    const double absent = sweep->absent_factor[step->who];
    for (size_t s = 0; absent != 1 && s < size; s++)
        y[s] *= absent;
    for (uint32_t i = step->parents.count; i-- > 0;)
        unlead(sweep, at(sweep, step->parents, i), of.ruled, y, size);
    unhalve(y, size, &of, sweep->lanes, present);
}

static void unopen_bits(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    for (uint32_t i = step->opens.count; i-- > 0;) {
        const size_t size = span_of(sweep, at(sweep, step->opens, i)->place);
        for (size_t s = 0; !at(sweep, step->opens, i)->either && s < size; s++)
            y[s] += y[size + s];
    }
}

/* Only the upper half's touches are walked back before the halves are weighed, so that it is right for both
 * ends: x before the touches, y after them. */
static void work_out_cause(const rank_sweep *sweep, const sweep_step *step, double *y, double *by_cause)
{
    const size_t size = span_of(sweep, step->width);
    double *x = forth(sweep), absent[SWEEP_LANES], present[SWEEP_LANES];
    if (!step->leads)
        memcpy(y + size, y, size * sizeof *y);
    sweep_untouch(sweep, step, y + size);
    memcpy(x, kept(sweep, step->saved), span_of(sweep, step->width_in) * sizeof *x);
    sweep_open(sweep, step, x);
    sweep_split(sweep, step, x);
    dot(x, y, size, sweep->lanes, absent);
    dot(x + size, y + size, size, sweep->lanes, present);
    for (uint32_t k = 0; k < sweep->lanes; k++)
        by_cause[step->who * sweep->lanes + k] = present[k] / (present[k] + absent[k]);
    unsplit(sweep, step, y);
    unopen_bits(sweep, step, y);
}

/* -- Merges -- */

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
        by_place[at(sweep, step->touches, i)->place] = at(sweep, step->touches, i);
    for (int round = 0; round < 2; round++)
        for (uint32_t place = 0; place < step->width; place++) {
            const sweep_at *bit = by_place[place];
            if (bit == NULL || bit->either != (round == 0))
                continue;
            out.from[taken++] = (uint32_t)(bit - at(sweep, step->touches, 0));
            if (bit->either) {
                out.either |= power(place);
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
        where ^= power(m->from[i]);
    return i < m->either_count + m->same_count ? where ^ power(m->from[i]) : where;
}

/* The part of the layout that meets these states. */
static size_t slice_of(const meeting *m, size_t state)
{
    size_t out = 0;
    for (uint32_t i = 0; i < m->same_count; i++)
        out |= (state >> m->same[i] & 1) << i;
    return out << m->either_count;
}

/* The next larger state within the mask; 0 after the last. */
static size_t next_within(size_t state, size_t mask)
{
    return (state - mask) & mask;
}

static void copy_lanes(double *to, const double *from, uint32_t lanes)
{
    for (uint32_t k = 0; k < lanes; k++)
        to[k] = from[k];
}

static void gather(const double *x, size_t base, size_t mask, uint32_t lanes, double *out)
{
    size_t state = 0, i = 0;
    do
        copy_lanes(out + i++ * lanes, x + (base | state) * lanes, lanes);
    while ((state = next_within(state, mask)) != 0);
}

static void scatter(const double *from, size_t base, size_t mask, uint32_t lanes, double *x)
{
    size_t state = 0, i = 0;
    do
        copy_lanes(x + (base | state) * lanes, from + i++ * lanes, lanes);
    while ((state = next_within(state, mask)) != 0);
}

/* Bits that the vector did not know: it says the same of both. */
static void open_all(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    for (uint32_t width = step->width_in; width < step->width; width++)
        memcpy(x + span_of(sweep, width), x, span_of(sweep, width) * sizeof *x);
}

static void lay_message(const meeting *m, const double *message, size_t states, uint32_t lanes, double *laid)
{
    for (size_t i = 0, where = 0; i < states; where = next_in_message(m, i++, where))
        copy_lanes(laid + i * lanes, message + where * lanes, lanes);
}

static void work_in_message(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const uint32_t lanes = sweep->lanes;
    const double *message = kept(sweep, sweep->messages[step->who].at);
    if (step->width_in == 0) { /* the first: places are the same */
        memcpy(x, message, span_of(sweep, step->width) * sizeof *x);
        return;
    }
    const meeting m = meet(sweep, step);
    const size_t size = span_of(sweep, step->touches.count), either = span_of(sweep, m.either_count);
    double *laid = spare(sweep), *part = laid + size, *out = part + either, *room = out + either;
    lay_message(&m, message, power(step->touches.count), lanes, laid);
    open_all(sweep, step, x);
    const size_t rest = ~m.either & (power(step->width) - 1);
    size_t state = 0;
    do {
        const double *slice = laid + slice_of(&m, state) * lanes;
        if (m.either_count == 0) {
            multiply(x + state * lanes, lanes, slice, lanes);
            continue;
        }
        gather(x, state, m.either, lanes, part);
        rank_merge(part, slice, m.either_count, lanes, out, room);
        scatter(out, state, m.either, lanes, x);
    } while ((state = next_within(state, rest)) != 0);
}

/* The message's way back goes where its numbers belong. */
static void work_out_message(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    const uint32_t lanes = sweep->lanes;
    const sweep_message *from = &sweep->messages[step->who];
    const double *message = kept(sweep, from->at);
    double *way_back = kept(sweep, from->way_back), *x = forth(sweep);
    if (step->width_in == 0) {
        memcpy(way_back, y, span_of(sweep, step->width) * sizeof *y);
        return;
    }
    const meeting m = meet(sweep, step);
    const size_t size = span_of(sweep, step->touches.count), either = span_of(sweep, m.either_count);
    double *laid = spare(sweep), *sums = laid + size, *part = sums + size, *other = part + either,
           *out = other + either, *room = out + either;
    lay_message(&m, message, power(step->touches.count), lanes, laid);
    memset(sums, 0, size * sizeof *sums);
    memcpy(x, kept(sweep, step->saved), span_of(sweep, step->width_in) * sizeof *x);
    open_all(sweep, step, x);
    const size_t rest = ~m.either & (power(step->width) - 1);
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
        for (size_t s = 0; s < span_of(sweep, width); s++)
            y[s] += y[span_of(sweep, width) + s];
    for (size_t i = 0, where = 0; i < power(step->touches.count); where = next_in_message(&m, i++, where))
        copy_lanes(way_back + where * lanes, sums + i * lanes, lanes);
}

/* -- Closing -- */

/* What a finding's background and leaves draw, or what both halves of a cause count. */
typedef struct closing {
    double set[SWEEP_LANES], clear[SWEEP_LANES];
} closing;

static closing closing_of(const rank_sweep *sweep, const sweep_bit *bit)
{
    closing out;
    for (uint32_t k = 0; k < sweep->lanes; k++) {
        const sweep_drawn drawn = bit->cause ? (sweep_drawn){1, 0} : sweep_drawn_of(sweep, bit->who)[k];
        out.clear[k] = drawn.hit;
        out.set[k] = drawn.miss + drawn.hit;
    }
    return out;
}

void sweep_close(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const uint32_t lanes = sweep->lanes;
    const closing of = closing_of(sweep, &sweep->bits[step->who]);
    size_t to = 0; /* never overtakes what is still to be read */
    if (lanes == 1) {
        EACH_PAIR(power(step->width), power(step->place))
        {
            x[to++] = x[set] * of.set[0] + x[clear] * of.clear[0];
        }
        return;
    }
    const size_t states = power(step->width), span = power(step->place);
    for (size_t high = 0; high < states; high += 2 * span)
        for (size_t low = high; low < high + span; low++, to++)
            for (size_t k = 0; k < SWEEP_LANES; k++)
                x[to * SWEEP_LANES + k] =
                    x[(low + span) * SWEEP_LANES + k] * of.set[k] + x[low * SWEEP_LANES + k] * of.clear[k];
}

/* What the rest makes of a finding's leaves in one lane, from the last to the first. */
void sweep_work_out_leaves(const rank_sweep *sweep, uint32_t finding, uint32_t lane, sweep_drawn way_back,
                           double *by_cause)
{
    const uint32_t lanes = sweep->lanes;
    for (cw_cause_id id = sweep->leaves[finding]; id != 0; id = sweep->next_cause[id]) {
        const sweep_halves of = sweep_halves_of(sweep, id);
        const net_touch *touch = sweep_leaf_touch(sweep, id);
        const sweep_drawn before = sweep_before_of(sweep, id)[lane];
        const double absent = of.absent[lane] * sweep->absent_factor[id],
                     present = of.own[lane] * of.present[lane], both = touch->miss + touch->hit;
        const double with = present * (way_back.miss * before.miss * touch->miss +
                                       way_back.hit * (before.hit * both + before.miss * touch->hit));
        const double without = absent * (way_back.miss * before.miss + way_back.hit * before.hit);
        by_cause[id * lanes + lane] = with / (with + without);
        way_back.miss =
            way_back.miss * (absent + present * touch->miss) + way_back.hit * present * touch->hit;
        way_back.hit *= absent + present * both;
        if (way_back.miss < 0x1p-200 && way_back.hit < 0x1p-200) {
            way_back.miss *= 0x1p200;
            way_back.hit *= 0x1p200;
        }
    }
}

static void reopen_bit(const rank_sweep *sweep, const sweep_step *step, double *y, double *by_cause)
{
    const uint32_t lanes = sweep->lanes;
    const sweep_bit *bit = &sweep->bits[step->who];
    const closing of = closing_of(sweep, bit);
    const double *x = kept(sweep, step->saved);
    const size_t span = power(step->place);
    sweep_drawn way_back[SWEEP_LANES] = {{0, 0}};
    for (size_t from = power(step->width_out);
         from-- > 0;) { /* from the top: what is overwritten has been read */
        const size_t clear = (from / span * 2 * span + from % span) * lanes, set = clear + span * lanes;
        for (uint32_t k = 0; k < lanes; k++) {
            const double value = y[from * lanes + k];
            way_back[k].hit += value * (x[clear + k] + x[set + k]);
            way_back[k].miss += value * x[set + k];
            y[set + k] = value * of.set[k];
            y[clear + k] = value * of.clear[k];
        }
    }
    for (uint32_t k = 0; k < lanes && !bit->cause; k++)
        sweep_work_out_leaves(sweep, bit->who, k, way_back[k], by_cause);
}

/* -- There and back -- */

/* The two halves of each cause that stands alone. */
static double log_alone(const rank_sweep *sweep)
{
    double sum = 0;
    for (uint32_t i = 0; i < sweep->net->live_count; i++) {
        const cw_cause_id id = sweep->net->live[i];
        const net_cause *cause = &sweep->net->causes[id];
        if (sweep_takes_part(sweep, id) && sweep->alone[id])
            sum += log(cause->absent * sweep->absent_factor[id] + cause->own * sweep->present_factor[id]);
    }
    return sum;
}

static void step_forward(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    switch (step->kind) {
    case SWEEP_MERGE:
        work_in_message(sweep, step, x);
        break;
    case SWEEP_CAUSE:
        work_in_cause(sweep, step, x);
        break;
    case SWEEP_CLOSE:
        sweep_close(sweep, step, x);
        break;
    }
}

/* One message; `logs`: what it adds, by lane. */
static void send(rank_sweep *sweep, const sweep_message *message, bool keep, double *logs)
{
    const uint32_t lanes = sweep->lanes;
    double *x = forth(sweep);
    long exponents[SWEEP_LANES] = {0};
    for (uint32_t k = 0; k < lanes; k++)
        x[k] = 1;
    for (uint32_t i = message->steps.first; i < message->steps.first + message->steps.count; i++) {
        const sweep_step *step = &sweep->steps[i];
        if (keep)
            memcpy(kept(sweep, step->saved), x, span_of(sweep, step->width_in) * sizeof *x);
        step_forward(sweep, step, x);
        scale(sweep, x, span_of(sweep, step->width_out), exponents);
    }
    memcpy(kept(sweep, message->at), x, span_of(sweep, message->scope.count) * sizeof *x);
    for (uint32_t k = 0; k < lanes; k++)
        logs[k] = (double)exponents[k] * RANK_LOG_2 + (message->scope.count == 0 ? log(x[k]) : 0);
}

cw_status sweep_send_all(rank_sweep *sweep, const bool *stirred, bool keep)
{
    if (make_room(sweep) != CW_OK)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < sweep->message_count; i++)
        if (stirred == NULL || stirred[sweep->messages[i].root])
            send(sweep, &sweep->messages[i], keep, sweep->logs + (size_t)i * sweep->lanes);
    return CW_OK;
}

cw_status rank_sweep_forward(rank_sweep *sweep, bool keep, double *log_probability)
{
    double logs = sweep->log_factor + log_alone(sweep);
    const cw_status status = sweep_send_all(sweep, NULL, keep);
    for (uint32_t i = 0; status == CW_OK && i < sweep->message_count; i++)
        logs += sweep->logs[i];
    *log_probability = logs;
    return status;
}

static void step_back(const rank_sweep *sweep, const sweep_step *step, double *y, double *by_cause)
{
    switch (step->kind) {
    case SWEEP_MERGE:
        work_out_message(sweep, step, y);
        break;
    case SWEEP_CAUSE:
        work_out_cause(sweep, step, y, by_cause);
        break;
    case SWEEP_CLOSE:
        reopen_bit(sweep, step, y, by_cause);
        break;
    }
    long exponents[SWEEP_LANES] = {0};
    scale(sweep, y, span_of(sweep, step->width_in), exponents);
}

void sweep_answer_all(rank_sweep *sweep, const bool *stirred, double *by_cause)
{
    double *y = back(sweep);
    for (uint32_t i = sweep->message_count; i-- > 0;) {
        const sweep_message *message = &sweep->messages[i];
        if (stirred != NULL && !stirred[message->root])
            continue;
        for (uint32_t k = 0; k < sweep->lanes && message->scope.count == 0; k++)
            y[k] = 1;
        if (message->scope.count > 0)
            memcpy(y, kept(sweep, message->way_back), span_of(sweep, message->scope.count) * sizeof *y);
        for (uint32_t k = message->steps.count; k-- > 0;)
            step_back(sweep, &sweep->steps[message->steps.first + k], y, by_cause);
    }
}

void rank_sweep_backward(rank_sweep *sweep, double *by_cause)
{
    const network *net = sweep->net;
    memset(by_cause, 0, ((size_t)net->model->causes_count + 1) * sizeof *by_cause);
    for (uint32_t i = 0; i < net->live_count; i++) {
        const cw_cause_id id = net->live[i];
        const double present = net->causes[id].own * sweep->present_factor[id];
        const double absent = net->causes[id].absent * sweep->absent_factor[id];
        if (sweep_takes_part(sweep, id) && sweep->alone[id])
            by_cause[id] = present / (absent + present);
    }
    for (uint32_t i = 0; i < net->finding_count; i++)
        if (sweep->finding_left[i] == 0)
            sweep_work_out_leaves(sweep, i, 0, (sweep_drawn){1, 0}, by_cause);
    sweep_answer_all(sweep, NULL, by_cause);
}
