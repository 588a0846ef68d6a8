/* Messages as people see them: place, words, the line of the source with the spot underlined, help. */
#include "base/diag.h"
#include <stdio.h>
#include <string.h>

enum {
    WIDTH = 72,       /* columns for the source line; with the margin 80 */
    KEEP_LEFT = 48,   /* a caret before this column leaves the start of a long line in sight */
    SHOW_BEFORE = 24, /* else that much is shown before the caret */
    DOTS = 3
};

/* What part of a line is shown. Columns are counted from 0. */
typedef struct window {
    size_t first, end;
    bool dots_before, dots_behind;
} window;

static window choose_window(size_t line_width, size_t caret)
{
    if (line_width <= WIDTH && caret < WIDTH)
        return (window){0, line_width, false, false};
    window shown = {0, 0, false, false};
    size_t room = WIDTH;
    if (caret >= KEEP_LEFT) {
        shown.first = caret - SHOW_BEFORE;
        shown.dots_before = true;
        room -= DOTS;
    }
    if (line_width > shown.first + room) {
        shown.dots_behind = true;
        room -= DOTS;
    }
    shown.end = line_width < shown.first + room ? line_width : shown.first + room;
    return shown;
}

/* One character as it may be shown: nothing in a file or a message can move the terminal's cursor. */
static void add_visible(cw_text *out, const char *bytes, size_t length, size_t left)
{
    uint32_t c = cw_utf8_decode(bytes, left);
    if (c < 0x20 || (c >= 0x7F && c < 0xA0))
        cw_text_add(out, " ");
    else if (c == 0xFFFD)
        cw_text_add(out, "\xEF\xBF\xBD");
    else
        cw_text_add_bytes(out, bytes, length);
}

static void add_blanks(cw_text *out, size_t count)
{
    while (count-- > 0)
        cw_text_add(out, " ");
}

static void add_line(cw_text *out, const char *line, size_t size, window shown)
{
    if (shown.dots_before)
        cw_text_add(out, "...");
    size_t column = 0;
    size_t length;
    for (size_t i = 0; i < size && column <= shown.end; i += length) {
        length = cw_utf8_length(line + i, size - i);
        size_t next = column + cw_display_width(line + i, length);
        if (column >= shown.first && next <= shown.end)
            add_visible(out, line + i, length, size - i);
        else if (next > shown.first && column < shown.end) /* a wide one cut in two */
            add_blanks(out,
                       (next < shown.end ? next : shown.end) - (column > shown.first ? column : shown.first));
        column = next;
    }
    if (shown.dots_behind)
        cw_text_add(out, "...");
}

static void add_source(cw_text *out, const cw_sources *sources, cw_span span, uint32_t line_number)
{
    size_t text_size;
    const char *text = cw_source_text(sources, span.source, &text_size);
    size_t size;
    const char *line = cw_source_line(sources, span.source, span.start, &size);
    size_t line_offset = (size_t)(line - text);
    size_t start = span.start < text_size ? span.start - line_offset : text_size - line_offset;
    size_t end = span.end > span.start ? span.end - line_offset : start;
    if (start > size)
        start = size;
    end = end > size ? size : end;
    size_t caret = cw_display_width(line, start);
    size_t length = end > start ? cw_display_width(line + start, end - start) : 1;
    /* How wide the rest is matters only as far as it could be shown. */
    size_t rest = size - start < (size_t)8 * WIDTH ? size - start : (size_t)8 * WIDTH;
    window shown = choose_window(caret + cw_display_width(line + start, rest), caret);
    cw_text_format(out, "%5u |", (unsigned)line_number);
    if (size > 0)
        cw_text_add(out, " ");
    add_line(out, line, size, shown);
    size_t margin = (size_t)snprintf(NULL, 0, "%5u", (unsigned)line_number);
    cw_text_add(out, "\n");
    add_blanks(out, margin);
    cw_text_add(out, " | ");
    add_blanks(out, caret - shown.first + (shown.dots_before ? DOTS : 0));
    cw_text_add(out, "^");
    for (size_t column = caret + 1; column < caret + length && column < shown.end; column++)
        cw_text_add(out, "~");
    cw_text_add(out, "\n");
}

static void add_words(cw_text *out, const char *words)
{
    size_t size = strlen(words);
    size_t length;
    for (size_t i = 0; i < size; i += length) {
        length = cw_utf8_length(words + i, size - i);
        add_visible(out, words + i, length, size - i);
    }
    cw_text_add(out, "\n");
}

static void add_part(cw_text *out, const cw_sources *sources, cw_span span, const char *kind,
                     const char *message)
{
    cw_place place = cw_source_place(sources, span);
    if (place.line > 0)
        cw_text_format(out, "%s:%u:%u: ", place.file, (unsigned)place.line, (unsigned)place.column);
    cw_text_format(out, "%s: ", kind);
    add_words(out, message);
    if (place.line > 0)
        add_source(out, sources, span, place.line);
}

void cw_diag_render(cw_text *out, const cw_sources *sources, const cw_diag *diag)
{
    static const char *const kinds[] = {[CW_NOTE] = "note", [CW_WARNING] = "warning", [CW_ERROR] = "error"};
    add_part(out, sources, diag->span, kinds[diag->severity], diag->message);
    if (diag->second_message != NULL)
        add_part(out, sources, diag->second, "note", diag->second_message);
    if (diag->help != NULL) {
        cw_text_add(out, "help: ");
        add_words(out, diag->help);
    }
}
