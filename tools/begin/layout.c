#include "begin/layout.h"
#include <string.h>

/* One line, without its end. */
typedef struct line {
    const char *text;
    size_t start, size, next; /* bytes of the file */
    size_t indent;
    enum { BLANK_LINE, COMMENT_LINE, WORDS_LINE } kind;
} line;

static bool read_line(const char *text, size_t size, size_t at, line *out)
{
    if (at >= size)
        return false;
    const char *end = memchr(text + at, '\n', size - at);
    size_t stop = end != NULL ? (size_t)(end - text) : size;
    *out = (line){.start = at, .next = end != NULL ? stop + 1 : size};
    if (at == 0 && size >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0)
        at = 3; /* a byte order mark */
    if (stop > at && text[stop - 1] == '\r')
        stop--;
    out->text = text + at;
    out->size = stop - at;
    while (out->indent < out->size && out->text[out->indent] == ' ')
        out->indent++;
    if (out->indent == out->size)
        out->kind = BLANK_LINE;
    else
        out->kind = out->text[out->indent] == '#' ? COMMENT_LINE : WORDS_LINE;
    return true;
}

/* The bytes of a line's key, 0 when it has none; *rest is what stands behind the colon, without a comment. */
static size_t key_of(const line *one, const char **key, const char **rest, size_t *rest_size)
{
    const char *at = one->text + one->indent, *end = one->text + one->size;
    char quote = at < end && (*at == '\'' || *at == '"') ? *at++ : '\0';
    const char *from = at;
    while (at < end && *at != ':' && *at != ' ' && *at != quote)
        at++;
    size_t size = (size_t)(at - from);
    if (quote != '\0' && at < end)
        at++;
    if (at == end || *at != ':' || (at + 1 < end && at[1] != ' '))
        return 0;
    for (at++; at < end && *at == ' ';)
        at++;
    const char *stop = at;
    while (stop < end && !(*stop == '#' && (stop == at || stop[-1] == ' ')))
        stop++;
    while (stop > at && stop[-1] == ' ')
        stop--;
    *key = from;
    *rest = at;
    *rest_size = (size_t)(stop - at);
    return size;
}

static bool is_key(const line *one, const char *name, const char **rest, size_t *rest_size)
{
    const char *key;
    size_t size = key_of(one, &key, rest, rest_size);
    return size > 0 && size == strlen(name) && memcmp(key, name, size) == 0;
}

/* A line no further in than the section's key that is no comment begins something else; a bracket there only
 * closes. */
static bool ends_below(const line *one, size_t column)
{
    return one->kind == WORDS_LINE && one->indent <= column && one->text[one->indent] != '}' &&
           one->text[one->indent] != ']';
}

static bool ends_section(const line *one)
{
    return ends_below(one, 0);
}

/* The line of the section's key. */
static bool find_section(const char *text, size_t size, const char *section, line *out, size_t *number,
                         const char **rest, size_t *rest_size)
{
    *number = 1;
    for (size_t at = 0; read_line(text, size, at, out); at = out->next, ++*number) {
        if (out->kind == WORDS_LINE && out->indent == 0 && is_key(out, section, rest, rest_size))
            return true;
    }
    return false;
}

/* Text that keeps its empty lines at the end owns them. */
static bool keeps_blank_lines(const line *one)
{
    const char *key, *rest;
    size_t size;
    return key_of(one, &key, &rest, &size) > 0 && size > 1 && (rest[0] == '|' || rest[0] == '>') &&
           memchr(rest, '+', size) != NULL;
}

static void note_key(const line *one, begin_layout *out)
{
    const char *key, *rest;
    size_t rest_size, size = key_of(one, &key, &rest, &rest_size);
    if (size == 0 || size >= LAYOUT_KEY || out->keys == LAYOUT_KEYS)
        return;
    memcpy(out->key[out->keys], key, size);
    out->key[out->keys++][size] = '\0';
}

/* What the lines of the section tell: blanks, keys of the last entry, empty lines between entries. */
typedef struct walk {
    size_t child; /* blanks before keys of the entry at hand; 0: none seen yet */
    bool after_blank, keeps;
    size_t blanks; /* entries behind an empty line */
} walk;

static void take_words(const line *one, walk *at, begin_layout *out)
{
    const char *key, *rest;
    size_t rest_size;
    if (out->entries == 0) {
        out->entry = one->indent;
        out->refused |= strchr("{[-?", one->text[one->indent]) != NULL;
    }
    if (one->indent == out->entry && key_of(one, &key, &rest, &rest_size) > 0) {
        at->blanks += at->after_blank && out->entries > 0;
        out->entries++;
        out->keys = at->child = 0;
    } else if (one->indent > out->entry) {
        if (at->child == 0) {
            at->child = one->indent;
            out->step = one->indent - out->entry;
        }
        if (one->indent == at->child)
            note_key(one, out);
    }
    at->keeps = keeps_blank_lines(one) || (at->keeps && one->indent > out->entry);
}

static void read_section(const char *text, size_t size, line one, size_t number, begin_layout *out)
{
    walk at = {0};
    size_t column = one.indent;
    out->at = one.next;
    out->at_line = number + 1;
    for (size_t next = one.next; read_line(text, size, next, &one) && !ends_below(&one, column);
         next = one.next) {
        number++;
        bool inside = one.kind == WORDS_LINE || (one.kind == COMMENT_LINE && one.indent > column) ||
                      (one.kind == BLANK_LINE && at.keeps);
        if (one.kind == WORDS_LINE)
            take_words(&one, &at, out);
        at.after_blank = one.kind == BLANK_LINE || (one.kind == COMMENT_LINE && at.after_blank);
        if (inside) {
            out->at = one.next;
            out->at_line = number + 1;
        }
    }
    out->blank = out->entries < 2 || at.blanks * 2 >= out->entries - 1;
}

