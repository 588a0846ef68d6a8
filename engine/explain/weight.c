/* How much each answer weighs: the ranking again without it. */
#include "explain/inside.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Below this a weight is not worth a word. */
#define LEAST_BITS 0.05

struct cw_explainer {
    cw_allocator allocator;
    const cw_model *model;
    const cw_identity_tables *tables;
    cw_chain *trial;
    cw_causes_scratch *causes;
    cw_arena *scratch; /* emptied with each ranking */
};

cw_status cw_explainer_new(const cw_model *model, const cw_identity_tables *tables,
                           const cw_allocator *allocator, cw_explainer **out)
{
    cw_explainer *explainer = cw_allocate(allocator, sizeof *explainer);
    if (explainer == NULL)
        return CW_NO_MEMORY;
    *explainer = (cw_explainer){.allocator = *allocator, .model = model, .tables = tables};
    cw_status status = cw_chain_new(model, allocator, &explainer->trial);
    if (status == CW_OK)
        status = cw_causes_scratch_new(model, allocator, &explainer->causes);
    if (status == CW_OK && (explainer->scratch = cw_arena_new(allocator)) == NULL)
        status = CW_NO_MEMORY;
    if (status != CW_OK) {
        cw_explainer_free(explainer);
        return status;
    }
    *out = explainer;
    return CW_OK;
}

void cw_explainer_free(cw_explainer *explainer)
{
    if (explainer == NULL)
        return;
    const cw_allocator allocator = explainer->allocator;
    cw_chain_free(explainer->trial);
    cw_causes_scratch_free(explainer->causes);
    cw_arena_free(explainer->scratch);
    cw_release(&allocator, explainer, sizeof *explainer);
}

/* One answer, the evidence through which it counted, and the ranking without it. */
typedef struct left_out {
    cw_weight through;
    double *by_id;
} left_out;

typedef struct accounting {
    cw_explainer *explainer;
    const cw_chain *chain;
    cw_about about;
    cw_arena *arena;
    uint32_t ids;    /* lines are 0 .. ids - 1; 0 = not listed, nothing */
    double *by_id;   /* with all answers */
    uint32_t *order; /* ids, most probable first */
    uint32_t lines;
    left_out *answers;
    size_t answer_count;
    const cw_evidence *evidence; /* with all answers */
    size_t evidence_count;
    explain_finder finder;
    uint64_t steps; /* for each ranking */
} accounting;

/* -- Rankings -- */

static cw_status rank_units(accounting *a, const cw_evidence *evidence, size_t count, double *by_id)
{
    cw_identity identity;
    const cw_status status =
        cw_identity_rank(a->explainer->tables, evidence, count, a->explainer->scratch, &identity);
    if (status != CW_OK)
        return status;
    by_id[0] = identity.not_listed;
    for (uint32_t i = 0; i < identity.count; i++)
        by_id[identity.units[i]] = identity.probability[i];
    return CW_OK;
}

static cw_status rank_causes(accounting *a, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                             double *by_id)
{
    cw_causes_tried tried;
    const cw_status status =
        chain == a->chain ? cw_causes_remember(a->explainer->causes, chain, evidence, count, a->steps, &tried)
                          : cw_causes_try(a->explainer->causes, chain, evidence, count, a->steps, &tried);
    if (status != CW_OK)
        return status;
    by_id[0] = tried.nothing;
    for (cw_cause_id id = 1; id < a->ids; id++)
        by_id[id] = tried.by_cause[id];
    return CW_OK;
}

static cw_status rank_chain(accounting *a, const cw_chain *chain, double *by_id)
{
    const cw_evidence *evidence;
    size_t count;
    cw_arena_reset(a->explainer->scratch);
    const cw_status status = cw_evidence_collect(chain, a->about, a->explainer->scratch, &evidence, &count);
    if (status != CW_OK)
        return status;
    return a->about == CW_ABOUT_UNITS ? rank_units(a, evidence, count, by_id)
                                      : rank_causes(a, chain, evidence, count, by_id);
}

static bool counts_as_answer(const cw_chain *chain, cw_fact_id fact)
{
    const cw_answer *answer = cw_chain_answered(chain, fact);
    return answer != NULL && !answer->cant_tell;
}

static cw_status list_answers(accounting *a)
{
    const cw_model *model = a->explainer->model;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        a->answer_count += counts_as_answer(a->chain, fact);
    a->answers = CW_NEW_ARRAY(a->arena, left_out, a->answer_count);
    if (a->answers == NULL)
        return CW_NO_MEMORY;
    size_t count = 0;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        if (counts_as_answer(a->chain, fact))
            a->answers[count++].through.answer = fact;
    return CW_OK;
}

