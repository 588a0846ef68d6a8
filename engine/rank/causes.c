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

/* Passes beside those for groups: there and back is three of them. Bounds take four of these. */
#define EXACT_PASSES 3
#define BOUNDS_PASSES 12

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
    /* For bounds, by cause. */
    double *thought, *above, *below; /* what the bounds rest on; posteriors in the two networks */
    double *cause_most, *ratio, *share;
};

/* One question and how it went. */
typedef struct question {
    cw_causes_scratch *scratch;
    const cw_chain *chain;
    const cw_evidence *evidence;
    size_t count;
    double max_steps, steps;
    double log_kept;             /* logarithm of P(evidence), when exact */
    double log_above, log_below; /* of its bounds, when not */
    bool exact, blind;           /* blind: not even the sum without findings was within the budget */
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
    rank_give(&allocator, scratch->ratio, causes, sizeof *scratch->ratio);
    rank_give(&allocator, scratch->share, causes, sizeof *scratch->share);
    rank_give(&allocator, scratch->thought, causes, sizeof *scratch->thought);
    rank_give(&allocator, scratch->above, causes, sizeof *scratch->above);
    rank_give(&allocator, scratch->below, causes, sizeof *scratch->below);
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
    scratch->ratio = rank_take(allocator, causes, sizeof *scratch->ratio, &failed);
    scratch->share = rank_take(allocator, causes, sizeof *scratch->share, &failed);
    scratch->thought = rank_take(allocator, causes, sizeof *scratch->thought, &failed);
    scratch->above = rank_take(allocator, causes, sizeof *scratch->above, &failed);
    scratch->below = rank_take(allocator, causes, sizeof *scratch->below, &failed);
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
    bounds_view view = {.net = &scratch->net,
                        .cause_most = scratch->cause_most,
                        .ratio = scratch->ratio,
                        .share = scratch->share};
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
        weakest[i] = (weakness){rank_bounds_weakness(&view), index, q->evidence[index].fact};
    }
    qsort(weakest, net->finding_count, sizeof *weakest, by_weakness);
    return net->finding_count;
}

/* Plans without so many of the weakest findings. */
static cw_status fits_without(question *q, double passes, uint32_t without, bool *fits)
{
    cw_causes_scratch *scratch = q->scratch;
    memset(scratch->left_out, q->impossible, q->count * sizeof *scratch->left_out);
    for (uint32_t i = 0; i < without; i++)
        scratch->left_out[scratch->weakest[i].evidence] = true;
    rank_net_build(&scratch->net, q->chain, q->evidence, q->count, scratch->left_out);
    const cw_status status = rank_sweep_choose(&scratch->sweep);
    *fits =
        status == CW_OK && rank_sweep_fits(&scratch->sweep) && scratch->sweep.cost * passes <= q->max_steps;
    return status;
}

/* Leaves findings out, as few as halving finds, until what `extra` groups cost is within the budget; blind
 * when it is not even without any. */
