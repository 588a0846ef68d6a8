/* The plan of a sweep: what each bit's vector is made of, and what it costs. */
#include "rank/sweep_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Numbers touched by a pass, below which no other plan is looked for. */
#define LINE_FROM 200000
/* Numbers touched by one product of a merge. */
#define MERGE_COST 2

static double power_of_two(uint32_t exponent)
{
    return exponent < 64 ? (double)((uint64_t)1 << exponent) : ldexp(1.0, (int)exponent);
}

static uint32_t place_of(const rank_sweep *sweep, uint32_t bit)
{
    for (uint32_t place = 0; place < sweep->state_count; place++)
        if (sweep->state[place] == bit)
            return place;
    return UINT32_MAX;
}

/* False, and the plan is hopeless, where the vector would grow too wide. */
static bool remember(rank_sweep *sweep, uint32_t bit)
{
    if (sweep->state_count == SWEEP_MAX_WIDTH) {
        sweep->cost = INFINITY;
        return false;
    }
    sweep->state[sweep->state_count++] = bit;
    return true;
}

static void note(rank_sweep *sweep, cw_run *run, sweep_at at)
{
    if (run->count == 0)
        run->first = sweep->place_count;
    assert(run->first + run->count == sweep->place_count);
    sweep->places[sweep->place_count++] = at;
    run->count++;
}

/* -- Steps -- */

static sweep_step *new_step(rank_sweep *sweep, sweep_kind kind, uint32_t who)
{
    sweep_step *step = &sweep->steps[sweep->step_count++];
    *step = (sweep_step){.kind = kind, .who = who, .width_in = sweep->state_count};
    sweep->messages[sweep->message_count].steps.count++;
    return step;
}

static void end_step(rank_sweep *sweep, sweep_step *step, double cost, uint32_t widest)
{
    step->width_out = sweep->state_count;
    step->saved = rank_sweep_fits(sweep) ? (size_t)sweep->numbers_needed : 0;
    sweep->cost += cost;
    sweep->messages[sweep->message_count].cost += cost;
    sweep->numbers_needed += power_of_two(step->width_in);
    if (power_of_two(widest) > sweep->widest)
        sweep->widest = power_of_two(widest);
}

static void plan_opens(rank_sweep *sweep, sweep_step *step, const net_cause *cause)
{
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const uint32_t finding = sweep_touch(sweep, cause, i)->finding, bit = sweep->bit_of_finding[finding];
        if (sweep->finding_left[finding] == 0 || place_of(sweep, bit - 1) != UINT32_MAX)
            continue;
        note(sweep, &step->opens, (sweep_at){.place = sweep->state_count, .bit = bit - 1, .either = true});
        if (!remember(sweep, bit - 1))
            return;
    }
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        const uint32_t bit = sweep->bit_of_cause[parent->cause];
        if (!sweep_leads(sweep, parent) || place_of(sweep, bit - 1) != UINT32_MAX)
            continue;
        note(sweep, &step->opens, (sweep_at){.place = sweep->state_count, .bit = bit - 1});
        if (!remember(sweep, bit - 1))
            return;
    }
}

void sweep_plan_cause(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    sweep_step *step = new_step(sweep, SWEEP_CAUSE, id);
    step->leads = sweep->cause_left[id] > 0;
    plan_opens(sweep, step, cause);
    step->width = sweep->state_count;
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        const uint32_t bit = sweep->bit_of_cause[parent->cause];
        if (sweep_leads(sweep, parent))
            note(sweep, &step->parents,
                 (sweep_at){place_of(sweep, bit - 1), bit - 1, false, parent->chance, parent->stays});
    }
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const net_touch *touch = sweep_touch(sweep, cause, i);
        const uint32_t bit = sweep->bit_of_finding[touch->finding];
        if (sweep->finding_left[touch->finding] > 0)
            note(sweep, &step->touches,
                 (sweep_at){place_of(sweep, bit - 1), bit - 1, true, touch->hit, touch->miss});
    }
    if (step->leads)
        (void)remember(sweep, sweep->bit_of_cause[id] - 1);
    end_step(sweep, step, power_of_two(step->width + 1) * (2.0 + step->parents.count + step->touches.count),
             step->width + 1);
}

