#include "base/nearest.h"
#include "pack/yaml_inside.h"

#include <assert.h>
#include <string.h>

enum { MOST_BLOWN_UP = 10, FEW = 64 };

typedef struct anchor {
    cw_node node;
    uint64_t nodes;  /* in it, aliases followed */
    uint32_t height; /* levels of maps and lists in it */
    bool set, closed;
} anchor;

static void complain(yaml_tree *tree, cw_code code, cw_span span, const char *message, const char *help)
{
    tree->wrong = true;
    cw_diag *diag = cw_diags_add(tree->text->diags, code, span, "%s", message);
    cw_diag_help(tree->text->diags, diag, "%s", help);
}

void tree_start(yaml_tree *tree, const yaml_text *text, cw_arena *arena)
{
    const cw_allocator *allocator = cw_arena_allocator(arena);
    *tree = (yaml_tree){.text = text, .arena = arena};
    tree->pending = CW_VEC_INIT(allocator, cw_node);
    tree->anchors = CW_VEC_INIT(allocator, anchor);
    duplicates_init(&tree->keys, allocator);
}

void tree_dispose(yaml_tree *tree)
{
    cw_vec_dispose(&tree->pending);
    cw_vec_dispose(&tree->anchors);
    duplicates_dispose(&tree->keys);
}

static cw_status push(yaml_tree *tree, const cw_node *node)
{
    if (tree->depth == 0) {
        tree->root = CW_ROOM(tree->arena, cw_node, 1);
        if (tree->root == NULL)
            return CW_NO_MEMORY;
        *tree->root = *node;
        return CW_OK;
    }
    cw_vec *pending = &tree->pending;
    if (pending->count == pending->capacity && cw_vec_reserve(pending, 2 * pending->capacity + FEW) != CW_OK)
        return CW_NO_MEMORY;
    assert(pending->items != NULL);
    *CW_VEC_AT(pending, cw_node, pending->count++) = *node;
    return CW_OK;
}

/* The anchor's number, 0 if there is none; a node with an anchor is open until note_anchor. */
static cw_status open_anchor(yaml_tree *tree, const char *name, uint32_t *number)
{
    *number = 0;
    if (name == NULL)
        return CW_OK;
    if (tree->names == NULL)
        tree->names = cw_names_new(tree->arena);
    if (tree->names == NULL)
        return CW_NO_MEMORY;
    *number = cw_names_add(tree->names, name, strlen(name));
    if (*number == 0)
        return CW_NO_MEMORY;
    while (tree->anchors.count <= *number)
        if (cw_vec_add(&tree->anchors) == NULL)
            return CW_NO_MEMORY;
    *CW_VEC_AT(&tree->anchors, anchor, *number) = (anchor){.set = true};
    return CW_OK;
}

static void note_anchor(yaml_tree *tree, uint32_t number, const cw_node *node, uint64_t nodes,
                        uint32_t height)
{
    if (number != 0)
        *CW_VEC_AT(&tree->anchors, anchor, number) = (anchor){*node, nodes, height, true, true};
}

static void check_tag(yaml_tree *tree, const tree_piece *piece)
{
    if (!piece->tagged)
        return;
    uint32_t start = piece->span.start, end = start;
    while (end < tree->text->size && (unsigned char)tree->text->bytes[end] > ' ')
        end++;
    complain(tree, CW_DIAG_TAG, (cw_span){tree->text->source, start, end},
             "a word that begins with '!' is a tag, and packs have none", "put the text into quotes");
}

static cw_status count_nodes(yaml_tree *tree, uint64_t more, cw_span span)
{
    tree->nodes += more;
    if (tree->nodes <= CW_YAML_MAX_NODES)
        return CW_OK;
    tree->wrong = true;
    cw_diag *diag =
        cw_diags_add(tree->text->diags, CW_DIAG_ALIAS_BOMB, span, "the file has more than %u nodes%s",
                     CW_YAML_MAX_NODES, more > 1 ? " when its aliases are followed" : "");
    cw_diag_help(tree->text->diags, diag, "divide the pack among several files");
    return CW_BAD_INPUT;
}

/* A text that libyaml made is never longer than the file, so its size fits into a node. */
static cw_node scalar_node(cw_span span, const char *text, size_t size, bool quoted)
{
    assert(size <= CW_YAML_MAX_SIZE);
    return (cw_node){.kind = CW_NODE_SCALAR,
                     .span = span,
                     .text = text,
                     .size = (uint32_t)size & CW_NODE_SIZE_MASK,
                     .quoted = quoted};
}

static const char single_quotes[] = "use single quotes: in them a backslash is a backslash";

