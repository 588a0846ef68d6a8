/* The plan of a sweep: what each bit's vector is made of, and what it costs. */
#include "rank/sweep_inside.h"

#include <math.h>
#include <string.h>

/* Numbers touched by a pass, below which no other plan is looked for: no line, no other tree. */
#define LINE_FROM 200000
#define TREE_FROM 256

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
    sweep->numbers_needed += 2 * sweep_numbers(sweep->state_count);
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
        sweep_plan_merge(sweep, widest - 1);
    for (uint32_t m = sweep->first_message[bit]; m != 0 && sweep->cost < INFINITY;
         m = sweep->messages[m - 1].next)
        if (m != widest)
            sweep_plan_merge(sweep, m - 1);
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

static void at_most(uint32_t *least, uint32_t bit)
{
    *least = bit < *least ? bit : *least;
}

/* The first of the cause's bits: there it is worked in. */
static uint32_t first_bit(const rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    uint32_t first = UINT32_MAX;
    if (sweep_is_led(sweep, id)) /* comes before all others */
        return sweep->bit_of_led[id];
    if (sweep->cause_left[id] > 0)
        first = sweep->bit_of_cause[id];
    for (uint32_t k = 0; k < cause->touches.count; k++) {
        const uint32_t finding = sweep_touch(sweep, cause, k)->finding;
        if (sweep->finding_left[finding] > 0)
            at_most(&first, sweep->bit_of_finding[finding]);
    }
    for (uint32_t k = 0; k < cause->parents.count; k++) {
        const net_parent *parent = sweep_parent(sweep, cause, k);
        if (sweep_leads(sweep, parent))
            at_most(&first, sweep->bit_of_cause[parent->cause]);
    }
    for (uint32_t k = 0; k < sweep->net->model->causes[id].leads_to.count; k++) {
        double chance;
        const cw_cause_id led = sweep_led_follower(sweep, id, k, &chance);
        if (led != 0)
            at_most(&first, sweep->bit_of_led[led]);
    }
    return first;
}

/* In order of id: those that lead to a cause stand before it. */
static void line_up(rank_sweep *sweep)
{
    memset(sweep->first_cause, 0, (sweep->bit_count + 1) * sizeof *sweep->first_cause);
    memset(sweep->first_message, 0, (sweep->bit_count + 1) * sizeof *sweep->first_message);
    for (uint32_t i = sweep->net->live_count; i-- > 0;) {
        const cw_cause_id id = sweep->net->live[i];
        if (!sweep_hangs(sweep, id))
            continue;
        const uint32_t first = first_bit(sweep, id);
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

static bool any_led_from(const rank_sweep *sweep, uint32_t count)
{
    for (uint32_t i = 0; i < sweep->net->live_count; i++) {
        const net_cause *cause = &sweep->net->causes[sweep->net->live[i]];
        uint32_t parents = 0;
        for (uint32_t k = 0; k < cause->parents.count; k++)
            parents += rank_net_leads(sweep->net, sweep_parent(sweep, cause, k));
        if (parents >= count)
            return true;
    }
    return false;
}

/* Orders and plans as a tree. */
static cw_status plan_from(rank_sweep *sweep, uint32_t led_from, double *cost)
{
    sweep->led_from = led_from;
    if (rank_sweep_order(sweep) != CW_OK)
        return CW_NO_MEMORY;
    rank_sweep_plan(sweep, NULL);
    *cost = !sweep->hopeless && rank_sweep_fits(sweep) ? sweep->cost : INFINITY;
    return CW_OK;
}

static cw_status order_line(rank_sweep *sweep)
{
    sweep->in_line = true;
    sweep->led_from = 0;
    if (rank_sweep_order(sweep) != CW_OK)
        return CW_NO_MEMORY;
    if (!sweep->hopeless)
        rank_sweep_line_up(sweep);
    rank_sweep_plan(sweep, NULL);
    return CW_OK;
}

/* Whether those that lead to one cause are better remembered themselves or by a bit of that one, is found by
 * trying: none of them, where three lead, where two do. */
static cw_status choose_tree(rank_sweep *sweep, double *cost)
{
    static const uint32_t from[] = {3, 2};
    uint32_t best = 0, last = 0;
    cw_status status = plan_from(sweep, 0, cost);
    for (size_t i = 0; i < sizeof from / sizeof *from && status == CW_OK && *cost > TREE_FROM; i++) {
        double other = INFINITY;
        if (!any_led_from(sweep, from[i]))
            continue;
        last = from[i];
        status = plan_from(sweep, last, &other);
        if (other >= *cost)
            continue;
        *cost = other;
        best = last;
    }
    return status == CW_OK && last != best ? plan_from(sweep, best, cost) : status;
}

/* The tree is looked at first; where it is dear, whether a line is less so. */
cw_status rank_sweep_choose(rank_sweep *sweep)
{
    double tree;
    sweep->in_line = false;
    cw_status status = choose_tree(sweep, &tree);
    if (status != CW_OK || sweep->hopeless || tree <= LINE_FROM)
        return status;
    const uint32_t led_from = sweep->led_from;
    status = order_line(sweep);
    if (status != CW_OK || (rank_sweep_fits(sweep) && sweep->cost < tree))
        return status;
    sweep->in_line = false;
    return plan_from(sweep, led_from, &tree);
}

bool rank_sweep_fits(const rank_sweep *sweep)
{
    return sweep->cost < INFINITY &&
           sweep->numbers_needed + 2 * sweep->widest + sweep->spare <= (double)SWEEP_MAX_NUMBERS;
}
