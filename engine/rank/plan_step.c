/* The steps of a plan: what a vector knows before and after each, and what that costs. */
#include "rank/sweep_inside.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* Numbers touched by one product of a merge. */
#define MERGE_COST 2

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
    sweep->numbers_needed += sweep_numbers(step->width_in);
    if (sweep_numbers(widest) > sweep->widest)
        sweep->widest = sweep_numbers(widest);
}

/* False where the vector would grow too wide. `either`: of a bit that is drawn, nothing has been yet. */
static bool plan_open(rank_sweep *sweep, sweep_step *step, uint32_t bit, bool either)
{
    if (place_of(sweep, bit) != UINT32_MAX)
        return true;
    note(sweep, &step->opens, (sweep_at){.place = sweep->state_count, .bit = bit, .either = either});
    return remember(sweep, bit);
}

static bool plan_opens(rank_sweep *sweep, sweep_step *step, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    bool fits = true;
    for (uint32_t i = 0; i < cause->touches.count && fits; i++) {
        const uint32_t finding = sweep_touch(sweep, cause, i)->finding;
        if (sweep->finding_left[finding] > 0)
            fits = plan_open(sweep, step, sweep->bit_of_finding[finding] - 1, true);
    }
    for (uint32_t i = 0; i < sweep->net->model->causes[id].leads_to.count && fits; i++) {
        double chance;
        const cw_cause_id led = sweep_led_follower(sweep, id, i, &chance);
        if (led != 0)
            fits = plan_open(sweep, step, sweep->bit_of_led[led] - 1, true);
    }
    if (sweep_is_led(sweep, id)) /* those that lead to it have been worked in */
        assert(place_of(sweep, sweep->bit_of_led[id] - 1) != UINT32_MAX);
    for (uint32_t i = 0; i < cause->parents.count && fits && !sweep_is_led(sweep, id); i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        if (sweep_leads(sweep, parent))
            fits = plan_open(sweep, step, sweep->bit_of_cause[parent->cause] - 1, false);
    }
    return fits;
}

/* By a bit of its own: brought about is present. */
static void plan_parents(rank_sweep *sweep, sweep_step *step, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    if (sweep_is_led(sweep, id)) {
        const uint32_t bit = sweep->bit_of_led[id] - 1;
        note(sweep, &step->parents, (sweep_at){place_of(sweep, bit), bit, false, 1, 0});
        return;
    }
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        const uint32_t bit = sweep->bit_of_cause[parent->cause] - 1;
        if (sweep_leads(sweep, parent))
            note(sweep, &step->parents,
                 (sweep_at){place_of(sweep, bit), bit, false, parent->chance, parent->stays});
    }
}

static void plan_touches(rank_sweep *sweep, sweep_step *step, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const net_touch *touch = sweep_touch(sweep, cause, i);
        const uint32_t bit = sweep->bit_of_finding[touch->finding] - 1;
        if (sweep->finding_left[touch->finding] > 0)
            note(sweep, &step->touches, (sweep_at){place_of(sweep, bit), bit, true, touch->hit, touch->miss});
    }
    for (uint32_t i = 0; i < sweep->net->model->causes[id].leads_to.count; i++) {
        double chance;
        const cw_cause_id led = sweep_led_follower(sweep, id, i, &chance);
        const uint32_t bit = led != 0 ? sweep->bit_of_led[led] - 1 : 0;
        if (led != 0)
            note(sweep, &step->touches, (sweep_at){place_of(sweep, bit), bit, true, chance, 1 - chance});
    }
}

void sweep_plan_cause(rank_sweep *sweep, cw_cause_id id)
{
    sweep_step *step = new_step(sweep, SWEEP_CAUSE, id);
    step->leads = sweep->cause_left[id] > 0;
    if (!plan_opens(sweep, step, id))
        return;
    step->width = sweep->state_count;
    plan_parents(sweep, step, id);
    plan_touches(sweep, step, id);
    if (step->leads && !remember(sweep, sweep->bit_of_cause[id] - 1))
        return;
    end_step(sweep, step, sweep_numbers(step->width + 1) * (2.0 + step->parents.count + step->touches.count),
             step->width + 1);
}

/* The message's bits, by their place in it; new ones say the same as the message alone. */
void sweep_plan_merge(rank_sweep *sweep, uint32_t which)
{
    const cw_run scope = sweep->messages[which].scope;
    sweep_step *step = new_step(sweep, SWEEP_MERGE, which);
    uint32_t either = 0;
    for (uint32_t i = 0; i < scope.count; i++) {
        const uint32_t bit = sweep->scopes[scope.first + i];
        uint32_t place = place_of(sweep, bit);
        const bool both = place != UINT32_MAX && sweep->bits[bit].kind != SWEEP_PRESENT;
        if (place == UINT32_MAX) {
            place = sweep->state_count;
            if (!remember(sweep, bit))
                return;
        }
        either += both;
        note(sweep, &step->touches, (sweep_at){.place = place, .bit = bit, .either = both});
    }
    step->width = sweep->state_count;
    const double spare = 2 * sweep_numbers(scope.count) + 4 * sweep_numbers(either);
    if (step->width_in > 0 && spare > sweep->spare)
        sweep->spare = spare;
    end_step(sweep, step, MERGE_COST * sweep_numbers(step->width - either) * pow(3, either), step->width);
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
    end_step(sweep, step, sweep_numbers(step->width), step->width);
}