/* "\b" in double quotes is a control character, not the edge of a word that a pattern means. */
static void refuse_escaped(yaml_tree *tree, const cw_node *node)
{
    size_t odd = yaml_find_odd(node->text, node->size);
    if (odd == node->size)
        return;
    tree->wrong = true;
    cw_diag *diag = cw_diags_add(tree->text->diags, CW_DIAG_YAML_SYNTAX, node->span,
                                 "double quotes make '%s' a control character", yaml_escape(node->text[odd]));
    cw_diag_help(tree->text->diags, diag, "%s", single_quotes);
}

/* Word processors set curved quotes or angles, which YAML takes for letters of the text. */
static void warn_curved(yaml_tree *tree, const cw_node *node)
{
    static const char *const marks[] = {"\xE2\x80\x98", "\xE2\x80\x99", "\xE2\x80\x9A",
                                        "\xE2\x80\x9C", "\xE2\x80\x9D", "\xE2\x80\x9E"};
    bool opens = false, closes = false;
    for (size_t i = 0; i < sizeof marks / sizeof marks[0] && node->size > 6; i++) {
        opens |= memcmp(node->text, marks[i], 3) == 0;
        closes |= memcmp(node->text + node->size - 3, marks[i], 3) == 0;
    }
    if (opens && closes)
        complain(tree, CW_DIAG_TYPOGRAPHIC_QUOTES, node->span,
                 "these quotes are no quotes to YAML, but part of the text", "type straight ones: ' or \"");
}

cw_status tree_scalar(yaml_tree *tree, const tree_piece *piece, const char *text, size_t size,
                      tree_style style)
{
    uint32_t number;
    cw_status status = open_anchor(tree, piece->anchor, &number);
    char *copy = cw_arena_text(tree->arena, text, size);
    if (status != CW_OK || copy == NULL)
        return CW_NO_MEMORY;
    cw_node node = scalar_node(piece->span, copy, size, style != TREE_PLAIN);
    /* A text block ends, for libyaml, where the next thing begins. */
    while (node.quoted && node.span.end > node.span.start &&
           (unsigned char)tree->text->bytes[node.span.end - 1] <= ' ')
        node.span.end--;
    if (node.span.end > node.span.start)
        tree->last_end = node.span.end;
    check_tag(tree, piece);
    if (!node.quoted && size > 0 && text[0] == '\xE2')
        warn_curved(tree, &node);
    /* Only "\0" in double quotes makes one. */
    if (style == TREE_ESCAPED && memchr(copy, '\0', size) != NULL) {
        complain(tree, CW_DIAG_NUL_BYTE, node.span, "this text holds a NUL, which no answer can",
                 single_quotes);
        node = scalar_node(node.span, copy, strlen(copy), true);
    } else if (style == TREE_ESCAPED) {
        refuse_escaped(tree, &node);
    }
    tree->written++;
    status = count_nodes(tree, 1, node.span);
    note_anchor(tree, number, &node, 1, 0);
    return status == CW_OK ? push(tree, &node) : status;
}

static cw_status too_deep(yaml_tree *tree, cw_span span)
{
    complain(tree, CW_DIAG_TOO_DEEP, span,
             "nested too deeply: at most 32 maps and lists may stand inside each other",
             "close brackets and braces where they end; no pack needs more than a dozen levels");
    _Static_assert(CW_YAML_MAX_DEPTH == 32, "the message names the limit");
    return CW_BAD_INPUT;
}

cw_status tree_open(yaml_tree *tree, const tree_piece *piece, bool map)
{
    if (tree->depth == CW_YAML_MAX_DEPTH)
        return too_deep(tree, piece->span);
    uint32_t number;
    cw_status status = open_anchor(tree, piece->anchor, &number);
    check_tag(tree, piece);
    if (status != CW_OK)
        return status;
    tree->frames[tree->depth++] =
        (tree_frame){map, tree->pending.count, piece->span.start, number, tree->nodes, 0};
    tree->written++;
    return count_nodes(tree, 1, piece->span);
}

/* Keys must be single words; `count` keys and values lie on the stack, those that stay are moved together. */
static cw_status check_keys(yaml_tree *tree, cw_node *entries, size_t *count)
{
    size_t kept = 0;
    assert(entries != NULL || *count == 0);
    if (!duplicates_start(&tree->keys, *count))
        return CW_NO_MEMORY;
    for (size_t i = 0; i < *count; i++) {
        const cw_node *key = &entries[2 * i];
        if (key->kind != CW_NODE_SCALAR) {
            complain(tree, CW_DIAG_WRONG_SHAPE, key->span, "a key must be a single word",
                     "brackets and braces stand behind the ':', not before it");
            continue;
        }
        const cw_node *first = duplicates_add(&tree->keys, key);
        if (first != NULL) {
            tree->wrong = true;
            cw_diag *diag = cw_diags_add(tree->text->diags, CW_DIAG_DUPLICATE_KEY, key->span,
                                         "'%s' stands twice in this map", key->text);
            cw_diag_second(tree->text->diags, diag, first->span, "first here");
            cw_diag_help(tree->text->diags, diag, "take one of the two out, or give it a name of its own");
            continue;
        }
        if (kept < i)
            memcpy(&entries[2 * kept], key, 2 * sizeof *key);
        kept++;
    }
    *count = kept;
    return CW_OK;
}

