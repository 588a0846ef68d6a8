/* Text that is being written, and small text helpers. Everything is UTF-8. */
#ifndef CW_BASE_TEXT_H
#define CW_BASE_TEXT_H

#include "base/alloc.h"
#include "corewright/status.h"
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* No number with a decimal mark goes through these formats: printf takes the mark from the host program's
 * locale. cw_quantity_print (unit NULL) writes one that does not change. */

/* A growing buffer. The first failure sticks: later calls do nothing, cw_text_status tells. data is always a
 * terminated string (an empty one at first). */
typedef struct cw_text {
    char *data;
    size_t size;
    size_t capacity;
    const cw_allocator *allocator;
    cw_status status;
} cw_text;

#define CW_TEXT_INIT(alloc) ((cw_text){NULL, 0, 0, (alloc), CW_OK})

void cw_text_add(cw_text *text, const char *bytes);
void cw_text_add_bytes(cw_text *text, const char *bytes, size_t size);
void cw_text_format(cw_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
void cw_text_format_list(cw_text *text, const char *format, va_list arguments)
    __attribute__((format(printf, 2, 0)));
const char *cw_text_get(const cw_text *text); /* never NULL */
void cw_text_clear(cw_text *text);
void cw_text_dispose(cw_text *text);

/* Columns that a terminal needs to show the bytes (East Asian wide = 2, combining = 0). */
size_t cw_display_width(const char *bytes, size_t size);
/* Offset of the first byte that is not part of valid UTF-8 (no overlongs, no surrogates), or size if all is
 * well. */
size_t cw_utf8_error(const char *bytes, size_t size);
/* Length in bytes of the UTF-8 sequence that starts here (1 for an invalid byte); 0 only when size is 0. */
size_t cw_utf8_length(const char *bytes, size_t size);
/* A code point, or 0xFFFD if invalid. */
uint32_t cw_utf8_decode(const char *bytes, size_t size);

bool cw_text_equal(const char *a, const char *b);

#endif
