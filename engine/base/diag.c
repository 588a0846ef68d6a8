#include "base/diag.h"
#include "base/vec.h"
#include <string.h>

enum { MOST = 200 }; /* messages kept of each severity */

struct cw_diags {
    cw_allocator allocator;
    cw_arena *arena; /* the messages and their texts */
    cw_vec list;     /* of cw_diag *, so that those handed out stay where they are */
    size_t kept[CW_ERROR + 1];
    size_t errors; /* all of them, kept or not */
    bool lost;
};

cw_diags *cw_diags_new(const cw_allocator *allocator)
{
    cw_diags *diags = cw_allocate(allocator, sizeof *diags);
    if (diags == NULL)
        return NULL;
    *diags = (cw_diags){.allocator = *allocator, .arena = cw_arena_new(allocator)};
    if (diags->arena == NULL) {
        cw_release(allocator, diags, sizeof *diags);
        return NULL;
    }
    diags->list = CW_VEC_INIT(&diags->allocator, cw_diag *);
    return diags;
}

void cw_diags_free(cw_diags *diags)
{
    if (diags == NULL)
        return;
    cw_vec_dispose(&diags->list);
    cw_arena_free(diags->arena);
    cw_allocator allocator = diags->allocator;
    cw_release(&allocator, diags, sizeof *diags);
}

/* A formatted text in the arena; NULL, and the loss noted, when memory fails. */
static const char *format_text(cw_diags *diags, const char *format, va_list arguments)
{
    cw_text text = CW_TEXT_INIT(&diags->allocator);
    cw_text_format_list(&text, format, arguments);
    const char *kept =
        text.status == CW_OK ? cw_arena_text(diags->arena, cw_text_get(&text), text.size) : NULL;
    cw_text_dispose(&text);
    if (kept == NULL)
        diags->lost = true;
    return kept;
}

cw_diag *cw_diags_add(cw_diags *diags, cw_code code, cw_span span, const char *format, ...)
{
    cw_severity severity = cw_code_severity(code);
    if (severity == CW_ERROR)
        diags->errors++;
    if (diags->kept[severity] >= MOST)
        return NULL;
    va_list arguments;
    va_start(arguments, format);
    const char *message = format_text(diags, format, arguments);
    va_end(arguments);
    cw_diag *diag = message != NULL ? CW_NEW(diags->arena, cw_diag) : NULL;
    cw_diag **slot = diag != NULL ? cw_vec_add(&diags->list) : NULL;
    if (slot == NULL) {
        diags->lost = true;
        return NULL;
    }
    *diag = (cw_diag){.code = code, .severity = severity, .span = span, .message = message};
    *slot = diag;
    diags->kept[severity]++;
    return diag;
}

void cw_diag_help(cw_diags *diags, cw_diag *diag, const char *format, ...)
{
    if (diag == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    diag->help = format_text(diags, format, arguments);
    va_end(arguments);
}

void cw_diag_second(cw_diags *diags, cw_diag *diag, cw_span span, const char *format, ...)
{
    if (diag == NULL)
        return;
    va_list arguments;
    va_start(arguments, format);
    diag->second_message = format_text(diags, format, arguments);
    diag->second = span;
    va_end(arguments);
}

size_t cw_diags_count(const cw_diags *diags)
{
    return diags->list.count;
}

const cw_diag *cw_diags_at(const cw_diags *diags, size_t index)
{
    return index < diags->list.count ? *CW_VEC_AT(&diags->list, const cw_diag *, index) : NULL;
}

size_t cw_diags_errors(const cw_diags *diags)
{
    return diags->errors;
}

bool cw_diags_lost(const cw_diags *diags)
{
    return diags->lost;
}

static int compare_number(uint32_t a, uint32_t b)
{
    return (a > b) - (a < b);
}

static int compare(const cw_diag *a, const cw_diag *b)
{
    int order = compare_number(a->span.source, b->span.source);
    if (order == 0)
        order = compare_number(a->span.start, b->span.start);
    if (order == 0)
        order = compare_number((uint32_t)a->code, (uint32_t)b->code);
    return order != 0 ? order : strcmp(a->message, b->message);
}

/* By insertion: there are at most a few hundred, and the library's qsort may ask for memory behind our back.
 */
void cw_diags_sort(cw_diags *diags)
{
    cw_diag **list = diags->list.items;
    for (size_t i = 1; i < diags->list.count; i++) {
        cw_diag *moving = list[i];
        size_t to = i;
        for (; to > 0 && compare(moving, list[to - 1]) < 0; to--)
            list[to] = list[to - 1];
        list[to] = moving;
    }
}

void cw_diags_clear(cw_diags *diags)
{
    cw_arena_reset(diags->arena);
    diags->list.count = 0;
    memset(diags->kept, 0, sizeof diags->kept);
    diags->errors = 0;
    diags->lost = false;
}

#define LETTER(severity) ((severity) == CW_ERROR ? 'E' : (severity) == CW_WARNING ? 'W' : 'N')
#define DIGIT(code, place) ((char)('0' + (code) / (place) % 10))

const char *cw_code_name(cw_code code)
{
    switch (code) {
#define CW_DIAG(number, name, severity, summary)                                                             \
    case CW_DIAG_##name: {                                                                                   \
        static const char text[] = {LETTER(severity), DIGIT(number, 100), DIGIT(number, 10),                 \
                                    DIGIT(number, 1), 0};                                                    \
        return text;                                                                                         \
    }
#include "base/diag.def"
#undef CW_DIAG
    }
    return "";
}

const char *cw_code_summary(cw_code code)
{
    switch (code) {
#define CW_DIAG(number, name, severity, summary)                                                             \
    case CW_DIAG_##name:                                                                                     \
        return summary;
#include "base/diag.def"
#undef CW_DIAG
    }
    return "";
}

cw_severity cw_code_severity(cw_code code)
{
    switch (code) {
#define CW_DIAG(number, name, severity, summary)                                                             \
    case CW_DIAG_##name:                                                                                     \
        return severity;
#include "base/diag.def"
#undef CW_DIAG
    }
    return CW_ERROR;
}