cw_status tree_close(yaml_tree *tree, uint32_t end)
{
    const tree_frame closed = tree->frames[--tree->depth];
    if (end != 0)
        tree->last_end = end;
    cw_node *entries =
        closed.first < tree->pending.count ? CW_VEC_AT(&tree->pending, cw_node, closed.first) : NULL;
    size_t count = tree->pending.count - closed.first, nodes = count;
    if (closed.map) {
        count /= 2;
        cw_status status = check_keys(tree, entries, &count);
        if (status != CW_OK)
            return status;
        nodes = 2 * count;
    }
    cw_node *room = CW_ROOM(tree->arena, cw_node, nodes);
    if (room == NULL)
        return CW_NO_MEMORY;
    if (entries != NULL)
        memcpy(room, entries, nodes * sizeof *room);
    const cw_node node = {.kind = closed.map ? CW_NODE_MAP : CW_NODE_LIST,
                          .span = {tree->text->source, closed.start, tree->last_end},
                          .text = "",
                          .size = (uint32_t)count & CW_NODE_SIZE_MASK,
                          .entries = room};
    tree->pending.count = closed.first;
    uint32_t height = closed.height + 1;
    if (tree->depth > 0 && tree->frames[tree->depth - 1].height < height)
        tree->frames[tree->depth - 1].height = height;
    note_anchor(tree, closed.anchor, &node, tree->nodes - closed.nodes_before, height);
    return push(tree, &node);
}

static cw_status unknown_alias(yaml_tree *tree, const char *name, cw_span span)
{
    tree->wrong = true;
    cw_diag *diag = cw_diags_add(tree->text->diags, CW_DIAG_ALIAS_UNKNOWN, span,
                                 "no anchor '&%s' stands before this alias", name);
    cw_nearest nearest = cw_nearest_start(name);
    uint32_t count = tree->names == NULL ? 0 : cw_names_count(tree->names);
    for (uint32_t i = 1; i <= count; i++)
        cw_nearest_try(&nearest, cw_names_text(tree->names, i));
    if (nearest.best != NULL)
        cw_diag_help(tree->text->diags, diag, "did you mean '*%s'?", nearest.best);
    else
        cw_diag_help(tree->text->diags, diag, "a text that begins with '*' must stand in quotes");
    return CW_OK;
}

cw_status tree_alias(yaml_tree *tree, cw_span span, const char *name)
{
    tree->last_end = span.end;
    uint32_t number = tree->names == NULL ? 0 : cw_names_find(tree->names, name, strlen(name));
    const anchor *to = number == 0 ? NULL : CW_VEC_AT(&tree->anchors, anchor, number);
    tree->written++;
    if (to == NULL || !to->closed) {
        if (to == NULL)
            unknown_alias(tree, name, span);
        else
            complain(tree, CW_DIAG_ALIAS_BOMB, span,
                     "this alias stands inside what it repeats, so it would never end",
                     "write it out instead");
        const char *text = cw_arena_text(tree->arena, tree->text->bytes + span.start, span.end - span.start);
        if (text == NULL)
            return CW_NO_MEMORY;
        const cw_node as_written = scalar_node(span, text, span.end - span.start, true);
        return push(tree, &as_written);
    }
    if (to->nodes > tree->worst_nodes) {
        tree->worst_nodes = to->nodes;
        tree->worst_alias = span;
    }
    if (tree->depth + to->height > CW_YAML_MAX_DEPTH)
        return too_deep(tree, span);
    if (tree->depth > 0 && tree->frames[tree->depth - 1].height < to->height)
        tree->frames[tree->depth - 1].height = to->height;
    cw_status status = count_nodes(tree, to->nodes, span);
    return status == CW_OK ? push(tree, &to->node) : status;
}

cw_status tree_finish(yaml_tree *tree)
{
    if (tree->nodes > tree->written * MOST_BLOWN_UP) {
        complain(tree, CW_DIAG_ALIAS_BOMB, tree->worst_alias,
                 "aliases make the file more than 10 times as large as it is written",
                 "write out what is to stand there");
        _Static_assert(MOST_BLOWN_UP == 10, "the message names the limit");
        return CW_BAD_INPUT;
    }
    const cw_node *root = tree->root;
    if (root == NULL || (root->kind == CW_NODE_SCALAR && root->size == 0 && !root->quoted)) {
        tree->root = NULL;
        cw_diag_help(tree->text->diags,
                     cw_diags_add(tree->text->diags, CW_DIAG_EMPTY_FILE, (cw_span){tree->text->source, 0, 0},
                                  "this file holds nothing"),
                     "write a section into it, as 'checks:', or take the file away");
    }
    return CW_OK;
}