static cw_status fit(question *q, double extra)
{
    bool fits;
    cw_status status = fits_without(q, EXACT_PASSES + extra, 0, &fits);
    if (status != CW_OK || fits)
        return status;
    q->exact = false;
    const double passes = BOUNDS_PASSES + 2 * extra;
    uint32_t fails = 0, enough = sort_by_weakness(q);
    status = fits_without(q, passes, enough, &fits);
    q->blind = !fits;
    while (status == CW_OK && !q->blind && enough - fails > 1) {
        const uint32_t middle = fails + (enough - fails) / 2;
        status = fits_without(q, passes, middle, &fits);
        if (fits)
            enough = middle;
        else
            fails = middle;
    }
    return status == CW_OK && !q->blind ? fits_without(q, passes, enough, &fits) : status;
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

/* The network again, with what was left out worked in from above or from below. */
static void lean(question *q, bool above, const bool *forced)
{
    cw_causes_scratch *scratch = q->scratch;
    rank_net_build(&scratch->net, q->chain, q->evidence, q->count, scratch->left_out);
    for (size_t i = 0; i < q->count; i++) {
        if (!scratch->left_out[i])
            continue;
        const bounds_view view = view_of(q, i);
        (above ? rank_bounds_above : rank_bounds_below)(&view, &scratch->net, scratch->thought);
    }
    rank_sweep_plan(&scratch->sweep, forced);
}

static cw_status both_ways(question *q, double *by_cause, double *log_sum)
{
    rank_sweep *sweep = &q->scratch->sweep;
    const cw_status status = rank_sweep_forward(sweep, true, log_sum);
    q->steps += 3 * sweep->cost;
    if (status == CW_OK && *log_sum > -INFINITY)
        rank_sweep_backward(sweep, by_cause);
    return status;
}

/* Four times there and back: without what was left out, to have an idea; twice from above, the second time
 * with a better one; once from below. */
static cw_status enclose(question *q)
{
    cw_causes_scratch *scratch = q->scratch;
    const size_t size = ((size_t)scratch->model->causes_count + 1) * sizeof(double);
    cw_status status = both_ways(q, scratch->thought, &q->log_above);
    for (int round = 0; round < 2 && status == CW_OK && q->log_above > -INFINITY; round++) {
        if (round > 0)
            memcpy(scratch->thought, scratch->above, size);
        lean(q, true, NULL);
        status = both_ways(q, scratch->above, &q->log_above);
    }
    if (status != CW_OK || q->log_above == -INFINITY) {
        q->log_kept = q->log_above;
        return status;
    }
    memcpy(scratch->below, scratch->above, size);
    lean(q, false, NULL);
    return both_ways(q, scratch->below, &q->log_below);
}

static cw_status sum_up(question *q)
{
    q->log_kept = 0;
    if (q->blind)
        guess_priors(&q->scratch->net, q->scratch->given_kept);
    else if (q->exact)
        return both_ways(q, q->scratch->given_kept, &q->log_kept);
    else
        return enclose(q);
    return CW_OK;
}

/* Posterior of each cause, or its bounds; given nothing at all where the evidence is impossible. `extra`
 * groups will follow. */
static cw_status solve(question *q, double extra)
{
    assert(q->count <= q->scratch->model->facts_count);
    for (int round = 0; round < 2; round++) {
        q->exact = true;
        q->blind = false;
        cw_status status = fit(q, extra);
        if (status == CW_OK)
            status = sum_up(q);
        if (status != CW_OK || q->impossible || q->log_kept > -INFINITY)
            return status;
        q->impossible = true; /* as if nothing had been seen */
    }
    return CW_OK;
}

static bool is_open(const question *q)
{
    return q->impossible || q->blind;
}

static estimate close_event(const question *q, double above, double below)
{
    estimate out;
    rank_bounds_close(above, below, q->log_above - q->log_below, &out.probability, &out.low, &out.high);
    return out;
}

static void close_causes(const question *q)
{
    const cw_causes_scratch *scratch = q->scratch;
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++) {
        const double exact = scratch->given_kept[id];
        const bool enclosed = !q->exact && !is_open(q);
        const estimate out = enclosed     ? close_event(q, scratch->above[id], scratch->below[id])
                             : is_open(q) ? (estimate){exact, 0, 1}
                                          : (estimate){exact, exact, exact};
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

/* P(any of the group) in the network as it is planned, whose whole sum is known. */
static cw_status sweep_any(question *q, double log_whole, double *any)
{
    double log_none;
    const cw_status status = rank_sweep_forward(&q->scratch->sweep, false, &log_none);
    q->steps += q->scratch->sweep.cost;
    *any = fmax(-expm1(log_none - log_whole), 0);
    return status;
}

static cw_status enclose_any(question *q, cw_cause_id only, estimate *out)
{
    const cw_causes_scratch *scratch = q->scratch;
    double above = scratch->above[only], below = scratch->below[only];
    cw_status status = CW_OK;
    if (only == 0) {
        lean(q, true, scratch->group);
        status = sweep_any(q, q->log_above, &above);
        lean(q, false, scratch->group);
        if (status == CW_OK && q->log_below > -INFINITY)
            status = sweep_any(q, q->log_below, &below);
    }
    *out = close_event(q, above, below);
    return status;
}

/* P(any cause of scratch->group): one pass with all of them forced absent, two for bounds. */
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
    *out = (estimate){0, 0, 0};
    if (members == 0 && !is_open(q))
        return CW_OK;
    if (!q->exact && !is_open(q))
        return enclose_any(q, members == 1 ? only : 0, out);
    double any = members == 1 ? scratch->given_kept[only] : any_by_itself(q);
    cw_status status = CW_OK;
    if (members > 1 && !q->blind) {
        rank_sweep_plan(&scratch->sweep, scratch->group);
        status = sweep_any(q, q->log_kept, &any);
    }
    *out = is_open(q) ? (estimate){any, 0, 1} : (estimate){any, any, any};
    return status;
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

/* Never 0 but for the impossible. Between the bounds, where there are any. */
static double evidence_probability(const question *q)
{
    if (q->impossible)
        return 0;
    double logs = q->log_kept;
    if (!q->exact && !q->blind)
        logs = q->log_below > -INFINITY ? (q->log_above + q->log_below) / 2 : q->log_above;
    const double probability = exp(logs);
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
                             .exact = q->exact && !q->impossible,
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
    out->exact = q->exact && !q->impossible;
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
