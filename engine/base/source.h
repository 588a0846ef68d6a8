/* Texts that messages point into. A span is 12 bytes; line and column are worked out only when a message is
 * printed (column: what the eye counts, from 1). */
#ifndef CW_BASE_SOURCE_H
#define CW_BASE_SOURCE_H

#include "base/alloc.h"
#include "corewright/status.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct cw_sources cw_sources;

/* Bytes [start, end) of one source; source 0 = nowhere. */
typedef struct cw_span {
    uint32_t source;
    uint32_t start;
    uint32_t end;
} cw_span;

typedef struct cw_place {
    const char *file; /* as given, lives with the sources */
    uint32_t line;    /* from 1 */
    uint32_t column;  /* from 1, display columns */
} cw_place;

cw_sources *cw_sources_new(const cw_allocator *allocator);
void cw_sources_free(cw_sources *sources); /* NULL allowed */
/* Copies name and text. *source is from 1. A text over 2 GiB is CW_LIMIT. */
cw_status cw_sources_add(cw_sources *sources, const char *name, const char *text, size_t size,
                         uint32_t *source);
/* The same without copying the text: room for `size` bytes to read a file into, which cw_sources_take then
 * takes over in any case. CW_NO_MEMORY: NULL. */
char *cw_sources_room(const cw_sources *sources, size_t size);
cw_status cw_sources_take(cw_sources *sources, const char *name, char *text, size_t size, uint32_t *source);
void cw_sources_give_back(const cw_sources *sources, char *text, size_t size); /* room after all not needed */
const char *cw_source_name(const cw_sources *sources, uint32_t source);
const char *cw_source_text(const cw_sources *sources, uint32_t source, size_t *size);
/* {"", 0, 0} for a span that is nowhere. */
cw_place cw_source_place(const cw_sources *sources, cw_span span);
/* The line that holds offset, without its end of line. */
const char *cw_source_line(const cw_sources *sources, uint32_t source, uint32_t offset, size_t *size);

#endif
