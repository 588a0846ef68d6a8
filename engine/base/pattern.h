/* Text patterns. pattern.c is the only file that knows pcre2; match and depth limits are always set, so a
 * catastrophic pattern ends in CW_LIMIT after a counted number of steps instead of hanging. */
#ifndef CW_BASE_PATTERN_H
#define CW_BASE_PATTERN_H

#include "base/arena.h"
#include "corewright/status.h"
#include <stdbool.h>
#include <stddef.h>

#define CW_PATTERN_MAX_SIZE 1000
#define CW_PATTERN_MATCH_STEPS 20000
#define CW_PATTERN_DEPTH 250

typedef struct cw_pattern cw_pattern; /* immutable to whoever looks at it, shared by threads */

/* Capital and small letters alike, UTF-8. On a bad pattern CW_BAD_INPUT with the offset (bytes) and pcre2's
 * own words in message (at most message_size bytes). Memory comes from the allocator. */
cw_status cw_pattern_new(const cw_allocator *allocator, const char *text, size_t size, cw_pattern **out,
                         size_t *error_offset, char *message, size_t message_size);
/* True only for a pattern that cw_pattern_new is sure to take; false proves nothing. Takes a hundredth of its
 * time. */
bool cw_pattern_is_plain(const char *text, size_t size);
/* The text alone, to be compiled when it is first matched, for one that is plain: a pack has hundreds that
 * most sessions never match. CW_LIMIT, CW_NO_MEMORY. */
cw_status cw_pattern_keep(const cw_allocator *allocator, const char *text, size_t size, cw_pattern **out);
/* Compiled from here on, so that matching asks for no memory for that. Threads may call it at once. */
cw_status cw_pattern_ready(const cw_pattern *pattern);
void cw_pattern_free(cw_pattern *pattern); /* NULL allowed */
/* As it was written; ends with NUL. */
const char *cw_pattern_text(const cw_pattern *pattern);
/* Groups in parentheses that catch what they match; of one that is compiled. */
unsigned cw_pattern_groups(const cw_pattern *pattern);
/* From here on it matches only where its first group has caught something in which `wanted` is found. Takes
 * `wanted` over; for whoever has just made the pattern and shown it to nobody. */
void cw_pattern_narrow(cw_pattern *pattern, cw_pattern *wanted);
/* CW_OK and *matched; CW_LIMIT when the steps ran out; CW_NO_MEMORY. Start and end of the match are optional.
 */
cw_status cw_pattern_match(const cw_pattern *pattern, const char *text, size_t size, bool *matched,
                           size_t *start, size_t *end);
/* The same for what the first group has caught: *matched is false also where it took no part. */
cw_status cw_pattern_catch(const cw_pattern *pattern, const char *text, size_t size, bool *matched,
                           size_t *start, size_t *end);

/* -- Many at once, as bytes, for who keeps them in a file -- */

/* What a pattern is without its code. */
typedef struct cw_pattern_form {
    const char *text; /* ends with NUL */
    uint32_t size;
    uint32_t code;   /* its place in the row of codes, from 1; 0: a text, not compiled so far */
    uint32_t wanted; /* the pattern it is narrowed by: its place among the forms, from 1; 0: by none */
} cw_pattern_form;

const cw_pattern *cw_pattern_wanted(const cw_pattern *pattern); /* NULL: not narrowed */
/* Fills the forms but for `wanted`, and hands over the bytes of all codes (not at all if there are none). The
 * bytes are only good for the same build of pcre2 on the same kind of machine. */
typedef void (*cw_pattern_bytes)(void *context, const unsigned char *bytes, size_t size);
cw_status cw_patterns_encode(const cw_allocator *allocator, const cw_pattern *const *patterns, size_t count,
                             cw_pattern_form *forms, cw_pattern_bytes give_bytes, void *context);

/* The patterns of forms and bytes, which must come from above and be whole. The texts stay where they are.
 * CW_BAD_INPUT: another pcre2 has made the bytes. */
typedef struct cw_pattern_set cw_pattern_set;
cw_status cw_patterns_decode(const cw_allocator *allocator, const cw_pattern_form *forms, size_t count,
                             const unsigned char *bytes, cw_pattern_set **out);
cw_pattern *cw_pattern_set_at(const cw_pattern_set *set, size_t index);
void cw_pattern_set_free(cw_pattern_set *set); /* NULL allowed */

#endif
