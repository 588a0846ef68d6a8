/* All that is said of the causes at once: lines, parts and their roots, sets. */
#include "rank/came_in.h"
#include "rank/firm.h"
#include "rank/question.h"
#include "rank/sets.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

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

/* -- Parts -- */

/* Parts with several causes need a pass each. */
static double shared_parts(const cw_model *model)
{
    double passes = 0;
    for (cw_part_id part = 1; part <= model->parts_count; part++) {
        uint32_t causes = 0;
        for (cw_cause_id id = 1; id <= model->causes_count; id++)
            causes += model->causes[id].part == part;
        passes += causes > 1;
    }
    return passes;
}

/* Marks what leads to a cause of the group, directly or not, from outside it; false if nothing does. Causes
 * come after those that lead to them, so one way down is enough. */
static bool find_ancestors(const cw_model *model, const bool *group, bool *ancestor)
{
    bool any = false;
    for (cw_cause_id id = model->causes_count; id > 0; id--) {
        ancestor[id] = false;
        const cw_run run = model->causes[id].leads_to;
        for (uint32_t i = run.first; i < run.first + run.count; i++)
            ancestor[id] |= group[model->links[i].to] || ancestor[model->links[i].to];
    }
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        ancestor[id] = ancestor[id] && !group[id];
        any |= ancestor[id];
    }
    return any;
}

/* P(root | any of the group) from P(root), P(root | none of it) and P(none). */
static cw_status find_root(question *q, double any, const bool *ancestor, double *without, cw_cause_id *root,
                           double *probability)
{
    cw_causes_scratch *scratch = q->scratch;
    double log_none;
    rank_sweep_plan(&scratch->sweep, scratch->group);
    const cw_status status = rank_sweep_forward(&scratch->sweep, true, &log_none);
    q->steps += 3 * scratch->sweep.cost;
    if (status != CW_OK)
        return status;
    const double none = fmin(exp(log_none - q->log_kept), 1);
    if (log_none > -INFINITY)
        rank_sweep_backward(&scratch->sweep, without);
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++) {
        const double alone = log_none > -INFINITY ? without[id] * none : 0;
        const double given = fmin(fmax((scratch->given_kept[id] - alone) / any, 0), 1);
        if (!ancestor[id] || given <= *probability)
            continue;
        *root = id;
        *probability = given;
    }
    return CW_OK;
}

/* Below this a part is not worth a root, and the difference above loses its digits. */
#define LEAST_PART 1e-6

static cw_status rank_parts(question *q, cw_arena *arena, double *by_part, cw_causes *out)
{
    cw_causes_scratch *scratch = q->scratch;
    const cw_model *model = scratch->model;
    double *with_root = CW_NEW_ARRAY(arena, double, (size_t)model->parts_count + 1);
    cw_cause_id *roots = CW_NEW_ARRAY(arena, cw_cause_id, (size_t)model->parts_count + 1);
    bool *ancestor = CW_NEW_ARRAY(arena, bool, (size_t)model->causes_count + 1);
    if (with_root == NULL || roots == NULL || ancestor == NULL)
        return CW_NO_MEMORY;
    for (cw_part_id part = 1; part <= model->parts_count; part++) {
        for (cw_cause_id id = 1; id <= model->causes_count; id++)
            scratch->group[id] = model->causes[id].part == part;
        estimate any;
        cw_status status = question_any_of_group(q, &any);
        const bool affordable = q->exact && !question_is_open(q) && any.probability > LEAST_PART &&
                                q->steps + 3 * scratch->sweep.cost <= q->max_steps;
        if (status == CW_OK && affordable && find_ancestors(model, scratch->group, ancestor))
            status =
                find_root(q, any.probability, ancestor, scratch->thought, &roots[part], &with_root[part]);
        if (status != CW_OK)
            return status;
        by_part[part] = any.probability;
    }
    out->part_root = roots;
    out->root_probability = with_root;
    return CW_OK;
}

/* -- Sets -- */

static int by_chance(const void *a, const void *b)
{
    const cw_cause_set *left = a, *right = b;
    if (left->probability != right->probability)
        return left->probability > right->probability ? -1 : 1;
    if (left->count != right->count)
        return left->count < right->count ? -1 : 1;
    for (uint32_t i = 0; i < left->count; i++)
        if (left->causes[i] != right->causes[i])
            return left->causes[i] < right->causes[i] ? -1 : 1;
    return 0;
}

