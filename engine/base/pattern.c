#include "base/pattern.h"
#include <assert.h>
#include <stdalign.h>
#include <string.h>

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>

/* What pcre2 makes of a pattern; never changed once made, so threads may share it (pcre2api). */
typedef struct machine {
    pcre2_general_context *memory;
    pcre2_match_context *limits;
    pcre2_code *code;
} machine;

struct cw_pattern {
    cw_allocator allocator;
    machine *machine;   /* NULL: kept as text */
    cw_pattern *wanted; /* in what the first group catches; NULL: anything */
    size_t size;
    char text[]; /* as written, and a NUL */
};

/* pcre2 frees without telling the size, our allocator wants it: it is kept in front of each piece. */
typedef struct head {
    alignas(max_align_t) size_t size;
} head;

static void *give(size_t size, void *context)
{
    if (size > SIZE_MAX - sizeof(head))
        return NULL;
    head *piece = cw_allocate(context, size + sizeof(head));
    if (piece == NULL)
        return NULL;
    piece->size = size + sizeof(head);
    return piece + 1;
}

static void take_back(void *memory, void *context)
{
    if (memory == NULL)
        return;
    head *piece = (head *)memory - 1;
    cw_release(context, piece, piece->size);
}

enum { CANNOT_ALLOCATE = 121 }; /* "failed to allocate heap memory" among pcre2's compile errors */

static void free_machine(const cw_allocator *allocator, machine *made)
{
    if (made == NULL)
        return;
    pcre2_code_free(made->code);
    pcre2_match_context_free(made->limits);
    pcre2_general_context_free(made->memory);
    cw_release(allocator, made, sizeof *made);
}

static cw_status compile(machine *made, const cw_pattern *pattern, size_t *error_offset, char *message,
                         size_t message_size)
{
    pcre2_set_match_limit(made->limits, CW_PATTERN_MATCH_STEPS);
    pcre2_set_depth_limit(made->limits, CW_PATTERN_DEPTH);
    pcre2_compile_context *context = pcre2_compile_context_create(made->memory);
    if (context == NULL)
        return CW_NO_MEMORY;
    int error = 0;
    PCRE2_SIZE offset = 0;
    const uint32_t options = PCRE2_UTF | PCRE2_UCP | PCRE2_CASELESS | PCRE2_NEVER_BACKSLASH_C;
    made->code = pcre2_compile((PCRE2_SPTR)pattern->text, pattern->size, options, &error, &offset, context);
    pcre2_compile_context_free(context);
    if (made->code != NULL)
        return CW_OK;
    if (error == CANNOT_ALLOCATE)
        return CW_NO_MEMORY;
    *error_offset = offset < pattern->size ? offset : pattern->size;
    if (message_size > 0)
        pcre2_get_error_message(error, (PCRE2_UCHAR *)message, message_size);
    return CW_BAD_INPUT;
}

static cw_status new_machine(cw_pattern *pattern, machine **out, size_t *error_offset, char *message,
                             size_t message_size)
{
    machine *made = cw_allocate(&pattern->allocator, sizeof *made);
    *out = NULL;
    if (made == NULL)
        return CW_NO_MEMORY;
    *made = (machine){.memory = pcre2_general_context_create(give, take_back, &pattern->allocator)};
    made->limits = made->memory == NULL ? NULL : pcre2_match_context_create(made->memory);
    cw_status status =
        made->limits == NULL ? CW_NO_MEMORY : compile(made, pattern, error_offset, message, message_size);
    if (status == CW_OK)
        *out = made;
    else
        free_machine(&pattern->allocator, made);
    return status;
}

cw_status cw_pattern_keep(const cw_allocator *allocator, const char *text, size_t size, cw_pattern **out)
{
    *out = NULL;
    if (size > CW_PATTERN_MAX_SIZE)
        return CW_LIMIT;
    cw_pattern *pattern = cw_allocate(allocator, sizeof *pattern + size + 1);
    if (pattern == NULL)
        return CW_NO_MEMORY;
    pattern->allocator = *allocator;
    pattern->machine = NULL;
    pattern->wanted = NULL;
    pattern->size = size;
    memcpy(pattern->text, text, size);
    pattern->text[size] = '\0';
    *out = pattern;
    return CW_OK;
}

