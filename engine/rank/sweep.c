#include "rank/sweep_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* All pairs of states that differ in one bit only, as `clear` and `set`. */
#define EACH_PAIR(size, place)                                                                               \
    for (size_t high_ = 0, span_ = (size_t)1 << (place); high_ < (size); high_ += 2 * span_)                 \
        for (size_t clear = high_, set = high_ + span_; clear < high_ + span_; clear++, set++)

static const sweep_at *at(const rank_sweep *sweep, cw_run run, uint32_t i)
{
    return &sweep->places[run.first + i];
}

static size_t power(uint32_t bits)
{
    return (size_t)1 << bits;
}

/* -- Room -- */

static cw_status make_room(rank_sweep *sweep)
{
    const double needed = sweep->numbers_needed + 2 * sweep->widest + sweep->spare;
    assert(rank_sweep_fits(sweep));
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

static double *forth(const rank_sweep *sweep)
{
    return sweep->numbers;
}

static double *back(const rank_sweep *sweep)
{
    return sweep->numbers + (size_t)sweep->widest;
}

static double *spare(const rank_sweep *sweep)
{
    return sweep->numbers + 2 * (size_t)sweep->widest;
}

/* Vectors kept, and messages. */
static double *kept(const rank_sweep *sweep, size_t where)
{
    return spare(sweep) + (size_t)sweep->spare + where;
}

/* Keeps the largest number near 1, by powers of two so that nothing is rounded; returns the exponent taken
 * out. */
static int scale(double *x, size_t size)
{
    double largest = 0;
    for (size_t s = 0; s < size; s++)
        if (x[s] > largest)
            largest = x[s];
    if (largest >= 0x1p-64 && largest <= 0x1p64)
        return 0;
    int exponent = 0;
    (void)frexp(largest, &exponent);
    exponent = exponent < -1000 ? -1000 : exponent;
    const double factor = ldexp(1.0, -exponent);
    for (size_t s = 0; s < size; s++)
        x[s] *= factor;
    return exponent;
}

/* -- Causes -- */

/* Of a finding nothing has been drawn yet; what has been worked in so far says the same of a cause, present
 * or absent. */
void sweep_open(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    for (uint32_t i = 0; i < step->opens.count; i++) {
        const size_t size = power(at(sweep, step->opens, i)->place);
        if (at(sweep, step->opens, i)->either)
            memset(x + size, 0, size * sizeof *x);
        else
            memcpy(x + size, x, size * sizeof *x);
    }
}

/* Absent stays in the lower half, present goes to the upper one. */
void sweep_split(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const size_t size = power(step->width);
    const net_cause *cause = &sweep->net->causes[step->who];
    double *present = x + size;
    for (size_t s = 0; s < size; s++) {
        present[s] = x[s] * cause->own;
        x[s] *= cause->absent;
    }
    for (uint32_t i = 0; i < step->parents.count; i++) {
        const sweep_at *parent = at(sweep, step->parents, i);
        EACH_PAIR(size, parent->place)
        {
            (void)clear;
            present[set] += x[set] * parent->hit;
            x[set] *= parent->miss;
        }
    }
    const double absent = sweep->absent_factor[step->who];
    for (size_t s = 0; absent != 1 && s < size; s++)
        x[s] *= absent;
}

void sweep_touch_findings(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = power(step->width);
    const double factor = sweep->present_factor[step->who];
    for (size_t s = 0; factor != 1 && s < size; s++)
        present[s] *= factor;
    for (uint32_t i = 0; i < step->touches.count; i++) {
        const sweep_at *touch = at(sweep, step->touches, i);
        const double both = touch->miss + touch->hit;
        EACH_PAIR(size, touch->place)
        {
            present[set] = present[set] * both + present[clear] * touch->hit;
            present[clear] *= touch->miss;
        }
    }
}

static void work_in_cause(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const size_t size = power(step->width);
    sweep_open(sweep, step, x);
    sweep_split(sweep, step, x);
    sweep_touch_findings(sweep, step, x + size);
    for (size_t s = 0; !step->leads && s < size; s++)
        x[s] += x[size + s];
}

void sweep_untouch(const rank_sweep *sweep, const sweep_step *step, double *present)
{
    const size_t size = power(step->width);
    for (uint32_t i = step->touches.count; i-- > 0;) {
        const sweep_at *touch = at(sweep, step->touches, i);
        const double both = touch->miss + touch->hit;
        EACH_PAIR(size, touch->place)
        {
            present[clear] = present[clear] * touch->miss + present[set] * touch->hit;
            present[set] *= both;
        }
    }
    const double factor = sweep->present_factor[step->who];
    for (size_t s = 0; factor != 1 && s < size; s++)
        present[s] *= factor;
}

static void unsplit(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    const size_t size = power(step->width);
    const net_cause *cause = &sweep->net->causes[step->who];
    const double *present = y + size;
    const double absent = sweep->absent_factor[step->who];
    for (size_t s = 0; absent != 1 && s < size; s++)
        y[s] *= absent;
    for (uint32_t i = step->parents.count; i-- > 0;) {
        const sweep_at *parent = at(sweep, step->parents, i);
        EACH_PAIR(size, parent->place)
        {
            (void)clear;
            y[set] = y[set] * parent->miss + present[set] * parent->hit;
        }
    }
    for (size_t s = 0; s < size; s++)
        y[s] = y[s] * cause->absent + present[s] * cause->own;
}

static void unopen_bits(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    for (uint32_t i = step->opens.count; i-- > 0;) {
        const size_t size = power(at(sweep, step->opens, i)->place);
        for (size_t s = 0; !at(sweep, step->opens, i)->either && s < size; s++)
            y[s] += y[size + s];
    }
}

static double dot(const double *x, const double *y, size_t size)
{
    double sum = 0;
    for (size_t s = 0; s < size; s++)
        sum += x[s] * y[s];
    return sum;
}

/* Only the upper half's touches are walked back before the halves are weighed, so that it is right for both
 * ends: x before the touches, y after them. */
static void work_out_cause(const rank_sweep *sweep, const sweep_step *step, double *y, double *by_cause)
{
    const size_t size = power(step->width);
    double *x = forth(sweep);
    if (!step->leads)
        memcpy(y + size, y, size * sizeof *y);
    sweep_untouch(sweep, step, y + size);
    memcpy(x, kept(sweep, step->saved), sizeof *x << step->width_in);
    sweep_open(sweep, step, x);
    sweep_split(sweep, step, x);
    const double absent = dot(x, y, size), present = dot(x + size, y + size, size);
    by_cause[step->who] = present / (present + absent);
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

static void gather(const double *x, size_t base, size_t mask, double *out)
{
    size_t state = 0, i = 0;
    do
        out[i++] = x[base | state];
    while ((state = next_within(state, mask)) != 0);
}

static void scatter(const double *from, size_t base, size_t mask, double *x)
{
    size_t state = 0, i = 0;
    do
        x[base | state] = from[i++];
    while ((state = next_within(state, mask)) != 0);
}

/* Bits that the vector did not know: it says the same of both. */
static void open_all(const sweep_step *step, double *x)
{
    for (uint32_t width = step->width_in; width < step->width; width++)
        memcpy(x + power(width), x, power(width) * sizeof *x);
}

static void work_in_message(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const double *message = kept(sweep, sweep->messages[step->who].at);
    if (step->width_in == 0) { /* the first: places are the same */
        memcpy(x, message, power(step->width) * sizeof *x);
        return;
    }
    const meeting m = meet(sweep, step);
    const size_t size = power(step->touches.count), either = power(m.either_count);
    double *laid = spare(sweep), *part = laid + size, *out = part + either, *room = out + either;
    for (size_t i = 0, where = 0; i < size; where = next_in_message(&m, i++, where))
        laid[i] = message[where];
    open_all(step, x);
    const size_t rest = ~m.either & (power(step->width) - 1);
    size_t state = 0;
    do {
        const double *slice = laid + slice_of(&m, state);
        if (m.either_count == 0) {
            x[state] *= slice[0];
            continue;
        }
        gather(x, state, m.either, part);
        rank_merge(part, slice, m.either_count, out, room);
        scatter(out, state, m.either, x);
    } while ((state = next_within(state, rest)) != 0);
}

/* The message's way back goes where its numbers belong. */
static void work_out_message(const rank_sweep *sweep, const sweep_step *step, double *y)
{
    const sweep_message *from = &sweep->messages[step->who];
    const double *message = kept(sweep, from->at);
    double *way_back = kept(sweep, from->way_back), *x = forth(sweep);
    if (step->width_in == 0) {
        memcpy(way_back, y, power(step->width) * sizeof *y);
        return;
    }
    const meeting m = meet(sweep, step);
    const size_t size = power(step->touches.count), either = power(m.either_count);
    double *laid = spare(sweep), *sums = laid + size, *part = sums + size, *other = part + either,
           *out = other + either, *room = out + either;
    for (size_t i = 0, where = 0; i < size; where = next_in_message(&m, i++, where))
        laid[i] = message[where];
    memset(sums, 0, size * sizeof *sums);
    memcpy(x, kept(sweep, step->saved), sizeof *x << step->width_in);
    open_all(step, x);
    const size_t rest = ~m.either & (power(step->width) - 1);
    size_t state = 0;
    do {
        const size_t slice = slice_of(&m, state);
        gather(y, state, m.either, part);
        gather(x, state, m.either, other);
        rank_unmerge(part, other, m.either_count, out, room);
        for (size_t i = 0; i < either; i++)
            sums[slice + i] += out[i];
        rank_unmerge(part, laid + slice, m.either_count, out, room);
        scatter(out, state, m.either, y);
    } while ((state = next_within(state, rest)) != 0);
    for (uint32_t width = step->width; width-- > step->width_in;)
        for (size_t s = 0; s < power(width); s++)
            y[s] += y[power(width) + s];
    for (size_t i = 0, where = 0; i < size; where = next_in_message(&m, i++, where))
        way_back[where] = sums[i];
}

/* -- Closing -- */

void sweep_close(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const sweep_bit *bit = &sweep->bits[step->who];
    double set_weight = 1, clear_weight = 1;
    if (!bit->cause) {
        clear_weight = sweep->drawn[bit->who].hit;
        set_weight = sweep->drawn[bit->who].miss + clear_weight;
    }
    size_t to = 0; /* never overtakes what is still to be read */
    EACH_PAIR(power(step->width), step->place)
    {
        x[to++] = x[set] * set_weight + x[clear] * clear_weight;
    }
}

/* What the rest makes of a finding's leaves, from the last to the first. */
static void work_out_leaves(const rank_sweep *sweep, uint32_t finding, sweep_drawn way_back, double *by_cause)
{
    for (cw_cause_id id = sweep->leaves[finding]; id != 0; id = sweep->next_cause[id]) {
        const net_cause *cause = &sweep->net->causes[id];
        const net_touch *touch = NULL;
        for (uint32_t i = 0; i < cause->touches.count; i++)
            if (sweep_touch(sweep, cause, i)->finding == finding)
                touch = sweep_touch(sweep, cause, i);
        const sweep_drawn before = sweep->before[id];
        const double absent = cause->absent * sweep->absent_factor[id],
                     present = cause->own * sweep->present_factor[id], both = touch->miss + touch->hit;
        const double with = present * (way_back.miss * before.miss * touch->miss +
                                       way_back.hit * (before.hit * both + before.miss * touch->hit));
        const double without = absent * (way_back.miss * before.miss + way_back.hit * before.hit);
        by_cause[id] = with / (with + without);
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
    const sweep_bit *bit = &sweep->bits[step->who];
    double set_weight = 1, clear_weight = 1;
    if (!bit->cause) {
        clear_weight = sweep->drawn[bit->who].hit;
        set_weight = sweep->drawn[bit->who].miss + clear_weight;
    }
    const double *x = kept(sweep, step->saved);
    const size_t span = power(step->place);
    sweep_drawn way_back = {0, 0};
    for (size_t from = power(step->width_out);
         from-- > 0;) { /* from the top: what is overwritten has been read */
        const size_t clear = from / span * 2 * span + from % span;
        const double value = y[from];
        way_back.hit += value * (x[clear] + x[clear + span]);
        way_back.miss += value * x[clear + span];
        y[clear + span] = value * set_weight;
        y[clear] = value * clear_weight;
    }
    if (!bit->cause)
        work_out_leaves(sweep, bit->who, way_back, by_cause);
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

cw_status rank_sweep_forward(rank_sweep *sweep, bool keep, double *log_probability)
{
    if (make_room(sweep) != CW_OK)
        return CW_NO_MEMORY;
    double *x = forth(sweep), logs = sweep->log_factor + log_alone(sweep);
    long exponents = 0;
    for (uint32_t i = 0; i < sweep->message_count; i++) {
        const sweep_message *message = &sweep->messages[i];
        x[0] = 1;
        for (uint32_t k = message->steps.first; k < message->steps.first + message->steps.count; k++) {
            const sweep_step *step = &sweep->steps[k];
            if (keep)
                memcpy(kept(sweep, step->saved), x, sizeof *x << step->width_in);
            step_forward(sweep, step, x);
            exponents += scale(x, power(step->width_out));
        }
        memcpy(kept(sweep, message->at), x, sizeof *x << message->scope.count);
        if (message->scope.count == 0)
            logs += log(x[0]);
    }
    *log_probability = logs + (double)exponents * RANK_LOG_2;
    return CW_OK;
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
    (void)scale(y, power(step->width_in));
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
            work_out_leaves(sweep, i, (sweep_drawn){1, 0}, by_cause);
    double *y = back(sweep);
    for (uint32_t i = sweep->message_count; i-- > 0;) {
        const sweep_message *message = &sweep->messages[i];
        if (message->scope.count == 0)
            y[0] = 1;
        else
            memcpy(y, kept(sweep, message->way_back), sizeof *y << message->scope.count);
        for (uint32_t k = message->steps.count; k-- > 0;)
            step_back(sweep, &sweep->steps[message->steps.first + k], y, by_cause);
    }
}
