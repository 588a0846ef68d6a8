#include "rank/causes.h"
#include "rank/came_in.h"

#include "rank/question.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

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
    rank_give(&allocator, scratch->part, causes, sizeof *scratch->part);
    rank_give(&allocator, scratch->finding_part, scratch->model->facts_count, sizeof *scratch->finding_part);
    rank_give(&allocator, scratch->costs, causes, sizeof *scratch->costs);
    rank_give(&allocator, scratch->dear, causes, sizeof *scratch->dear);
    rank_give(&allocator, scratch->bounded, causes, sizeof *scratch->bounded);
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
    scratch->part = rank_take(allocator, causes, sizeof *scratch->part, &failed);
    scratch->finding_part =
        rank_take(allocator, scratch->model->facts_count, sizeof *scratch->finding_part, &failed);
    scratch->costs = rank_take(allocator, causes, sizeof *scratch->costs, &failed);
    scratch->dear = rank_take(allocator, causes, sizeof *scratch->dear, &failed);
    scratch->bounded = rank_take(allocator, causes, sizeof *scratch->bounded, &failed);
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
    if (scratch->vary != NULL) {
        rank_vary_dispose(scratch->vary);
        cw_release(&scratch->allocator, scratch->vary, sizeof *scratch->vary);
    }
    if (scratch->lanes != NULL) {
        rank_lanes_dispose(scratch->lanes);
        cw_release(&scratch->allocator, scratch->lanes, sizeof *scratch->lanes);
    }
    rank_base_dispose(&scratch->base);
    rank_sweep_dispose(&scratch->sweep);
    rank_net_dispose(&scratch->net);
    free_arrays(scratch);
}

/* The whole sum, bounded where it is too dear. */
static cw_status try_whole(question *q, cw_causes_tried *out)
{
    cw_causes_scratch *scratch = q->scratch;
    estimate unit, nothing;
    cw_status status = question_solve(q, 1);
    if (status == CW_OK)
        status = question_unit_at_fault(q, &unit);
    if (status == CW_OK)
        status = question_nothing_wrong(q, &nothing);
    if (status != CW_OK)
        return status;
    question_close_causes(q);
    *out = (cw_causes_tried){.by_cause = scratch->by_cause,
                             .unit_at_fault = unit.probability,
                             .nothing = nothing.probability,
                             .evidence_probability = question_evidence_probability(q),
                             .exact = q->exact && !q->impossible,
                             .steps = (uint64_t)q->steps};
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

static cw_status new_vary(cw_causes_scratch *scratch)
{
    if (scratch->vary != NULL)
        return CW_OK;
    scratch->vary = cw_allocate(&scratch->allocator, sizeof *scratch->vary);
    if (scratch->vary == NULL)
        return CW_NO_MEMORY;
    const cw_status status = rank_vary_new(scratch->vary, scratch->model, &scratch->allocator);
    if (status != CW_OK) {
        cw_release(&scratch->allocator, scratch->vary, sizeof *scratch->vary);
        scratch->vary = NULL;
    }
    return status;
}

/* A variation goes there and back, and there without the unit's causes; `whole`: what the sum afresh takes.
 */
static uint64_t vary_steps(const rank_vary *vary, uint64_t whole)
{
    return vary != NULL && vary->valid ? (uint64_t)(3 * vary->whole.cost + vary->unit_free.cost) : whole;
}

/* Without variations nothing is lost but speed. */
static cw_status remember_to_vary(question *q, cw_causes_tried *out)
{
    double steps = 0;
    cw_status status = new_vary(q->scratch);
    if (status == CW_OK)
        status = rank_vary_set(q->scratch->vary, q->chain, q->evidence, q->count,
                               q->max_steps - (double)out->steps, &steps);
    out->each = vary_steps(q->scratch->vary, out->steps);
    out->steps += (uint64_t)steps;
    return status;
}

/* Where all are to be changed once more. */
static void copy_tried(cw_causes_scratch *scratch, cw_causes_tried *out)
{
    memcpy(scratch->by_cause, out->by_cause, ((size_t)scratch->model->causes_count + 1) * sizeof(double));
    out->by_cause = scratch->by_cause;
    out->moved = NULL;
}

static cw_status try_vary(question *q, cw_causes_tried *out, bool *done)
{
    rank_vary *vary = q->scratch->vary;
    uint32_t ticket = 0;
    if (vary == NULL || !vary->valid)
        return CW_OK;
    cw_status status = rank_vary_foresee(vary, q->chain, q->evidence, q->count, &ticket);
    if (status == CW_OK && ticket != 0)
        status = rank_vary_take(vary, ticket, q->max_steps, out, done);
    if (status == CW_OK && *done)
        copy_tried(q->scratch, out);
    return status;
}

static cw_status try_either(question *q, bool remember, cw_causes_tried *out)
{
    bool done = false;
    cw_status status = CW_OK;
    if (remember && q->scratch->vary != NULL)
        q->scratch->vary->valid = false;
    if (!remember)
        status = try_vary(q, out, &done);
    if (status == CW_OK && !done && (remember || q->scratch->base.valid))
        status = try_parts(q, remember, out, &done);
    if (status == CW_OK && !done)
        status = try_whole(q, out);
    if (status == CW_OK && remember)
        status = remember_to_vary(q, out);
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

cw_status cw_causes_foresee(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                            size_t count, uint32_t *ticket)
{
    *ticket = 0;
    if (scratch->vary == NULL || !scratch->vary->valid)
        return CW_OK;
    return rank_vary_foresee(scratch->vary, chain, evidence, count, ticket);
}

void cw_causes_foresee_anew(cw_causes_scratch *scratch)
{
    if (scratch->vary != NULL)
        rank_vary_anew(scratch->vary);
}

cw_status cw_causes_foreseen(cw_causes_scratch *scratch, uint32_t ticket, uint64_t max_steps,
                             cw_causes_tried *out, bool *done)
{
    const cw_status status = rank_vary_take(scratch->vary, ticket, (double)max_steps, out, done);
    if (status != CW_OK || !*done || !rank_came_in_counts(scratch->model))
        return status;
    copy_tried(scratch, out);
    rank_came_in_tried(scratch->model, scratch->by_cause, out);
    return CW_OK;
}
