/* Making and freeing an asker: scratch chains, and what is worked out once. */
#include "ask/inside.h"

#include <math.h>
#include <string.h>

static void free_parts(cw_asker *asker)
{
    cw_chain_free(asker->ahead);
    cw_chain_free(asker->between);
    cw_causes_scratch_free(asker->causes);
    cw_arena_free(asker->fixed);
    cw_arena_free(asker->call);
    cw_arena_free(asker->check);
    cw_arena_free(asker->trial);
}

static cw_status take_parts(cw_asker *asker)
{
    const cw_allocator *allocator = &asker->allocator;
    asker->fixed = cw_arena_new(allocator);
    asker->call = cw_arena_new(allocator);
    asker->check = cw_arena_new(allocator);
    asker->trial = cw_arena_new(allocator);
    if (asker->fixed == NULL || asker->call == NULL || asker->check == NULL || asker->trial == NULL)
        return CW_NO_MEMORY;
    return cw_chain_new(asker->model, allocator, &asker->ahead);
}

/* Shares before any evidence, from the ranking itself. */
static cw_status find_hypotheses(cw_asker *asker)
{
    const cw_model *model = asker->model;
    asker->hypotheses = CW_NEW_ARRAY(asker->fixed, cw_unit_id, (size_t)model->units_count + 1);
    asker->log_prior = CW_NEW_ARRAY(asker->fixed, double, (size_t)model->units_count + 1);
    if (asker->hypotheses == NULL || asker->log_prior == NULL)
        return CW_NO_MEMORY;
    cw_identity prior;
    cw_status status = cw_identity_rank(asker->tables, NULL, 0, asker->call, &prior);
    double *by_unit = CW_NEW_ARRAY(asker->call, double, (size_t)model->units_count + 1);
    if (status != CW_OK || by_unit == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < prior.count; i++)
        by_unit[prior.units[i]] = prior.probability[i];
    asker->log_prior[0] = log(prior.not_listed);
    asker->hypothesis_count = 1;
    for (cw_unit_id id = 1; id <= model->units_count; id++) {
        if (!model->units[id].version)
            continue;
        asker->hypotheses[asker->hypothesis_count] = id;
        asker->log_prior[asker->hypothesis_count++] = log(by_unit[id]);
    }
    return CW_OK;
}

static void add_circumstance(cw_asker *asker, bool *seen, cw_atom_id atom)
{
    if (atom == 0 || seen[atom])
        return;
    seen[atom] = true;
    asker->circumstances[asker->circumstance_count++] = atom;
}

static cw_status find_circumstances(cw_asker *asker)
{
    const cw_model *model = asker->model;
    size_t most = model->causes_count;
    for (uint32_t i = 1; i <= model->causes_count; i++)
        most += model->causes[i].shifts.count;
    asker->circumstances = CW_NEW_ARRAY(asker->fixed, cw_atom_id, most);
    bool *seen = CW_NEW_ARRAY(asker->call, bool, (size_t)model->atoms_count + 1);
    if (asker->circumstances == NULL || seen == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 1; i <= model->causes_count; i++) {
        const cw_cause *cause = &model->causes[i];
        add_circumstance(asker, seen, cause->ruled_out);
        for (uint32_t s = 0; s < cause->shifts.count; s++)
            add_circumstance(asker, seen, model->shifts[cause->shifts.first + s].atom);
    }
    return CW_OK;
}

static cw_status find_measuring(cw_asker *asker)
{
    const cw_model *model = asker->model;
    size_t most = 0;
    for (uint32_t i = 1; i <= model->rules_count; i++)
        most += model->rules[i].measure != 0 ? 1 : 0;
    asker->measuring = CW_NEW_ARRAY(asker->fixed, cw_rule_id, most);
    asker->measuring_next = CW_NEW_ARRAY(asker->fixed, uint32_t, most);
    asker->measuring_first = CW_NEW_ARRAY(asker->fixed, uint32_t, (size_t)model->facts_count + 1);
    asker->resting = CW_NEW_ARRAY(asker->fixed, const cw_fact_id *, (size_t)model->facts_count + 1);
    if (asker->measuring == NULL || asker->measuring_next == NULL || asker->measuring_first == NULL ||
        asker->resting == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 1; i <= model->rules_count; i++)
        if (model->rules[i].measure != 0)
            asker->measuring[asker->measuring_count++] = i;
    for (uint32_t i = asker->measuring_count; i > 0; i--) { /* backwards: each list in order of its rules */
        uint32_t *first = &asker->measuring_first[model->rules[asker->measuring[i - 1]].measure];
        asker->measuring_next[i - 1] = *first;
        *first = i;
    }
    return CW_OK;
}

static cw_status work_out(cw_asker *asker)
{
    asker->samples = CW_NEW_ARRAY(asker->fixed, const char *, (size_t)asker->model->patterns_count + 1);
    cw_status status = asker->samples == NULL ? CW_NO_MEMORY : find_hypotheses(asker);
    if (status == CW_OK)
        status = find_circumstances(asker);
    if (status == CW_OK)
        status = find_measuring(asker);
    const cw_about abouts[] = {CW_ABOUT_UNITS, CW_ABOUT_CAUSES};
    for (size_t i = 0; i < sizeof abouts / sizeof *abouts && status == CW_OK; i++) {
        status = ask_matter_new(asker->model, abouts[i], asker->fixed, &asker->matter[abouts[i]]);
        if (status == CW_OK)
            status = cw_evidence_find_facts(asker->model, abouts[i], asker->fixed,
                                            &asker->evidence_facts[abouts[i]]);
    }
    return status;
}

cw_status cw_asker_new(const cw_model *model, const cw_identity_tables *tables, const cw_allocator *allocator,
                       cw_asker **out)
{
    cw_asker *asker = cw_allocate(allocator, sizeof *asker);
    if (asker == NULL)
        return CW_NO_MEMORY;
    *asker = (cw_asker){.model = model, .tables = tables, .allocator = *allocator};
    cw_status status = take_parts(asker);
    if (status == CW_OK)
        status = work_out(asker);
    if (status != CW_OK) {
        cw_asker_free(asker);
        return status;
    }
    *out = asker;
    return CW_OK;
}

void cw_asker_free(cw_asker *asker)
{
    if (asker == NULL)
        return;
    cw_allocator allocator = asker->allocator;
    free_parts(asker);
    cw_release(&allocator, asker, sizeof *asker);
}
