/* Where one stands before a check: what counts as evidence, and the ranking on it. */
#include "ask/inside.h"

#include <math.h>
#include <string.h>

/* Keeps those that count; in place of the collected list. */
static size_t counting(const cw_evidence *all, size_t count, cw_evidence *out)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++)
        if (all[i].yields_to == 0)
            out[kept++] = all[i];
    return kept;
}

cw_status ask_collect(const ask_call *call, const cw_chain *chain, cw_arena *arena, const cw_evidence **out,
                      size_t *count)
{
    const cw_evidence *all = NULL;
    size_t found = 0;
    cw_status status =
        cw_evidence_collect_among(chain, &call->asker->evidence_facts[call->about], arena, &all, &found);
    cw_evidence *kept = status == CW_OK ? CW_NEW_ARRAY(arena, cw_evidence, found) : NULL;
    if (kept == NULL)
        return CW_NO_MEMORY;
    *count = counting(all, found, kept);
    *out = kept;
    return CW_OK;
}

cw_status ask_circumstances(const ask_call *call, const cw_chain *chain, cw_arena *arena, const bool **out)
{
    bool *holds = CW_NEW_ARRAY(arena, bool, call->asker->circumstance_count);
    for (uint32_t i = 0; holds != NULL && i < call->asker->circumstance_count; i++)
        holds[i] = cw_chain_truth(chain, call->asker->circumstances[i]) == CW_YES;
    *out = holds;
    return holds == NULL ? CW_NO_MEMORY : CW_OK;
}

/* Log of the sum of exponentials; fills the shares where there is one. */
double ask_share_out(const double *joint, size_t count, double *chance)
{
    double most = -INFINITY, sum = 0;
    for (size_t i = 0; i < count; i++)
        most = fmax(most, joint[i]);
    if (most == -INFINITY)
        return most;
    for (size_t i = 0; i < count; i++)
        sum += chance[i] = exp(joint[i] - most);
    for (size_t i = 0; i < count; i++)
        chance[i] /= sum;
    return most + log(sum);
}

uint32_t ask_swap_group(const cw_model *model, cw_fact_id fact)
{
    return model->checks[model->facts[fact].check].swap_group;
}

/* Adds up what the evidence says, one group that is swapped together after the other. */
static cw_status add_groups(const cw_asker *asker, const ask_footing *f, cw_arena *arena, double *joint,
                            double **swapped)
{
    uint32_t count = asker->hypothesis_count;
    double *logs = CW_NEW_ARRAY(arena, double, count), *room = CW_NEW_ARRAY(arena, double, count);
    if (logs == NULL || room == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < f->count; i++) {
        double **row = &swapped[ask_swap_group(asker->model, f->evidence[i].fact)];
        if (row != swapped && *row == NULL && (*row = CW_NEW_ARRAY(arena, double, count)) == NULL)
            return CW_NO_MEMORY;
        if (!cw_identity_log_likelihoods(asker->tables, f->evidence, f->count, i, logs, *row, room))
            continue;
        for (uint32_t h = 0; h < count; h++)
            joint[h] += logs[h];
    }
    return CW_OK;
}

static cw_status stand_on_units(ask_call *call, cw_arena *arena, ask_footing *f)
{
    const cw_asker *asker = call->asker;
    uint32_t count = asker->hypothesis_count;
    double *joint = CW_NEW_ARRAY(arena, double, count), *chance = CW_NEW_ARRAY(arena, double, count);
    double **swapped = CW_NEW_ARRAY(arena, double *, asker->model->swap_groups_count + 1);
    if (joint == NULL || chance == NULL || swapped == NULL)
        return CW_NO_MEMORY;
    memcpy(joint, asker->log_prior, count * sizeof *joint);
    cw_status status = f->alone ? CW_OK : add_groups(asker, f, arena, joint, swapped);
    if (status != CW_OK)
        return status;
    f->swapped = (const double *const *)swapped;
    f->log_evidence = ask_share_out(joint, count, chance);
    f->possible = f->log_evidence > -INFINITY;
    f->joint = joint;
    f->chance = chance;
    f->steps = count;
    call->steps += count * (f->count + 1);
    return CW_OK;
}

/* Also when the steps run out: then the footing is not possible to stand on, and the call is cut short. */
static cw_status stand_on_causes(ask_call *call, cw_arena *arena, ask_footing *f)
{
    size_t count = (size_t)call->asker->model->causes_count + 1;
    cw_asker *asker = call->asker;
    cw_causes_tried tried;
    cw_status status = CW_OK;
    if (asker->causes == NULL)
        status = cw_causes_scratch_new(asker->model, &asker->allocator, &asker->causes);
    if (status == CW_OK)
        status = cw_causes_remember(asker->causes, f->chain, f->evidence, f->alone ? 0 : f->count,
                                    call->max_steps - call->steps, &tried);
    if (status != CW_OK)
        return status;
    double *chance = CW_NEW_ARRAY(arena, double, count);
    if (chance == NULL)
        return CW_NO_MEMORY;
    memcpy(chance, tried.by_cause, count * sizeof *chance);
    chance[0] = 0;
    call->steps += tried.steps;
    call->cut_short |= !tried.exact && tried.evidence_probability > 0;
    f->possible = tried.exact;
    f->chance = chance;
    f->at_fault = tried.unit_at_fault;
    f->nothing = tried.nothing;
    f->log_evidence = tried.exact ? log(tried.evidence_probability) : -INFINITY;
    f->steps = tried.each;
    return ask_beliefs_new(chance, count, arena, &f->beliefs);
}

static cw_status rank_here(ask_call *call, cw_arena *arena, ask_footing *f)
{
    return call->about == CW_ABOUT_UNITS ? stand_on_units(call, arena, f) : stand_on_causes(call, arena, f);
}

cw_status ask_stand(ask_call *call, const cw_chain *chain, cw_arena *arena, ask_footing *out)
{
    *out = (ask_footing){.number = ++call->footings, .chain = chain};
    cw_status status = ask_collect(call, chain, arena, &out->evidence, &out->count);
    if (status == CW_OK)
        status = ask_circumstances(call, chain, arena, &out->circumstances);
    return status == CW_OK ? rank_here(call, arena, out) : status;
}

cw_status ask_stand_alone(ask_call *call, const ask_footing *footing, cw_arena *arena, ask_footing *out)
{
    *out = *footing;
    out->alone = true;
    return rank_here(call, arena, out);
}
