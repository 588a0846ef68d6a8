#include "rank/vary.h"

#include "rank/inside.h"
#include "rank/sweep_inside.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <string.h>

/* So many variations are worked out at once where so many are expected, and so many numbers kept (8 MiB). */
#define JOBS 16
#define MOST_NUMBERS ((size_t)1 << 20)
/* Below this share of the larger sum a difference is not taken. */
#define LEAST_SHARE 1e-3

#define BY_CAUSE(X) X(by_cause) X(ruled) X(in_unit) X(changes)
#define BY_FACT(X) X(value_of) X(expected) X(expected_at) X(row_of)

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

static uint32_t most_values(const cw_model *model)
{
    uint32_t most = 0;
    for (cw_fact_id id = 1; id <= model->facts_count; id++)
        most = model->facts[id].values.count > most ? model->facts[id].values.count : most;
    return most;
}

cw_status rank_vary_new(rank_vary *vary, const cw_model *model, const cw_allocator *allocator)
{
    *vary = (rank_vary){.model = model, .allocator = allocator};
    bool failed = false;
#define TAKE_C(name) vary->name = rank_take(allocator, model->causes_count, sizeof *vary->name, &failed);
#define TAKE_F(name) vary->name = rank_take(allocator, model->facts_count, sizeof *vary->name, &failed);
    BY_CAUSE(TAKE_C)
    BY_FACT(TAKE_F)
#undef TAKE_C
#undef TAKE_F
    vary->job_room = JOBS + most_values(model);
    vary->jobs = rank_take(allocator, vary->job_room, sizeof *vary->jobs, &failed);
    if (failed || new_parts(vary) != CW_OK) {
        rank_vary_dispose(vary);
        return CW_NO_MEMORY;
    }
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        vary->in_unit[id] = model->parts[model->causes[id].part].where == CW_PART_UNIT;
    return CW_OK;
}

static size_t row_size(const rank_vary *vary)
{
    return (size_t)vary->model->causes_count + 2;
}

void rank_vary_dispose(rank_vary *vary)
{
    const cw_model *model = vary->model;
#define GIVE_C(name) rank_give(vary->allocator, vary->name, model->causes_count, sizeof *vary->name);
#define GIVE_F(name) rank_give(vary->allocator, vary->name, model->facts_count, sizeof *vary->name);
    BY_CAUSE(GIVE_C)
    BY_FACT(GIVE_F)
#undef GIVE_C
#undef GIVE_F
    rank_give(vary->allocator, vary->jobs, vary->job_room, sizeof *vary->jobs);
    rank_give(vary->allocator, vary->rows, vary->row_room * row_size(vary), sizeof *vary->rows);
    dispose_parts(vary);
}

/* -- Remembering -- */

static void note_evidence(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence)
{
    const network *net = &vary->net;
    memset(vary->value_of, 0, ((size_t)vary->model->facts_count + 1) * sizeof *vary->value_of);
    for (uint32_t i = 0; i < net->seen_count; i++)
        vary->value_of[net->seen[i]] = evidence[net->evidence_of[net->seen[i]] - 1].value + 1;
    for (cw_cause_id id = 1; id <= vary->model->causes_count; id++)
        vary->ruled[id] = rank_net_ruled_out(vary->model, chain, id);
}

static void forget_rows(rank_vary *vary)
{
    vary->row_count = 0;
    memset(vary->row_of, 0, ((size_t)vary->model->facts_count + 1) * sizeof *vary->row_of);
}

/* The plan without the causes of the unit, in the order of the whole one. */
static cw_status begin_unit_free(rank_vary *vary, double *steps, bool *fits)
{
    rank_sweep *sweep = &vary->unit_free;
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
    forget_rows(vary);
    if (rank_sweep_choose(sweep) != CW_OK)
        return CW_NO_MEMORY;
    if (!rank_lanes_fit(sweep) || 4 * sweep->cost > max_steps)
        return CW_OK;
    *steps = 3 * sweep->cost;
    cw_status status = rank_sweep_forward(sweep, true, &vary->log_all);
    if (status != CW_OK || vary->log_all == -INFINITY)
        return status;
    rank_sweep_backward(sweep, vary->by_cause);
    vary->log_free = rank_net_log_free(&vary->net);
    status = rank_lanes_begin(&vary->lanes, vary->by_cause);
    if (status == CW_OK)
        status = begin_unit_free(vary, steps, &fits);
    vary->valid = status == CW_OK && fits;
    return status;
}

void rank_vary_expect(rank_vary *vary, const cw_fact_id *facts, size_t count)
{
    memset(vary->expected_at, 0, ((size_t)vary->model->facts_count + 1) * sizeof *vary->expected_at);
    vary->expected_count = 0;
    for (size_t i = 0; i < count; i++) {
        if (vary->expected_at[facts[i]] != 0 || vary->model->facts[facts[i]].values.count == 0)
            continue;
        vary->expected[vary->expected_count++] = facts[i];
        vary->expected_at[facts[i]] = (uint32_t)vary->expected_count;
    }
}

