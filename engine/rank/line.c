/* The other way to plan: one vector from the first cause to the last, each bit closed with the last cause
 * that needs it. Nothing is ever merged, which is dear where many findings are open; parents come before
 * their followers. */
#include "rank/sweep_inside.h"

#include <math.h>

/* How taking this cause next would change the number of bits: at most, and afterwards. */
static void growth(const rank_sweep *sweep, const bool *opened, cw_cause_id id, int *peak, int *after)
{
    const net_cause *cause = &sweep->net->causes[id];
    int opens = 0, closes = 0;
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const uint32_t finding = sweep_touch(sweep, cause, i)->finding;
        opens += sweep->finding_to_come[finding] > 0 && !opened[finding];
        closes += sweep->finding_to_come[finding] == 1;
    }
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        closes += sweep_leads(sweep, parent) && sweep->cause_to_come[parent->cause] == 1;
    }
    *peak = opens + (sweep->cause_left[id] > 0);
    *after = *peak - closes;
}

static bool parents_placed(const rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        if (sweep_leads(sweep, parent) && !sweep->placed[parent->cause])
            return false;
    }
    return true;
}

static cw_cause_id next_cause(const rank_sweep *sweep)
{
    cw_cause_id best = 0;
    int best_peak = 0, best_after = 0;
    for (uint32_t i = 0; i < sweep->net->live_count; i++) {
        const cw_cause_id id = sweep->net->live[i];
        if (sweep->placed[id] || !sweep_hangs(sweep, id) || !parents_placed(sweep, id))
            continue;
        int peak, after;
        growth(sweep, sweep->opened, id, &peak, &after);
        if (best == 0 || after < best_after || (after == best_after && peak < best_peak)) {
            best = id;
            best_peak = peak;
            best_after = after;
        }
    }
    return best;
}

/* All that hangs is still to come. */
static void look_ahead(rank_sweep *sweep)
{
    const network *net = sweep->net;
    for (uint32_t i = 0; i < net->finding_count; i++) {
        sweep->finding_to_come[i] = sweep->finding_left[i];
        sweep->opened[i] = false;
    }
    for (uint32_t i = 0; i < net->live_count; i++) {
        sweep->cause_to_come[net->live[i]] = sweep->cause_left[net->live[i]];
        sweep->placed[net->live[i]] = false;
    }
}

/* One cause less to come for each of its bits. */
static void place(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    sweep->placed[id] = true;
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const uint32_t finding = sweep_touch(sweep, cause, i)->finding;
        sweep->opened[finding] = true;
        sweep->finding_to_come[finding] -= sweep->finding_to_come[finding] > 0;
    }
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        if (sweep_leads(sweep, parent))
            sweep->cause_to_come[parent->cause]--;
    }
}

void rank_sweep_line_up(rank_sweep *sweep)
{
    look_ahead(sweep);
    sweep->line_count = 0;
    for (cw_cause_id id; (id = next_cause(sweep)) != 0;) {
        sweep->line[sweep->line_count++] = id;
        place(sweep, id);
    }
}

static bool is_done(const rank_sweep *sweep, uint32_t bit)
{
    const sweep_bit *of = &sweep->bits[bit];
    return (of->kind == SWEEP_PRESENT ? sweep->cause_to_come : sweep->finding_to_come)[of->who] == 0;
}

void rank_sweep_plan_line(rank_sweep *sweep)
{
    look_ahead(sweep);
    sweep_begin_message(sweep);
    for (uint32_t i = 0; i < sweep->line_count && sweep->cost < INFINITY; i++) {
        if (!sweep_hangs(sweep, sweep->line[i]))
            continue;
        sweep_plan_cause(sweep, sweep->line[i]);
        place(sweep, sweep->line[i]);
        for (uint32_t at = sweep->state_count; at-- > 0;)
            if (is_done(sweep, sweep->state[at]))
                sweep_plan_close(sweep, sweep->state[at]);
    }
    if (sweep->cost < INFINITY)
        sweep_end_message(sweep);
}
