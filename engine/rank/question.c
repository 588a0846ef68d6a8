#include "rank/question.h"

#include "rank/parts.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Passes beside those for groups: there and back is three of them. Bounds take four of these. */
#define EXACT_PASSES 3
#define BOUNDS_PASSES 12

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

/* The findings of the network as it is now, of dear parts alone or of all. Those whose bounds lie closest
 * together say least. */
static uint32_t sort_by_weakness(question *q, bool all)
{
    cw_causes_scratch *scratch = q->scratch;
    const network *net = &scratch->net;
    uint32_t count = 0;
    for (uint32_t i = 0; i < net->finding_count; i++) {
        const uint32_t index = net->findings[i].evidence;
        const cw_cause_id part = scratch->part[scratch->finding_part[i]];
        if (!all && !scratch->dear[part])
            continue;
        const bounds_view view = view_of(q, index);
        scratch->weakest[count++] =
            (weakness){rank_bounds_weakness(&view), index, q->evidence[index].fact, part};
    }
    qsort(scratch->weakest, count, sizeof *scratch->weakest, by_weakness);
    return count;
}

static void build_without(question *q, uint32_t without)
{
    cw_causes_scratch *scratch = q->scratch;
    memset(scratch->left_out, q->impossible, q->count * sizeof *scratch->left_out);
    for (uint32_t i = 0; i < without; i++)
        scratch->left_out[scratch->weakest[i].evidence] = true;
    rank_net_build(&scratch->net, q->chain, q->evidence, q->count, scratch->left_out);
}

/* Plans without so many of the weakest findings. */
static cw_status fits_without(question *q, double passes, uint32_t without, bool *fits)
{
    const rank_sweep *sweep = &q->scratch->sweep;
    build_without(q, without);
    const cw_status status = rank_sweep_choose(&q->scratch->sweep);
    *fits = status == CW_OK && rank_sweep_fits(sweep) && sweep->cost * passes <= q->max_steps;
    return status;
}

static int by_cost(const void *a, const void *b)
{
    const part_cost *left = a, *right = b;
    if (left->cost != right->cost)
        return left->cost < right->cost ? -1 : 1;
    return left->first < right->first ? -1 : left->first > right->first;
}

/* The cheapest parts may take half of the steps and stay exact; the others are dear. Leaves the network as
 * it has found it. */
static cw_status find_dear(question *q, double passes)
{
    cw_causes_scratch *scratch = q->scratch;
    const uint32_t causes = scratch->model->causes_count;
    uint32_t count = 0;
    cw_status status = CW_OK;
    rank_parts_find(&scratch->net, scratch->part, scratch->finding_part);
    for (cw_cause_id first = 1; first <= causes && status == CW_OK; first++) {
        scratch->dear[first] = false;
        if (scratch->part[first] != first)
            continue;
        rank_parts_keep_one(&scratch->net, scratch->part, first);
        status = rank_sweep_choose(&scratch->sweep);
        const bool fits = status == CW_OK && rank_sweep_fits(&scratch->sweep);
        scratch->costs[count++] = (part_cost){fits ? scratch->sweep.cost : INFINITY, first};
    }
    qsort(scratch->costs, count, sizeof *scratch->costs, by_cost);
    double sum = 0;
    for (uint32_t i = 0; i < count; i++) {
        sum += scratch->costs[i].cost * passes;
        scratch->dear[scratch->costs[i].first] = sum > q->max_steps / 2;
    }
    build_without(q, 0);
    return status;
}

static void mark_bounded(question *q, uint32_t without)
{
    cw_causes_scratch *scratch = q->scratch;
    memset(scratch->bounded, 0, (scratch->model->causes_count + (size_t)1) * sizeof *scratch->bounded);
    for (uint32_t i = 0; i < without; i++)
        scratch->bounded[scratch->weakest[i].part] = true;
}

/* Leaves findings out, as few as halving finds, until what `extra` groups cost is within the budget: of dear
 * parts first. Blind when it is not even without any. */
static cw_status leave_out(question *q, double passes)
{
    bool fits = false;
    cw_status status = find_dear(q, passes);
    uint32_t fails = 0, enough = status == CW_OK ? sort_by_weakness(q, false) : 0;
    if (status == CW_OK)
        status = fits_without(q, passes, enough, &fits);
    if (status == CW_OK && !fits) {
        build_without(q, 0);
        enough = sort_by_weakness(q, true);
        status = fits_without(q, passes, enough, &fits);
    }
    q->blind = !fits;
    while (status == CW_OK && !q->blind && enough - fails > 1) {
        const uint32_t middle = fails + (enough - fails) / 2;
        status = fits_without(q, passes, middle, &fits);
        if (fits)
            enough = middle;
        else
            fails = middle;
    }
    mark_bounded(q, enough);
    return status == CW_OK && !q->blind ? fits_without(q, passes, enough, &fits) : status;
}

