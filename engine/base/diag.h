/* Messages for people: a list of values, in the order of the text they speak of. Codes keep their meaning for
 * ever (diag.def); the wording is the caller's. */
#ifndef CW_BASE_DIAG_H
#define CW_BASE_DIAG_H

#include "base/arena.h"
#include "base/source.h"
#include "base/text.h"
#include <stdarg.h>
#include <stdbool.h>

typedef enum cw_severity { CW_NOTE, CW_WARNING, CW_ERROR } cw_severity;

typedef enum cw_code {
#define CW_DIAG(code, name, severity, summary) CW_DIAG_##name = (code),
#include "base/diag.def"
#undef CW_DIAG
} cw_code;

typedef struct cw_diag {
    cw_code code;
    cw_severity severity;
    cw_span span;        /* where; source 0 = nowhere in particular */
    const char *message; /* what is wrong, one line, no final full stop */
    const char *help;    /* what to do, or NULL */
    cw_span second;      /* a second place, with its own word */
    const char *second_message;
} cw_diag;

typedef struct cw_diags cw_diags;

/* Messages live in an arena of their own. After max_errors (default 200) errors further ones are only
 * counted. */
cw_diags *cw_diags_new(const cw_allocator *allocator);
void cw_diags_free(cw_diags *diags); /* NULL allowed */

/* Adds a message; the returned one may be given help and a second place. When memory fails nothing is kept
 * but cw_diags_lost tells, and NULL comes back; cw_diag_help and cw_diag_second take NULL. */
cw_diag *cw_diags_add(cw_diags *diags, cw_code code, cw_span span, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
void cw_diag_help(cw_diags *diags, cw_diag *diag, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void cw_diag_second(cw_diags *diags, cw_diag *diag, cw_span span, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

size_t cw_diags_count(const cw_diags *diags);
const cw_diag *cw_diags_at(const cw_diags *diags, size_t index);
size_t cw_diags_errors(const cw_diags *diags);
bool cw_diags_lost(const cw_diags *diags); /* memory failed while a message was made */
/* By source, then start, then code: the outcome must not depend on the order of work. */
void cw_diags_sort(cw_diags *diags);
void cw_diags_clear(cw_diags *diags);

/* FILE:LINE:COLUMN: error: what is wrong
 *       12 | the source line
 *          |     ^~~~
 * help: the nearest right word
 * A line too long for the width is cut round the caret. */
void cw_diag_render(cw_text *out, const cw_sources *sources, const cw_diag *diag);

/* For each code: "error[E012]"-like short name, and its one-line summary. */
const char *cw_code_name(cw_code code);
const char *cw_code_summary(cw_code code);
cw_severity cw_code_severity(cw_code code);

#endif