static cw_status rank_without(accounting *a, left_out *out)
{
    out->by_id = CW_NEW_ARRAY(a->arena, double, a->ids);
    if (out->by_id == NULL)
        return CW_NO_MEMORY;
    cw_chain_copy(a->explainer->trial, a->chain);
    const cw_status status = cw_chain_withdraw(a->explainer->trial, out->through.answer);
    return status == CW_OK ? rank_chain(a, a->explainer->trial, out->by_id) : status;
}

static cw_status rank_all_ways(accounting *a)
{
    cw_status status = list_answers(a);
    a->steps = CW_CAUSES_STEPS; /* as the ranking itself */
    if (status == CW_OK)
        status = rank_chain(a, a->chain, a->by_id);
    a->steps /= a->answer_count + 1;
    for (size_t i = 0; status == CW_OK && i < a->answer_count; i++)
        status = rank_without(a, &a->answers[i]);
    return status;
}

/* -- The order of lines: that of the rankings, "not listed" where its probability puts it -- */

static cw_status order_units(accounting *a)
{
    cw_identity identity;
    const cw_status status =
        cw_identity_rank(a->explainer->tables, a->evidence, a->evidence_count, a->arena, &identity);
    if (status != CW_OK)
        return status;
    a->lines = identity.count;
    memcpy(a->order, identity.units, identity.count * sizeof *a->order);
    return CW_OK;
}

/* Ties stand by id, as in the ranking: insertion keeps them so. */
static void order_causes(accounting *a)
{
    for (cw_cause_id id = 1; id < a->ids; id++) {
        uint32_t at = a->lines++;
        for (; at > 0 && a->by_id[a->order[at - 1]] < a->by_id[id]; at--)
            a->order[at] = a->order[at - 1];
        a->order[at] = id;
    }
}

static cw_status order_lines(accounting *a, size_t wanted)
{
    cw_status status = CW_OK;
    if (a->about == CW_ABOUT_UNITS)
        status = order_units(a);
    else
        order_causes(a);
    if (status != CW_OK)
        return status;
    a->lines = a->lines < wanted ? a->lines : (uint32_t)wanted;
    uint32_t at = a->lines++;
    for (; at > 0 && a->by_id[a->order[at - 1]] < a->by_id[0]; at--)
        a->order[at] = a->order[at - 1];
    a->order[at] = 0;
    return CW_OK;
}

/* -- Weights -- */

/* Units exclude each other, so what speaks against one is the sum of the others: exact where 1 - p is not. */
static double log_odds(const accounting *a, const double *by_id, uint32_t id)
{
    double against = 1 - by_id[id];
    if (a->about == CW_ABOUT_UNITS) {
        against = 0;
        for (uint32_t i = 0; i < a->ids; i++)
            against += i != id ? by_id[i] : 0;
    }
    return log2(fmax(by_id[id], DBL_MIN)) - log2(fmax(against, DBL_MIN));
}

static double weigh(const accounting *a, const left_out *without, uint32_t id)
{
    const double bits = log_odds(a, a->by_id, id) - log_odds(a, without->by_id, id);
    return fmax(-CW_WEIGHT_MOST, fmin(CW_WEIGHT_MOST, bits));
}

/* Does what is known of `counted` rest on the answer? Then it counted through it. */
static cw_status try_counted(accounting *a, cw_fact_id counted, cw_weight *weight)
{
    const cw_status status =
        explain_find_way(&a->finder, weight->answer, counted, a->arena, &weight->rules, &weight->rule_count);
    if (status != CW_OK)
        return status;
    weight->counted = counted;
    if (a->explainer->model->facts[counted].values.count > 0)
        (void)cw_chain_value(a->chain, counted, &weight->counted_value);
    return CW_OK;
}

static cw_status try_atom(accounting *a, cw_atom_id atom, cw_weight *weight)
{
    const cw_fact_id fact = atom != 0 ? a->explainer->model->atoms[atom].fact : 0;
    if (fact == 0 || cw_chain_truth(a->chain, atom) != CW_YES)
        return CW_NOT_FOUND;
    return try_counted(a, fact, weight);
}

/* An answer counts through evidence ... */
static cw_status find_evidence(accounting *a, cw_weight *through)
{
    cw_status status = CW_NOT_FOUND;
    for (size_t i = 0; status == CW_NOT_FOUND && i < a->evidence_count; i++)
        if (a->evidence[i].yields_to == 0)
            status = try_counted(a, a->evidence[i].fact, through);
    return status == CW_NO_MEMORY ? status : CW_OK;
}

