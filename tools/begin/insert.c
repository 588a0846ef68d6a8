/* A new entry in the text of a file: nothing else of the file changes. */
#include "begin/layout.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Lines as the file ends them. */
static void put_lines(FILE *out, const char *text, bool crlf, size_t *lines)
{
    for (; *text != '\0'; text++) {
        if (*text == '\n') {
            fputs(crlf ? "\r\n" : "\n", out);
            ++*lines;
        } else {
            fputc(*text, out);
        }
    }
}

static bool behind_blank(const char *text, size_t at)
{
    if (at == 0)
        return true;
    size_t end = at - 1; /* the line end right before */
    if (end > 0 && text[end - 1] == '\r')
        end--;
    return end == 0 || text[end - 1] == '\n';
}

/* What stands before the entry: a missing line end, an empty line, the section's key. */
static void put_before(FILE *out, const char *text, const begin_layout *layout, const char *section,
                       size_t *lines)
{
    bool blank = layout->there ? layout->entries > 0 && layout->blank
                               : !layout->bare && (layout->open_end || !behind_blank(text, layout->at));
    if (layout->open_end)
        put_lines(out, "\n", layout->crlf, lines);
    if (blank)
        put_lines(out, "\n", layout->crlf, lines);
    if (!layout->there) {
        put_lines(out, section, layout->crlf, lines);
        put_lines(out, ":\n", layout->crlf, lines);
    }
}

char *begin_insert(const char *text, size_t size, const begin_layout *layout, const char *section,
                   const char *entry, size_t *new_size, size_t lines[2])
{
    char *made = NULL;
    FILE *out = open_memstream(&made, new_size);
    if (out == NULL)
        return NULL;
    size_t line = layout->at_line - (layout->open_end ? 1 : 0);
    fwrite(text, 1, layout->at, out);
    put_before(out, text, layout, section, &line);
    lines[0] = line;
    put_lines(out, entry, layout->crlf, &line);
    lines[1] = line - 1;
    if (size > layout->at)
        fwrite(text + layout->at, 1, size - layout->at, out);
    bool broken = ferror(out) != 0;
    if (fclose(out) != 0 || broken) {
        free(made);
        return NULL;
    }
    return made;
}
