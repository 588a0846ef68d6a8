/* Texts of the quick reader. How lines are folded: YAML 1.1, sections 9.1.3 (plain) and 9.2 (blocks). */
#include "pack/quick_inside.h"

#include <string.h>

/* Bytes that may end a plain text, or that are left to libyaml. */
static const bool stops[256] = {
    ['\0'] = true, ['\n'] = true, ['\t'] = true, ['\r'] = true, [':'] = true, ['#'] = true};
static const bool flow_stops[256] = {
    ['\0'] = true, ['\n'] = true, ['\t'] = true, ['\r'] = true, [':'] = true, ['#'] = true,
    [','] = true,  ['['] = true,  [']'] = true,  ['{'] = true,  ['}'] = true};
/* Bytes that no plain text begins with here. A '-' may, with a word behind it. */
static const bool starts_other[256] = {
    ['\0'] = true, ['\n'] = true, ['\t'] = true, ['\r'] = true, [' '] = true, ['?'] = true,
    [':'] = true,  [','] = true,  ['['] = true,  [']'] = true,  ['{'] = true, ['}'] = true,
    ['#'] = true,  ['&'] = true,  ['*'] = true,  ['!'] = true,  ['|'] = true, ['>'] = true,
    ['\''] = true, ['"'] = true,  ['%'] = true,  ['@'] = true,  ['`'] = true};

bool quick_marker(const quick *q, const char *at)
{
    return at == q->line && (strncmp(at, "---", 3) == 0 || strncmp(at, "...", 3) == 0);
}

static bool make(quick *q, const char *from, const char *to, const char *text, size_t size, bool quoted,
                 cw_node *node)
{
    const char *copy = cw_arena_text(q->arena, text, size);
    q->no_memory |= copy == NULL;
    *node = (cw_node){.kind = CW_NODE_SCALAR,
                      .span = {q->source, (uint32_t)(from - q->text), (uint32_t)(to - q->text)},
                      .text = copy,
                      .size = (uint32_t)size & CW_NODE_SIZE_MASK,
                      .quoted = quoted};
    if (to > from)
        q->last_end = node->span.end;
    return copy != NULL;
}

bool quick_empty(quick *q, const char *at, cw_node *node)
{
    return make(q, at, at, "", 0, false, node);
}

/* To the end of a plain text on this line; *end is behind its last byte that is no blank. */
static bool plain_line(quick *q, bool flow, const char **end)
{
    const bool *stop = flow ? flow_stops : stops;
    const char *start = q->at, *at = start;
    for (;; at++) {
        while (!stop[(unsigned char)*at])
            at++;
        if (*at == ':' && !quick_blank(at[1])) {
            if (flow && strchr(",?[]{}", at[1]) != NULL)
                return false;
        } else if (*at != '#' || (at > start && at[-1] == ' ')) {
            break;
        }
    }
    q->at = at;
    while (at > start && at[-1] == ' ')
        at--;
    *end = at;
    return *q->at != '\t' && *q->at != '\r';
}

static bool quoted(quick *q, cw_node *node)
{
    const char *from = q->at, *at = from + 1;
    char quote = *from;
    bool doubled = false;
    for (; *at != quote || (quote == '\'' && at[1] == '\''); at++) {
        if (*at == '\0' || *at == '\n' || *at == '\t' || *at == '\r' || (quote == '"' && *at == '\\'))
            return false;
        if (*at == quote) {
            doubled = true;
            at++;
        }
    }
    q->at = at + 1;
    if (!doubled)
        return make(q, from, q->at, from + 1, (size_t)(at - from - 1), true, node);
    cw_text_clear(&q->folded);
    for (const char *piece = from + 1; piece <= at;) {
        const char *end = memchr(piece, '\'', (size_t)(q->at - piece));
        cw_text_add_bytes(&q->folded, piece, (size_t)(end - piece) + (end < at ? 1 : 0));
        piece = end + 2;
    }
    q->no_memory |= q->folded.status != CW_OK;
    return !q->no_memory && make(q, from, q->at, cw_text_get(&q->folded), q->folded.size, true, node);
}

