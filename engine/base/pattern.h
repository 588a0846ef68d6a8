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

typedef struct cw_pattern cw_pattern; /* immutable, shared by threads */

/* Capital and small letters alike, UTF-8. On a bad pattern CW_BAD_INPUT with the offset (bytes) and pcre2's
 * own words in message (at most message_size bytes). Memory comes from the allocator. */
cw_status cw_pattern_new(const cw_allocator *allocator, const char *text, size_t size, cw_pattern **out,
                         size_t *error_offset, char *message, size_t message_size);
/* True only for a pattern that cw_pattern_new is sure to take; false proves nothing. Takes a hundredth of its
 * time. */
bool cw_pattern_is_plain(const char *text, size_t size);
/* The text alone, for who compiles it where it is matched: hundreds of patterns that most sessions never
 * match. Only cw_pattern_text and cw_pattern_free take one. CW_LIMIT, CW_NO_MEMORY. */
cw_status cw_pattern_keep(const cw_allocator *allocator, const char *text, size_t size, cw_pattern **out);
void cw_pattern_free(cw_pattern *pattern); /* NULL allowed */
/* As it was written; ends with NUL. */
const char *cw_pattern_text(const cw_pattern *pattern);
/* Groups in parentheses that catch what they match. */
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

#endif
