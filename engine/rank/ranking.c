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
static void find_root(const cw_causes_scratch *scratch, double none, const double *without, size_t step,
                      const bool *ancestor, cw_cause_id *root, double *probability)
{
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++) {
        const double alone = none > 0 ? without[id * step] * none : 0;
        const double given = fmin(fmax((scratch->given_kept[id] - alone) / (1 - none), 0), 1);
        if (!ancestor[id] || given <= *probability)
            continue;
        *root = id;
        *probability = given;
    }
}

/* Below this a part is not worth a root, and the difference above loses its digits. */
#define LEAST_PART 1e-6

typedef struct parts {
    double *probability, *with_root;
    cw_cause_id *roots;
    bool *ancestor;
} parts;

static void mark_group(const cw_causes_scratch *scratch, cw_part_id part)
{
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++)
        scratch->group[id] = scratch->model->causes[id].part == part;
}

/* How many of the part's causes are possible; the last of them. Marks them as the group. */
static uint32_t members_of(const cw_causes_scratch *scratch, cw_part_id part, cw_cause_id *last)
{
    uint32_t count = 0;
    *last = 0;
    mark_group(scratch, part);
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++) {
        if (!scratch->group[id] || !scratch->net.causes[id].possible)
            continue;
        *last = id;
        count++;
    }
    return count;
}

/* What it takes to find roots beside the passes that are still to come. */
static bool can_afford_roots(const question *q, cw_part_id first)
{
    const double passes = 3.0 * SWEEP_LANES + q->scratch->model->parts_count - first + 2;
    return q->steps + passes * q->scratch->sweep.cost <= q->max_steps;
}

/* A few parts, one in each lane: with all of its causes forced absent. */
static cw_status rank_few(question *q, cw_part_id first, uint32_t count, const parts *out)
{
    cw_causes_scratch *scratch = q->scratch;
    rank_lanes *lanes = scratch->lanes;
    const bool afford = can_afford_roots(q, first);
    bool leads[SWEEP_LANES] = {false}, back = false;
    uint32_t members[SWEEP_LANES] = {0}, passes = 0;
    rank_lanes_clear(lanes);
    for (uint32_t k = 0; k < count; k++) {
        cw_cause_id only;
        members[k] = members_of(scratch, first + k, &only);
        leads[k] = afford && members[k] > 0 && find_ancestors(scratch->model, scratch->group, out->ancestor);
        out->probability[first + k] = members[k] > 0 ? scratch->given_kept[only] : 0;
        back |= leads[k];
        passes += members[k] > 1 || leads[k];
        for (cw_cause_id id = 1; (members[k] > 1 || leads[k]) && id <= only; id++)
            if (scratch->group[id] && scratch->net.causes[id].possible)
                rank_lanes_times(lanes, k, id, 0);
    }
    const cw_status status = passes > 0 ? rank_lanes_run(lanes, back) : CW_OK;
    q->steps += passes > 0 ? passes * (back ? 3 : 1) * lanes->cost : 0;
    for (uint32_t k = 0; k < count && status == CW_OK; k++) {
        const cw_part_id part = first + k;
        if (members[k] > 1)
            out->probability[part] = fmax(-expm1(lanes->ratio[k]), 0);
        mark_group(scratch, part);
        if (leads[k] && out->probability[part] > LEAST_PART &&
            find_ancestors(scratch->model, scratch->group, out->ancestor))
            find_root(scratch, exp(lanes->ratio[k]), lanes->tried + k, SWEEP_LANES, out->ancestor,
                      &out->roots[part], &out->with_root[part]);
    }
    return status;
}

/* One after the other, where the sums are not exact, or there is no room for lanes. */
static cw_status rank_each_part(question *q, const parts *out)
{
    for (cw_part_id part = 1; part <= q->scratch->model->parts_count; part++) {
        estimate any;
        mark_group(q->scratch, part);
        const cw_status status = question_any_of_group(q, &any);
        if (status != CW_OK)
            return status;
        out->probability[part] = any.probability;
    }
    return CW_OK;
}

static cw_status begin_lanes(question *q, bool *fit)
{
    cw_causes_scratch *scratch = q->scratch;
    *fit = q->exact && !question_is_open(q) && rank_lanes_fit(&scratch->sweep);
    if (!*fit)
        return CW_OK;
    if (scratch->lanes == NULL) {
        rank_lanes *made = cw_allocate(&scratch->allocator, sizeof *made);
        if (made == NULL)
            return CW_NO_MEMORY;
        if (rank_lanes_new(made, &scratch->sweep, &scratch->allocator) != CW_OK) {
            cw_release(&scratch->allocator, made, sizeof *made);
            return CW_NO_MEMORY;
        }
        scratch->lanes = made;
    }
    return rank_lanes_begin(scratch->lanes, scratch->given_kept);
}

