#include "rank/causes.h"

#include "rank/bounds.h"
#include "rank/sweep.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* An answer with its bounds. */
typedef struct estimate {
    double probability, low, high;
} estimate;

struct cw_causes_scratch {
    cw_allocator allocator;
    const cw_model *model;
    network net;
    rank_sweep sweep;
    bool *left_out;     /* by evidence; at most one piece per fact */
    bool *group;        /* by cause: the causes of an event */
    double *given_kept; /* by cause: posterior given the evidence that was not left out */
    double *by_cause, *low, *high;
};

/* One question and how it went. */
typedef struct question {
    cw_causes_scratch *scratch;
    const cw_chain *chain;
    const cw_evidence *evidence;
    size_t count;
    double max_steps, steps;
    double log_kept;   /* logarithm of P(evidence that was not left out) */
    bool exact, blind; /* blind: not even the sum without findings was within the budget */
    bool impossible;
} question;

static void free_arrays(cw_causes_scratch *scratch)
{
    const cw_allocator allocator = scratch->allocator;
    const size_t causes = scratch->model->causes_count;
    rank_give(&allocator, scratch->left_out, scratch->model->facts_count, sizeof *scratch->left_out);
    rank_give(&allocator, scratch->group, causes, sizeof *scratch->group);
    rank_give(&allocator, scratch->given_kept, causes, sizeof *scratch->given_kept);
    rank_give(&allocator, scratch->by_cause, causes, sizeof *scratch->by_cause);
    rank_give(&allocator, scratch->low, causes, sizeof *scratch->low);
    rank_give(&allocator, scratch->high, causes, sizeof *scratch->high);
    cw_release(&allocator, scratch, sizeof *scratch);
}

static bool new_arrays(cw_causes_scratch *scratch)
{
    const cw_allocator *allocator = &scratch->allocator;
    const size_t causes = scratch->model->causes_count;
    bool failed = false;
    scratch->left_out = rank_take(allocator, scratch->model->facts_count, sizeof *scratch->left_out, &failed);
    scratch->group = rank_take(allocator, causes, sizeof *scratch->group, &failed);
    scratch->given_kept = rank_take(allocator, causes, sizeof *scratch->given_kept, &failed);
    scratch->by_cause = rank_take(allocator, causes, sizeof *scratch->by_cause, &failed);
    scratch->low = rank_take(allocator, causes, sizeof *scratch->low, &failed);
    scratch->high = rank_take(allocator, causes, sizeof *scratch->high, &failed);
    return !failed;
}

cw_status cw_causes_scratch_new(const cw_model *model, const cw_allocator *allocator, cw_causes_scratch **out)
{
    cw_causes_scratch *scratch = cw_allocate(allocator, sizeof *scratch);
    if (scratch == NULL)
        return CW_NO_MEMORY;
    *scratch = (cw_causes_scratch){.allocator = *allocator, .model = model};
    if (!new_arrays(scratch) || rank_net_new(&scratch->net, model, &scratch->allocator) != CW_OK) {
        free_arrays(scratch);
        return CW_NO_MEMORY;
    }
    if (rank_sweep_new(&scratch->sweep, &scratch->net, &scratch->allocator) != CW_OK) {
        rank_net_dispose(&scratch->net);
        free_arrays(scratch);
        return CW_NO_MEMORY;
    }
    *out = scratch;
    return CW_OK;
}

void cw_causes_scratch_free(cw_causes_scratch *scratch)
{
    if (scratch == NULL)
        return;
    rank_sweep_dispose(&scratch->sweep);
    rank_net_dispose(&scratch->net);
    free_arrays(scratch);
}

/* The kept finding whose bounds lie closest together says least; UINT32_MAX when none is kept. */
static uint32_t weakest_finding(const question *q)
{
    const network *net = &q->scratch->net;
    uint32_t weakest = UINT32_MAX;
    double most = -1;
    for (uint32_t i = 0; i < net->finding_count; i++) {
        const uint32_t index = net->findings[i].evidence;
        const bounds_range range = rank_bounds_finding(net, &q->evidence[index], 0, NULL);
        const double ratio = range.high > 0 ? range.low / range.high : 1;
        if (ratio > most || (ratio == most && q->evidence[index].fact < q->evidence[weakest].fact)) {
            most = ratio;
            weakest = index;
        }
    }
    return weakest;
}

