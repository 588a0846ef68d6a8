#include "base/pattern.h"
#include <stdalign.h>
#include <string.h>

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>

struct cw_pattern {
    cw_allocator allocator;
    pcre2_general_context *memory;
    pcre2_match_context *limits; /* never changed once set, so threads may share it (pcre2api) */
    pcre2_code *code;
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

static cw_status compile(cw_pattern *pattern, const char *text, size_t size, size_t *error_offset,
                         char *message, size_t message_size)
{
    pattern->memory = pcre2_general_context_create(give, take_back, &pattern->allocator);
    if (pattern->memory == NULL)
        return CW_NO_MEMORY;
    pattern->limits = pcre2_match_context_create(pattern->memory);
    if (pattern->limits == NULL)
        return CW_NO_MEMORY;
    pcre2_set_match_limit(pattern->limits, CW_PATTERN_MATCH_STEPS);
    pcre2_set_depth_limit(pattern->limits, CW_PATTERN_DEPTH);
    pcre2_compile_context *context = pcre2_compile_context_create(pattern->memory);
    if (context == NULL)
        return CW_NO_MEMORY;
    int error = 0;
    PCRE2_SIZE offset = 0;
    const uint32_t options = PCRE2_UTF | PCRE2_UCP | PCRE2_CASELESS | PCRE2_NEVER_BACKSLASH_C;
    pattern->code = pcre2_compile((PCRE2_SPTR)text, size, options, &error, &offset, context);
    pcre2_compile_context_free(context);
    if (pattern->code != NULL)
        return CW_OK;
    if (error == CANNOT_ALLOCATE)
        return CW_NO_MEMORY;
    *error_offset = offset < size ? offset : size;
    if (message_size > 0)
        pcre2_get_error_message(error, (PCRE2_UCHAR *)message, message_size);
    return CW_BAD_INPUT;
}

cw_status cw_pattern_new(const cw_allocator *allocator, const char *text, size_t size, cw_pattern **out,
                         size_t *error_offset, char *message, size_t message_size)
{
    *out = NULL;
    *error_offset = 0;
    if (message_size > 0)
        message[0] = '\0';
    if (size > CW_PATTERN_MAX_SIZE)
        return CW_LIMIT;
    cw_pattern *pattern = cw_allocate(allocator, sizeof *pattern + size + 1);
    if (pattern == NULL)
        return CW_NO_MEMORY;
    pattern->allocator = *allocator;
    pattern->memory = NULL;
    pattern->limits = NULL;
    pattern->code = NULL;
    pattern->size = size;
    memcpy(pattern->text, text, size);
    pattern->text[size] = '\0';
    cw_status status = compile(pattern, text, size, error_offset, message, message_size);
    if (status == CW_OK)
        *out = pattern;
    else
        cw_pattern_free(pattern);
    return status;
}

void cw_pattern_free(cw_pattern *pattern)
{
    if (pattern == NULL)
        return;
    pcre2_code_free(pattern->code);
    pcre2_match_context_free(pattern->limits);
    pcre2_general_context_free(pattern->memory);
    cw_allocator allocator = pattern->allocator;
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

cw_status cw_pattern_match(const cw_pattern *pattern, const char *text, size_t size, bool *matched,
                           size_t *start, size_t *end)
{
    *matched = false;
    /* Room for the whole match alone: what parentheses caught is of no interest. */
    pcre2_match_data *found = pcre2_match_data_create(1, pattern->memory);
    if (found == NULL)
        return CW_NO_MEMORY;
    int code = pcre2_match(pattern->code, (PCRE2_SPTR)text, size, 0, 0, found, pattern->limits);
    *matched = code >= 0;
    if (*matched && start != NULL)
        *start = pcre2_get_ovector_pointer(found)[0];
    if (*matched && end != NULL)
        *end = pcre2_get_ovector_pointer(found)[1];
    pcre2_match_data_free(found);
    return status_of(code);
}
