#include "base/pattern.h"
#include "base/vec.h"
#include <assert.h>
#include <stdalign.h>
#include <stdatomic.h>
#include <stdint.h>
#include <string.h>

#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>

/* What pcre2 makes of a pattern; never changed once made, so threads may share it (pcre2api). Made when it is
 * first needed. */
typedef struct machine {
    pcre2_general_context *memory;
    pcre2_match_context *limits;
    pcre2_code *code;
} machine;

struct cw_pattern {
    cw_allocator allocator;
    _Atomic(machine *) machine; /* NULL: not needed so far */
    const cw_pattern *wanted;   /* in what the first group catches; NULL: anything */
    size_t size;
    const char *text; /* as written, and a NUL; behind the pattern itself, but for one of a set */
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

static cw_status new_machine(const cw_pattern *pattern, machine **out, size_t *error_offset, char *message,
                             size_t message_size)
{
    machine *made = cw_allocate(&pattern->allocator, sizeof *made);
    *out = NULL;
    if (made == NULL)
        return CW_NO_MEMORY;
    void *allocator = (void *)&pattern->allocator;
    *made = (machine){.memory = pcre2_general_context_create(give, take_back, allocator)};
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
    atomic_init(&pattern->machine, NULL);
    pattern->wanted = NULL;
    pattern->size = size;
    char *copy = (char *)(pattern + 1);
    memcpy(copy, text, size);
    copy[size] = '\0';
    pattern->text = copy;
    *out = pattern;
    return CW_OK;
}

static machine *machine_of(const cw_pattern *pattern)
{
    return atomic_load_explicit(&pattern->machine, memory_order_acquire);
}

/* Of several threads that need it first each makes one, and one of these stays. */
static cw_status make_ready(cw_pattern *pattern, size_t *error_offset, char *message, size_t message_size)
{
    machine *made = NULL, *none = NULL;
    if (machine_of(pattern) != NULL)
        return CW_OK;
    const cw_status status = new_machine(pattern, &made, error_offset, message, message_size);
    if (status == CW_OK && !atomic_compare_exchange_strong(&pattern->machine, &none, made))
        free_machine(&pattern->allocator, made);
    return status;
}

cw_status cw_pattern_ready(const cw_pattern *pattern)
{
    size_t offset;
    const cw_status status = make_ready((cw_pattern *)pattern, &offset, NULL, 0);
    return status == CW_OK && pattern->wanted != NULL ? cw_pattern_ready(pattern->wanted) : status;
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
    status = make_ready(*out, error_offset, message, message_size);
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
    cw_pattern_free((cw_pattern *)pattern->wanted);
    cw_allocator allocator = pattern->allocator;
    free_machine(&allocator, machine_of(pattern));
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
    assert(machine_of(pattern) != NULL);
    pcre2_pattern_info(machine_of(pattern)->code, PCRE2_INFO_CAPTURECOUNT, &count);
    return count;
}

void cw_pattern_narrow(cw_pattern *pattern, cw_pattern *wanted)
{
    cw_pattern_free((cw_pattern *)pattern->wanted);
    pattern->wanted = wanted;
}

/* Where one match works: on the caller's stack, so that it asks nobody for memory. pcre2 begins with 20 KiB
 * of frames; what goes beyond this room, for a text that takes many steps back, comes from the allocator. */
typedef struct workplace {
    alignas(max_align_t) unsigned char bytes[24 * 1024];
    size_t used;
    cw_allocator allocator;
} workplace;

static void *give_here(size_t size, void *context)
{
    workplace *at = context;
    if (size > sizeof at->bytes - at->used)
        return give(size, &at->allocator);
    void *piece = at->bytes + at->used;
    const size_t rounded = (size + alignof(max_align_t) - 1) / alignof(max_align_t) * alignof(max_align_t);
    at->used += rounded < sizeof at->bytes - at->used ? rounded : sizeof at->bytes - at->used;
    return piece;
}

static void take_back_here(void *memory, void *context)
{
    workplace *at = context;
    if ((uintptr_t)memory - (uintptr_t)at->bytes >= sizeof at->bytes)
        take_back(memory, &at->allocator);
}

/* One match; the span of group 0, the whole, or 1. */
static cw_status match(const cw_pattern *pattern, const char *text, size_t size, uint32_t group,
                       bool *matched, size_t *start, size_t *end)
{
    *matched = false;
    const cw_status ready = cw_pattern_ready(pattern);
    if (ready != CW_OK)
        return ready;
    const machine *with = machine_of(pattern);
    const uint32_t groups = cw_pattern_groups(pattern);
    workplace at;
    at.used = 0;
    at.allocator = pattern->allocator;
    pcre2_general_context *memory = pcre2_general_context_create(give_here, take_back_here, &at);
    /* No more room than for what is of interest. */
    pcre2_match_data *found = memory == NULL ? NULL : pcre2_match_data_create(group + 1, memory);
    if (found == NULL) {
        pcre2_general_context_free(memory);
        return CW_NO_MEMORY;
    }
    int code = pcre2_match(with->code, (PCRE2_SPTR)text, size, 0, 0, found, with->limits);
    const size_t *spans = pcre2_get_ovector_pointer(found);
    *matched = code >= 0 && group <= groups && spans[2 * (size_t)group] != PCRE2_UNSET;
    if (*matched) {
        *start = spans[2 * (size_t)group];
        *end = spans[2 * (size_t)group + 1];
    }
    pcre2_match_data_free(found);
    pcre2_general_context_free(memory);
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

/* -- Sets -- */

/* The machines of a set share memory and limits; each has its own code. */
struct cw_pattern_set {
    cw_allocator allocator;
    machine shared; /* without code */
    size_t count, codes;
    cw_pattern *patterns;
    machine *machines;
    pcre2_code **code;
};

static cw_status status_of_bytes(int32_t code)
{
    if (code >= 0)
        return CW_OK;
    return code == PCRE2_ERROR_NOMEMORY ? CW_NO_MEMORY : CW_BAD_INPUT;
}

/* pcre2 wants its codes in one row. */
static cw_status encode(const cw_allocator *allocator, const pcre2_code **codes, size_t count,
                        cw_pattern_bytes give_bytes, void *context)
{
    cw_allocator own = *allocator;
    pcre2_general_context *memory = pcre2_general_context_create(give, take_back, &own);
    uint8_t *bytes = NULL;
    PCRE2_SIZE size = 0;
    if (memory == NULL)
        return CW_NO_MEMORY;
    const cw_status status =
        status_of_bytes(pcre2_serialize_encode(codes, (int32_t)count, &bytes, &size, memory));
    if (status == CW_OK)
        give_bytes(context, bytes, size);
    pcre2_serialize_free(bytes);
    pcre2_general_context_free(memory);
    return status;
}

cw_status cw_patterns_encode(const cw_allocator *allocator, const cw_pattern *const *patterns, size_t count,
                             cw_pattern_form *forms, cw_pattern_bytes give_bytes, void *context)
{
    uint32_t codes = 0;
    const pcre2_code **row = cw_allocate(allocator, (count + 1) * sizeof *row);
    if (row == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        forms[i] = (cw_pattern_form){.text = patterns[i]->text, .size = (uint32_t)patterns[i]->size};
        if (machine_of(patterns[i]) == NULL)
            continue;
        row[codes++] = machine_of(patterns[i])->code;
        forms[i].code = codes;
    }
    const cw_status status = codes > 0 ? encode(allocator, row, codes, give_bytes, context) : CW_OK;
    cw_release(allocator, row, (count + 1) * sizeof *row);
    return status;
}

const cw_pattern *cw_pattern_wanted(const cw_pattern *pattern)
{
    return pattern->wanted;
}

static cw_status decode(cw_pattern_set *set, const unsigned char *bytes)
{
    set->shared.memory = pcre2_general_context_create(give, take_back, &set->allocator);
    set->shared.limits = set->shared.memory == NULL ? NULL : pcre2_match_context_create(set->shared.memory);
    if (set->shared.limits == NULL)
        return CW_NO_MEMORY;
    pcre2_set_match_limit(set->shared.limits, CW_PATTERN_MATCH_STEPS);
    pcre2_set_depth_limit(set->shared.limits, CW_PATTERN_DEPTH);
    const int32_t found = set->codes > 0 ? pcre2_serialize_get_number_of_codes(bytes) : 0;
    if (found < 0 || (size_t)found != set->codes)
        return CW_BAD_INPUT;
    const int32_t made =
        set->codes > 0 ? pcre2_serialize_decode(set->code, found, bytes, set->shared.memory) : 0;
    if (made < 0)
        memset(set->code, 0, set->codes * sizeof(pcre2_code *));
    return status_of_bytes(made);
}

static void fill_set(cw_pattern_set *set, const cw_pattern_form *forms)
{
    for (size_t i = 0; i < set->codes; i++)
        set->machines[i] = (machine){set->shared.memory, set->shared.limits, set->code[i]};
    for (size_t i = 0; i < set->count; i++)
        set->patterns[i] = (cw_pattern){
            .allocator = set->allocator,
            .machine = forms[i].code > 0 ? &set->machines[forms[i].code - 1] : NULL,
            .wanted = forms[i].wanted > 0 ? &set->patterns[forms[i].wanted - 1] : NULL,
            .size = forms[i].size,
            .text = forms[i].text,
        };
}

/* Bytes of the set with all that is fixed behind it; 0: too many. */
static size_t set_size(size_t count, size_t codes)
{
    size_t patterns, rest, all;
    const bool fits = cw_size_times(count, sizeof(cw_pattern), &patterns) &&
                      cw_size_times(codes, sizeof(machine) + sizeof(pcre2_code *), &rest) &&
                      cw_size_plus(patterns, rest, &all) && cw_size_plus(all, sizeof(cw_pattern_set), &all);
    return fits ? all : 0;
}

cw_status cw_patterns_decode(const cw_allocator *allocator, const cw_pattern_form *forms, size_t count,
                             const unsigned char *bytes, cw_pattern_set **out)
{
    size_t codes = 0;
    *out = NULL;
    for (size_t i = 0; i < count; i++)
        codes += forms[i].code > 0;
    const size_t size = set_size(count, codes);
    cw_pattern_set *set = size > 0 ? cw_allocate(allocator, size) : NULL;
    if (set == NULL)
        return CW_NO_MEMORY;
    memset(set, 0, size);
    *set = (cw_pattern_set){.allocator = *allocator, .count = count, .codes = codes};
    set->patterns = (cw_pattern *)(set + 1);
    set->machines = (machine *)(set->patterns + count);
    set->code = (pcre2_code **)(set->machines + codes);
    const cw_status status = decode(set, bytes);
    if (status != CW_OK) {
        cw_pattern_set_free(set);
        return status;
    }
    fill_set(set, forms);
    *out = set;
    return CW_OK;
}

cw_pattern *cw_pattern_set_at(const cw_pattern_set *set, size_t index)
{
    return &set->patterns[index];
}

void cw_pattern_set_free(cw_pattern_set *set)
{
    if (set == NULL)
        return;
    for (size_t i = 0; i < set->count; i++) {
        machine *own = machine_of(&set->patterns[i]);
        if (own != NULL && own->memory != set->shared.memory) /* one kept as text, needed since */
            free_machine(&set->allocator, own);
    }
    for (size_t i = 0; i < set->codes; i++)
        pcre2_code_free(set->code[i]);
    pcre2_match_context_free(set->shared.limits);
    pcre2_general_context_free(set->shared.memory);
    cw_allocator allocator = set->allocator;
    cw_release(&allocator, set, set_size(set->count, set->codes));
}
