/* Case files as handles: read, parsed, applied to a session. */
#include "base/nearest.h"
#include "job/inside.h"
#include "model/model.h"
#include <string.h>

void cw_case_free(cw_case *job)
{
    if (job == NULL)
        return;
    cw_arena_free(job->arena);
    cw_sources_free(job->sources);
    cw_allocator allocator = job->allocator;
    cw_release(&allocator, job, sizeof *job);
}

const cw_case_info *cw_case_get(const cw_case *job)
{
    return &job->info;
}

static cw_status parse_into(cw_case *job, const char *name, const char *text, size_t size, cw_diags *diags)
{
    uint32_t source;
    cw_status status = cw_sources_add(job->sources, name, text, size, &source);
    if (status == CW_LIMIT || (status == CW_OK && size > CW_YAML_MAX_SIZE)) {
        cw_diags_add(diags, CW_DIAG_FILE_TOO_LARGE, (cw_span){0, 0, 0}, "%s is over %u MiB", name,
                     CW_YAML_MAX_SIZE >> 20);
        return CW_BAD_INPUT;
    }
    const cw_node *root = NULL;
    if (status == CW_OK)
        status = cw_yaml_read(job->arena, job->sources, source, diags, &root);
    if (status == CW_OK)
        status = cw_case_fill(job, root, diags);
    if (status == CW_OK && cw_diags_errors(diags) > 0)
        status = CW_BAD_INPUT;
    return status;
}

static cw_case *case_new(const cw_allocator *allocator)
{
    cw_case *job = cw_allocate(allocator, sizeof *job);
    if (job == NULL)
        return NULL;
    *job = (cw_case){
        .allocator = *allocator, .arena = cw_arena_new(allocator), .sources = cw_sources_new(allocator)};
    if (job->arena == NULL || job->sources == NULL) {
        cw_case_free(job);
        return NULL;
    }
    return job;
}

cw_status cw_case_parse(const cw_settings *settings, const char *name, const char *text, size_t size,
                        cw_messages **messages, cw_case **out)
{
    if (messages != NULL)
        *messages = NULL;
    if (out == NULL)
        return CW_BAD_CALL;
    *out = NULL;
    if (name == NULL || (text == NULL && size > 0))
        return CW_BAD_CALL;
    cw_allocator allocator = cw_settings_allocator(settings);
    cw_case *job = case_new(&allocator);
    cw_diags *diags = cw_diags_new(&allocator);
    cw_status status = job != NULL && diags != NULL ? CW_OK : CW_NO_MEMORY;
    if (status == CW_OK)
        status = parse_into(job, name, text, size, diags);
    if (status != CW_NO_MEMORY && messages != NULL) {
        cw_diags_sort(diags);
        cw_status made = cw_messages_make(&allocator, job->sources, diags, messages);
        status = made != CW_OK ? made : status;
    }
    cw_diags_free(diags);
    if (status == CW_OK)
        *out = job;
    else
        cw_case_free(job);
    return status;
}

cw_status cw_case_read(const cw_settings *settings, const char *path, cw_messages **messages, cw_case **out)
{
    if (messages != NULL)
        *messages = NULL;
    if (out == NULL || path == NULL)
        return CW_BAD_CALL;
    *out = NULL;
    cw_allocator allocator = cw_settings_allocator(settings);
    cw_text text = CW_TEXT_INIT(&allocator);
    char reason[128];
    cw_status status = cw_file_read(path, CW_YAML_MAX_SIZE, &text, reason, sizeof reason);
    if (status == CW_OK) {
        status = cw_case_parse(settings, path, cw_text_get(&text), text.size, messages, out);
    } else if (status != CW_NO_MEMORY) {
        cw_code code = status == CW_LIMIT ? CW_DIAG_FILE_TOO_LARGE : CW_DIAG_FILE_READ;
        cw_status made = cw_file_message(&allocator, code, path, reason, messages);
        status = made != CW_OK ? made : status;
    }
    cw_text_dispose(&text);
    return status;
}

static void unknown_check(const cw_case *job, size_t index, const cw_model *model, cw_diags *diags)
{
    const char *name = job->info.answers[index].check;
    cw_nearest near = cw_nearest_start(name);
    for (cw_check_id id = 1; id <= model->checks_count; id++)
        cw_nearest_try(&near, model->checks[id].name);
    cw_diag *diag = cw_diags_add(diags, CW_DIAG_CASE_UNKNOWN_CHECK, job->answer_nodes[index].check,
                                 "no pack has a check '%s'", name);
    if (near.best != NULL)
        cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
    else if (cw_model_fact(model, name) != 0)
        cw_diag_help(diags, diag, "rules conclude this; a case answers the checks behind it");
}

