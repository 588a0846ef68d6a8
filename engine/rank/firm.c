#include "rank/firm.h"

#include <string.h>

/* -- The two networks -- */

/* What is drawn: the value seen more or less often, what is lower in what is left. */
static void lean_draw(double *hit, double *miss, double by)
{
    const double to = rank_word_off(*hit, by);
    *miss *= *hit < 1 ? (1 - to) / (1 - *hit) : 1;
    *hit = to;
}

/* A finding at its normal value: how often the cause shows anything else. */
static void lean_normals(question *q, double by)
{
    network *net = &q->scratch->net;
    for (uint32_t i = 0; i < net->seen_count; i++) {
        const cw_fact_id fact = net->seen[i];
        if (q->evidence[net->evidence_of[fact] - 1].value != 0)
            continue;
        const cw_run showing = net->showing[fact];
        for (uint32_t k = showing.first; k < showing.first + showing.count; k++) {
            const double normal = net->shows[k].sign->chances[0];
            if (normal > 0)
                net->causes[net->shows[k].cause].weight *= (1 - rank_word_off(1 - normal, -by)) / normal;
        }
    }
}

static void lean_all(question *q, double by)
{
    network *net = &q->scratch->net;
    rank_net_build(net, q->chain, q->evidence, q->count, q->scratch->left_out);
    lean_normals(q, by);
    for (uint32_t i = 0; i < net->finding_count; i++)
        lean_draw(&net->findings[i].hit, &net->findings[i].miss, by);
    for (uint32_t i = 0; i < net->touch_count; i++)
        lean_draw(&net->touches[i].hit, &net->touches[i].miss, by);
    for (uint32_t i = 0; i < net->live_count; i++) {
        net_cause *cause = &net->causes[net->live[i]];
        const double own = rank_word_off(cause->own, by);
        cause->own = own < 1 ? own / (1 - own) : 0x1p100;
        cause->absent = 1;
    }
}

/* Links are the model's own: leaned once for both ends, and put back. */
static void lean_links(network *net, double by)
{
    for (uint32_t i = 0; i < net->link_count; i++) {
        net_parent *parent = &net->parents[i];
        const double chance = parent->chance;
        parent->chance = rank_word_off(chance, by);
        parent->stays = 1 - rank_word_off(chance, -by);
    }
}

/* -- The comparison -- */

/* Sums of one of the two; *done: false where it is too dear. */
static cw_status sum_leaned(question *q, double by, double *by_cause, double *logs, double *kept, bool *done)
{
    cw_causes_scratch *scratch = q->scratch;
    network *net = &scratch->net;
    base_answer answer;
    for (uint32_t i = 0; i < net->link_count; i++)
        kept[i] = net->parents[i].chance;
    lean_all(q, by);
    lean_links(net, by);
    const cw_status status =
        rank_base_set(&scratch->base, net, &scratch->sweep, q->evidence, q->max_steps - q->steps, &answer);
    for (uint32_t i = 0; i < net->link_count; i++) {
        net->parents[i].chance = kept[i];
        net->parents[i].stays = 1 - kept[i];
    }
    *done = status == CW_OK && scratch->base.valid;
    q->steps += answer.steps;
    for (cw_cause_id id = 1; *done && id <= scratch->model->causes_count; id++) {
        const uint32_t piece = scratch->base.part[id];
        by_cause[id] = scratch->base.by_cause[id];
        logs[id] = piece != 0 ? scratch->base.sums[piece].all : 0;
    }
    scratch->base.valid = false;
    return status;
}

static void compare(const question *q, cw_cause_id first, const double *down_logs, const double *up_logs,
                    bool *firm, cw_cause_id *rival)
{
    const cw_causes_scratch *scratch = q->scratch;
    double middle, least, most, highest = 0;
    rank_bounds_close(scratch->above[first], scratch->below[first], up_logs[first] - down_logs[first],
                      &middle, &least, &most);
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++) {
        double low, high;
        if (id == first || scratch->base.part[id] == 0)
            continue;
        rank_bounds_close(scratch->above[id], scratch->below[id], up_logs[id] - down_logs[id], &middle, &low,
                          &high);
        if (high > highest) {
            highest = high;
            *rival = id;
        }
    }
    *firm = least > highest;
    *rival = *firm ? 0 : *rival;
}

cw_status rank_firm(question *q, cw_cause_id first, cw_arena *arena, bool *firm, cw_cause_id *rival)
{
    cw_causes_scratch *scratch = q->scratch;
    const size_t causes = scratch->model->causes_count + (size_t)1, links = scratch->net.link_count;
    bool done = false;
    *firm = false;
    *rival = 0;
    double *down = CW_NEW_ARRAY(arena, double, causes), *up = CW_NEW_ARRAY(arena, double, causes),
           *kept = CW_NEW_ARRAY(arena, double, links);
    if (down == NULL || up == NULL || kept == NULL)
        return CW_NO_MEMORY;
    cw_status status = sum_leaned(q, -1, scratch->below, down, kept, &done);
    if (done)
        status = sum_leaned(q, 1, scratch->above, up, kept, &done);
    if (done)
        compare(q, first, down, up, firm, rival);
    return status;
}
