/* How a YAML file of a pack is laid out, line by line: where a new entry of a section goes, and in which
 * style.
 *
 * This reads no YAML. It looks at lines, their blanks and their keys; whether the outcome is right is for the
 * loader to say, which reads the file with the entry in it before it is kept. */
#ifndef TOOLS_BEGIN_LAYOUT_H
#define TOOLS_BEGIN_LAYOUT_H

#include <stdbool.h>
#include <stddef.h>

enum { LAYOUT_KEYS = 32, LAYOUT_KEY = 64, LAYOUT_WIDTH = 120 };

typedef struct begin_layout {
    bool whole_flow; /* the file is one pair of braces */
    bool bare;       /* nothing but comments, if anything, stands in the file */
    bool there;      /* the section is there */
    bool refused;    /* it is there, but not as a block that a line can be added to */
    size_t line;     /* of the section's key, from 1 */
    size_t at;       /* the byte before which the entry goes */
    size_t at_line;  /* the line it begins in, from 1, seen from the file as it is */
    bool crlf;       /* lines end in CR LF */
    bool open_end;   /* what stands before `at` lacks its line end */
    size_t entry;    /* blanks before the key of an entry */
    size_t step;     /* further blanks a level */
    bool blank;      /* an empty line stands between entries */
    char quote;      /* ' or ", whichever the file uses more */
    size_t entries;
    size_t keys; /* of the last entry, in their order */
    char key[LAYOUT_KEYS][LAYOUT_KEY];
} begin_layout;

void begin_read_layout(const char *text, size_t size, const char *section, begin_layout *out);
/* The same for entries below `key` of the entry `above`, which stands somewhere in the section: the versions
 * of a family or frame. Not there: neither is. */
void begin_read_nested(const char *text, size_t size, const char *section, const char *above, const char *key,
                       begin_layout *out);
/* The line, from 1, in which an entry of that name stands in the section: right below it, or anywhere in it.
 * 0: nowhere. */
size_t begin_entry_line(const char *text, size_t size, const char *section, const char *name,
                        bool at_any_depth);
/* Calls `each` with every entry's key lines below the section: the name of the entry (column of entries), its
 * key and the rest of the line. */
void begin_each_line(const char *text, size_t size, const char *section,
                     void (*each)(void *context, const char *entry, const char *key, const char *rest),
                     void *context);
/* The whole file with the entry in it; NULL when memory is out. lines: the entry's first and last line. */
char *begin_insert(const char *text, size_t size, const begin_layout *layout, const char *section,
                   const char *entry, size_t *new_size, size_t lines[2]);

#endif
