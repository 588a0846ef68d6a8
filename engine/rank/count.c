/* What of a network needs a bit, and what is worked in before: causes that stand alone, leaves, findings that
 * one cause alone touches. */
#include "rank/sweep_inside.h"

#include <math.h>

/* Factors of the two halves; kept away from the smallest numbers, by powers of two. */
static void fold_in(rank_sweep *sweep, cw_cause_id id, double absent, double present)
{
    double *of_absent = &sweep->absent_factor[id], *of_present = &sweep->present_factor[id];
    *of_absent *= absent;
    *of_present *= present;
    if (*of_absent < 0x1p-200 && *of_present < 0x1p-200) {
        *of_absent *= 0x1p200;
        *of_present *= 0x1p200;
        sweep->log_factor -= 200 * RANK_LOG_2;
    }
}

/* A forced absence is worth what its own is, and to each present parent that it does not lead here. */
static void force_absent(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    sweep->log_factor += log(cause->absent) + log(cause->lacks);
    for (uint32_t i = 0; i < cause->parents.count; i++)
        if (sweep_leads(sweep, sweep_parent(sweep, cause, i)))
            fold_in(sweep, sweep_parent(sweep, cause, i)->cause, 1, sweep_parent(sweep, cause, i)->stays);
}

static void count_cause(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    for (uint32_t i = 0; i < cause->touches.count; i++)
        sweep->finding_left[sweep_touch(sweep, cause, i)->finding]++;
    for (uint32_t i = 0; i < cause->parents.count; i++) {
        const net_parent *parent = sweep_parent(sweep, cause, i);
        if (!sweep_leads(sweep, parent))
            continue;
        if (sweep->led[id])
            sweep->led_left[id]++;
        else
            sweep->cause_left[parent->cause]++;
        sweep->alone[parent->cause] = sweep->alone[id] = false;
    }
}

/* A finding that one cause alone touches needs no bit. */
static void fold_private_findings(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    for (uint32_t i = 0; i < cause->touches.count; i++) {
        const net_touch *touch = sweep_touch(sweep, cause, i);
        const net_finding *background = &sweep->net->findings[touch->finding];
        if (sweep->finding_left[touch->finding] != 1)
            continue;
        fold_in(sweep, id, background->hit,
                background->hit * (touch->miss + touch->hit) + background->miss * touch->hit);
        sweep->finding_left[touch->finding] = 0;
    }
}

/* Its touch, when a cause in no link touches one shared finding alone; NULL otherwise. One that touches none
 * stands alone. */
static const net_touch *only_touch(rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    const net_touch *only = NULL;
    uint32_t shared = 0;
    for (uint32_t i = 0; i < cause->touches.count; i++)
        if (sweep->finding_left[sweep_touch(sweep, cause, i)->finding] > 0) {
            only = sweep_touch(sweep, cause, i);
            shared++;
        }
    const bool linked = !sweep->alone[id];
    sweep->alone[id] = !linked && shared == 0;
    return !linked && shared == 1 ? only : NULL;
}

/* A leaf becomes part of what its finding's background draws. */
static void fold_leaf(rank_sweep *sweep, cw_cause_id id, const net_touch *touch)
{
    const net_cause *cause = &sweep->net->causes[id];
    sweep_drawn *drawn = &sweep->drawn[touch->finding];
    const double absent = cause->absent * sweep->absent_factor[id],
                 present = cause->own * sweep->present_factor[id];
    sweep->leaf_of[id] = touch->finding + 1;
    sweep->before[id] = *drawn;
    sweep->next_cause[id] = sweep->leaves[touch->finding];
    sweep->leaves[touch->finding] = id;
    sweep->leaf_count[touch->finding]++;
    drawn->hit =
        drawn->hit * (absent + present * (touch->miss + touch->hit)) + drawn->miss * present * touch->hit;
    drawn->miss *= absent + present * touch->miss;
    if (drawn->hit < 0x1p-200 && drawn->miss < 0x1p-200) {
        drawn->hit *= 0x1p200;
        drawn->miss *= 0x1p200;
        sweep->log_factor -= 200 * RANK_LOG_2;
    }
}

static void start_counting(rank_sweep *sweep)
{
    const network *net = sweep->net;
    sweep->log_factor = net->log_factor;
    for (uint32_t i = 0; i < net->finding_count; i++) {
        sweep->finding_left[i] = sweep->leaves[i] = sweep->leaf_count[i] = 0;
        sweep->drawn[i] = (sweep_drawn){net->findings[i].hit, net->findings[i].miss};
    }
    for (uint32_t i = 0; i < net->live_count; i++) {
        const cw_cause_id id = net->live[i];
        sweep->absent_factor[id] = net->causes[id].lacks;
        sweep->present_factor[id] = net->causes[id].weight;
        sweep->cause_left[id] = sweep->led_left[id] = sweep->leaf_of[id] = 0;
        sweep->alone[id] = true;
    }
}

void rank_sweep_count(rank_sweep *sweep)
{
    const network *net = sweep->net;
    start_counting(sweep);
    for (uint32_t i = 0; i < net->live_count; i++) {
        if (sweep_takes_part(sweep, net->live[i]))
            count_cause(sweep, net->live[i]);
        else
            force_absent(sweep, net->live[i]);
    }
    for (uint32_t i = 0; i < net->finding_count; i++)
        if (sweep->finding_left[i] == 0) /* all that could touch it are forced absent */
            sweep->log_factor += log(net->findings[i].hit);
    for (uint32_t i = 0; i < net->live_count; i++)
        if (sweep_takes_part(sweep, net->live[i]))
            fold_private_findings(sweep, net->live[i]);
    for (uint32_t i = 0; i < net->live_count; i++) {
        const net_touch *touch =
            sweep_takes_part(sweep, net->live[i]) ? only_touch(sweep, net->live[i]) : NULL;
        if (touch != NULL)
            fold_leaf(sweep, net->live[i], touch);
    }
    for (uint32_t i = 0; i < net->finding_count; i++) {
        sweep->finding_left[i] -= sweep->leaf_count[i];
        if (sweep->finding_left[i] == 0 && sweep->leaves[i] != 0) /* only leaves touch it */
            sweep->log_factor += log(sweep->drawn[i].hit);
    }
}
