/* Maps and lists of the quick reader: one function for each form, each called at the form's first byte. */
#include "pack/quick_inside.h"

#include <string.h>

/* On to the next thing, over blanks, line ends and comments. */
static bool skip(quick *q)
{
    const char *at = q->at;
    for (;; at++) {
        while (*at == ' ')
            at++;
        if (*at == '#') {
            if (at > q->text && !quick_blank(at[-1]))
                return false;
            while (*at != '\n' && *at != '\r' && *at != '\0')
                at++;
        }
        if (*at != '\n')
            break;
        q->line = at + 1;
    }
    q->at = at;
    return *at != '\t' && *at != '\r' && !quick_marker(q, at);
}

static ptrdiff_t column_of(const quick *q)
{
    return q->at - q->line;
}

static void skip_blanks(quick *q)
{
    while (*q->at == ' ')
        q->at++;
}

/* Nothing more on this line but a comment. */
static bool ends_line(const quick *q)
{
    const char *at = q->at;
    while (*at == ' ')
        at++;
    return *at == '\n' || *at == '\0' || (*at == '#' && at[-1] == ' ');
}

static bool push(quick *q, const cw_node *node)
{
    cw_vec *pending = &q->pending;
    if (++q->nodes > CW_YAML_MAX_NODES)
        return false;
    if (pending->count == pending->capacity && cw_vec_reserve(pending, 2 * pending->capacity + 64) != CW_OK)
        q->no_memory = true;
    else
        *CW_VEC_AT(pending, cw_node, pending->count++) = *node;
    return !q->no_memory;
}

static bool all_different(quick *q, const cw_node *entries, size_t count)
{
    q->no_memory |= !duplicates_start(&q->keys, count);
    for (size_t i = 0; i < count && !q->no_memory; i++)
        if (duplicates_add(&q->keys, &entries[2 * i]) != NULL)
            return false;
    return !q->no_memory;
}

/* A map or list that begins there; its entries are those pending from `first` on. */
static bool finish(quick *q, bool map, size_t first, uint32_t start, cw_node *node)
{
    size_t count = q->pending.count - first;
    const cw_node *entries = count == 0 ? NULL : CW_VEC_AT(&q->pending, cw_node, first);
    if (map && !all_different(q, entries, count / 2))
        return false;
    cw_node *room = CW_ROOM(q->arena, cw_node, count);
    q->no_memory |= room == NULL;
    if (room == NULL)
        return false;
    if (count > 0)
        memcpy(room, entries, count * sizeof *room);
    *node = (cw_node){.kind = map ? CW_NODE_MAP : CW_NODE_LIST,
                      .span = {q->source, start, q->last_end},
                      .text = "",
                      .size = (uint32_t)(map ? count / 2 : count) & CW_NODE_SIZE_MASK,
                      .entries = room};
    q->pending.count = first;
    q->depth--;
    return true;
}

static bool begin(quick *q)
{
    return q->depth++ < CW_YAML_MAX_DEPTH;
}

/* A key of one line with its colon, as far as the length that libyaml allows it. False: no key, or none for
 * us; `at` is then still in front of the colon. */
static bool is_key(quick *q, const cw_node *node)
{
    enum { MOST = 1000 };
    const char *at = q->at;
    while (*at == ' ')
        at++;
    if (*at != ':' || !quick_blank(at[1]) || at - (q->text + node->span.start) > MOST)
        return false;
    q->at = at + 1;
    return true;
}

/* -- Flow style -- */

static bool flow_node(quick *q, cw_node *node);

/* Behind an entry: on to the next, or to the bracket. */
static bool flow_goes_on(quick *q, char bracket, bool *more)
{
    if (!skip(q))
        return false;
    *more = *q->at == ',';
    if (!*more)
        return *q->at == bracket;
    q->at++;
    return skip(q) && *q->at != bracket;
}

static bool flow_entry(quick *q, bool map)
{
    cw_node key, value;
    if (map && !(quick_line(q, true, &key) && is_key(q, &key) && push(q, &key) && skip(q)))
        return false;
    return flow_node(q, &value) && push(q, &value);
}

static bool flow_collection(quick *q, cw_node *node)
{
    uint32_t start = (uint32_t)(q->at - q->text);
    bool map = *q->at++ == '{', more = true;
    char bracket = map ? '}' : ']';
    size_t first = q->pending.count;
    if (!begin(q) || !skip(q))
        return false;
    if (*q->at == bracket)
        more = false;
    while (more)
        if (!flow_entry(q, map) || !flow_goes_on(q, bracket, &more))
            return false;
    q->at++;
    q->last_end = (uint32_t)(q->at - q->text);
    return finish(q, map, first, start, node);
}

static bool flow_node(quick *q, cw_node *node)
{
    if (*q->at == '[' || *q->at == '{')
        return flow_collection(q, node);
    return quick_line(q, true, node) && (node->quoted || quick_more_lines(q, true, 0, node));
}