/* Leaves findings out until so many passes are within the budget; false when it is not even without any. */
static bool fit(question *q, double passes)
{
    cw_causes_scratch *scratch = q->scratch;
    for (;;) {
        rank_net_build(&scratch->net, q->chain, q->evidence, q->count, scratch->left_out);
        rank_sweep_order(&scratch->sweep);
        rank_sweep_plan(&scratch->sweep, NULL);
        if (rank_sweep_fits(&scratch->sweep) && scratch->sweep.cost * passes <= q->max_steps)
            return true;
        const uint32_t weakest = weakest_finding(q);
        if (weakest == UINT32_MAX)
            return false;
        scratch->left_out[weakest] = true;
        q->exact = false;
    }
}

/* Each cause by itself, as if those that lead to it were independent. */
static void guess_priors(const network *net, double *by_cause)
{
    for (cw_cause_id id = 1; id <= net->model->causes_count; id++) {
        const net_cause *cause = &net->causes[id];
        double absent = 1 - cause->own;
        for (uint32_t i = 0; i < cause->parents.count; i++) {
            const net_parent *parent = &net->parents[cause->parents.first + i];
            absent *= 1 - parent->chance * by_cause[parent->cause];
        }
        by_cause[id] = cause->possible ? 1 - absent : 0;
    }
}

static cw_status sweep_both_ways(question *q, bool affordable)
{
    cw_causes_scratch *scratch = q->scratch;
    q->blind = !affordable;
    q->log_kept = 0;
    if (q->blind) {
        guess_priors(&scratch->net, scratch->given_kept);
        return CW_OK;
    }
    const cw_status status = rank_sweep_forward(&scratch->sweep, true, &q->log_kept);
    q->steps += 3 * scratch->sweep.cost;
    if (status == CW_OK && q->log_kept > -INFINITY)
        rank_sweep_backward(&scratch->sweep, scratch->given_kept);
    return status;
}

/* Posterior of each cause given what can be kept; given nothing at all where the evidence is impossible.
 * `extra` forward passes will follow. */
static cw_status solve(question *q, double extra)
{
    cw_causes_scratch *scratch = q->scratch;
    assert(q->count <= scratch->model->facts_count);
    memset(scratch->left_out, 0, q->count * sizeof *scratch->left_out);
    q->exact = true;
    cw_status status = sweep_both_ways(q, fit(q, 3 + extra));
    q->impossible = status == CW_OK && q->log_kept == -INFINITY;
    if (q->impossible) {
        memset(scratch->left_out, 1, q->count * sizeof *scratch->left_out);
        status = sweep_both_ways(q, fit(q, 3 + extra));
    }
    q->exact = q->exact && !q->impossible && !q->blind;
    return status;
}

/* The bounds of one event: any cause of the group (by cause) present; `alone` names it where the group is
 * one. */
static void close_event(const question *q, double given_kept, const bool *group, cw_cause_id alone,
                        estimate *out)
{
    const cw_causes_scratch *scratch = q->scratch;
    *out = (estimate){given_kept, given_kept, given_kept};
    if (q->impossible || q->blind)
        *out = (estimate){given_kept, 0, 1};
    if (q->exact || q->impossible || q->blind)
        return;
    bounds_event event = {given_kept, {1, 1}, {1, 1}, 1, 1};
    for (size_t i = 0; i < q->count; i++) {
        if (!scratch->left_out[i])
            continue;
        const bounds_range yes = rank_bounds_finding(&scratch->net, &q->evidence[i], alone, NULL);
        const bounds_range no = rank_bounds_finding(&scratch->net, &q->evidence[i], 0, group);
        event.yes.low *= yes.low;
        event.yes.high *= yes.high;
        event.no.low *= no.low;
        event.no.high *= no.high;
        event.yes_mean *= rank_bounds_mean(&scratch->net, &q->evidence[i], scratch->given_kept, alone, NULL);
        event.no_mean *= rank_bounds_mean(&scratch->net, &q->evidence[i], scratch->given_kept, 0, group);
    }
    rank_bounds_close(&event, &out->probability, &out->low, &out->high);
}

