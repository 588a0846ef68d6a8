/* Inside the sweep: what its files share. */
#ifndef CW_RANK_SWEEP_INSIDE_H
#define CW_RANK_SWEEP_INSIDE_H

#include "rank/lanes.h"

#include <math.h>

static inline bool sweep_takes_part(const rank_sweep *sweep, cw_cause_id id)
{
    return sweep->net->causes[id].possible && !(sweep->forced != NULL && sweep->forced[id]);
}

/* Both ends take part. */
static inline bool sweep_leads(const rank_sweep *sweep, const net_parent *parent)
{
    return rank_net_leads(sweep->net, parent) && sweep_takes_part(sweep, parent->cause);
}

static inline const net_parent *sweep_parent(const rank_sweep *sweep, const net_cause *cause, uint32_t i)
{
    return &sweep->net->parents[cause->parents.first + i];
}

static inline const net_touch *sweep_touch(const rank_sweep *sweep, const net_cause *cause, uint32_t i)
{
    return &sweep->net->touches[cause->touches.first + i];
}

/* Who leads to the cause meets in a bit of its own. */
static inline bool sweep_is_led(const rank_sweep *sweep, cw_cause_id id)
{
    return sweep->led_left[id] > 0;
}

/* The i-th that the cause leads to, where that one has a bit for it; 0 otherwise. *chance: that it leads
 * there.
 */
static inline cw_cause_id sweep_led_follower(const rank_sweep *sweep, cw_cause_id id, uint32_t i,
                                             double *chance)
{
    const cw_model *model = sweep->net->model;
    const cw_link *link = &model->links[model->causes[id].leads_to.first + i];
    *chance = link->chance;
    return link->chance > 0 && sweep_takes_part(sweep, link->to) && sweep_is_led(sweep, link->to) ? link->to
                                                                                                  : 0;
}

/* The cause has bits to say something of. */
static inline bool sweep_hangs(const rank_sweep *sweep, cw_cause_id id)
{
    return sweep_takes_part(sweep, id) && !sweep->alone[id] && sweep->leaf_of[id] == 0;
}

/* Some cause that takes part says something of the bit. */
static inline bool sweep_is_open(const rank_sweep *sweep, uint32_t bit)
{
    const sweep_bit *of = &sweep->bits[bit];
    if (of->kind == SWEEP_DRAWN)
        return sweep->finding_left[of->who] > 0;
    return sweep_takes_part(sweep, of->who) &&
           (of->kind == SWEEP_LED ? sweep->led_left : sweep->cause_left)[of->who] > 0;
}

/* What a cause says by itself, by lane. `ruled` NULL: ruled out in none of them. */
typedef struct sweep_halves {
    const double *own, *absent, *present;
    const bool *ruled;
} sweep_halves;

static inline sweep_halves sweep_halves_of(const rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    const rank_lanes *varied = sweep->varied;
    const size_t at = (size_t)id * SWEEP_LANES;
    if (sweep->lanes == 1)
        return (sweep_halves){&cause->own, &cause->absent, &sweep->present_factor[id], NULL};
    return (sweep_halves){varied->own + at, varied->absent + at, varied->present + at,
                          varied->any_ruled[id] ? varied->ruled + at : NULL};
}

/* By lane: what a finding's background and its leaves draw; the same without a leaf and later ones. */
static inline const sweep_drawn *sweep_drawn_of(const rank_sweep *sweep, uint32_t finding)
{
    return sweep->lanes == 1 ? &sweep->drawn[finding] : sweep->varied->drawn + (size_t)finding * SWEEP_LANES;
}

static inline const sweep_drawn *sweep_before_of(const rank_sweep *sweep, cw_cause_id id)
{
    return sweep->lanes == 1 ? &sweep->before[id] : sweep->varied->before + (size_t)id * SWEEP_LANES;
}

static inline const net_touch *sweep_leaf_touch(const rank_sweep *sweep, cw_cause_id id)
{
    const net_cause *cause = &sweep->net->causes[id];
    uint32_t i = 0;
    while (sweep_touch(sweep, cause, i)->finding != sweep->leaf_of[id] - 1)
        i++;
    return sweep_touch(sweep, cause, i);
}

/* Counts what hangs together, works in what needs no bit, and finds the causes that stand alone and the
 * leaves. */
void rank_sweep_count(rank_sweep *sweep);
/* Puts the bits in the order of elimination. CW_NO_MEMORY, or CW_OK. */
cw_status rank_sweep_order(rank_sweep *sweep);
/* Puts the causes in one line; then plans along it. */
void rank_sweep_line_up(rank_sweep *sweep);
void rank_sweep_plan_line(rank_sweep *sweep);

/* A plan's pieces. */
static inline double sweep_numbers(uint32_t bits)
{
    return ldexp(1.0, (int)bits);
}

void sweep_begin_message(rank_sweep *sweep);
void sweep_plan_cause(rank_sweep *sweep, cw_cause_id id);
void sweep_plan_merge(rank_sweep *sweep, uint32_t which);
void sweep_plan_close(rank_sweep *sweep, uint32_t bit);
void sweep_end_message(rank_sweep *sweep);

/* There, every message of the roots that are stirred (NULL: all); then back, by cause and lane. */
cw_status sweep_send_all(rank_sweep *sweep, const bool *stirred, bool keep);
void sweep_answer_all(rank_sweep *sweep, const bool *stirred, double *by_cause);
/* What a way back makes of a finding's leaves, in one lane. */
void sweep_work_out_leaves(const rank_sweep *sweep, uint32_t finding, uint32_t lane, sweep_drawn way_back,
                           double *by_cause);

/* Inside the sweep: vectors of 2^bits entries by the set of what has been drawn, each a number for every
 * lane; room for 2^bits entries. out[s] = sum over a | b == s of x[a] * m[b]. */
void rank_merge(const double *x, const double *m, uint32_t bits, uint32_t lanes, double *out, double *room);
/* out[a] = sum over b of y[a | b] * m[b]: the way back of the above. */
void rank_unmerge(const double *y, const double *m, uint32_t bits, uint32_t lanes, double *out, double *room);

#endif
