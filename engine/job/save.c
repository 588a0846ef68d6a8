/* A session as a case file. */
#include "job/inside.h"
#include "model/model.h"
#include <string.h>

/* Words that YAML, or a reader of it, could take for something else are quoted: only the plainest stay bare.
 */
static bool plain(const char *text)
{
    size_t size = strlen(text);
    if (size == 0 || text[size - 1] == ' ')
        return false;
    for (size_t i = 0; i < size; i++) {
        char c = text[i];
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        bool inside = i > 0 && (c == ' ' || c == '.' || c == '-' || c == '\'' || c == '/');
        if (!letter && !(c >= '0' && c <= '9') && c != '_' && !inside)
            return false;
    }
    return true;
}

static void add_scalar(cw_text *out, const char *text)
{
    if (plain(text)) {
        cw_text_add(out, text);
        return;
    }
    cw_text_add(out, "\"");
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '"' || *c == '\\')
            cw_text_format(out, "\\%c", *c);
        else if (*c == '\n')
            cw_text_add(out, "\\n");
        else if ((unsigned char)*c < 0x20 || *c == 0x7F)
            cw_text_format(out, "\\x%02X", (unsigned)(unsigned char)*c);
        else
            cw_text_add_bytes(out, c, 1);
    }
    cw_text_add(out, "\"");
}

static void add_key(cw_text *out, const char *key, const char *value)
{
    if (value == NULL)
        return;
    cw_text_format(out, "%s: ", key);
    add_scalar(out, value);
    cw_text_add(out, "\n");
}

static void add_list(cw_text *out, const char *const *items, size_t count)
{
    cw_text_add(out, "[");
    for (size_t i = 0; i < count; i++) {
        cw_text_add(out, i > 0 ? ", " : "");
        add_scalar(out, items[i]);
    }
    cw_text_add(out, "]");
}

static void add_answer(cw_text *out, const char *indent, const cw_case_answer *answer)
{
    cw_text_format(out, "%s%s: ", indent, answer->check);
    if (answer->tool == NULL && answer->place == NULL) {
        add_scalar(out, answer->value);
    } else {
        cw_text_add(out, "{value: ");
        add_scalar(out, answer->value);
        if (answer->tool != NULL) {
            cw_text_add(out, ", tool: ");
            add_scalar(out, answer->tool);
        }
        if (answer->place != NULL) {
            cw_text_add(out, ", place: ");
            add_scalar(out, answer->place);
        }
        cw_text_add(out, "}");
    }
    cw_text_add(out, "\n");
}

/* What was told before the unit was rebuilt. */
static void add_earlier(cw_text *out, const cw_case_earlier *visit)
{
    cw_text_format(out, "  - stage: %s\n", visit->stage);
    if (visit->complaint != NULL) {
        cw_text_add(out, "    complaint: ");
        add_scalar(out, visit->complaint);
        cw_text_add(out, "\n");
    }
    cw_text_add(out, visit->answer_count > 0 ? "    answers:\n" : "    answers: {}\n");
    for (size_t i = 0; i < visit->answer_count; i++)
        add_answer(out, "      ", &visit->answers[i]);
}

static void add_outcome(cw_text *out, const cw_case_info *about)
{
    if (about->unit_count + about->cause_count + about->accept_count + about->line_count +
                about->description_count ==
            0 &&
        !about->causes_said && about->proof == NULL)
        return;
    cw_text_add(out, "outcome:\n");
    if (about->proof != NULL)
        cw_text_format(out, "  proof: %s\n", about->proof);
    const struct {
        const char *key;
        const char *const *items;
        size_t count;
        bool said;
    } lists[] = {{"unit", about->units, about->unit_count, false},
                 {"causes", about->causes, about->cause_count, about->causes_said},
                 {"accept", about->accept, about->accept_count, false},
                 {"lines", about->lines, about->line_count, false}};
    for (size_t i = 0; i < sizeof lists / sizeof *lists; i++) {
        if (lists[i].count == 0 && !lists[i].said)
            continue;
        cw_text_format(out, "  %s: ", lists[i].key);
        add_list(out, lists[i].items, lists[i].count);
        cw_text_add(out, "\n");
    }
    if (about->description_count > 0)
        cw_text_add(out, "  description:\n");
    for (size_t i = 0; i < about->description_count; i++) {
        cw_text_format(out, "    %s: ", about->description[i].fact);
        add_scalar(out, about->description[i].value);
        cw_text_add(out, "\n");
    }
}

static void add_places(cw_text *out, uint32_t mask)
{
    if (mask == 0)
        return;
    const char *places[CW_WHERE_COUNT];
    size_t count = 0;
    for (int i = 0; i < CW_WHERE_COUNT; i++) {
        if ((mask & 1u << i) != 0)
            places[count++] = cw_where_name((cw_where)i);
    }
    cw_text_add(out, "places: ");
    add_list(out, places, count);
    cw_text_add(out, "\n");
}

static cw_status compose(cw_session *session, const cw_case_info *about, cw_text *out)
{
    const cw_given *given;
    size_t count;
    cw_status status = cw_session_answers(session, &given, &count);
    if (status != CW_OK)
        return status;
    add_key(out, "case", about != NULL ? about->name : NULL);
    add_key(out, "stage", cw_session_stage(session));
    add_key(out, "complaint", about != NULL ? about->complaint : NULL);
    cw_text_add(out, count > 0 ? "answers:\n" : "answers: {}\n");
    for (size_t i = 0; i < count; i++)
        add_answer(out, "  ",
                   &(cw_case_answer){given[i].check, given[i].value, given[i].tool, given[i].place});
    for (size_t i = 0; about != NULL && i < about->earlier_count; i++) {
        cw_text_add(out, i == 0 ? "earlier:\n" : "");
        add_earlier(out, &about->earlier[i]);
    }
    add_places(out, cw_session_place_mask(session));
    if (about != NULL)
        add_outcome(out, about);
    add_key(out, "source", about != NULL ? about->source : NULL);
    return out->status;
}

cw_status cw_case_save(cw_session *session, const char *path, const cw_case_info *about,
                       cw_messages **messages)
{
    if (messages != NULL)
        *messages = NULL;
    if (session == NULL || path == NULL)
        return CW_BAD_CALL;
    const cw_allocator *allocator = cw_session_allocator(session);
    cw_text text = CW_TEXT_INIT(allocator);
    char reason[128];
    cw_status status = compose(session, about, &text);
    if (status == CW_OK)
        status = cw_file_write(path, cw_text_get(&text), text.size, reason, sizeof reason);
    if (status == CW_CANNOT_WRITE && messages != NULL) {
        cw_status made = cw_file_message(allocator, CW_DIAG_FILE_WRITE, path, reason, messages);
        status = made != CW_OK ? made : status;
    }
    cw_text_dispose(&text);
    return status;
}