/* The end of the file, but before a line of three dots. */
static void read_end(const char *text, size_t size, begin_layout *out)
{
    line one;
    out->at_line = 1;
    for (size_t next = 0; read_line(text, size, next, &one); next = one.next, out->at_line++) {
        if (one.size >= 3 && memcmp(one.text, "...", 3) == 0)
            break;
        out->at = one.next;
    }
}

/* Which quotes the file begins a value with, and how far its first lines are set in. */
static void read_habits(const char *text, size_t size, begin_layout *out)
{
    size_t single = 0, twice = 0;
    line one;
    out->bare = true;
    for (size_t next = 0; read_line(text, size, next, &one); next = one.next) {
        const char *key, *rest;
        size_t rest_size;
        out->bare = out->bare && one.kind != WORDS_LINE;
        for (size_t i = 1; one.kind == WORDS_LINE && i + 1 < one.size; i++) {
            single += one.text[i] == ' ' && one.text[i + 1] == '\'';
            twice += one.text[i] == ' ' && one.text[i + 1] == '"';
        }
        if (out->entry == 0 && one.kind == WORDS_LINE && one.indent > 0 &&
            key_of(&one, &key, &rest, &rest_size) > 0)
            out->entry = out->step = one.indent;
        if (one.kind == WORDS_LINE && one.indent == 0 && (one.text[0] == '{' || one.text[0] == '['))
            out->whole_flow = true;
    }
    out->quote = twice > single ? '"' : '\'';
    const char *end = memchr(text, '\n', size);
    out->crlf = end != NULL && end > text && end[-1] == '\r';
}

void begin_read_layout(const char *text, size_t size, const char *section, begin_layout *out)
{
    line one;
    const char *rest;
    size_t rest_size;
    *out = (begin_layout){0};
    read_habits(text, size, out);
    if (out->entry == 0)
        out->entry = out->step = 2;
    out->there = find_section(text, size, section, &one, &out->line, &rest, &rest_size);
    if (!out->there) {
        out->line = 0;
        read_end(text, size, out);
    } else if (rest_size > 0) {
        out->refused = true;
    } else {
        read_section(text, size, one, out->line, out);
    }
    out->open_end = out->at > 0 && text[out->at - 1] != '\n';
}

/* The line of `key` in the entry whose line is *one; *rest as in key_of. */
static bool find_below(const char *text, size_t size, const char *key, line *one, size_t *number,
                       const char **rest, size_t *rest_size)
{
    size_t column = one->indent, child = 0;
    while (read_line(text, size, one->next, one) && !ends_below(one, column)) {
        ++*number;
        if (one->kind != WORDS_LINE)
            continue;
        child = child == 0 ? one->indent : child;
        if (one->indent == child && is_key(one, key, rest, rest_size))
            return true;
    }
    return false;
}

void begin_read_nested(const char *text, size_t size, const char *section, const char *above, const char *key,
                       begin_layout *out)
{
    line one;
    const char *rest;
    size_t rest_size, number = 1;
    *out = (begin_layout){0};
    read_habits(text, size, out);
    out->line = begin_entry_line(text, size, section, above, true);
    if (out->line == 0)
        return;
    for (size_t at = 0; read_line(text, size, at, &one) && number < out->line; at = one.next)
        number++;
    if (is_key(&one, above, &rest, &rest_size) && rest_size > 0) {
        out->there = out->refused = true;
        return;
    }
    if (!find_below(text, size, key, &one, &number, &rest, &rest_size))
        return;
    out->there = true;
    out->line = number;
    out->refused = rest_size > 0;
    if (!out->refused)
        read_section(text, size, one, number, out);
    out->blank = out->blank && out->entries > 1;
    out->open_end = out->at > 0 && text[out->at - 1] != '\n';
}

size_t begin_entry_line(const char *text, size_t size, const char *section, const char *name,
                        bool at_any_depth)
{
    line one;
    const char *rest;
    size_t rest_size, number, entry = 0;
    if (!find_section(text, size, section, &one, &number, &rest, &rest_size))
        return 0;
    while (read_line(text, size, one.next, &one) && !ends_section(&one)) {
        number++;
        if (one.kind != WORDS_LINE)
            continue;
        entry = entry == 0 ? one.indent : entry;
        if ((one.indent == entry || at_any_depth) && is_key(&one, name, &rest, &rest_size))
            return number;
    }
    return 0;
}

static void copy(char *to, const char *from, size_t size)
{
    size = size < LAYOUT_WIDTH ? size : LAYOUT_WIDTH - 1;
    memcpy(to, from, size);
    to[size] = '\0';
}

void begin_each_line(const char *text, size_t size, const char *section,
                     void (*each)(void *context, const char *entry, const char *key, const char *rest),
                     void *context)
{
    line one;
    const char *key, *rest;
    size_t rest_size, number, column = 0;
    char entry[LAYOUT_WIDTH] = "", name[LAYOUT_WIDTH], value[LAYOUT_WIDTH];
    if (!find_section(text, size, section, &one, &number, &rest, &rest_size))
        return;
    while (read_line(text, size, one.next, &one) && !ends_section(&one)) {
        size_t key_size = one.kind == WORDS_LINE ? key_of(&one, &key, &rest, &rest_size) : 0;
        if (key_size == 0)
            continue;
        column = column == 0 ? one.indent : column;
        copy(name, key, key_size);
        copy(value, rest, rest_size);
        if (one.indent == column)
            memcpy(entry, name, sizeof entry);
        each(context, entry, one.indent == column ? "" : name, value);
    }
}