static cw_status fit(question *q, double extra)
{
    bool fits;
    const cw_status status = fits_without(q, EXACT_PASSES + extra, 0, &fits);
    if (status != CW_OK || fits)
        return status;
    q->exact = false;
    return leave_out(q, BOUNDS_PASSES + 2 * extra);
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
cw_status question_solve(question *q, double extra)
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

bool question_is_open(const question *q)
{
    return q->impossible || q->blind;
}

static estimate close_event(const question *q, double above, double below)
{
    estimate out;
    rank_bounds_close(above, below, q->log_above - q->log_below, &out.probability, &out.low, &out.high);
    return out;
}

void question_close_causes(const question *q)
{
    const cw_causes_scratch *scratch = q->scratch;
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++) {
        const double exact = q->exact || question_is_open(q) ? scratch->given_kept[id] : scratch->above[id];
        const bool enclosed = !q->exact && !question_is_open(q) && scratch->bounded[scratch->part[id]];
        const estimate out = enclosed              ? close_event(q, scratch->above[id], scratch->below[id])
                             : question_is_open(q) ? (estimate){exact, 0, 1}
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

/* In parts that nothing was left out of, both networks say the same. */
static bool group_is_exact(const cw_causes_scratch *scratch)
{
    bool exact = true;
    for (cw_cause_id id = 1; id <= scratch->model->causes_count; id++)
        exact &= !scratch->group[id] || !scratch->bounded[scratch->part[id]];
    return exact;
}

static cw_status enclose_any(question *q, cw_cause_id only, estimate *out)
{
    const cw_causes_scratch *scratch = q->scratch;
    const bool exact = group_is_exact(scratch);
    double above = scratch->above[only], below = scratch->below[only];
    cw_status status = CW_OK;
    if (only == 0) {
        lean(q, true, scratch->group);
        status = sweep_any(q, q->log_above, &above);
    }
    if (only == 0 && !exact) {
        lean(q, false, scratch->group);
        if (status == CW_OK && q->log_below > -INFINITY)
            status = sweep_any(q, q->log_below, &below);
    }
    *out = exact ? (estimate){above, above, above} : close_event(q, above, below);
    return status;
}

/* P(any cause of scratch->group): one pass with all of them forced absent, two for bounds. */
cw_status question_any_of_group(question *q, estimate *out)
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
    if (members == 0 && !question_is_open(q))
        return CW_OK;
    if (!q->exact && !question_is_open(q))
        return enclose_any(q, members == 1 ? only : 0, out);
    double any = members == 1 ? scratch->given_kept[only] : any_by_itself(q);
    cw_status status = CW_OK;
    if (members > 1 && !q->blind) {
        rank_sweep_plan(&scratch->sweep, scratch->group);
        status = sweep_any(q, q->log_kept, &any);
    }
    *out = question_is_open(q) ? (estimate){any, 0, 1} : (estimate){any, any, any};
    return status;
}

cw_status question_unit_at_fault(question *q, estimate *out)
{
    const cw_model *model = q->scratch->model;
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        q->scratch->group[id] = model->parts[model->causes[id].part].where == CW_PART_UNIT;
    return question_any_of_group(q, out);
}

cw_status question_nothing_wrong(question *q, estimate *out)
{
    for (cw_cause_id id = 1; id <= q->scratch->model->causes_count; id++)
        q->scratch->group[id] = true;
    estimate any;
    const cw_status status = question_any_of_group(q, &any);
    if (status == CW_OK)
        *out = (estimate){1 - any.probability, 1 - any.high, 1 - any.low};
    return status;
}

/* Never 0 but for the impossible. Between the bounds, where there are any. */
double question_evidence_probability(const question *q)
{
    if (q->impossible)
        return 0;
    double logs = q->log_kept;
    if (!q->exact && !q->blind)
        logs = q->log_below > -INFINITY ? (q->log_above + q->log_below) / 2 : q->log_above;
    const double probability = exp(logs);
    return probability < DBL_MIN ? DBL_MIN : probability;
}
