#include "rank/sweep_numbers.h"

#include <assert.h>
#include <math.h>

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

/* -- Scaling -- */

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
    sweep_multiply(x, size, factors, sweep->lanes);
}

/* -- Closing -- */

/* What a finding's background and leaves draw, or what both halves of a cause count. */
typedef struct closing {
    double set[SWEEP_LANES], clear[SWEEP_LANES];
} closing;

static closing closing_of(const rank_sweep *sweep, const sweep_bit *bit)
{
    closing out = {{0}, {0}};
    for (uint32_t k = 0; k < sweep->lanes; k++) {
        const sweep_drawn drawn =
            bit->kind == SWEEP_DRAWN ? sweep_drawn_of(sweep, bit->who)[k] : (sweep_drawn){1, 0};
        out.clear[k] = drawn.hit;
        out.set[k] = drawn.miss + drawn.hit;
    }
    return out;
}

static void close_bit(const rank_sweep *sweep, const sweep_step *step, double *x)
{
    const uint32_t lanes = sweep->lanes;
    const closing of = closing_of(sweep, &sweep->bits[step->who]);
    size_t to = 0; /* never overtakes what is still to be read */
    if (lanes == 1) {
        SWEEP_EACH_PAIR(sweep_power(step->width), sweep_power(step->place))
        {
            x[to++] = x[set] * of.set[0] + x[clear] * of.clear[0];
        }
        return;
    }
    const size_t states = sweep_power(step->width), span = sweep_power(step->place);
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
    const double *x = sweep_kept(sweep, step->saved);
    const size_t span = sweep_power(step->place);
    sweep_drawn way_back[SWEEP_LANES] = {{0, 0}};
    for (size_t from = sweep_power(step->width_out);
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
    for (uint32_t k = 0; k < lanes && bit->kind == SWEEP_DRAWN; k++)
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
        sweep_work_in_message(sweep, step, x);
        break;
    case SWEEP_CAUSE:
        sweep_work_in_cause(sweep, step, x);
        break;
    case SWEEP_CLOSE:
        close_bit(sweep, step, x);
        break;
    }
}

/* One message; `logs`: what it adds, by lane. */
static void send(rank_sweep *sweep, const sweep_message *message, bool keep, double *logs)
{
    const uint32_t lanes = sweep->lanes;
    double *x = sweep_forth(sweep);
    long exponents[SWEEP_LANES] = {0};
    for (uint32_t k = 0; k < lanes; k++)
        x[k] = 1;
    for (uint32_t i = message->steps.first; i < message->steps.first + message->steps.count; i++) {
        const sweep_step *step = &sweep->steps[i];
        if (keep)
            memcpy(sweep_kept(sweep, step->saved), x, sweep_span(sweep, step->width_in) * sizeof *x);
        step_forward(sweep, step, x);
        scale(sweep, x, sweep_span(sweep, step->width_out), exponents);
    }
    memcpy(sweep_kept(sweep, message->at), x, sweep_span(sweep, message->scope.count) * sizeof *x);
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
        sweep_work_out_message(sweep, step, y);
        break;
    case SWEEP_CAUSE:
        sweep_work_out_cause(sweep, step, y, by_cause);
        break;
    case SWEEP_CLOSE:
        reopen_bit(sweep, step, y, by_cause);
        break;
    }
    long exponents[SWEEP_LANES] = {0};
    scale(sweep, y, sweep_span(sweep, step->width_in), exponents);
}

void sweep_answer_all(rank_sweep *sweep, const bool *stirred, double *by_cause)
{
    double *y = sweep_back(sweep);
    for (uint32_t i = sweep->message_count; i-- > 0;) {
        const sweep_message *message = &sweep->messages[i];
        if (stirred != NULL && !stirred[message->root])
            continue;
        for (uint32_t k = 0; k < sweep->lanes && message->scope.count == 0; k++)
            y[k] = 1;
        if (message->scope.count > 0)
            memcpy(y, sweep_kept(sweep, message->way_back),
                   sweep_span(sweep, message->scope.count) * sizeof *y);
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