/* The message's bits, by their place in it; new ones say the same as the message alone. */
static void plan_merge(rank_sweep *sweep, uint32_t which)
{
    const cw_run scope = sweep->messages[which].scope;
    sweep_step *step = new_step(sweep, SWEEP_MERGE, which);
    uint32_t either = 0;
    for (uint32_t i = 0; i < scope.count; i++) {
        const uint32_t bit = sweep->scopes[scope.first + i];
        uint32_t place = place_of(sweep, bit);
        const bool both = place != UINT32_MAX && !sweep->bits[bit].cause;
        if (place == UINT32_MAX) {
            place = sweep->state_count;
            if (!remember(sweep, bit))
                return;
        }
        either += both;
        note(sweep, &step->touches, (sweep_at){.place = place, .bit = bit, .either = both});
    }
    step->width = sweep->state_count;
    const double spare = 2 * power_of_two(scope.count) + 4 * power_of_two(either);
    if (step->width_in > 0 && spare > sweep->spare)
        sweep->spare = spare;
    end_step(sweep, step, MERGE_COST * power_of_two(step->width - either) * pow(3, either), step->width);
}

void sweep_plan_close(rank_sweep *sweep, uint32_t bit)
{
    sweep_step *step = new_step(sweep, SWEEP_CLOSE, bit);
    step->width = sweep->state_count;
    step->place = place_of(sweep, bit);
    assert(step->place != UINT32_MAX);
    memmove(&sweep->state[step->place], &sweep->state[step->place + 1],
            (sweep->state_count - step->place - 1) * sizeof *sweep->state);
    sweep->state_count--;
    end_step(sweep, step, power_of_two(step->width), step->width);
}

/* -- Messages -- */

void sweep_begin_message(rank_sweep *sweep)
{
    sweep->messages[sweep->message_count] = (sweep_message){.steps = {sweep->step_count, 0}};
    sweep->state_count = 0;
}

/* It waits for the next of its bits. */
void sweep_end_message(rank_sweep *sweep)
{
    uint32_t bit = UINT32_MAX;
    sweep_message *message = &sweep->messages[sweep->message_count++];
    message->scope = (cw_run){sweep->scope_count, sweep->state_count};
    for (uint32_t place = 0; place < sweep->state_count; place++) {
        sweep->scopes[sweep->scope_count++] = sweep->state[place];
        if (sweep->state[place] < bit)
            bit = sweep->state[place];
    }
    message->at = rank_sweep_fits(sweep) ? (size_t)sweep->numbers_needed : 0;
    message->way_back = message->at + ((size_t)1 << sweep->state_count);
    sweep->numbers_needed += 2 * power_of_two(sweep->state_count);
    if (sweep->state_count > 0) {
        message->next = sweep->first_message[bit];
        sweep->first_message[bit] = sweep->message_count;
    }
}

/* Whether a message that waits for the bit knows the cause's own. */
static bool is_known(const rank_sweep *sweep, uint32_t bit, cw_cause_id id)
{
    const uint32_t own = sweep->bit_of_cause[id] - 1;
    for (uint32_t m = sweep->first_message[bit]; m != 0 && sweep->cause_left[id] > 0;
         m = sweep->messages[m - 1].next)
        for (uint32_t i = 0; i < sweep->messages[m - 1].scope.count; i++)
            if (sweep->scopes[sweep->messages[m - 1].scope.first + i] == own)
                return true;
    return false;
}

/* A cause whose followers have been worked into a message is worked in as one itself, and then those that
 * lead to it. */
static void plan_apart(rank_sweep *sweep, uint32_t bit)
{
    for (uint32_t *link = &sweep->first_cause[bit]; *link != 0;) {
        const cw_cause_id id = *link;
        if (!is_known(sweep, bit, id)) {
            link = &sweep->next_cause[id];
            continue;
        }
        *link = sweep->next_cause[id];
        sweep_begin_message(sweep);
        sweep_plan_cause(sweep, id);
        if (sweep->cost == INFINITY)
            return;
        sweep_end_message(sweep);
        link = &sweep->first_cause[bit];
    }
}

/* The widest message first: what it is merged with costs least when it is there already. */
static void plan_merges(rank_sweep *sweep, uint32_t bit)
{
    uint32_t widest = 0;
    for (uint32_t m = sweep->first_message[bit]; m != 0; m = sweep->messages[m - 1].next)
        if (widest == 0 || sweep->messages[m - 1].scope.count > sweep->messages[widest - 1].scope.count)
            widest = m;
    if (widest != 0)
        plan_merge(sweep, widest - 1);
    for (uint32_t m = sweep->first_message[bit]; m != 0 && sweep->cost < INFINITY;
         m = sweep->messages[m - 1].next)
        if (m != widest)
            plan_merge(sweep, m - 1);
}

static void plan_bit(rank_sweep *sweep, uint32_t bit)
{
    if (!sweep_is_open(sweep, bit))
        return;
    plan_apart(sweep, bit);
    if (sweep->cost == INFINITY)
        return;
    sweep_begin_message(sweep);
    plan_merges(sweep, bit);
    for (cw_cause_id id = sweep->first_cause[bit]; id != 0 && sweep->cost < INFINITY;
         id = sweep->next_cause[id])
        sweep_plan_cause(sweep, id);
    if (sweep->cost == INFINITY)
        return;
    sweep_plan_close(sweep, bit);
    sweep_end_message(sweep);
}

