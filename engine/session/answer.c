/* Answers in and out: given, changed, withdrawn, listed. */
#include "base/nearest.h"
#include "session/inside.h"
#include <assert.h>
#include <string.h>

size_t cw_told_find(const cw_session *session, cw_check_id check)
{
    size_t i = 0;
    while (i < session->told.count && CW_VEC_AT(&session->told, cw_told, i)->check != check)
        i++;
    return i;
}

/* The text without blanks at its ends. */
static void trim(cw_reader *reader, const cw_spoken *spoken)
{
    size_t start = 0;
    size_t end = spoken->size;
    while (start < end && (unsigned char)spoken->text[start] <= ' ')
        start++;
    while (end > start && (unsigned char)spoken->text[end - 1] <= ' ')
        end--;
    reader->text = spoken->text + start;
    reader->size = end - start;
    reader->span = spoken->span;
    if (reader->literal) {
        reader->span.start += (uint32_t)start;
        reader->span.end = reader->span.start + (uint32_t)reader->size;
    }
}

static cw_status check_text(cw_reader *reader)
{
    size_t bad = cw_utf8_error(reader->text, reader->size);
    if (bad < reader->size) {
        cw_diags_add(reader->diags, CW_DIAG_NOT_UTF8, cw_reader_spot(reader, bad, 1),
                     "the answer holds bytes that are not UTF-8");
        return CW_BAD_INPUT;
    }
    if (memchr(reader->text, '\0', reader->size) != NULL) {
        cw_diags_add(reader->diags, CW_DIAG_NUL_BYTE, reader->span, "the answer holds a NUL");
        return CW_BAD_INPUT;
    }
    if (reader->size == 0) {
        cw_diag *diag =
            cw_diags_add(reader->diags, CW_DIAG_ANSWER_EMPTY, reader->span, "there is no answer here");
        cw_diag_help(reader->diags, diag, "if it cannot be told, say: can't tell");
        return CW_BAD_INPUT;
    }
    if (reader->size > CW_ANSWER_MAX_TEXT) {
        cw_diags_add(reader->diags, CW_DIAG_ANSWER_TOO_LONG, reader->span,
                     "the answer has %zu bytes; at most %d are taken", reader->size, CW_ANSWER_MAX_TEXT);
        return CW_BAD_INPUT;
    }
    return CW_OK;
}

/* A tool said beside the answer. Only measures know tools. */
static cw_status find_tool(cw_reader *reader, const cw_spoken *spoken)
{
    if (spoken->tool == NULL)
        return CW_OK;
    cw_nearest near = cw_nearest_start(spoken->tool);
    for (size_t i = 0; i < reader->info->tool_count; i++) {
        if (strcmp(reader->info->tools[i], spoken->tool) == 0) {
            reader->tool = (uint32_t)i;
            reader->tool_said = true;
            return CW_OK;
        }
        cw_nearest_try(&near, reader->info->tools[i]);
    }
    if (reader->info->tool_count == 0 && reader->fact->kind != CW_MEASURE)
        return CW_OK; /* an eye or a hand: nothing hangs on it */
    cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ANSWER_TOOL, spoken->tool_span,
                                 "'%s' is not a tool of this check", spoken->tool);
    if (near.best != NULL)
        cw_diag_help(reader->diags, diag, "did you mean '%s'?", near.best);
    else
        cw_diag_help(reader->diags, diag, "it is done by %s%s%s", reader->info->tools[0],
                     reader->info->tool_count > 1 ? " or " : "",
                     reader->info->tool_count > 1 ? reader->info->tools[1] : "");
    return CW_BAD_INPUT;
}

static cw_status find_place(cw_diags *diags, const cw_spoken *spoken, int *out)
{
    *out = -1;
    if (spoken->place == NULL)
        return CW_OK;
    cw_where where;
    if (cw_where_find(spoken->place, &where)) {
        *out = (int)where;
        return CW_OK;
    }
    cw_nearest near = cw_nearest_start(spoken->place);
    for (int i = 0; i < CW_WHERE_COUNT; i++)
        cw_nearest_try(&near, cw_where_name((cw_where)i));
    cw_diag *diag =
        cw_diags_add(diags, CW_DIAG_BAD_WORD, spoken->place_span, "'%s' is not a place", spoken->place);
    if (near.best != NULL)
        cw_diag_help(diags, diag, "did you mean '%s'?", near.best);
    else
        cw_diag_help(diags, diag, "one of: counter, vehicle, bench, teardown");
    return CW_BAD_INPUT;
}

