/* Making and ending the handles: settings, pack, session. */
#include "corewright/pack.h"
#include "pack/pack.h"
#include "session/inside.h"
#include <string.h>

cw_allocator cw_settings_allocator(const cw_settings *settings)
{
    if (settings == NULL || settings->resize == NULL)
        return cw_system_allocator;
    return (cw_allocator){settings->resize, settings->context};
}

static cw_status load(cw_pack *pack, const char *const *folders, size_t count, cw_messages **messages)
{
    cw_sources *sources = cw_sources_new(&pack->allocator);
    cw_diags *diags = cw_diags_new(&pack->allocator);
    cw_status status = sources != NULL && diags != NULL ? CW_OK : CW_NO_MEMORY;
    if (status == CW_OK)
        status = cw_pack_load(&pack->allocator, folders, count, sources, diags, &pack->model);
    if (status != CW_NO_MEMORY && messages != NULL) {
        cw_status made = cw_messages_make(&pack->allocator, sources, diags, messages);
        status = made != CW_OK ? made : status;
    }
    cw_diags_free(diags);
    cw_sources_free(sources);
    return status;
}

static cw_status open_into(cw_pack *pack, const char *const *folders, size_t count, cw_messages **messages)
{
    cw_status status = load(pack, folders, count, messages);
    if (status != CW_OK)
        return status;
    pack->arena = cw_arena_new(&pack->allocator);
    if (pack->arena == NULL)
        return CW_NO_MEMORY;
    status = cw_identity_tables_new(pack->model, &pack->allocator, &pack->tables);
    return status == CW_OK ? cw_pack_describe(pack) : status;
}

cw_status cw_pack_open(const cw_settings *settings, const char *const *folders, size_t count,
                       cw_messages **messages, cw_pack **out)
{
    if (messages != NULL)
        *messages = NULL;
    if (out == NULL)
        return CW_BAD_CALL;
    *out = NULL;
    if (folders == NULL || count == 0)
        return CW_BAD_CALL;
    cw_allocator allocator = cw_settings_allocator(settings);
    cw_pack *pack = cw_allocate(&allocator, sizeof *pack);
    if (pack == NULL)
        return CW_NO_MEMORY;
    *pack = (cw_pack){.allocator = allocator};
    cw_status status = open_into(pack, folders, count, messages);
    if (status == CW_OK) {
        *out = pack;
        return CW_OK;
    }
    cw_pack_free(pack);
    if (status == CW_NO_MEMORY && messages != NULL) {
        cw_messages_free(*messages);
        *messages = NULL;
    }
    return status;
}

void cw_pack_free(cw_pack *pack)
{
    if (pack == NULL)
        return;
    cw_identity_tables_free(pack->tables);
    cw_model_free(pack->model);
    cw_arena_free(pack->arena);
    cw_allocator allocator = pack->allocator;
    cw_release(&allocator, pack, sizeof *pack);
}

static cw_status start(cw_session *session)
{
    const cw_pack *pack = session->pack;
    session->replies = cw_arena_new(&session->allocator);
    if (session->replies == NULL)
        return CW_NO_MEMORY;
    cw_status status = cw_chain_new(pack->model, &session->allocator, &session->chain);
    if (status == CW_OK)
        status = cw_asker_new(pack->model, pack->tables, &session->allocator, &session->asker);
    return status;
}

cw_status cw_session_new(const cw_pack *pack, const char *stage, cw_session **out)
{
    if (out == NULL)
        return CW_BAD_CALL;
    *out = NULL;
    if (pack == NULL || stage == NULL)
        return CW_BAD_CALL;
    cw_stage which;
    if (!cw_stage_find(stage, &which))
        return CW_NOT_FOUND;
    cw_session *session = cw_allocate(&pack->allocator, sizeof *session);
    if (session == NULL)
        return CW_NO_MEMORY;
    *session = (cw_session){.pack = pack,
                            .model = pack->model,
                            .allocator = pack->allocator,
                            .stage = which,
                            .here = which == CW_TEARDOWN ? CW_AT_TEARDOWN
                                    : which == CW_PROOF  ? CW_AT_BENCH
                                                         : CW_AT_COUNTER};
    session->told = CW_VEC_INIT(&session->allocator, cw_told);
    cw_status status = start(session);
    if (status != CW_OK) {
        cw_session_free(session);
        return status;
    }
    *out = session;
    return CW_OK;
}

void cw_session_free(cw_session *session)
{
    if (session == NULL)
        return;
    cw_explainer_free(session->explainer);
    cw_causes_scratch_free(session->causes);
    cw_asker_free(session->asker);
    cw_chain_free(session->chain);
    cw_vec_dispose(&session->told);
    cw_arena_free(session->replies);
    cw_allocator allocator = session->allocator;
    cw_release(&allocator, session, sizeof *session);
}

const char *cw_session_stage(const cw_session *session)
{
    return cw_stage_name(session->stage);
}

void cw_session_changed(cw_session *session)
{
    cw_arena_reset(session->replies);
    session->ranking = NULL;
    session->ranking_explain = 0;
    session->lines = NULL;
    session->next = NULL;
    session->given = NULL;
    session->facts = NULL;
    session->conflicts = NULL;
    session->cautions = NULL;
    session->work = NULL;
    session->proof = NULL;
    session->steps = NULL;
    session->description = NULL;
}

cw_status cw_session_places(cw_session *session, const char *const *places, size_t count)
{
    if (session == NULL || (places == NULL && count > 0))
        return CW_BAD_CALL;
    uint32_t mask = 0;
    for (size_t i = 0; i < count; i++) {
        cw_where where;
        if (places[i] == NULL || !cw_where_find(places[i], &where))
            return CW_NOT_FOUND;
        mask |= 1u << where;
    }
    session->places = mask;
    for (int where = 0; mask != 0 && (mask & 1u << session->here) == 0; where++)
        session->here = (cw_where)where; /* nobody stands where nothing may be done */
    cw_session_changed(session);
    return CW_OK;
}

cw_status cw_session_here(cw_session *session, const char *place)
{
    cw_where where;
    if (session == NULL || place == NULL)
        return CW_BAD_CALL;
    if (!cw_where_find(place, &where))
        return CW_NOT_FOUND;
    if (where != session->here) {
        session->here = where;
        cw_session_changed(session);
    }
    return CW_OK;
}

cw_ask_limits cw_session_limits(const cw_session *session)
{
    return (cw_ask_limits){.stage = session->stage, .places = session->places, .here = session->here};
}

cw_about cw_session_about(const cw_session *session)
{
    return session->stage == CW_IDENTIFY ? CW_ABOUT_UNITS : CW_ABOUT_CAUSES;
}

const cw_model *cw_session_model(const cw_session *session)
{
    return session->model;
}

const cw_allocator *cw_session_allocator(const cw_session *session)
{
    return &session->allocator;
}

uint32_t cw_session_place_mask(const cw_session *session)
{
    return session->places;
}