/* ... or, for a cause, through what rules it out or shifts its odds. */
static cw_status find_circumstance(accounting *a, cw_cause_id id, cw_weight *weight)
{
    const cw_model *model = a->explainer->model;
    cw_status status = try_atom(a, model->causes[id].ruled_out, weight);
    const cw_run shifts = model->causes[id].shifts;
    for (uint32_t i = shifts.first; status == CW_NOT_FOUND && i < shifts.first + shifts.count; i++)
        status = try_atom(a, model->shifts[i].atom, weight);
    return status == CW_NO_MEMORY ? status : CW_OK;
}

static int strongest_first(const void *a, const void *b)
{
    const cw_weight *left = a, *right = b;
    const double x = fabs(left->bits), y = fabs(right->bits);
    if (x != y)
        return x > y ? -1 : 1;
    return left->answer < right->answer ? -1 : left->answer > right->answer;
}

static cw_status write_account(accounting *a, uint32_t id, cw_account *out)
{
    cw_weight *weights = CW_NEW_ARRAY(a->arena, cw_weight, a->answer_count);
    if (weights == NULL)
        return CW_NO_MEMORY;
    *out = (cw_account){.id = id, .probability = a->by_id[id], .weights = weights};
    for (size_t i = 0; i < a->answer_count; i++) {
        const double bits = weigh(a, &a->answers[i], id);
        if (fabs(bits) < LEAST_BITS)
            continue;
        cw_weight *weight = &weights[out->count++];
        *weight = a->answers[i].through;
        weight->bits = bits;
        weight->without = a->answers[i].by_id[id];
        if (weight->counted == 0 && a->about == CW_ABOUT_CAUSES && id != 0 &&
            find_circumstance(a, id, weight) != CW_OK)
            return CW_NO_MEMORY;
    }
    qsort(weights, out->count, sizeof *weights, strongest_first);
    return CW_OK;
}

/* Who is first; `favourite` keeps the place at a tie. */
static uint32_t first_line(const accounting *a, const double *by_id, uint32_t favourite)
{
    uint32_t first = favourite;
    for (uint32_t id = 0; id < a->ids; id++)
        if (by_id[id] > by_id[first])
            first = id;
    return first;
}

/* Of the answers without which another line is first, the one that weighs most for this one. */
static void find_decider(const accounting *a, cw_account *leader)
{
    double most = -INFINITY;
    for (size_t i = 0; i < a->answer_count; i++) {
        const uint32_t other = first_line(a, a->answers[i].by_id, leader->id);
        const double bits = weigh(a, &a->answers[i], leader->id);
        if (other != leader->id && bits > most) {
            most = bits;
            leader->decides = a->answers[i].through.answer;
            leader->instead = other;
        }
    }
}

static cw_status prepare(accounting *a, size_t lines)
{
    a->by_id = CW_NEW_ARRAY(a->arena, double, a->ids);
    a->order = CW_NEW_ARRAY(a->arena, uint32_t, (size_t)a->ids + 1);
    if (a->by_id == NULL || a->order == NULL)
        return CW_NO_MEMORY;
    cw_status status = rank_all_ways(a);
    if (status == CW_OK)
        status = cw_evidence_collect(a->chain, a->about, a->arena, &a->evidence, &a->evidence_count);
    if (status == CW_OK)
        status = order_lines(a, lines);
    if (status == CW_OK)
        status = explain_finder_new(&a->finder, a->chain, a->arena);
    for (size_t i = 0; status == CW_OK && i < a->answer_count; i++)
        status = find_evidence(a, &a->answers[i].through);
    return status;
}

cw_status cw_explain_lines(cw_explainer *explainer, const cw_chain *chain, cw_about about, size_t lines,
                           cw_arena *arena, const cw_account **out, size_t *count)
{
    const cw_model *model = explainer->model;
    accounting a = {.explainer = explainer, .chain = chain, .about = about, .arena = arena};
    a.ids = 1 + (about == CW_ABOUT_UNITS ? model->units_count : model->causes_count);
    cw_status status = prepare(&a, lines);
    if (status != CW_OK)
        return status;
    cw_account *accounts = CW_NEW_ARRAY(arena, cw_account, a.lines);
    if (accounts == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; status == CW_OK && i < a.lines; i++)
        status = write_account(&a, a.order[i], &accounts[i]);
    if (status != CW_OK)
        return status;
    if (lines > 0)
        find_decider(&a, &accounts[0]);
    *out = accounts;
    *count = a.lines;
    return CW_OK;
}