static cw_status match_sign(const cw_model *model, const cw_sign *sign, const char *text, size_t size)
{
    cw_status status = CW_OK;
    for (uint32_t i = 0; status == CW_OK && sign->kind == CW_SIGN_PATTERNS && i < sign->patterns.count; i++) {
        bool matched;
        uint32_t pattern = model->pattern_lists[sign->patterns.first + i];
        status = cw_pattern_match(model->patterns[pattern], text, size, &matched, NULL, NULL);
    }
    return status;
}

/* A stamped text is held against the patterns of the units here, so that none can run out of steps unheard
 * when they are ranked; the chain does the same with those of the rules. */
static cw_status match_units(const cw_model *model, const cw_reader *reader)
{
    cw_status status = CW_OK;
    if (reader->fact->kind != CW_STAMPED || reader->answer->cant_tell)
        return CW_OK;
    for (cw_unit_id unit = 1; status == CW_OK && unit <= model->units_count; unit++) {
        cw_run signs = model->units[unit].signs;
        for (uint32_t i = 0; status == CW_OK && i < signs.count; i++) {
            if (model->signs[signs.first + i].fact == reader->check->fact)
                status = match_sign(model, &model->signs[signs.first + i], reader->text, reader->size);
        }
    }
    return status;
}

/* Everything that can fail comes before the chain is touched, and the chain itself fails without a change. */
static cw_status commit(cw_session *session, const cw_reader *reader, cw_check_id check, int place)
{
    size_t at = cw_told_find(session, check);
    cw_status status = match_units(session->model, reader);
    if (status == CW_OK)
        status = cw_chain_answer(session->chain, reader->answer);
    if (status == CW_LIMIT) {
        cw_diag *diag =
            cw_diags_add(reader->diags, CW_DIAG_ANSWER_SLOW, reader->span,
                         "a pattern of the packs cannot be held against this text in the steps allowed");
        cw_diag_help(reader->diags, diag, "give only what is stamped, without what stands around it");
    }
    if (status != CW_OK)
        return status;
    if (at == session->told.count)
        cw_vec_add(&session->told); /* cannot fail: there is room for all checks */
    *CW_VEC_AT(&session->told, cw_told, at) =
        (cw_told){check, reader->answer->cant_tell, reader->tool, place};
    cw_session_changed(session);
    return CW_OK;
}

cw_status cw_session_take(cw_session *session, cw_check_id check, const cw_spoken *spoken, cw_diags *diags)
{
    session->suggestion[0] = '\0';
    const cw_check *asked = &session->model->checks[check];
    char text[CW_ANSWER_MAX_TEXT + 1];
    cw_answer answer = {.fact = asked->fact};
    cw_reader reader = {.pack = session->pack,
                        .check = asked,
                        .fact = &session->model->facts[asked->fact],
                        .info = &session->pack->checks[check - 1],
                        .literal = spoken->literal,
                        .diags = diags,
                        .answer = &answer,
                        .suggestion = session->suggestion};
    int place;
    trim(&reader, spoken);
    cw_status status = check_text(&reader);
    if (status == CW_OK)
        status = find_place(diags, spoken, &place);
    if (status == CW_OK)
        status = find_tool(&reader, spoken);
    if (status == CW_OK) { /* a terminated copy, for those below that want one */
        memcpy(text, reader.text, reader.size);
        text[reader.size] = '\0';
        reader.text = text;
        status = cw_read_words(&reader);
    }
    if (status == CW_OK)
        status = commit(session, &reader, check, place);
    return cw_diags_lost(diags) ? CW_NO_MEMORY : status;
}

enum { ALONE = 1 }; /* the source of an answer given by itself */

/* The messages about an answer; only now is its text needed as a source. */
static cw_status tell_wrong(const cw_session *session, const cw_spoken *spoken, cw_messages **messages)
{
    uint32_t source;
    cw_sources *sources = cw_sources_new(&session->allocator);
    cw_status status = sources == NULL
                           ? CW_NO_MEMORY
                           : cw_sources_add(sources, "answer", spoken->text, spoken->size, &source);
    assert(status != CW_OK || source == ALONE);
    if (status == CW_OK)
        status = cw_messages_make(&session->allocator, sources, session->diags, messages);
    cw_sources_free(sources);
    return status;
}