static void close_causes(const question *q)
{
    cw_causes_scratch *scratch = q->scratch;
    memset(scratch->group, 0, (scratch->model->causes_count + 1) * sizeof *scratch->group);
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++) {
        estimate out;
        scratch->group[id] = true;
        close_event(q, scratch->given_kept[id], scratch->group, id, &out);
        scratch->group[id] = false;
        scratch->by_cause[id] = out.probability;
        scratch->low[id] = out.low;
        scratch->high[id] = out.high;
    }
}

/* 1 - product of (1 - p): what is left to say of a group when nothing could be summed. */
static double any_by_itself(const question *q)
{
    double none = 1;
    for (cw_cause_id id = 1; id <= q->scratch->model->causes_count; id++)
        if (q->scratch->group[id])
            none *= 1 - q->scratch->given_kept[id];
    return 1 - none;
}

/* P(any cause of scratch->group): one pass with all of them forced absent. */
static cw_status any_of_group(question *q, estimate *out)
{
    cw_causes_scratch *scratch = q->scratch;
    cw_cause_id only = 0;
    uint32_t members = 0;
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++)
        if (scratch->group[id] && scratch->net.causes[id].possible) {
            only = id;
            members++;
        }
    double any = members == 0 ? 0 : members == 1 ? scratch->given_kept[only] : any_by_itself(q);
    if (members > 1 && !q->blind) {
        double log_none;
        rank_sweep_plan(&scratch->sweep, scratch->group);
        const cw_status status = rank_sweep_forward(&scratch->sweep, false, &log_none);
        if (status != CW_OK)
            return status;
        q->steps += scratch->sweep.cost;
        any = -expm1(log_none - q->log_kept);
        any = any < 0 ? 0 : any;
    }
    close_event(q, any, scratch->group, members == 1 ? only : 0, out);
    return CW_OK;
}

static cw_status unit_at_fault(question *q, estimate *out)
{
    const cw_model *model = q->scratch->model;
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        q->scratch->group[id] = model->parts[model->causes[id].part].where == CW_PART_UNIT;
    return any_of_group(q, out);
}

static cw_status nothing_wrong(question *q, estimate *out)
{
    for (cw_cause_id id = 1; id <= q->scratch->model->causes_count; id++)
        q->scratch->group[id] = true;
    estimate any;
    const cw_status status = any_of_group(q, &any);
    if (status == CW_OK)
        *out = (estimate){1 - any.probability, 1 - any.high, 1 - any.low};
    return status;
}

/* Never 0 but for the impossible. What was left out enters with its mean. */
static double evidence_probability(const question *q)
{
    const cw_causes_scratch *scratch = q->scratch;
    if (q->impossible)
        return 0;
    double probability = exp(q->log_kept);
    for (size_t i = 0; i < q->count; i++)
        if (scratch->left_out[i])
            probability *= rank_bounds_mean(&scratch->net, &q->evidence[i], scratch->given_kept, 0, NULL);
    return probability < DBL_MIN ? DBL_MIN : probability;
}

static uint64_t steps_spent(const question *q)
{
    return (uint64_t)q->steps;
}

cw_status cw_causes_try(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                        size_t count, uint64_t max_steps, cw_causes_tried *out)
{
    question q = {scratch, chain, evidence, count, .max_steps = (double)max_steps};
    estimate unit, nothing;
    cw_status status = solve(&q, 1);
    if (status == CW_OK)
        status = unit_at_fault(&q, &unit);
    if (status == CW_OK)
        status = nothing_wrong(&q, &nothing);
    if (status != CW_OK)
        return status;
    close_causes(&q);
    *out = (cw_causes_tried){.by_cause = scratch->by_cause,
                             .unit_at_fault = unit.probability,
                             .nothing = nothing.probability,
                             .evidence_probability = evidence_probability(&q),
                             .exact = q.exact,
                             .steps = steps_spent(&q)};
    return CW_OK;
}

