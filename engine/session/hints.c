/* Free words to suggested answers. Nothing is taken over: the person confirms each. */
#include "session/inside.h"
#include <ctype.h>
#include <string.h>

/* Bytes of the sentence that begins at words[0]: up to a stop with a blank behind it ("14.2 V" goes on), a
 * line break or the end. */
static size_t sentence(const char *words, size_t size)
{
    for (size_t i = 0; i < size; i++) {
        bool stop = strchr(".;!?", words[i]) != NULL && words[i] != '\0';
        if (words[i] == '\n' || (stop && (i + 1 == size || strchr(" \t\r\n", words[i + 1]) != NULL)))
            return i + 1;
    }
    return size;
}

/* A pattern that runs out of steps finds nothing. */
static cw_status finds(const cw_model *model, uint32_t pattern, const char *words, size_t size, bool *yes,
                       size_t *start, size_t *end)
{
    cw_status status = cw_pattern_match(model->patterns[pattern], words, size, yes, start, end);
    return status == CW_NO_MEMORY ? status : CW_OK;
}

/* A denial stands in front of the words at `start` of this sentence. */
static cw_status denied(const cw_model *model, const char *words, size_t start, bool *yes)
{
    cw_status status = CW_OK;
    *yes = false;
    for (uint32_t id = 1; id <= model->hints_count && !*yes && status == CW_OK; id++)
        if (model->hints[id].before != 0)
            status = finds(model, model->hints[id].before, words, start, yes, NULL, NULL);
    return status;
}

/* Behind the word that `at` lies in, so that a search from there does not begin within one. */
static size_t word_end(const char *words, size_t size, size_t at)
{
    while (at < size && isalnum((unsigned char)words[at]))
        at++;
    return at;
}

/* The first place in a sentence where the hint's pattern is found and no denial stands in front. */
static cw_status finds_undenied(const cw_model *model, const cw_hint *hint, const char *words, size_t length,
                                bool *yes, size_t *start, size_t *end)
{
    bool back = true;
    for (size_t from = 0; back;) {
        cw_status status = finds(model, hint->like, words + from, length - from, yes, start, end);
        if (status != CW_OK || !*yes)
            return status;
        *start += from;
        *end += from;
        back = false;
        if (!hint->even_denied)
            status = denied(model, words, *start, &back);
        *yes = !back;
        if (status != CW_OK || *end == from)
            return status;
        from = word_end(words, length, *end);
    }
    return CW_OK;
}

/* The first sentence that says so, and in which nothing holds the hint back. A denial in one sentence ("No
 * noise.") holds nothing back in another. */
static cw_status speaks(const cw_model *model, const cw_hint *hint, const char *words, size_t size, bool *yes,
                        size_t *start, size_t *end)
{
    cw_status status = CW_OK;
    *yes = false;
    for (size_t at = 0; at < size && !*yes && status == CW_OK;) {
        size_t length = sentence(words + at, size - at);
        status = finds_undenied(model, hint, words + at, length, yes, start, end);
        if (status == CW_OK && *yes && hint->not_like != 0) {
            bool back;
            status = finds(model, hint->not_like, words + at, length, &back, NULL, NULL);
            *yes = status == CW_OK && !back;
        }
        *start += at;
        *end += at;
        at += length;
    }
    return status;
}

static const char *title_of_answer(const cw_session *session, const cw_suggestion *suggestion)
{
    cw_fact_id fact = session->model->checks[suggestion->check].fact;
    uint32_t value = cw_fact_value(session->model, fact, suggestion->answer);
    if (session->model->facts[fact].kind == CW_WHICH_UNIT)
        return cw_say_unit(session->model, cw_model_unit(session->model, suggestion->answer), true);
    return value != UINT32_MAX ? cw_say_value(session->model, fact, value) : suggestion->answer;
}

static bool have_already(const cw_vec *list, const char *check, const char *answer)
{
    for (size_t i = 0; i < list->count; i++) {
        const cw_hint_info *other = CW_VEC_AT(list, cw_hint_info, i);
        if (strcmp(other->check, check) == 0 && strcmp(other->answer, answer) == 0)
            return true;
    }
    return false;
}

static cw_status add_suggestions(const cw_session *session, const cw_hint *hint, size_t start, size_t end,
                                 cw_vec *out)
{
    const cw_model *model = session->model;
    for (uint32_t i = 0; i < hint->suggests.count; i++) {
        const cw_suggestion *suggestion = &model->suggestions[hint->suggests.first + i];
        const cw_check *check = &model->checks[suggestion->check];
        bool never =
            model->facts[check->fact].kind != CW_WHICH_UNIT && (check->stages & 1u << session->stage) == 0;
        if (never || cw_told_find(session, suggestion->check) < session->told.count ||
            have_already(out, check->name, suggestion->answer))
            continue;
        cw_hint_info *slot = cw_vec_add(out);
        if (slot == NULL)
            return CW_NO_MEMORY;
        *slot = (cw_hint_info){.say = hint->say,
                               .check = check->name,
                               .answer = suggestion->answer,
                               .answer_shown = title_of_answer(session, suggestion),
                               .start = start,
                               .end = end};
    }
    return CW_OK;
}

/* What every hint suggests, in the order of the packs. */
static cw_status collect(const cw_session *session, const char *words, size_t size, cw_vec *found)
{
    cw_status status = CW_OK;
    for (uint32_t id = 1; status == CW_OK && id <= session->model->hints_count; id++) {
        const cw_hint *hint = &session->model->hints[id];
        bool yes;
        size_t start = 0;
        size_t end = 0;
        if (hint->like == 0)
            continue;
        status = speaks(session->model, hint, words, size, &yes, &start, &end);
        if (status == CW_OK && yes)
            status = add_suggestions(session, hint, start, end, found);
    }
    return status;
}

cw_status cw_session_hints(cw_session *session, const char *words, const cw_hint_info **hints, size_t *count)
{
    if (session == NULL || words == NULL || hints == NULL || count == NULL)
        return CW_BAD_CALL;
    size_t size = strlen(words);
    cw_vec found = CW_VEC_INIT(&session->allocator, cw_hint_info);
    cw_status status = cw_utf8_error(words, size) == size ? CW_OK : CW_BAD_INPUT;
    if (status == CW_OK)
        status = collect(session, words, size, &found);
    if (status == CW_OK) {
        cw_hint_info *list = CW_NEW_ARRAY(session->replies, cw_hint_info, found.count);
        for (size_t i = 0; list != NULL && i < found.count; i++)
            list[i] = *CW_VEC_AT(&found, cw_hint_info, i);
        *hints = list;
        *count = found.count;
        status = list != NULL ? CW_OK : CW_NO_MEMORY;
    }
    cw_vec_dispose(&found);
    return status;
}
