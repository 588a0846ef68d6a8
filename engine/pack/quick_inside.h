/* What the quick reader's two files share. Every function gives up by returning false. Columns are counted
 * from 0; a column is the indentation of what stands there, because only blanks, dashes and ASCII keys can
 * stand before it. */
#ifndef CW_PACK_QUICK_INSIDE_H
#define CW_PACK_QUICK_INSIDE_H

#include "base/text.h"
#include "base/vec.h"
#include "pack/duplicates.h"
#include "pack/quick.h"

typedef struct quick {
    cw_arena *arena;
    uint32_t source;
    const char *text;  /* of the file */
    const char *at;    /* what is read next */
    const char *line;  /* where its line begins */
    uint32_t last_end; /* end of the last thing that has one */
    uint32_t depth;    /* open maps and lists */
    uint32_t nodes;    /* so far */
    cw_vec pending;    /* cw_node: finished entries of these */
    duplicates keys;
    cw_text folded; /* a text that goes over several lines */
    bool no_memory;
} quick;

static inline bool quick_blank(char c)
{
    return c == ' ' || c == '\n' || c == '\0';
}

/* A line that begins or ends a document. */
bool quick_marker(const quick *q, const char *at);

/* --- quick_text.c: each leaves `at` behind what it read --- */
/* A text of one line, plain or in single or double quotes: all that a key can be. */
bool quick_line(quick *q, bool flow, cw_node *node);
/* What stands on the next lines of a plain text whose first line `node` is. In block style they are indented
 * to at least that column. */
bool quick_more_lines(quick *q, bool flow, ptrdiff_t column, cw_node *node);
/* A text block, '|' or '>', inside something at that column (-1: in nothing). */
bool quick_block(quick *q, ptrdiff_t column, cw_node *node);
bool quick_empty(quick *q, const char *at, cw_node *node);

#endif
