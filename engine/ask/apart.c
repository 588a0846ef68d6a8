#include "ask/apart.h"

#include "ask/apart_inside.h"

static cw_status find_members(apart *p)
{
    const cw_model *model = p->model;
    const bool units = p->about == CW_ABOUT_UNITS;
    p->count = units ? p->asker->hypothesis_count - 1 : model->causes_count;
    uint32_t *members = CW_NEW_ARRAY(p->arena, uint32_t, p->count);
    if (members == NULL)
        return CW_NO_MEMORY;
    for (uint32_t m = 0; m < p->count; m++)
        members[m] = units ? p->asker->hypotheses[m + 1] : m + 1;
    p->members = members;
    return CW_OK;
}

/* What is concluded from nothing told is told beforehand. */
static cw_status stand(apart *p)
{
    cw_status status = cw_chain_new(p->model, &p->asker->allocator, &p->none);
    if (status == CW_OK)
        status = cw_chain_new(p->model, &p->asker->allocator, &p->work);
    p->footing = (ask_footing){.chain = p->none};
    return status == CW_OK ? ask_collect(&p->call, p->none, p->arena, &p->footing.evidence, &p->footing.count)
                           : status;
}

static cw_status work(apart *p, cw_apart_result *out)
{
    cw_status status = find_members(p);
    if (status == CW_OK)
        status = stand(p);
    if (status == CW_OK)
        status = apart_looks(p);
    if (status == CW_OK)
        status = apart_pairs(p, out);
    if (status == CW_OK)
        status = apart_groups(p, out);
    if (status == CW_OK)
        status = apart_settle(p, &out->cover);
    out->members = p->members;
    out->count = p->count;
    for (uint32_t l = 0; l < p->look_count; l++)
        out->look_count += p->looks[l].allowed ? 1 : 0;
    out->left_out = p->left_out;
    out->cut_short = p->cut_short;
    out->steps = p->steps;
    return status == CW_OK && *p->lost ? CW_NO_MEMORY : status;
}

cw_status cw_ask_apart(cw_asker *asker, const cw_apart_limits *limits, cw_arena *arena, cw_apart_result *out)
{
    const uint32_t everywhere = (1u << CW_WHERE_COUNT) - 1;
    const cw_ask_limits anything = {.stage = CW_STAGE_COUNT};
    bool lost = false;
    apart p = {.asker = asker,
               .lost = &lost,
               .model = asker->model,
               .about = limits->about,
               .places = limits->places == 0 ? everywhere : limits->places,
               .stages =
                   limits->about == CW_ABOUT_UNITS ? 1u << CW_IDENTIFY : 1u << CW_TRIAGE | 1u << CW_TEARDOWN,
               .sure = limits->sure > 0 ? limits->sure : CW_APART_SURE,
               .call = {.asker = asker, .limits = &anything, .about = limits->about},
               .arena = arena,
               .max_steps = limits->max_steps > 0 ? limits->max_steps : CW_APART_STEPS};
    *out = (cw_apart_result){0};
    asker->ahead_of = 0;
    cw_arena_reset(asker->call);
    const cw_status status = work(&p, out);
    cw_chain_free(p.none);
    cw_chain_free(p.work);
    return status;
}