/* That somebody has brought it in (came_in.h) counts against the empty set alone: one more set than wanted is
 * looked for, and should that one fall behind, the others are all there. */
static void weigh_sets(const question *q, const rank_set *found, uint32_t count, const cw_causes *out,
                       cw_cause_set *sets)
{
    const double idle = q->scratch->model->idle, above = q->exact ? q->log_kept : q->log_above,
                 below = q->exact ? q->log_kept : q->log_below;
    for (uint32_t i = 0; i < count; i++) {
        const double factor = found[i].count == 0 ? idle : 1;
        const double most = factor / (1 - out->nothing_high * (1 - idle)),
                     least = factor / (1 - out->nothing_low * (1 - idle));
        sets[i] = (cw_cause_set){.causes = found[i].causes,
                                 .count = found[i].count,
                                 .low = fmin(exp(found[i].log_chance - above) * least, 1),
                                 .high = fmin(exp(found[i].log_chance - below) * most, 1)};
        sets[i].probability = q->exact ? sets[i].low : (sets[i].low + sets[i].high) / 2;
    }
    qsort(sets, count, sizeof *sets, by_chance);
}

/* Last, for it plans anew; but before what `nothing` comes to when somebody has brought it in. */
static cw_status rank_sets(question *q, cw_arena *arena, cw_causes *out)
{
    rank_set found[RANK_SETS];
    uint32_t count = 0;
    if (question_is_open(q) || q->max_steps <= q->steps)
        return CW_OK;
    if (!q->exact) {
        memset(q->scratch->left_out, 0, q->count * sizeof *q->scratch->left_out);
        rank_net_build(&q->scratch->net, q->chain, q->evidence, q->count, q->scratch->left_out);
    }
    const cw_status status = rank_sets_find(&q->scratch->sweep, q->max_steps - q->steps, arena, found, &count,
                                            &out->sets_proven, &q->steps);
    cw_cause_set *sets = CW_NEW_ARRAY(arena, cw_cause_set, RANK_SETS);
    if (status != CW_OK || sets == NULL)
        return CW_NO_MEMORY;
    weigh_sets(q, found, count, out, sets);
    out->sets = sets;
    out->set_count = count < CW_CAUSES_SETS ? count : CW_CAUSES_SETS;
    return CW_OK;
}

static cw_status rank_events(question *q, cw_arena *arena, double *by_part, cw_causes *out)
{
    estimate unit, nothing;
    cw_status status = question_unit_at_fault(q, &unit);
    if (status == CW_OK)
        status = question_nothing_wrong(q, &nothing);
    if (status == CW_OK)
        status = rank_parts(q, arena, by_part, out);
    if (status != CW_OK)
        return status;
    out->unit_at_fault = unit.probability;
    out->unit_at_fault_low = unit.low;
    out->unit_at_fault_high = unit.high;
    out->nothing = nothing.probability;
    out->nothing_low = nothing.low;
    out->nothing_high = nothing.high;
    return CW_OK;
}

static cw_cause_id first_of(const cw_causes_scratch *scratch)
{
    cw_cause_id first = 1;
    for (cw_cause_id id = 2; id <= scratch->model->causes_count; id++)
        if (scratch->by_cause[id] > scratch->by_cause[first])
            first = id;
    return first;
}

static cw_status rank_all(question *q, cw_arena *arena, cw_causes *out)
{
    cw_causes_scratch *scratch = q->scratch;
    double *by_part = CW_NEW_ARRAY(arena, double, (size_t)scratch->model->parts_count + 1);
    cw_status status = by_part != NULL ? question_solve(q, 1 + shared_parts(scratch->model)) : CW_NO_MEMORY;
    if (status == CW_OK)
        status = rank_events(q, arena, by_part, out);
    if (status != CW_OK)
        return status;
    question_close_causes(q);
    out->evidence_probability = question_evidence_probability(q);
    out->exact = q->exact && !q->impossible;
    out->part_probability = by_part;
    status = rank_sets(q, arena, out);
    if (status == CW_OK && out->exact && scratch->model->causes_count > 0)
        status = rank_firm(q, first_of(scratch), &out->firm, &out->rival);
    if (status != CW_OK)
        return status;
    out->steps = (uint64_t)q->steps;
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
