#include "rank/causes.h"
#include "rank/came_in.h"

#include "rank/base.h"
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

/* How little a finding says: its lower bound over its upper one, 1 = nothing. */
typedef struct weakness {
    double ratio;
    uint32_t evidence; /* index */
    cw_fact_id fact;
} weakness;

struct cw_causes_scratch {
    cw_allocator allocator;
    const cw_model *model;
    network net;
    rank_sweep sweep;
    rank_base base;
    bool *left_out;     /* by evidence; at most one piece per fact */
    weakness *weakest;  /* findings, the one to be left out first in front */
    bool *group;        /* by cause: the causes of an event */
    double *given_kept; /* by cause: posterior given the evidence that was not left out */
    double *by_cause, *low, *high;
    double *cause_most, *cause_below; /* for bounds */
    bounds_event *events;             /* by cause, for bounds */
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
    rank_give(&allocator, scratch->weakest, scratch->model->facts_count, sizeof *scratch->weakest);
    rank_give(&allocator, scratch->cause_most, causes, sizeof *scratch->cause_most);
    rank_give(&allocator, scratch->cause_below, causes, sizeof *scratch->cause_below);
    rank_give(&allocator, scratch->events, causes, sizeof *scratch->events);
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
    scratch->weakest = rank_take(allocator, scratch->model->facts_count, sizeof *scratch->weakest, &failed);
    scratch->cause_most = rank_take(allocator, causes, sizeof *scratch->cause_most, &failed);
    scratch->cause_below = rank_take(allocator, causes, sizeof *scratch->cause_below, &failed);
    scratch->events = rank_take(allocator, causes, sizeof *scratch->events, &failed);
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
    if (rank_base_new(&scratch->base, &scratch->net, &scratch->allocator) != CW_OK) {
        rank_sweep_dispose(&scratch->sweep);
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
    rank_base_dispose(&scratch->base);
    rank_sweep_dispose(&scratch->sweep);
    rank_net_dispose(&scratch->net);
    free_arrays(scratch);
}

static bounds_view view_of(const question *q, size_t index)
{
    cw_causes_scratch *scratch = q->scratch;
    bounds_view view = {
        .net = &scratch->net, .cause_most = scratch->cause_most, .cause_below = scratch->cause_below};
    rank_bounds_view(&view, &q->evidence[index]);
    return view;
}

static int by_weakness(const void *a, const void *b)
{
    const weakness *left = a, *right = b;
    if (left->ratio != right->ratio)
        return left->ratio > right->ratio ? -1 : 1;
    return left->fact < right->fact ? -1 : left->fact > right->fact;
}

/* The findings of the network as it is now. Those whose bounds lie closest together say least. */
static uint32_t sort_by_weakness(question *q)
{
    const network *net = &q->scratch->net;
    weakness *weakest = q->scratch->weakest;
    for (uint32_t i = 0; i < net->finding_count; i++) {
        const uint32_t index = net->findings[i].evidence;
        const bounds_view view = view_of(q, index);
        const bounds_range range = rank_bounds_finding(&view, 0, NULL);
        weakest[i] = (weakness){range.high > 0 ? range.low / range.high : 1, index, q->evidence[index].fact};
    }
    qsort(weakest, net->finding_count, sizeof *weakest, by_weakness);
    return net->finding_count;
}

/* Plans without so many of the weakest findings. */
static bool fits_without(question *q, double passes, uint32_t without)
{
    cw_causes_scratch *scratch = q->scratch;
    memset(scratch->left_out, q->impossible, q->count * sizeof *scratch->left_out);
    for (uint32_t i = 0; i < without; i++)
        scratch->left_out[scratch->weakest[i].evidence] = true;
    rank_net_build(&scratch->net, q->chain, q->evidence, q->count, scratch->left_out);
    rank_sweep_order(&scratch->sweep);
    rank_sweep_plan(&scratch->sweep, NULL);
    return rank_sweep_fits(&scratch->sweep) && scratch->sweep.cost * passes <= q->max_steps;
}

/* Leaves findings out, as few as halving finds, until so many passes are within the budget; false when it is
 * not even without any. */
static bool fit(question *q, double passes)
{
    if (fits_without(q, passes, 0))
        return true;
    q->exact = false;
    uint32_t fails = 0, fits = sort_by_weakness(q);
    if (!fits_without(q, passes, fits))
        return false;
    while (fits - fails > 1) {
        const uint32_t middle = fails + (fits - fails) / 2;
        if (fits_without(q, passes, middle))
            fits = middle;
        else
            fails = middle;
    }
    return fits_without(q, passes, fits);
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
    assert(q->count <= q->scratch->model->facts_count);
    q->exact = true;
    cw_status status = sweep_both_ways(q, fit(q, 3 + extra));
    q->impossible = status == CW_OK && q->log_kept == -INFINITY;
    if (q->impossible)
        status = sweep_both_ways(q, fit(q, 3 + extra)); /* as if nothing had been seen */
    q->exact = q->exact && !q->impossible;
    return status;
}

/* What is said of an event whose posterior given the kept evidence is known. */
static estimate close_event(const question *q, double given_kept, const bounds_event *event)
{
    estimate out = {given_kept, given_kept, given_kept};
    if (q->impossible || q->blind)
        out = (estimate){given_kept, 0, 1};
    else if (!q->exact)
        rank_bounds_close(event, &out.probability, &out.low, &out.high);
    return out;
}

static estimate close_group(const question *q, double given_kept, cw_cause_id alone)
{
    const cw_causes_scratch *scratch = q->scratch;
    bounds_event event = rank_bounds_event(given_kept);
    for (size_t i = 0; i < q->count && !q->exact; i++) {
        if (!scratch->left_out[i])
            continue;
        const bounds_view view = view_of(q, i);
        rank_bounds_add(&event, &view, scratch->given_kept, scratch->group, alone);
    }
    return close_event(q, given_kept, &event);
}

/* All causes, each an event of its own, finding by finding. */
static void close_causes(const question *q)
{
    cw_causes_scratch *scratch = q->scratch;
    const uint32_t causes = scratch->model->causes_count;
    memset(scratch->group, 0, ((size_t)causes + 1) * sizeof *scratch->group);
    for (cw_cause_id id = 1; id <= causes; id++)
        scratch->events[id] = rank_bounds_event(scratch->given_kept[id]);
    for (size_t i = 0; i < q->count && !q->exact; i++) {
        if (!scratch->left_out[i])
            continue;
        const bounds_view view = view_of(q, i);
        for (cw_cause_id id = 1; id <= causes; id++) {
            scratch->group[id] = true;
            rank_bounds_add(&scratch->events[id], &view, scratch->given_kept, scratch->group, id);
            scratch->group[id] = false;
        }
    }
    for (cw_cause_id id = 1; id <= causes; id++) {
        const estimate out = close_event(q, scratch->given_kept[id], &scratch->events[id]);
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
    *out = close_group(q, any, members == 1 ? only : 0);
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
    for (size_t i = 0; i < q->count; i++) {
        if (!scratch->left_out[i])
            continue;
        const bounds_view view = view_of(q, i);
        probability *= rank_bounds_mean(&view, scratch->given_kept, 0, NULL);
    }
    return probability < DBL_MIN ? DBL_MIN : probability;
}

static uint64_t steps_spent(const question *q)
{
    return (uint64_t)q->steps;
}

/* The whole sum, bounded where it is too dear. */
static cw_status try_whole(question *q, cw_causes_tried *out)
{
    cw_causes_scratch *scratch = q->scratch;
    estimate unit, nothing;
    cw_status status = solve(q, 1);
    if (status == CW_OK)
        status = unit_at_fault(q, &unit);
    if (status == CW_OK)
        status = nothing_wrong(q, &nothing);
    if (status != CW_OK)
        return status;
    close_causes(q);
    *out = (cw_causes_tried){.by_cause = scratch->by_cause,
                             .unit_at_fault = unit.probability,
                             .nothing = nothing.probability,
                             .evidence_probability = evidence_probability(q),
                             .exact = q->exact,
                             .steps = steps_spent(q)};
    return CW_OK;
}

/* By parts; *done is false where only the whole sum, with its bounds, has an answer. */
static cw_status try_parts(question *q, bool remember, cw_causes_tried *out, bool *done)
{
    cw_causes_scratch *scratch = q->scratch;
    rank_base *base = &scratch->base;
    base_answer answer;
    assert(q->count <= scratch->model->facts_count);
    memset(scratch->left_out, 0, q->count * sizeof *scratch->left_out);
    rank_net_build(&scratch->net, q->chain, q->evidence, q->count, scratch->left_out);
    cw_status status =
        remember ? rank_base_set(base, &scratch->net, &scratch->sweep, q->evidence, q->max_steps, &answer)
                 : rank_base_use(base, &scratch->net, &scratch->sweep, q->evidence, q->max_steps,
                                 scratch->by_cause, &answer, done);
    if (remember)
        *done = base->valid;
    if (status != CW_OK || !*done)
        return status;
    if (remember)
        memcpy(scratch->by_cause, base->by_cause,
               (scratch->model->causes_count + 1) * sizeof *base->by_cause);
    const double probability = exp(answer.sums.all), fault = -expm1(answer.sums.unit_free - answer.sums.all);
    *out = (cw_causes_tried){.by_cause = scratch->by_cause,
                             .unit_at_fault = fault < 0 ? 0 : fault,
                             .nothing = exp(answer.sums.free - answer.sums.all),
                             .evidence_probability = probability < DBL_MIN ? DBL_MIN : probability,
                             .exact = true,
                             .steps = (uint64_t)answer.steps};
    return CW_OK;
}

static cw_status try_either(question *q, bool remember, cw_causes_tried *out)
{
    bool done = false;
    cw_status status = CW_OK;
    if (remember || q->scratch->base.valid)
        status = try_parts(q, remember, out, &done);
    if (status == CW_OK && !done)
        status = try_whole(q, out);
    if (status == CW_OK)
        rank_came_in_tried(q->scratch->model, q->scratch->by_cause, out);
    return status;
}

cw_status cw_causes_try(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                        size_t count, uint64_t max_steps, cw_causes_tried *out)
{
    question q = {scratch, chain, evidence, count, .max_steps = (double)max_steps};
    return try_either(&q, false, out);
}

cw_status cw_causes_remember(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                             size_t count, uint64_t max_steps, cw_causes_tried *out)
{
    question q = {scratch, chain, evidence, count, .max_steps = (double)max_steps};
    return try_either(&q, true, out);
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
    out->high = out->low + count;
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

static cw_status rank_parts(question *q, double *by_part)
{
    const cw_model *model = q->scratch->model;
    for (cw_part_id part = 1; part <= model->parts_count; part++) {
        for (cw_cause_id id = 1; id <= model->causes_count; id++)
            q->scratch->group[id] = model->causes[id].part == part;
        estimate any;
        const cw_status status = any_of_group(q, &any);
        if (status != CW_OK)
            return status;
        by_part[part] = any.probability;
    }
    return CW_OK;
}

static cw_status rank_all(question *q, cw_arena *arena, cw_causes *out)
{
    estimate unit, nothing;
    cw_causes_scratch *scratch = q->scratch;
    double *by_part = CW_NEW_ARRAY(arena, double, (size_t)scratch->model->parts_count + 1);
    cw_status status = by_part != NULL ? solve(q, 1 + shared_parts(scratch->model)) : CW_NO_MEMORY;
    if (status == CW_OK)
        status = unit_at_fault(q, &unit);
    if (status == CW_OK)
        status = nothing_wrong(q, &nothing);
    if (status == CW_OK)
        status = rank_parts(q, by_part);
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
    out->part_probability = by_part;
    rank_came_in(scratch->model, scratch->by_cause, scratch->low, scratch->high, by_part, out);
    return lay_out(scratch, arena, out);
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
