#include "rank/vary.h"

#include "rank/inside.h"
#include "rank/sweep_inside.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <string.h>

/* Below this share of the larger sum a difference is not taken. */
#define LEAST_SHARE 1e-3

#define BY_CAUSE(X)                                                                                          \
    X(by_cause)                                                                                              \
    X(ruled)                                                                                                 \
    X(in_unit)                                                                                               \
    X(hinging)                                                                                               \
    X(changes)                                                                                               \
    X(touch_of)                                                                                              \
    X(listed_in)                                                                                             \
    X(tried)                                                                                                 \
    X(members)                                                                                               \
    X(wanted)                                                                                                \
    X(absence_of)
#define BY_FACT(X) X(value_of) X(row_of) X(moved_of)
#define BY_ROOT(X) X(roots) X(first_member)

static cw_status new_parts(rank_vary *vary)
{
    cw_status status = rank_net_new(&vary->net, vary->model, vary->allocator);
    vary->made += status == CW_OK;
    if (status == CW_OK)
        status = rank_sweep_new(&vary->whole, &vary->net, vary->allocator);
    vary->made += status == CW_OK;
    if (status == CW_OK)
        status = rank_sweep_new(&vary->unit_free, &vary->net, vary->allocator);
    vary->made += status == CW_OK;
    if (status == CW_OK)
        status = rank_lanes_new(&vary->lanes, &vary->whole, vary->allocator);
    vary->made += status == CW_OK;
    if (status == CW_OK)
        status = rank_lanes_new(&vary->unit_lanes, &vary->unit_free, vary->allocator);
    vary->made += status == CW_OK;
    return status;
}

static void dispose_parts(rank_vary *vary)
{
    if (vary->made > 4)
        rank_lanes_dispose(&vary->unit_lanes);
    if (vary->made > 3)
        rank_lanes_dispose(&vary->lanes);
    if (vary->made > 2)
        rank_sweep_dispose(&vary->unit_free);
    if (vary->made > 1)
        rank_sweep_dispose(&vary->whole);
    if (vary->made > 0)
        rank_net_dispose(&vary->net);
}

cw_status rank_vary_new(rank_vary *vary, const cw_model *model, const cw_allocator *allocator)
{
    *vary = (rank_vary){.model = model,
                        .allocator = allocator,
                        .tickets = CW_VEC_INIT(allocator, vary_ticket),
                        .kept = CW_VEC_INIT(allocator, vary_change),
                        .jobs = CW_VEC_INIT(allocator, vary_job),
                        .turns = CW_VEC_INIT(allocator, vary_turn),
                        .moved = CW_VEC_INIT(allocator, cw_cause_id),
                        .touches = CW_VEC_INIT(allocator, vary_touch)};
    bool failed = false;
#define TAKE_C(name) vary->name = rank_take(allocator, model->causes_count, sizeof *vary->name, &failed);
#define TAKE_F(name) vary->name = rank_take(allocator, model->facts_count, sizeof *vary->name, &failed);
    BY_CAUSE(TAKE_C)
    BY_FACT(TAKE_F)
    vary->root_room = (size_t)model->facts_count + 3 * (size_t)model->causes_count + 1;
#define TAKE_R(name) vary->name = rank_take(allocator, vary->root_room, sizeof *vary->name, &failed);
    BY_ROOT(TAKE_R)
#undef TAKE_C
#undef TAKE_F
#undef TAKE_R
    if (failed || new_parts(vary) != CW_OK) {
        rank_vary_dispose(vary);
        return CW_NO_MEMORY;
    }
    vary->whole.thorough = vary->unit_free.thorough = true;
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        vary->in_unit[id] = model->parts[model->causes[id].part].where == CW_PART_UNIT;
        if (model->causes[id].shifts.count > 0 || model->causes[id].ruled_out != 0)
            vary->hinging[vary->hinging_count++] = id;
    }
    return CW_OK;
}

