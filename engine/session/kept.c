#include "session/kept.h"

static void walk(const void *root, const cw_model *model, cw_places *places)
{
    const cw_kept *kept = root;
    (void)model;
    places->visit(places, &kept->tables, CW_INTO_ARENA);
    places->visit(places, &kept->openings, CW_INTO_ARENA);
    cw_identity_tables_places(kept->tables, places);
    for (int stage = 0; stage < CW_STAGE_COUNT; stage++)
        cw_advice_places(&kept->openings[stage], places);
}

cw_where cw_stage_start(cw_stage stage)
{
    return stage == CW_TEARDOWN ? CW_AT_TEARDOWN : stage == CW_PROOF ? CW_AT_BENCH : CW_AT_COUNTER;
}

static cw_status ask_each(const cw_model *model, const cw_identity_tables *tables, cw_advice *openings)
{
    const cw_allocator *allocator = cw_arena_allocator(model->arena);
    cw_chain *chain = NULL;
    cw_asker *asker = NULL;
    cw_status status = cw_chain_new(model, allocator, &chain);
    if (status == CW_OK)
        status = cw_asker_new(model, tables, allocator, &asker);
    for (int at = 0; at < CW_STAGE_COUNT && status == CW_OK; at++) {
        const cw_stage stage = (cw_stage)at;
        const cw_ask_limits limits = {.stage = stage, .here = cw_stage_start(stage)};
        status = cw_ask_next(asker, chain, &limits, model->arena, &openings[at]);
    }
    cw_asker_free(asker);
    cw_chain_free(chain);
    return status;
}

cw_status cw_kept_make(const cw_model *model, cw_image_beside *out)
{
    cw_kept *kept = CW_NEW(model->arena, cw_kept);
    cw_advice *openings = CW_NEW_ARRAY(model->arena, cw_advice, CW_STAGE_COUNT);
    cw_identity_tables *tables;
    if (kept == NULL || openings == NULL)
        return CW_NO_MEMORY;
    cw_status status = cw_identity_tables_in(model, model->arena, &tables);
    if (status == CW_OK)
        status = ask_each(model, tables, openings);
    *kept = (cw_kept){tables, openings};
    *out = (cw_image_beside){kept, walk};
    return status;
}