bool quick_line(quick *q, bool flow, cw_node *node)
{
    const char *from = q->at, *end;
    if (*from == '\'' || *from == '"')
        return quoted(q, node);
    bool word = *from != '-' || (!quick_blank(from[1]) && !flow_stops[(unsigned char)from[1]]);
    return !starts_other[(unsigned char)*from] && word && !quick_marker(q, from) &&
           plain_line(q, flow, &end) && make(q, from, end, from, (size_t)(end - from), false, node);
}

/* The next line that is not blank, from the end of this one on. */
typedef struct next_line {
    const char *line, *at; /* where it begins, and its first byte that is no blank */
    size_t breaks;         /* line ends before it */
    bool ragged;           /* blanks stand on a line that is else empty */
} next_line;

static next_line look_ahead(const char *end)
{
    next_line next = {.line = end, .at = end};
    for (; *next.at == '\n' || *next.at == ' '; next.at++)
        if (*next.at == '\n') {
            next.ragged |= next.at > next.line;
            next.breaks++;
            next.line = next.at + 1;
        }
    next.ragged |= *next.at == '\0' && next.at > next.line;
    return next;
}

/* One line end becomes a blank, or stays in a literal block; of more the first goes. */
static void fold(quick *q, size_t breaks, bool literal)
{
    if (breaks == 1)
        cw_text_add(&q->folded, literal ? "\n" : " ");
    for (size_t i = literal ? 0 : 1; breaks > 1 && i < breaks; i++)
        cw_text_add(&q->folded, "\n");
}

bool quick_more_lines(quick *q, bool flow, ptrdiff_t column, cw_node *node)
{
    const char *from = q->text + node->span.start, *end = q->text + node->span.end;
    bool more = false;
    while (*q->at == '\n') {
        next_line next = look_ahead(q->at);
        if (*next.at == '\0' || *next.at == '#' || (!flow && next.at - next.line < column) ||
            (flow && *next.at != ':' && flow_stops[(unsigned char)*next.at]))
            break;
        if (!more) {
            cw_text_clear(&q->folded);
            cw_text_add_bytes(&q->folded, from, (size_t)(end - from));
            more = true;
        }
        fold(q, next.breaks, false);
        q->at = next.at;
        q->line = next.line;
        if (quick_marker(q, q->at) || !plain_line(q, flow, &end) || end == next.at)
            return false;
        cw_text_add_bytes(&q->folded, next.at, (size_t)(end - next.at));
    }
    q->no_memory |= q->folded.status != CW_OK;
    return !more ||
           (!q->no_memory && make(q, from, end, cw_text_get(&q->folded), q->folded.size, false, node));
}

/* Blocks whose first line is not blank and whose lines are all indented alike, or empty to the last byte. */
bool quick_block(quick *q, ptrdiff_t column, cw_node *node)
{
    const char *from = q->at, *end = from;
    bool literal = *from == '|', strip = from[1] == '-';
    q->at += strip ? 2 : 1;
    next_line next = look_ahead(q->at);
    ptrdiff_t indent = next.at - next.line;
    if (*q->at != '\n' || next.breaks != 1 || indent <= column || indent == 0)
        return false;
    cw_text_clear(&q->folded);
    while (*next.at != '\0' && next.at - next.line == indent) {
        if (end > from)
            fold(q, next.breaks, literal);
        end = strpbrk(next.at, "\n\t\r");
        if (end == NULL || *end != '\n')
            return false;
        cw_text_add_bytes(&q->folded, next.at, (size_t)(end - next.at));
        q->at = end;
        q->line = next.line;
        next = look_ahead(end);
        if (next.ragged)
            return false;
    }
    if (end == from || (*next.at != '\0' && next.at - next.line > indent))
        return false;
    if (!strip)
        cw_text_add(&q->folded, "\n");
    while (end[-1] == ' ')
        end--;
    q->no_memory |= q->folded.status != CW_OK;
    return !q->no_memory && make(q, from, end, cw_text_get(&q->folded), q->folded.size, true, node);
}