static cw_status give_answers(const cw_case *job, cw_session *session, cw_diags *diags)
{
    const cw_model *model = cw_session_model(session);
    for (size_t i = 0; i < job->info.answer_count; i++) {
        const cw_case_answer *answer = &job->info.answers[i];
        const cw_answer_node *where = &job->answer_nodes[i];
        cw_check_id check = cw_model_check(model, answer->check);
        if (check == 0) {
            unknown_check(job, i, model, diags);
            continue;
        }
        cw_spoken spoken = {.text = answer->value,
                            .size = strlen(answer->value),
                            .span = where->value,
                            .literal = where->literal,
                            .tool = answer->tool,
                            .place = answer->place,
                            .tool_span = where->tool,
                            .place_span = where->place};
        if (cw_session_take(session, check, &spoken, diags) == CW_NO_MEMORY)
            return CW_NO_MEMORY;
    }
    return CW_OK;
}

static void check_names(const char *const *list, const cw_span *spans, size_t count, const cw_model *model,
                        bool units, cw_diags *diags)
{
    for (size_t i = 0; i < count; i++) {
        if (units ? strcmp(list[i], "not_listed") == 0 || cw_model_unit(model, list[i]) != 0
                  : cw_model_cause(model, list[i]) != 0)
            continue;
        cw_nearest near = cw_nearest_start(list[i]);
        uint32_t last = units ? model->units_count : model->causes_count;
        for (uint32_t id = 1; id <= last; id++)
            cw_nearest_try(&near, units ? model->units[id].name : model->causes[id].name);
        cw_diag *diag = cw_diags_add(diags, CW_DIAG_CASE_OUTCOME, spans[i], "no pack has a %s '%s'",
                                     units ? "unit" : "cause", list[i]);
        if (near.best != NULL)
            cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
    }
}

static void check_lines(const cw_case *job, const cw_model *model, cw_diags *diags)
{
    for (size_t i = 0; i < job->info.line_count; i++) {
        const char *name = job->info.lines[i];
        if (model->facts[cw_model_fact(model, name)].proof != 0)
            continue;
        cw_nearest near = cw_nearest_start(name);
        for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
            if (model->facts[fact].proof != 0)
                cw_nearest_try(&near, model->facts[fact].name);
        cw_diag *diag = cw_diags_add(diags, CW_DIAG_CASE_OUTCOME, job->line_spans[i],
                                     "no pack has a line '%s' of the proof sheet", name);
        if (near.best != NULL)
            cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
    }
}

static bool is_described(const cw_model *model, cw_fact_id fact)
{
    for (uint32_t h = 1; fact != 0 && h <= model->headings_count; h++)
        for (uint32_t i = 0; i < model->headings[h].facts.count; i++)
            if (model->heading_facts[model->headings[h].facts.first + i] == fact)
                return true;
    return false;
}

static void check_description(const cw_case *job, const cw_model *model, cw_diags *diags)
{
    for (size_t i = 0; i < job->info.description_count; i++) {
        const char *name = job->info.description[i].fact;
        if (is_described(model, cw_model_fact(model, name)))
            continue;
        cw_nearest near = cw_nearest_start(name);
        for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
            if (is_described(model, fact))
                cw_nearest_try(&near, model->facts[fact].name);
        cw_diag *diag = cw_diags_add(diags, CW_DIAG_CASE_OUTCOME, job->description_spans[i],
                                     "no pack has a line '%s' of the description", name);
        if (near.best != NULL)
            cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
    }
}

static cw_status apply(const cw_case *job, cw_session *session, cw_diags *diags)
{
    const cw_model *model = cw_session_model(session);
    const cw_case_info *info = &job->info;
    if (info->stage != NULL && strcmp(info->stage, cw_session_stage(session)) != 0) {
        cw_diag *diag =
            cw_diags_add(diags, CW_DIAG_CASE_STAGE, job->stage_span, "this case is at the stage %s, not %s",
                         info->stage, cw_session_stage(session));
        cw_diag_help(diags, diag, "run: corewright %s", info->stage);
    }
    check_names(info->units, job->unit_spans, info->unit_count, model, true, diags);
    check_names(info->causes, job->cause_spans, info->cause_count, model, false, diags);
    check_names(info->accept, job->accept_spans, info->accept_count, model, false, diags);
    check_lines(job, model, diags);
    check_description(job, model, diags);
    if (info->place_count > 0)
        cw_session_places(session, info->places, info->place_count); /* checked when the case was read */
    return give_answers(job, session, diags);
}

cw_status cw_case_apply(const cw_case *job, cw_session *session, cw_messages **messages)
{
    if (messages != NULL)
        *messages = NULL;
    if (job == NULL || session == NULL)
        return CW_BAD_CALL;
    cw_diags *diags = cw_diags_new(&job->allocator);
    if (diags == NULL)
        return CW_NO_MEMORY;
    cw_status status = apply(job, session, diags);
    if (status == CW_OK && cw_diags_errors(diags) > 0)
        status = CW_BAD_INPUT;
    if (status != CW_NO_MEMORY && messages != NULL) {
        cw_diags_sort(diags);
        cw_status made = cw_messages_make(&job->allocator, job->sources, diags, messages);
        status = made != CW_OK ? made : status;
    }
    cw_diags_free(diags);
    return status;
}