/* -- Working out -- */

static void say(rank_vary *vary, uint32_t lane, const vary_job *j, uint32_t change_count)
{
    const network *net = &vary->net;
    const cw_run showing = j->fact != 0 ? net->showing[j->fact] : (cw_run){0, 0};
    for (uint32_t i = showing.first; i < showing.first + showing.count; i++) {
        const cw_cause_id id = net->shows[i].cause;
        double below;
        if (!net->causes[id].possible)
            continue;
        const double times = rank_net_sign_draws(net->shows[i].sign, j->most, &below);
        rank_lanes_times(&vary->lanes, lane, id, times);
        if (!vary->in_unit[id])
            rank_lanes_times(&vary->unit_lanes, lane, id, times);
    }
    for (uint32_t i = 0; i < change_count; i++) {
        const vary_change *change = &vary->changes[i];
        rank_lanes_own(&vary->lanes, lane, change->cause, change->own, change->ruled);
        rank_lanes_own(&vary->unit_lanes, lane, change->cause, change->own, change->ruled);
    }
}

/* So many jobs, one for each lane. */
static cw_status run(rank_vary *vary, const vary_job *jobs, uint32_t count, uint32_t change_count,
                     double *steps)
{
    rank_lanes_clear(&vary->lanes);
    rank_lanes_clear(&vary->unit_lanes);
    for (uint32_t k = 0; k < count; k++)
        say(vary, k, &jobs[k], change_count);
    cw_status status = rank_lanes_run(&vary->lanes, true);
    if (status == CW_OK)
        status = rank_lanes_run(&vary->unit_lanes, false);
    *steps += count * (3 * vary->lanes.cost + vary->unit_lanes.cost);
    return status;
}

static double *row_at(const rank_vary *vary, size_t row)
{
    return vary->rows + row * row_size(vary);
}

static cw_status room_for(rank_vary *vary, size_t rows)
{
    const size_t size = row_size(vary), most = MOST_NUMBERS / size;
    if (vary->row_count + rows > (most > rows ? most : rows))
        forget_rows(vary);
    if (vary->row_count + rows <= vary->row_room)
        return CW_OK;
    const size_t room = 2 * (vary->row_count + rows);
    bool failed = false;
    double *grown = rank_take(vary->allocator, room * size, sizeof *grown, &failed);
    if (failed)
        return CW_NO_MEMORY;
    if (vary->row_count > 0)
        memcpy(grown, vary->rows, vary->row_count * size * sizeof *grown);
    rank_give(vary->allocator, vary->rows, vary->row_room * size, sizeof *vary->rows);
    vary->rows = grown;
    vary->row_room = room;
    return CW_OK;
}

static void keep_row(rank_vary *vary, uint32_t lane)
{
    double *row = row_at(vary, vary->row_count++);
    row[0] = vary->lanes.ratio[lane];
    row[1] = vary->unit_lanes.ratio[lane];
    for (size_t id = 1; id <= vary->model->causes_count; id++)
        row[id + 1] = vary->lanes.tried[id * SWEEP_LANES + lane];
}

static bool is_to_do(const rank_vary *vary, cw_fact_id fact)
{
    return vary->row_of[fact] == 0 && vary->value_of[fact] == 0;
}

/* The finding, and with it those expected next, until the lanes are well filled. Rows are numbered in this
 * order. */
static uint32_t line_up(rank_vary *vary, cw_fact_id fact)
{
    uint32_t count = 0;
    for (size_t at = vary->expected_at[fact];; fact = vary->expected[at++]) {
        const uint32_t values = vary->model->facts[fact].values.count;
        if (is_to_do(vary, fact) && (count == 0 || count + values - 1 <= JOBS)) {
            vary->row_of[fact] = (uint32_t)vary->row_count + count + 1;
            for (uint32_t most = 0; most + 1 < values; most++)
                vary->jobs[count++] = (vary_job){fact, most};
        }
        if (at == 0 || at >= vary->expected_count || count >= JOBS)
            return count;
    }
}

static cw_status work_out(rank_vary *vary, cw_fact_id fact, double *steps)
{
    cw_status status = room_for(vary, vary->job_room);
    const uint32_t count = status == CW_OK ? line_up(vary, fact) : 0;
    for (uint32_t i = 0; i < count && status == CW_OK; i += SWEEP_LANES) {
        const uint32_t lanes = count - i < SWEEP_LANES ? count - i : SWEEP_LANES;
        status = run(vary, &vary->jobs[i], lanes, 0, steps);
        for (uint32_t k = 0; k < lanes && status == CW_OK; k++)
            keep_row(vary, k);
    }
    if (status != CW_OK)
        forget_rows(vary);
    return status;
}

/* -- Trying -- */