void rank_vary_dispose(rank_vary *vary)
{
    const cw_model *model = vary->model;
#define GIVE_C(name) rank_give(vary->allocator, vary->name, model->causes_count, sizeof *vary->name);
#define GIVE_F(name) rank_give(vary->allocator, vary->name, model->facts_count, sizeof *vary->name);
    BY_CAUSE(GIVE_C)
    BY_FACT(GIVE_F)
#define GIVE_R(name) rank_give(vary->allocator, vary->name, vary->root_room, sizeof *vary->name);
    BY_ROOT(GIVE_R)
#undef GIVE_C
#undef GIVE_F
#undef GIVE_R
    cw_vec_dispose(&vary->tickets);
    cw_vec_dispose(&vary->kept);
    cw_vec_dispose(&vary->jobs);
    cw_vec_dispose(&vary->turns);
    cw_vec_dispose(&vary->moved);
    cw_vec_dispose(&vary->touches);
    rank_give(vary->allocator, vary->rows, vary->row_room * vary_row_size(vary), sizeof *vary->rows);
    dispose_parts(vary);
}

/* -- Remembering -- */

static void note_evidence(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence)
{
    const network *net = &vary->net;
    memset(vary->value_of, 0, ((size_t)vary->model->facts_count + 1) * sizeof *vary->value_of);
    for (uint32_t i = 0; i < net->seen_count; i++)
        vary->value_of[net->seen[i]] = evidence[net->evidence_of[net->seen[i]] - 1].value + 1;
    for (uint32_t i = 0; i < vary->hinging_count; i++)
        vary->ruled[vary->hinging[i]] = rank_net_ruled_out(vary->model, chain, vary->hinging[i]);
}

/* The plan without the causes of the unit, in the order of the whole one. */
static cw_status begin_unit_free(rank_vary *vary, double *steps, bool *fits)
{
    rank_sweep *sweep = &vary->unit_free;
    sweep->led_from = vary->whole.led_from;
    if (rank_sweep_order(sweep) != CW_OK)
        return CW_NO_MEMORY;
    rank_sweep_plan(sweep, vary->in_unit);
    *fits = rank_lanes_fit(sweep);
    if (!*fits)
        return CW_OK;
    *steps += sweep->cost;
    const cw_status status = rank_sweep_forward(sweep, false, &vary->log_unit_free);
    *fits = vary->log_unit_free > -INFINITY;
    return status == CW_OK && *fits ? rank_lanes_begin(&vary->unit_lanes, vary->by_cause) : status;
}

cw_status rank_vary_set(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                        double max_steps, double *steps)
{
    rank_sweep *sweep = &vary->whole;
    bool fits = false;
    *steps = 0;
    vary->valid = false;
    assert(count <= vary->model->facts_count);
    rank_net_build(&vary->net, chain, evidence, count, NULL);
    note_evidence(vary, chain, evidence);
    rank_vary_forget(vary);
    rank_vary_anew(vary);
    if (rank_sweep_choose(sweep) != CW_OK)
        return CW_NO_MEMORY;
    if (!rank_lanes_fit(sweep) || 4 * sweep->cost > max_steps)
        return CW_OK;
    *steps = 3 * sweep->cost;
    cw_status status = rank_sweep_forward(sweep, true, &vary->log_all);
    if (status != CW_OK || vary->log_all == -INFINITY)
        return status;
    rank_sweep_backward(sweep, vary->by_cause);
    memcpy(vary->tried, vary->by_cause, ((size_t)vary->model->causes_count + 1) * sizeof *vary->tried);
    vary->tried_moved.count = 0;
    vary->log_free = rank_net_log_free(&vary->net);
    status = rank_lanes_begin(&vary->lanes, vary->by_cause);
    if (status == CW_OK) {
        rank_vary_sort_members(vary);
        status = begin_unit_free(vary, steps, &fits);
    }
    vary->valid = status == CW_OK && fits;
    return status;
}