cw_status cw_pattern_new(const cw_allocator *allocator, const char *text, size_t size, cw_pattern **out,
                         size_t *error_offset, char *message, size_t message_size)
{
    *error_offset = 0;
    if (message_size > 0)
        message[0] = '\0';
    cw_status status = cw_pattern_keep(allocator, text, size, out);
    if (status != CW_OK)
        return status;
    status = new_machine(*out, &(*out)->machine, error_offset, message, message_size);
    if (status != CW_OK) {
        cw_pattern_free(*out);
        *out = NULL;
    }
    return status;
}

void cw_pattern_free(cw_pattern *pattern)
{
    if (pattern == NULL)
        return;
    cw_pattern_free(pattern->wanted);
    cw_allocator allocator = pattern->allocator;
    free_machine(&allocator, pattern->machine);
    cw_release(&allocator, pattern, sizeof *pattern + pattern->size + 1);
}

const char *cw_pattern_text(const cw_pattern *pattern)
{
    return pattern->text;
}

static cw_status status_of(int code)
{
    switch (code) {
    case PCRE2_ERROR_NOMATCH:
        return CW_OK;
    case PCRE2_ERROR_MATCHLIMIT:
    case PCRE2_ERROR_DEPTHLIMIT:
    case PCRE2_ERROR_HEAPLIMIT:
    case PCRE2_ERROR_RECURSELOOP:
        return CW_LIMIT;
    case PCRE2_ERROR_NOMEMORY:
        return CW_NO_MEMORY;
    default: /* the text is not UTF-8 */
        return code < 0 ? CW_BAD_INPUT : CW_OK;
    }
}

unsigned cw_pattern_groups(const cw_pattern *pattern)
{
    uint32_t count = 0;
    assert(pattern->machine != NULL);
    pcre2_pattern_info(pattern->machine->code, PCRE2_INFO_CAPTURECOUNT, &count);
    return count;
}

void cw_pattern_narrow(cw_pattern *pattern, cw_pattern *wanted)
{
    cw_pattern_free(pattern->wanted);
    pattern->wanted = wanted;
}

/* One match; the span of group 0, the whole, or 1. */
static cw_status match(const cw_pattern *pattern, const char *text, size_t size, uint32_t group,
                       bool *matched, size_t *start, size_t *end)
{
    *matched = false;
    const machine *with = pattern->machine;
    assert(with != NULL);
    const uint32_t groups = cw_pattern_groups(pattern);
    /* No more room than for what is of interest. */
    pcre2_match_data *found = pcre2_match_data_create(group + 1, with->memory);
    if (found == NULL)
        return CW_NO_MEMORY;
    int code = pcre2_match(with->code, (PCRE2_SPTR)text, size, 0, 0, found, with->limits);
    const size_t *spans = pcre2_get_ovector_pointer(found);
    *matched = code >= 0 && group <= groups && spans[2 * group] != PCRE2_UNSET;
    if (*matched) {
        *start = spans[2 * group];
        *end = spans[2 * group + 1];
    }
    pcre2_match_data_free(found);
    return status_of(code);
}

cw_status cw_pattern_catch(const cw_pattern *pattern, const char *text, size_t size, bool *matched,
                           size_t *start, size_t *end)
{
    return match(pattern, text, size, 1, matched, start, end);
}

/* Whether the first group has caught what is wanted. */
static cw_status caught(const cw_pattern *pattern, const char *text, size_t size, bool *yes)
{
    size_t start, end, from, to;
    const cw_status status = match(pattern, text, size, 1, yes, &start, &end);
    if (status != CW_OK || !*yes)
        return status;
    return match(pattern->wanted, text + start, end - start, 0, yes, &from, &to);
}

cw_status cw_pattern_match(const cw_pattern *pattern, const char *text, size_t size, bool *matched,
                           size_t *start, size_t *end)
{
    size_t from = 0, to = 0;
    cw_status status = match(pattern, text, size, 0, matched, &from, &to);
    if (status == CW_OK && *matched && pattern->wanted != NULL)
        status = caught(pattern, text, size, matched);
    if (*matched && start != NULL)
        *start = from;
    if (*matched && end != NULL)
        *end = to;
    return status;
}