typedef struct line {
    cw_cause_id cause;
    double probability;
} line;

static int by_probability(const void *a, const void *b)
{
    const line *left = a, *right = b;
    if (left->probability != right->probability)
        return left->probability > right->probability ? -1 : 1;
    return left->cause < right->cause ? -1 : left->cause > right->cause;
}

static cw_status lay_out(const cw_causes_scratch *scratch, cw_arena *arena, cw_causes *out)
{
    const uint32_t count = scratch->model->causes_count;
    line *lines = CW_NEW_ARRAY(arena, line, count);
    cw_cause_id *causes = CW_NEW_ARRAY(arena, cw_cause_id, count);
    double *numbers = CW_NEW_ARRAY(arena, double, 3 * (size_t)count);
    if (lines == NULL || causes == NULL || numbers == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < count; i++)
        lines[i] = (line){i + 1, scratch->by_cause[i + 1]};
    qsort(lines, count, sizeof *lines, by_probability);
    for (uint32_t i = 0; i < count; i++) {
        causes[i] = lines[i].cause;
        numbers[i] = lines[i].probability;
        numbers[count + i] = scratch->low[lines[i].cause];
        numbers[2 * count + i] = scratch->high[lines[i].cause];
    }
    out->count = count;
    out->causes = causes;
    out->probability = numbers;
    out->low = numbers + count;
    out->high = numbers + 2 * count;
    return CW_OK;
}

/* Parts with several causes need a pass each. */
static double shared_parts(const cw_model *model)
{
    double shared = 0;
    for (cw_part_id part = 1; part <= model->parts_count; part++) {
        uint32_t causes = 0;
        for (cw_cause_id id = 1; id <= model->causes_count; id++)
            causes += model->causes[id].part == part;
        shared += causes > 1;
    }
    return shared;
}

static cw_status rank_parts(question *q, cw_arena *arena, cw_causes *out)
{
    const cw_model *model = q->scratch->model;
    double *by_part = CW_NEW_ARRAY(arena, double, (size_t)model->parts_count + 1);
    if (by_part == NULL)
        return CW_NO_MEMORY;
    for (cw_part_id part = 1; part <= model->parts_count; part++) {
        for (cw_cause_id id = 1; id <= model->causes_count; id++)
            q->scratch->group[id] = model->causes[id].part == part;
        estimate any;
        const cw_status status = any_of_group(q, &any);
        if (status != CW_OK)
            return status;
        by_part[part] = any.probability;
    }
    out->part_probability = by_part;
    return CW_OK;
}

static cw_status rank_all(question *q, cw_arena *arena, cw_causes *out)
{
    estimate unit, nothing;
    cw_status status = solve(q, 1 + shared_parts(q->scratch->model));
    if (status == CW_OK)
        status = unit_at_fault(q, &unit);
    if (status == CW_OK)
        status = nothing_wrong(q, &nothing);
    if (status == CW_OK)
        status = rank_parts(q, arena, out);
    if (status != CW_OK)
        return status;
    close_causes(q);
    out->unit_at_fault = unit.probability;
    out->unit_at_fault_low = unit.low;
    out->unit_at_fault_high = unit.high;
    out->nothing = nothing.probability;
    out->nothing_low = nothing.low;
    out->nothing_high = nothing.high;
    out->evidence_probability = evidence_probability(q);
    out->exact = q->exact;
    out->steps = steps_spent(q);
    return lay_out(q->scratch, arena, out);
}

cw_status cw_causes_rank(const cw_chain *chain, const cw_evidence *evidence, size_t count, uint64_t max_steps,
                         cw_arena *arena, cw_causes *out)
{
    cw_causes_scratch *scratch;
    cw_causes ranked = {0};
    cw_status status = cw_causes_scratch_new(cw_chain_model(chain), cw_arena_allocator(arena), &scratch);
    if (status != CW_OK)
        return status;
    question q = {scratch, chain, evidence, count, .max_steps = (double)max_steps};
    status = rank_all(&q, arena, &ranked);
    cw_causes_scratch_free(scratch);
    if (status == CW_OK)
        *out = ranked;
    return status;
}