/* -- Foreseeing -- */

/* All that was seen is seen still, and at most one thing more. */
static bool find_added(const rank_vary *vary, const cw_evidence *evidence, size_t count, vary_ticket *added)
{
    uint32_t same = 0;
    *added = (vary_ticket){0};
    for (size_t i = 0; i < count; i++) {
        const cw_fact_id fact = evidence[i].fact;
        if (evidence[i].yields_to != 0 || vary->model->facts[fact].values.count == 0)
            continue;
        if (vary->value_of[fact] == evidence[i].value + 1) {
            same++;
            continue;
        }
        if (vary->value_of[fact] != 0 || added->fact != 0)
            return false;
        *added = (vary_ticket){.fact = fact, .value = evidence[i].value};
    }
    return same == vary->net.seen_count;
}

/* What surely leads to a cause of the unit is absent in the plan without these, and cannot be had back. */
static bool can_rule_out(const rank_vary *vary, cw_cause_id id)
{
    const cw_run parents = vary->net.causes[id].parents;
    for (uint32_t i = parents.first; vary->in_unit[id] && i < parents.first + parents.count; i++)
        if (vary->net.parents[i].stays <= 0)
            return false;
    return true;
}

static bool find_changes(rank_vary *vary, const cw_chain *chain, uint32_t *count)
{
    const network *net = &vary->net;
    *count = 0;
    for (uint32_t i = 0; i < vary->hinging_count; i++) {
        const cw_cause_id id = vary->hinging[i];
        const net_cause *cause = &net->causes[id];
        const bool ruled = rank_net_ruled_out(vary->model, chain, id);
        const double own = ruled ? 0 : rank_net_own(vary->model, chain, id);
        if (ruled == vary->ruled[id] && own == cause->own)
            continue;
        if (!ruled && (vary->ruled[id] || !cause->possible || cause->absent <= 0))
            return false;
        if (!cause->possible)
            continue;
        if (cause->absent <= 0 || (ruled && !can_rule_out(vary, id)))
            return false;
        vary->changes[(*count)++] = (vary_change){id, own, ruled};
    }
    return true;
}

cw_status rank_vary_foresee(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                            uint32_t *ticket)
{
    vary_ticket made;
    uint32_t changes = 0;
    *ticket = 0;
    if (!find_added(vary, evidence, count, &made) || (chain != NULL && !find_changes(vary, chain, &changes)))
        return CW_OK;
    if (cw_vec_reserve(&vary->kept, vary->kept.count + changes) != CW_OK ||
        cw_vec_reserve(&vary->tickets, vary->tickets.count + 1) != CW_OK)
        return CW_NO_MEMORY;
    made.first_change = (uint32_t)vary->kept.count;
    made.change_count = changes;
    for (uint32_t i = 0; i < changes; i++)
        *(vary_change *)cw_vec_add(&vary->kept) = vary->changes[i];
    *(vary_ticket *)cw_vec_add(&vary->tickets) = made;
    *ticket = (uint32_t)vary->tickets.count;
    return CW_OK;
}

void rank_vary_anew(rank_vary *vary)
{
    vary->tickets.count = vary->kept.count = vary->worked_out = 0;
}

/* -- Taking -- */

/* What one variation comes to; row NULL: as it is. */
typedef struct side {
    const double *row;
    double share; /* what the background draws */
} side;

/* "At most the value", and "less than it" (share 0: there is nothing less). */
static void find_sides(const rank_vary *vary, const vary_ticket *ticket, side *up, side *down)
{
    const cw_fact_id fact = ticket->fact;
    const size_t size = vary_row_size(vary);
    double below = 0, most = 1;
    if (fact != 0)
        most = rank_net_background(vary->model, fact, ticket->value, &below);
    const bool worst = fact == 0 || ticket->value + 1 == vary->model->facts[fact].values.count;
    *up = (side){NULL, most};
    *down = (side){NULL, below};
    if (ticket->change_count > 0) {
        up->row = vary->rows + (ticket->row - 1) * size;
        down->row = up->row + size;
    } else if (fact != 0) {
        const double *rows = vary->rows + (vary->row_of[fact] - 1) * size;
        up->row = worst ? NULL : rows + ticket->value * size;
        down->row = below > 0 ? rows + (ticket->value - 1) * size : NULL;
    }
}

