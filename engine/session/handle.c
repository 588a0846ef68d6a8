/* Making and ending the handles: settings, pack, session. */
#include "corewright/pack.h"
#include "pack/pack.h"
#include "review/review.h"
#include "session/inside.h"
#include <string.h>

cw_allocator cw_settings_allocator(const cw_settings *settings)
{
    if (settings == NULL || settings->resize == NULL)
        return cw_system_allocator;
    return (cw_allocator){settings->resize, settings->context};
}

/* What reads folders, or one that was named in their place. */
typedef struct pack_job {
    const char *const *folders;
    size_t count;
    const char *file; /* an image is to be written, there or in its place */
    bool write, yaml, review;
    cw_model **model; /* else this is wanted */
} pack_job;

static bool is_in(const char *file, const char *folder)
{
    size_t size = strlen(folder);
    while (size > 1 && folder[size - 1] == '/')
        size--;
    return strncmp(file, folder, size) == 0 && file[size] == '/';
}

/* Folders that are named are read before those that are only needed, so the first sources are theirs. */
static uint32_t named_sources(const cw_sources *sources, const pack_job *job)
{
    for (uint32_t source = 1;; source++) {
        const char *file = cw_source_name(sources, source);
        bool named = false;
        for (size_t i = 0; i < job->count && !named; i++)
            named = file[0] != '\0' && is_in(file, job->folders[i]);
        if (!named)
            return source - 1;
    }
}

static cw_status look_through(const cw_allocator *allocator, const pack_job *job, const cw_sources *sources,
                              cw_diags *diags)
{
    const cw_review_limits limits = {.sources = named_sources(sources, job)};
    cw_status status = cw_review(*job->model, allocator, limits, diags);
    cw_diags_sort(diags);
    return status;
}

static cw_status do_job(const cw_allocator *allocator, const pack_job *job, cw_sources *sources,
                        cw_diags *diags)
{
    if (job->write)
        return cw_image_make(allocator, job->folders, job->count, job->file, cw_kept_make, sources, diags);
    cw_status status = CW_OK;
    if (!job->yaml)
        status = cw_image_load(allocator, job->folders, job->count, sources, diags, job->model);
    if (status == CW_OK && *job->model == NULL)
        status = cw_pack_load(allocator, job->folders, job->count, sources, diags, job->model);
    if (status == CW_OK && job->review)
        status = look_through(allocator, job, sources, diags);
    return status;
}

static cw_status with_messages(const cw_allocator *allocator, const pack_job *job, cw_messages **messages)
{
    cw_sources *sources = cw_sources_new(allocator);
    cw_diags *diags = cw_diags_new(allocator);
    cw_status status = sources != NULL && diags != NULL ? CW_OK : CW_NO_MEMORY;
    if (status == CW_OK)
        status = do_job(allocator, job, sources, diags);
    if (status != CW_NO_MEMORY && messages != NULL) {
        cw_status made = cw_messages_make(allocator, sources, diags, messages);
        status = made != CW_OK ? made : status;
    }
    cw_diags_free(diags);
    cw_sources_free(sources);
    return status;
}

static cw_status open_into(cw_pack *pack, const pack_job *job, cw_messages **messages)
{
    cw_status status = with_messages(&pack->allocator, job, messages);
    if (status != CW_OK)
        return status;
    pack->arena = cw_arena_new(&pack->allocator);
    if (pack->arena == NULL)
        return CW_NO_MEMORY;
    pack->kept = pack->model->hold != NULL ? pack->model->hold->beside : NULL;
    return cw_pack_describe(pack);
}

static cw_status open_or_read(const cw_settings *settings, pack_job job, cw_messages **messages,
                              cw_pack **out)
{
    if (messages != NULL)
        *messages = NULL;
    if (out == NULL)
        return CW_BAD_CALL;
    *out = NULL;
    if (job.folders == NULL || job.count == 0)
        return CW_BAD_CALL;
    cw_allocator allocator = cw_settings_allocator(settings);
    cw_pack *pack = cw_allocate(&allocator, sizeof *pack);
    if (pack == NULL)
        return CW_NO_MEMORY;
    *pack = (cw_pack){.allocator = allocator};
    job.model = &pack->model;
    cw_status status = open_into(pack, &job, messages);
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

cw_status cw_pack_open(const cw_settings *settings, const char *const *folders, size_t count,
                       cw_messages **messages, cw_pack **out)
{
    return open_or_read(settings, (pack_job){.folders = folders, .count = count}, messages, out);
}

cw_status cw_pack_read(const cw_settings *settings, const char *const *folders, size_t count,
                       cw_messages **messages, cw_pack **out)
{
    return open_or_read(settings, (pack_job){.folders = folders, .count = count, .yaml = true}, messages,
                        out);
}

cw_status cw_pack_review(const cw_settings *settings, const char *const *folders, size_t count,
                         cw_messages **messages, cw_pack **out)
{
    return open_or_read(settings,
                        (pack_job){.folders = folders, .count = count, .yaml = true, .review = true},
                        messages, out);
}

bool cw_pack_from_image(const cw_pack *pack)
{
    return pack != NULL && pack->model->hold != NULL;
}

bool cw_pack_image_place(const char *const *folders, size_t count, char *out, size_t size)
{
    return folders != NULL && out != NULL && cw_image_place(folders, count, out, size);
}

cw_status cw_pack_write_image(const cw_settings *settings, const char *const *folders, size_t count,
                              const char *file, cw_messages **messages)
{
    if (messages != NULL)
        *messages = NULL;
    if (folders == NULL || count == 0)
        return CW_BAD_CALL;
    const cw_allocator allocator = cw_settings_allocator(settings);
    const pack_job job = {.folders = folders, .count = count, .file = file, .write = true};
    const cw_status status = with_messages(&allocator, &job, messages);
    if (status == CW_NO_MEMORY && messages != NULL) {
        cw_messages_free(*messages);
        *messages = NULL;
    }
    return status;
}

/* Of several threads that need them first each makes them, and one's stay. */
cw_status cw_pack_tables(const cw_pack *pack, const cw_identity_tables **out)
{
    _Atomic(cw_identity_tables *) *kept = &((cw_pack *)pack)->tables;
    cw_identity_tables *made = NULL, *found = atomic_load_explicit(kept, memory_order_acquire);
    cw_status status = CW_OK;
    if (found == NULL) {
        status = pack->kept != NULL
                     ? cw_identity_tables_over(pack->kept->tables, pack->model, &pack->allocator, &made)
                     : cw_identity_tables_new(pack->model, &pack->allocator, &made);
        if (status == CW_OK && !atomic_compare_exchange_strong(kept, &found, made))
            cw_identity_tables_free(made);
    }
    *out = found != NULL ? found : made;
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
    session->diags = cw_diags_new(&session->allocator);
    if (session->replies == NULL || session->diags == NULL ||
        cw_vec_reserve(&session->told, pack->model->checks_count) != CW_OK)
        return CW_NO_MEMORY;
    cw_status status = cw_chain_new(pack->model, &session->allocator, &session->chain);
    if (status == CW_OK)
        status = cw_pack_tables(pack, &session->tables);
    if (status == CW_OK)
        status = cw_asker_new(pack->model, session->tables, &session->allocator, &session->asker);
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
                            .here = cw_stage_start(which)};
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
    cw_diags_free(session->diags);
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