/* -- Block style -- */

static bool block_node(quick *q, ptrdiff_t column, bool may_open, cw_node *node);

static bool at_dash(const quick *q)
{
    return q->at[0] == '-' && quick_blank(q->at[1]);
}

/* The entries of a list whose dashes stand in that column. A list that is a map's value may stand as far left
 * as the map's keys: then the next key ends it. */
static bool block_list(quick *q, ptrdiff_t column, bool among_keys, cw_node *node)
{
    uint32_t start = (uint32_t)(q->at - q->text);
    size_t first = q->pending.count;
    if (!begin(q))
        return false;
    while (at_dash(q)) {
        cw_node entry;
        const char *behind = ++q->at;
        if (!skip(q))
            return false;
        bool there = *q->at != '\0' && column_of(q) > column;
        if (!(there ? block_node(q, column, true, &entry) : quick_empty(q, behind, &entry)) ||
            !push(q, &entry) || !skip(q))
            return false;
        if (*q->at == '\0' || column_of(q) < column)
            break;
        if (column_of(q) > column || !(at_dash(q) || among_keys))
            return false;
    }
    return finish(q, false, first, start, node);
}

/* What belongs to a key, from behind its colon on. */
static bool map_value(quick *q, ptrdiff_t column, cw_node *value)
{
    const char *behind = q->at;
    skip_blanks(q);
    if (!ends_line(q))
        return block_node(q, column, false, value);
    if (!skip(q))
        return false;
    if (*q->at != '\0' && column_of(q) > column)
        return block_node(q, column, true, value);
    if (column_of(q) == column && at_dash(q))
        return block_list(q, column, true, value);
    return quick_empty(q, behind, value);
}

/* A map whose keys stand in that column, from behind its first key on. */
static bool block_map(quick *q, ptrdiff_t column, cw_node key, cw_node *node)
{
    uint32_t start = key.span.start;
    size_t first = q->pending.count;
    if (!begin(q))
        return false;
    for (;;) {
        cw_node value;
        if (!push(q, &key) || !map_value(q, column, &value) || !push(q, &value) || !skip(q))
            return false;
        if (*q->at == '\0' || column_of(q) < column)
            return finish(q, true, first, start, node);
        if (column_of(q) > column || !quick_line(q, false, &key) || !is_key(q, &key))
            return false;
    }
}

/* Anything, inside what stands in that column. Behind a key, on its line, no block map or list may open. */
static bool block_node(quick *q, ptrdiff_t column, bool may_open, cw_node *node)
{
    ptrdiff_t own = column_of(q);
    if (*q->at == '|' || *q->at == '>')
        return quick_block(q, column, node);
    if (*q->at == '[' || *q->at == '{')
        return flow_collection(q, node) && ends_line(q);
    if (may_open && at_dash(q))
        return block_list(q, own, false, node);
    if (!quick_line(q, false, node))
        return false;
    if (may_open && is_key(q, node))
        return block_map(q, own, *node, node);
    return (node->quoted || quick_more_lines(q, false, column + 1, node)) && ends_line(q);
}

/* -- The file -- */

/* Characters that YAML takes for line ends or refuses, and some of their neighbours: C1 controls, U+2028 and
 * U+2029, U+F000 and above in three bytes. */
static bool any_odd(const char *text)
{
    for (const char *at = text; *at != '\0'; at++) {
        unsigned char byte = (unsigned char)*at, next = (unsigned char)at[1];
        if ((byte == 0xc2 && next < 0xa0) || (byte == 0xe2 && next == 0x80) || byte == 0xef)
            return true;
    }
    return false;
}

static bool read_root(quick *q, cw_node **root)
{
    cw_node node;
    if (!skip(q) || *q->at == '\0' || !block_node(q, -1, true, &node) || node.kind == CW_NODE_SCALAR ||
        !skip(q) || *q->at != '\0')
        return false;
    *root = CW_ROOM(q->arena, cw_node, 1);
    q->no_memory |= *root == NULL;
    if (*root == NULL)
        return false;
    **root = node;
    return true;
}

cw_status quick_read(cw_arena *arena, uint32_t source, const char *text, bool ascii, const cw_node **root)
{
    *root = NULL;
    if (!ascii && any_odd(text))
        return CW_BAD_INPUT;
    const cw_allocator *allocator = cw_arena_allocator(arena);
    quick q = {.arena = arena, .source = source, .text = text, .at = text, .line = text};
    q.pending = CW_VEC_INIT(allocator, cw_node);
    q.folded = CW_TEXT_INIT(allocator);
    duplicates_init(&q.keys, allocator);
    cw_node *found = NULL;
    bool done = read_root(&q, &found);
    cw_vec_dispose(&q.pending);
    cw_text_dispose(&q.folded);
    duplicates_dispose(&q.keys);
    *root = done ? found : NULL;
    return done ? CW_OK : q.no_memory ? CW_NO_MEMORY : CW_BAD_INPUT;
}