/* Its sum over the remembered one: whole (0), or without the unit's causes (1). */
static double weight_of(const side *s, int of)
{
    return s->share > 0 ? s->share * (s->row == NULL ? 1 : exp(s->row[of])) : 0;
}

static cw_run moved_by(const rank_vary *vary, const vary_ticket *ticket)
{
    return ticket->change_count > 0 ? ticket->moved
           : ticket->fact != 0      ? vary->moved_of[ticket->fact]
                                    : (cw_run){0, 0};
}

/* Each a weighed mean of one side and, negatively, of the other; without branches. The others are as they
 * were. */
static void subtract_posteriors(rank_vary *vary, const side *up, const side *down, double of_up,
                                double of_down, cw_run moved)
{
    const double left = of_up - of_down, share_up = of_up / left, share_down = of_down / left;
    const double *from = up->row != NULL ? up->row + 1 : vary->by_cause;
    const double *less = share_down > 0 ? down->row + 1 : vary->by_cause;
    const cw_cause_id *before = vary_moved_at(vary, vary->tried_moved), *now = vary_moved_at(vary, moved);
    for (uint32_t i = 0; i < vary->tried_moved.count; i++)
        vary->tried[before[i]] = vary->by_cause[before[i]];
    for (uint32_t i = 0; i < moved.count; i++) {
        const cw_cause_id id = now[i];
        const double value = share_up * from[id] - share_down * less[id], least = value > 0 ? value : 0;
        vary->tried[id] = least < 1 ? least : 1;
    }
    vary->tried_moved = moved;
}

/* One side less the other; false where too little is left, or nothing. */
static bool subtract(rank_vary *vary, const vary_ticket *ticket, const side *up, const side *down,
                     cw_causes_tried *out)
{
    const double of_up = weight_of(up, 0), of_down = weight_of(down, 0), left = of_up - of_down;
    double log_free = vary->log_free;
    if (!(left > LEAST_SHARE * of_up))
        return false;
    const cw_run moved = moved_by(vary, ticket);
    subtract_posteriors(vary, up, down, of_up, of_down, moved);
    for (uint32_t i = 0; i < ticket->change_count; i++) {
        const vary_change *change = CW_VEC_AT(&vary->kept, vary_change, ticket->first_change + i);
        log_free += log((1 - change->own) / vary->net.causes[change->cause].absent);
    }
    const double unit_free = weight_of(up, 1) - weight_of(down, 1),
                 probability = exp(vary->log_all + log(left));
    out->unit_at_fault = fmax(1 - unit_free / left * exp(vary->log_unit_free - vary->log_all), 0);
    out->nothing = (up->share - down->share) / left * exp(log_free - vary->log_all);
    out->evidence_probability = probability < DBL_MIN ? DBL_MIN : probability;
    out->exact = true;
    out->by_cause = vary->tried;
    out->moved = vary_moved_at(vary, moved);
    out->moved_count = moved.count;
    return true;
}

cw_status rank_vary_take(rank_vary *vary, uint32_t number, double max_steps, cw_causes_tried *out, bool *done)
{
    const vary_ticket *ticket = CW_VEC_AT(&vary->tickets, vary_ticket, number - 1);
    side up, down;
    double steps = 0;
    const cw_status status = rank_vary_work_out(vary, max_steps, &steps, done);
    if (status != CW_OK || !*done)
        return status;
    find_sides(vary, ticket, &up, &down);
    *done = subtract(vary, ticket, &up, &down, out);
    out->steps = (uint64_t)steps;
    return CW_OK;
}