/* Each cause waits for the first of its bits. */
static void line_up(rank_sweep *sweep)
{
    memset(sweep->first_cause, 0, (sweep->bit_count + 1) * sizeof *sweep->first_cause);
    memset(sweep->first_message, 0, (sweep->bit_count + 1) * sizeof *sweep->first_message);
    for (uint32_t i = sweep->net->live_count; i-- > 0;) {
        const cw_cause_id id = sweep->net->live[i];
        if (!sweep_hangs(sweep, id))
            continue;
        uint32_t first = UINT32_MAX;
        const net_cause *cause = &sweep->net->causes[id];
        if (sweep->cause_left[id] > 0)
            first = sweep->bit_of_cause[id];
        for (uint32_t k = 0; k < cause->touches.count; k++) {
            const uint32_t finding = sweep_touch(sweep, cause, k)->finding;
            if (sweep->finding_left[finding] > 0 && sweep->bit_of_finding[finding] < first)
                first = sweep->bit_of_finding[finding];
        }
        for (uint32_t k = 0; k < cause->parents.count; k++) {
            const net_parent *parent = sweep_parent(sweep, cause, k);
            if (sweep_leads(sweep, parent) && sweep->bit_of_cause[parent->cause] < first)
                first = sweep->bit_of_cause[parent->cause];
        }
        sweep->next_cause[id] = sweep->first_cause[first - 1];
        sweep->first_cause[first - 1] = id;
    }
}

static void plan_tree(rank_sweep *sweep)
{
    line_up(sweep);
    for (uint32_t bit = 0; bit < sweep->bit_count && sweep->cost < INFINITY; bit++)
        plan_bit(sweep, bit);
}

/* From the last message back: it ends where the one ends that it is merged into. */
static void find_roots(rank_sweep *sweep)
{
    for (uint32_t i = sweep->message_count; i-- > 0;) {
        sweep_message *message = &sweep->messages[i];
        if (message->scope.count == 0)
            message->root = i;
        for (uint32_t k = message->steps.first; k < message->steps.first + message->steps.count; k++)
            if (sweep->steps[k].kind == SWEEP_MERGE)
                sweep->messages[sweep->steps[k].who].root = message->root;
    }
}

void rank_sweep_plan(rank_sweep *sweep, const bool *forced)
{
    sweep->forced = forced;
    rank_sweep_count(sweep);
    sweep->step_count = sweep->message_count = sweep->place_count = sweep->scope_count = 0;
    sweep->state_count = 0;
    sweep->cost = sweep->hopeless ? INFINITY : 0;
    sweep->numbers_needed = sweep->spare = 0;
    sweep->widest = 2;
    if (sweep->hopeless)
        return;
    if (sweep->in_line)
        rank_sweep_plan_line(sweep);
    else
        plan_tree(sweep);
    if (sweep->cost < INFINITY)
        find_roots(sweep);
}

/* The tree is looked at first; where it is dear, whether a line is less so. */
cw_status rank_sweep_choose(rank_sweep *sweep)
{
    sweep->in_line = sweep->no_leaves = false;
    if (rank_sweep_order(sweep) != CW_OK)
        return CW_NO_MEMORY;
    rank_sweep_plan(sweep, NULL);
    if (sweep->hopeless || (rank_sweep_fits(sweep) && sweep->cost <= LINE_FROM))
        return CW_OK;
    const double tree = rank_sweep_fits(sweep) ? sweep->cost : INFINITY;
    rank_sweep_line_up(sweep);
    sweep->in_line = true;
    rank_sweep_plan(sweep, NULL);
    if (rank_sweep_fits(sweep) && sweep->cost < tree)
        return CW_OK;
    sweep->in_line = false;
    rank_sweep_plan(sweep, NULL);
    return CW_OK;
}

cw_status rank_sweep_choose_line(rank_sweep *sweep)
{
    sweep->no_leaves = sweep->in_line = true;
    const cw_status status = rank_sweep_order(sweep);
    if (status == CW_OK && !sweep->hopeless)
        rank_sweep_line_up(sweep);
    if (status == CW_OK)
        rank_sweep_plan(sweep, NULL);
    sweep->no_leaves = false;
    return status;
}

bool rank_sweep_fits(const rank_sweep *sweep)
{
    return sweep->cost < INFINITY &&
           sweep->numbers_needed + 2 * sweep->widest + sweep->spare <= (double)SWEEP_MAX_NUMBERS;
}