/* All that was seen is seen still, and at most one thing more. */
static bool find_added(const rank_vary *vary, const cw_evidence *evidence, size_t count, vary_job *added)
{
    uint32_t same = 0;
    *added = (vary_job){0, 0};
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
        *added = (vary_job){fact, evidence[i].value};
    }
    return same == vary->net.seen_count;
}

/* The plan without the unit's causes has no place for what leads to one of them that is now ruled out. */
static bool can_rule_out(const rank_vary *vary, cw_cause_id id)
{
    return !vary->in_unit[id] || vary->net.causes[id].parents.count == 0;
}

static bool find_changes(rank_vary *vary, const cw_chain *chain, uint32_t *count)
{
    const network *net = &vary->net;
    *count = 0;
    for (cw_cause_id id = 1; id <= vary->model->causes_count; id++) {
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

/* What one variation comes to: logarithms of its sums over the remembered ones, and the posteriors. */
typedef struct side {
    double ratio, unit_ratio;
    const double *by_cause; /* from 1, by `step` */
    size_t step;
    double share; /* what the background draws */
} side;

static side of_row(const rank_vary *vary, cw_fact_id fact, uint32_t most, double share)
{
    const double *row = row_at(vary, vary->row_of[fact] - 1 + most);
    return (side){row[0], row[1], row + 1, 1, share};
}

static side of_lane(const rank_vary *vary, uint32_t lane, double share)
{
    return (side){vary->lanes.ratio[lane], vary->unit_lanes.ratio[lane], vary->lanes.tried + lane,
                  SWEEP_LANES, share};
}

/* "At most the value", and "less than it" (share 0: there is nothing less). */
static cw_status find_sides(rank_vary *vary, const vary_job *added, uint32_t change_count, double *steps,
                            side *up, side *down)
{
    const cw_fact_id fact = added->fact;
    double below = 0, most = 1;
    cw_status status = CW_OK;
    if (fact != 0)
        most = rank_net_background(vary->model, fact, added->most, &below);
    const bool worst = fact == 0 || added->most + 1 == vary->model->facts[fact].values.count;
    *up = (side){0, 0, vary->by_cause, 1, most};
    *down = (side){0};
    if (change_count > 0) {
        const vary_job jobs[2] = {{worst ? 0 : fact, added->most}, {fact, added->most - (added->most > 0)}};
        status = run(vary, jobs, below > 0 ? 2 : 1, change_count, steps);
        *up = of_lane(vary, 0, most);
        if (below > 0)
            *down = of_lane(vary, 1, below);
        return status;
    }
    if (fact != 0 && vary->row_of[fact] == 0)
        status = work_out(vary, fact, steps);
    if (status == CW_OK && !worst)
        *up = of_row(vary, fact, added->most, most);
    if (status == CW_OK && below > 0)
        *down = of_row(vary, fact, added->most - 1, below);
    return status;
}

static double weight_of(const side *s, double ratio)
{
    return s->share > 0 ? s->share * exp(ratio) : 0;
}

/* One side less the other; false where too little is left, or nothing. */
static bool subtract(const rank_vary *vary, const side *up, const side *down, uint32_t change_count,
                     double *by_cause, cw_causes_tried *out)
{
    const double of_up = weight_of(up, up->ratio), of_down = weight_of(down, down->ratio),
                 left = of_up - of_down;
    double log_free = vary->log_free;
    if (!(left > LEAST_SHARE * of_up))
        return false;
    for (cw_cause_id id = 1; id <= vary->model->causes_count; id++) {
        const double lower = of_down > 0 ? of_down * down->by_cause[id * down->step] : 0;
        by_cause[id] = fmin(fmax((of_up * up->by_cause[id * up->step] - lower) / left, 0), 1);
    }
    for (uint32_t i = 0; i < change_count; i++)
        log_free += log((1 - vary->changes[i].own) / vary->net.causes[vary->changes[i].cause].absent);
    const double unit_free = weight_of(up, up->unit_ratio) - weight_of(down, down->unit_ratio),
                 probability = exp(vary->log_all + log(left));
    out->unit_at_fault = fmax(1 - unit_free / left * exp(vary->log_unit_free - vary->log_all), 0);
    out->nothing = (up->share - down->share) / left * exp(log_free - vary->log_all);
    out->evidence_probability = probability < DBL_MIN ? DBL_MIN : probability;
    out->exact = true;
    return true;
}

cw_status rank_vary_try(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                        double max_steps, double *by_cause, cw_causes_tried *out, bool *done)
{
    vary_job added;
    uint32_t change_count;
    side up, down;
    double steps = 0;
    *done = false;
    if (!find_added(vary, evidence, count, &added) || !find_changes(vary, chain, &change_count) ||
        (double)JOBS * 4 * vary->whole.cost > max_steps)
        return CW_OK;
    const cw_status status = find_sides(vary, &added, change_count, &steps, &up, &down);
    if (status != CW_OK)
        return status;
    *done = subtract(vary, &up, &down, change_count, by_cause, out);
    out->steps = (uint64_t)steps;
    return CW_OK;
}