static cw_status take_alone(cw_session *session, cw_check_id check, cw_spoken *spoken, cw_messages **messages)
{
    spoken->tool_span = spoken->place_span = (cw_span){0, 0, 0};
    spoken->span = (cw_span){ALONE, 0, (uint32_t)spoken->size};
    cw_diags_clear(session->diags);
    const cw_status status = cw_session_take(session, check, spoken, session->diags);
    if (status == CW_OK || status == CW_NO_MEMORY || messages == NULL)
        return status;
    const cw_status told = tell_wrong(session, spoken, messages);
    return told != CW_OK ? told : status;
}

cw_status cw_session_answer(cw_session *session, const char *check, const char *text, const char *tool,
                            const char *place, cw_messages **messages)
{
    if (messages != NULL)
        *messages = NULL;
    if (session == NULL || check == NULL || text == NULL)
        return CW_BAD_CALL;
    session->suggestion[0] = '\0';
    cw_check_id id = cw_model_check(session->model, check);
    if (id == 0)
        return CW_NOT_FOUND;
    cw_spoken spoken = {.text = text, .size = strlen(text), .literal = true, .tool = tool, .place = place};
    return take_alone(session, id, &spoken, messages);
}

const char *cw_session_suggestion(const cw_session *session)
{
    return session->suggestion[0] != '\0' ? session->suggestion : NULL;
}

cw_status cw_session_withdraw(cw_session *session, const char *check)
{
    if (session == NULL || check == NULL)
        return CW_BAD_CALL;
    session->suggestion[0] = '\0';
    cw_check_id id = cw_model_check(session->model, check);
    size_t at = id != 0 ? cw_told_find(session, id) : session->told.count;
    if (at == session->told.count)
        return CW_NOT_FOUND;
    cw_status status = cw_chain_withdraw(session->chain, session->model->checks[id].fact);
    if (status != CW_OK)
        return status;
    cw_told *told = CW_VEC_AT(&session->told, cw_told, at);
    memmove(told, told + 1, (session->told.count - at - 1) * sizeof *told);
    session->told.count--;
    cw_session_changed(session);
    return CW_OK;
}

/* The value as it is read back, and for people. */
static bool describe_value(const cw_session *session, const cw_told *told, cw_given *out)
{
    const cw_check *check = &session->model->checks[told->check];
    const cw_fact *fact = &session->model->facts[check->fact];
    out->value = cw_print_told(session, session->replies, check->fact);
    out->shown = cw_say_told(session, session->replies, check->fact);
    if (out->value == NULL || out->shown == NULL)
        return false;
    if (told->cant_tell)
        return true;
    if (fact->kind == CW_MEASURE) {
        out->unit = fact->unit != NULL ? fact->unit->symbol : NULL;
        const char *tool = session->model->tools[check->tools.first + told->tool].name;
        out->tool = tool[0] != '\0' ? tool : NULL; /* one figure for every tool has no name */
        out->number = cw_quantity_parse(out->value, strlen(out->value)).number;
    } else if (fact->kind == CW_COUNT) {
        uint32_t value = cw_chain_answered(session->chain, check->fact)->value;
        out->number = session->model->values[fact->values.first + value].number;
    }
    return true;
}

cw_status cw_session_answers(cw_session *session, const cw_given **given, size_t *count)
{
    if (session == NULL || given == NULL || count == NULL)
        return CW_BAD_CALL;
    *count = session->told.count;
    *given = session->given;
    if (session->given != NULL)
        return CW_OK;
    cw_given *list = CW_NEW_ARRAY(session->replies, cw_given, session->told.count);
    if (list == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < session->told.count; i++) {
        const cw_told *told = CW_VEC_AT(&session->told, cw_told, i);
        const cw_check *check = &session->model->checks[told->check];
        list[i] = (cw_given){.check = check->name,
                             .title = check->title,
                             .kind = session->pack->checks[told->check - 1].kind,
                             .place = told->place >= 0 ? cw_where_name((cw_where)told->place) : NULL,
                             .cant_tell = told->cant_tell};
        if (!describe_value(session, told, &list[i]))
            return CW_NO_MEMORY;
    }
    *given = session->given = list;
    return CW_OK;
}