/* Before anything else is planned. */
static cw_status rank_parts(question *q, cw_arena *arena, double *by_part, cw_causes *out)
{
    const cw_model *model = q->scratch->model;
    const size_t size = (size_t)model->parts_count + 1;
    parts made = {.probability = by_part,
                  .with_root = CW_NEW_ARRAY(arena, double, size),
                  .roots = CW_NEW_ARRAY(arena, cw_cause_id, size),
                  .ancestor = CW_NEW_ARRAY(arena, bool, (size_t)model->causes_count + 1)};
    if (made.with_root == NULL || made.roots == NULL || made.ancestor == NULL)
        return CW_NO_MEMORY;
    bool fit = false;
    cw_status status = begin_lanes(q, &fit);
    for (cw_part_id part = 1; part <= model->parts_count && fit && status == CW_OK; part += SWEEP_LANES) {
        const uint32_t left = model->parts_count - part + 1;
        status = rank_few(q, part, left < SWEEP_LANES ? left : SWEEP_LANES, &made);
    }
    if (status == CW_OK && !fit)
        status = rank_each_part(q, &made);
    out->part_root = made.roots;
    out->root_probability = made.with_root;
    return status;
}

/* -- Sets -- */

/* That somebody has brought it in (came_in.h) counts against the empty set alone: one more set than wanted is
 * looked for, and should that one fall behind, the others are all there, in the order found. */
static void weigh_sets(const question *q, const rank_set *found, uint32_t count, const cw_causes *out,
                       cw_cause_set *sets)
{
    const double idle = q->scratch->model->idle, above = q->exact ? q->log_kept : q->log_above,
                 below = q->exact ? q->log_kept : q->log_below;
    for (uint32_t i = 0; i < count; i++) {
        const double factor = found[i].count == 0 ? idle : 1;
        const double most = factor / (1 - out->nothing_high * (1 - idle)),
                     least = factor / (1 - out->nothing_low * (1 - idle));
        cw_cause_set now = {.causes = found[i].causes,
                            .count = found[i].count,
                            .low = fmin(exp(found[i].log_chance - above) * least, 1),
                            .high = fmin(exp(found[i].log_chance - below) * most, 1)};
        now.probability = q->exact ? now.low : (now.low + now.high) / 2;
        uint32_t to = i;
        for (; to > 0 && now.probability > sets[to - 1].probability * (1 + SETS_SAME); to--)
            sets[to] = sets[to - 1];
        sets[to] = now;
    }
}

/* Before what `nothing` comes to when somebody has brought it in. */
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
    const cw_status status = rank_sets_find(&q->scratch->net, q->max_steps - q->steps, arena, found, &count,
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
    cw_status status = by_part != NULL ? rank_parts(q, arena, by_part, out) : CW_OK;
    if (status == CW_OK)
        status = question_unit_at_fault(q, &unit);
    if (status == CW_OK)
        status = question_nothing_wrong(q, &nothing);
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

/* Beside the lines: the events, which share the sweep's plan, then sets, and what plans anew. `briefly`:
 * nothing of parts and sets. */
static cw_status rank_all(question *q, bool briefly, cw_arena *arena, cw_causes *out)
{
    cw_causes_scratch *scratch = q->scratch;
    double *by_part = briefly ? NULL : CW_NEW_ARRAY(arena, double, (size_t)scratch->model->parts_count + 1);
    cw_status status = CW_NO_MEMORY;
    if (briefly || by_part != NULL)
        status = question_solve(q, 1 + (briefly ? 0 : shared_parts(scratch->model)));
    if (status == CW_OK)
        status = rank_events(q, arena, by_part, out);
    if (status != CW_OK)
        return status;
    question_close_causes(q);
    out->evidence_probability = question_evidence_probability(q);
    out->exact = q->exact && !q->impossible;
    out->part_probability = by_part;
    if (!briefly)
        status = rank_sets(q, arena, out);
    if (status == CW_OK && !briefly && out->exact && scratch->model->causes_count > 0)
        status = rank_firm(q, first_of(scratch), arena, &out->firm, &out->rival);
    if (status != CW_OK)
        return status;
    out->steps = (uint64_t)q->steps;
    rank_came_in(scratch->model, scratch->by_cause, scratch->low, scratch->high, by_part, out);
    return lay_out(scratch, arena, out);
}

cw_status cw_causes_rank_on(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                            size_t count, uint64_t max_steps, bool briefly, cw_arena *arena, cw_causes *out)
{
    cw_causes ranked = {0};
    question q = {scratch, chain, evidence, count, .max_steps = (double)max_steps};
    const cw_status status = rank_all(&q, briefly, arena, &ranked);
    if (status == CW_OK)
        *out = ranked;
    return status;
}

cw_status cw_causes_rank(const cw_chain *chain, const cw_evidence *evidence, size_t count, uint64_t max_steps,
                         cw_arena *arena, cw_causes *out)
{
    cw_causes_scratch *scratch;
    cw_status status = cw_causes_scratch_new(cw_chain_model(chain), cw_arena_allocator(arena), &scratch);
    if (status != CW_OK)
        return status;
    status = cw_causes_rank_on(scratch, chain, evidence, count, max_steps, false, arena, out);
    cw_causes_scratch_free(scratch);
    return status;
}
