/* libyaml's events to a tree of placed nodes. The tree is built without recursion: open maps and lists wait
 * in `frames`, their finished entries on one stack, `pending`, from frame.first on. */
#include "pack/yaml.h"
#include "base/atom.h"
#include "base/nearest.h"
#include "base/vec.h"
#include "pack/duplicates.h"

#include <assert.h>
#include <string.h>
#include <yaml.h>

enum { MOST_BLOWN_UP = 10, FEW = 64 };

typedef struct anchor {
    cw_node node;
    uint64_t nodes;  /* in it, aliases followed */
    uint32_t height; /* levels of maps and lists in it */
    bool set, closed;
} anchor;

typedef struct frame {
    bool map;
    size_t first;
    uint32_t start;
    uint32_t anchor;       /* name number, 0 = none */
    uint64_t nodes_before; /* counted before this one */
    uint32_t height;       /* of the highest entry so far */
} frame;

typedef struct yaml_reader {
    cw_arena *arena;
    cw_diags *diags;
    uint32_t source;
    const char *text;
    size_t size;
    bool ascii;               /* the text is: then code points are bytes */
    size_t at_index, at_byte; /* libyaml counts code points: here both are known to belong together */
    yaml_parser_t parser;
    frame frames[CW_YAML_MAX_DEPTH];
    uint32_t depth;
    cw_vec pending; /* cw_node */
    cw_vec anchors; /* by name number */
    cw_names *names;
    duplicates keys;
    uint64_t written, nodes; /* as they stand, and with aliases followed */
    cw_span worst_alias;
    uint64_t worst_nodes;
    uint32_t last_end; /* end of the last thing that has one */
    cw_node *root;
    unsigned documents;
    bool wrong; /* an error that does not end the file */
} yaml_reader;

/* The byte that libyaml's mark stands on. Marks mostly move forward and never far back. */
static uint32_t byte_of(yaml_reader *reader, const yaml_mark_t *mark)
{
    if (reader->ascii)
        return (uint32_t)(mark->index < reader->size ? mark->index : reader->size);
    while (reader->at_index < mark->index && reader->at_byte < reader->size) {
        do {
            reader->at_byte++;
        } while (reader->at_byte < reader->size &&
                 ((unsigned char)reader->text[reader->at_byte] & 0xc0) == 0x80);
        reader->at_index++;
    }
    while (reader->at_index > mark->index && reader->at_byte > 0) {
        do {
            reader->at_byte--;
        } while (reader->at_byte > 0 && ((unsigned char)reader->text[reader->at_byte] & 0xc0) == 0x80);
        reader->at_index--;
    }
    return (uint32_t)reader->at_byte;
}

static cw_span span_of(yaml_reader *reader, const yaml_mark_t *start, const yaml_mark_t *end)
{
    uint32_t from = byte_of(reader, start);
    return (cw_span){reader->source, from, byte_of(reader, end)};
}

static cw_diag *complain(yaml_reader *reader, cw_code code, cw_span span, const char *message)
{
    reader->wrong = true;
    return cw_diags_add(reader->diags, code, span, "%s", message);
}

/* A control character that no text file holds. Without branches, so that many bytes are looked at at once. */
static unsigned char is_odd(unsigned char byte)
{
    return (unsigned char)(((byte < 0x20) & (byte != '\n') & (byte != '\t') & (byte != '\r')) |
                           (byte == 0x7f));
}

/* The first such byte; `size` if there is none, as nearly always. */
static size_t find_odd(const char *text, size_t size)
{
    unsigned char any = 0;
    for (size_t i = 0; i < size; i++)
        any |= is_odd((unsigned char)text[i]);
    size_t at = any == 0 ? size : 0;
    while (at < size && is_odd((unsigned char)text[at]) == 0)
        at++;
    return at;
}

static bool any_high(const char *text, size_t size)
{
    unsigned char high = 0;
    for (size_t i = 0; i < size; i++)
        high |= (unsigned char)text[i];
    return (high & 0x80) != 0;
}

/* NUL, bad UTF-8 and control characters, before libyaml sees them: it would tell no place. */
static bool check_bytes(yaml_reader *reader)
{
    const char *text = reader->text;
    reader->ascii = !any_high(text, reader->size);
    size_t good = reader->ascii ? reader->size : cw_utf8_error(text, reader->size);
    size_t i = find_odd(text, good);
    if (i < good) {
        unsigned char byte = (unsigned char)text[i];
        cw_span span = {reader->source, (uint32_t)i, (uint32_t)i + 1};
        if (byte == 0)
            complain(reader, CW_DIAG_NUL_BYTE, span, "a NUL byte, which no text file holds");
        else
            cw_diags_add(reader->diags, CW_DIAG_YAML_SYNTAX, span, "a control character (code %u)", byte);
        return false;
    }
    if (good == reader->size)
        return true;
    cw_span span = {reader->source, (uint32_t)good, (uint32_t)good + 1};
    cw_diag *diag =
        cw_diags_add(reader->diags, CW_DIAG_NOT_UTF8, span,
                     "byte 0x%02X does not belong to any character in UTF-8", (unsigned char)text[good]);
    cw_diag_help(reader->diags, diag, "save the file as UTF-8");
    return false;
}

typedef struct yaml_words {
    const char *libyaml;
    cw_code code;
    const char *message, *help;
} yaml_words;

static const yaml_words *words_for(const char *problem)
{
    static const yaml_words words[] = {
#define YAML_WORDS(libyaml, code, message, help) {libyaml, CW_DIAG_##code, message, help},
#include "pack/yaml_words.def"
#undef YAML_WORDS
    };
    size_t i = 0;
    while (words[i].libyaml != NULL && (problem == NULL || strcmp(words[i].libyaml, problem) != 0))
        i++;
    return &words[i];
}

/* Where libyaml began to read what it then could not finish, when that says more than the spot itself. */
static void add_beginning(yaml_reader *reader, cw_diag *diag, uint32_t spot)
{
    const yaml_parser_t *parser = &reader->parser;
    static const struct {
        const char *context, *message;
    } beginnings[] = {{"while scanning a quoted scalar", "the quotes open here"},
                      {"while parsing a flow sequence", "the bracket opens here"},
                      {"while parsing a flow mapping", "the brace opens here"},
                      {"while parsing a block mapping", "the map begins here"},
                      {"while parsing a block collection", "the list begins here"}};
    for (size_t i = 0; parser->context != NULL && i < sizeof beginnings / sizeof beginnings[0]; i++) {
        if (strcmp(parser->context, beginnings[i].context) != 0)
            continue;
        uint32_t start = byte_of(reader, &parser->context_mark);
        if (start != spot)
            cw_diag_second(reader->diags, diag, (cw_span){reader->source, start, start + 1}, "%s",
                           beginnings[i].message);
    }
}

/* The line has a ':', and something that looks like a blank behind it, or nothing. */
static const char *no_colon_help(const yaml_reader *reader, uint32_t at, const char *usual)
{
    const char *line = reader->text + at;
    const char *end = memchr(line, '\n', reader->size - at);
    const char *colon = memchr(line, ':', (size_t)((end != NULL ? end : reader->text + reader->size) - line));
    if (colon == NULL)
        return usual;
    if (reader->text + reader->size - colon > 2 && memcmp(colon + 1, "\xC2\xA0", 2) == 0)
        return "behind the ':' stands a hard blank (no-break space): type an ordinary one";
    return "a blank belongs behind the ':'";
}

static cw_status syntax_error(yaml_reader *reader)
{
    const yaml_parser_t *parser = &reader->parser;
    if (parser->error == YAML_MEMORY_ERROR)
        return CW_NO_MEMORY;
    uint32_t at = byte_of(reader, &parser->problem_mark);
    const bool no_colon =
        parser->problem != NULL && strcmp(parser->problem, "could not find expected ':'") == 0;
    if (no_colon) /* the line before that on which libyaml gives up */
        at = byte_of(reader, &parser->context_mark);
    if (parser->error == YAML_READER_ERROR)
        at = (uint32_t)(parser->problem_offset +
                        (size_t)(reader->parser.input.string.start - (const unsigned char *)reader->text));
    const yaml_words *words = words_for(parser->problem);
    cw_code code = words->code;
    const char *message = words->message, *help = words->help;
    if (at < reader->size && reader->text[at] == '\t') {
        code = CW_DIAG_TAB;
        message = "a tab where blanks are needed";
        help = "set lines in with two blanks per level";
    }
    if (no_colon && code != CW_DIAG_TAB)
        help = no_colon_help(reader, at, help);
    cw_span span = {reader->source, at, at < reader->size ? at + 1 : at};
    cw_diag *diag = complain(reader, code, span, message);
    if (code != CW_DIAG_TAB)
        add_beginning(reader, diag, at);
    if (help != NULL)
        cw_diag_help(reader->diags, diag, "%s", help);
    return CW_BAD_INPUT;
}

static cw_status push(yaml_reader *reader, const cw_node *node)
{
    if (reader->depth == 0) {
        reader->root = CW_ROOM(reader->arena, cw_node, 1);
        if (reader->root == NULL)
            return CW_NO_MEMORY;
        *reader->root = *node;
        return CW_OK;
    }
    cw_vec *pending = &reader->pending;
    if (pending->count == pending->capacity && cw_vec_reserve(pending, 2 * pending->capacity + FEW) != CW_OK)
        return CW_NO_MEMORY;
    *CW_VEC_AT(pending, cw_node, pending->count++) = *node;
    return CW_OK;
}

/* The anchor's number, 0 if there is none; a node with an anchor is open until note_anchor. */
static cw_status open_anchor(yaml_reader *reader, const yaml_char_t *name, uint32_t *number)
{
    *number = 0;
    if (name == NULL)
        return CW_OK;
    if (reader->names == NULL)
        reader->names = cw_names_new(reader->arena);
    if (reader->names == NULL)
        return CW_NO_MEMORY;
    const char *text = (const char *)name;
    *number = cw_names_add(reader->names, text, strlen(text));
    if (*number == 0)
        return CW_NO_MEMORY;
    while (reader->anchors.count <= *number)
        if (cw_vec_add(&reader->anchors) == NULL)
            return CW_NO_MEMORY;
    *CW_VEC_AT(&reader->anchors, anchor, *number) = (anchor){.set = true};
    return CW_OK;
}

static void note_anchor(yaml_reader *reader, uint32_t number, const cw_node *node, uint64_t nodes,
                        uint32_t height)
{
    if (number != 0)
        *CW_VEC_AT(&reader->anchors, anchor, number) = (anchor){*node, nodes, height, true, true};
}

static void check_tag(yaml_reader *reader, const yaml_event_t *event, const yaml_char_t *tag)
{
    if (tag == NULL)
        return;
    uint32_t start = byte_of(reader, &event->start_mark), end = start;
    while (end < reader->size && (unsigned char)reader->text[end] > ' ')
        end++;
    cw_diag *diag = complain(reader, CW_DIAG_TAG, (cw_span){reader->source, start, end},
                             "a word that begins with '!' is a tag, and packs have none");
    cw_diag_help(reader->diags, diag, "put the text into quotes");
}

static cw_status count_nodes(yaml_reader *reader, uint64_t more, cw_span span)
{
    reader->nodes += more;
    if (reader->nodes <= CW_YAML_MAX_NODES)
        return CW_OK;
    reader->wrong = true;
    cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ALIAS_BOMB, span, "the file has more than %u nodes%s",
                                 CW_YAML_MAX_NODES, more > 1 ? " when its aliases are followed" : "");
    cw_diag_help(reader->diags, diag, "divide the pack among several files");
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

/* Word processors set curved quotes or angles, which YAML takes for letters of the text. */
static void warn_curved(yaml_reader *reader, const cw_node *node)
{
    static const char *const marks[] = {"\xE2\x80\x98", "\xE2\x80\x99", "\xE2\x80\x9A",
                                        "\xE2\x80\x9C", "\xE2\x80\x9D", "\xE2\x80\x9E"};
    bool opens = false, closes = false;
    for (size_t i = 0; i < sizeof marks / sizeof marks[0] && node->size > 6; i++) {
        opens |= memcmp(node->text, marks[i], 3) == 0;
        closes |= memcmp(node->text + node->size - 3, marks[i], 3) == 0;
    }
    if (opens && closes)
        cw_diag_help(reader->diags,
                     complain(reader, CW_DIAG_TYPOGRAPHIC_QUOTES, node->span,
                              "these quotes are no quotes to YAML, but part of the text"),
                     "type straight ones: ' or \"");
}

static cw_status read_scalar(yaml_reader *reader, const yaml_event_t *event)
{
    const char *text = (const char *)event->data.scalar.value;
    size_t size = event->data.scalar.length;
    uint32_t number;
    cw_status status = open_anchor(reader, event->data.scalar.anchor, &number);
    char *copy = cw_arena_text(reader->arena, text, size);
    if (status != CW_OK || copy == NULL)
        return CW_NO_MEMORY;
    cw_node node = scalar_node(span_of(reader, &event->start_mark, &event->end_mark), copy, size,
                               event->data.scalar.style != YAML_PLAIN_SCALAR_STYLE);
    /* A text block ends, for libyaml, where the next thing begins. */
    while (node.quoted && node.span.end > node.span.start &&
           (unsigned char)reader->text[node.span.end - 1] <= ' ')
        node.span.end--;
    if (node.span.end > node.span.start)
        reader->last_end = node.span.end;
    check_tag(reader, event, event->data.scalar.tag);
    if (!node.quoted && size > 0 && text[0] == '\xE2')
        warn_curved(reader, &node);
    /* Only "\0" in double quotes makes one. */
    if (event->data.scalar.style == YAML_DOUBLE_QUOTED_SCALAR_STYLE && memchr(copy, '\0', size) != NULL) {
        complain(reader, CW_DIAG_NUL_BYTE, node.span, "this text holds a NUL, which no answer can");
        node = scalar_node(node.span, copy, strlen(copy), true);
    }
    reader->written++;
    status = count_nodes(reader, 1, node.span);
    note_anchor(reader, number, &node, 1, 0);
    return status == CW_OK ? push(reader, &node) : status;
}

static cw_status too_deep(yaml_reader *reader, cw_span span)
{
    complain(reader, CW_DIAG_TOO_DEEP, span,
             "nested too deeply: at most 32 maps and lists may stand inside each other");
    _Static_assert(CW_YAML_MAX_DEPTH == 32, "the message names the limit");
    return CW_BAD_INPUT;
}

static cw_status open_frame(yaml_reader *reader, const yaml_event_t *event, bool map)
{
    cw_span span = span_of(reader, &event->start_mark, &event->end_mark);
    if (reader->depth == CW_YAML_MAX_DEPTH)
        return too_deep(reader, span);
    uint32_t number;
    cw_status status = open_anchor(
        reader, map ? event->data.mapping_start.anchor : event->data.sequence_start.anchor, &number);
    check_tag(reader, event, map ? event->data.mapping_start.tag : event->data.sequence_start.tag);
    if (status != CW_OK)
        return status;
    reader->frames[reader->depth++] =
        (frame){map, reader->pending.count, span.start, number, reader->nodes, 0};
    reader->written++;
    return count_nodes(reader, 1, span);
}

/* Keys must be single words; `count` keys and values lie on the stack, those that stay are moved together. */
static cw_status check_keys(yaml_reader *reader, cw_node *entries, size_t *count)
{
    size_t kept = 0;
    if (!duplicates_start(&reader->keys, *count))
        return CW_NO_MEMORY;
    for (size_t i = 0; i < *count; i++) {
        const cw_node *key = &entries[2 * i];
        if (key->kind != CW_NODE_SCALAR) {
            complain(reader, CW_DIAG_WRONG_SHAPE, key->span, "a key must be a single word");
            continue;
        }
        const cw_node *first = duplicates_add(&reader->keys, key);
        if (first != NULL) {
            reader->wrong = true;
            cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_DUPLICATE_KEY, key->span,
                                         "'%s' stands twice in this map", key->text);
            cw_diag_second(reader->diags, diag, first->span, "first here");
            cw_diag_help(reader->diags, diag, "take one of the two out, or give it a name of its own");
            continue;
        }
        if (kept < i)
            memcpy(&entries[2 * kept], key, 2 * sizeof *key);
        kept++;
    }
    *count = kept;
    return CW_OK;
}

static cw_status close_frame(yaml_reader *reader, const yaml_event_t *event)
{
    const frame closed = reader->frames[--reader->depth];
    if (event->end_mark.index > event->start_mark.index)
        reader->last_end = byte_of(reader, &event->end_mark);
    cw_node *entries =
        closed.first < reader->pending.count ? CW_VEC_AT(&reader->pending, cw_node, closed.first) : NULL;
    size_t count = reader->pending.count - closed.first, nodes = count;
    if (closed.map) {
        count /= 2;
        cw_status status = check_keys(reader, entries, &count);
        if (status != CW_OK)
            return status;
        nodes = 2 * count;
    }
    cw_node *room = CW_ROOM(reader->arena, cw_node, nodes);
    if (room == NULL)
        return CW_NO_MEMORY;
    if (nodes > 0)
        memcpy(room, entries, nodes * sizeof *room);
    const cw_node node = {.kind = closed.map ? CW_NODE_MAP : CW_NODE_LIST,
                          .span = {reader->source, closed.start, reader->last_end},
                          .text = "",
                          .size = (uint32_t)count & CW_NODE_SIZE_MASK,
                          .entries = room};
    reader->pending.count = closed.first;
    uint32_t height = closed.height + 1;
    if (reader->depth > 0 && reader->frames[reader->depth - 1].height < height)
        reader->frames[reader->depth - 1].height = height;
    note_anchor(reader, closed.anchor, &node, reader->nodes - closed.nodes_before, height);
    return push(reader, &node);
}

static cw_status unknown_alias(yaml_reader *reader, const char *name, cw_span span)
{
    reader->wrong = true;
    cw_diag *diag = cw_diags_add(reader->diags, CW_DIAG_ALIAS_UNKNOWN, span,
                                 "no anchor '&%s' stands before this alias", name);
    cw_nearest nearest = cw_nearest_start(name);
    uint32_t count = reader->names == NULL ? 0 : cw_names_count(reader->names);
    for (uint32_t i = 1; i <= count; i++)
        cw_nearest_try(&nearest, cw_names_text(reader->names, i));
    if (nearest.best != NULL)
        cw_diag_help(reader->diags, diag, "did you mean '*%s'?", nearest.best);
    else
        cw_diag_help(reader->diags, diag, "a text that begins with '*' must stand in quotes");
    return CW_OK;
}

static cw_status read_alias(yaml_reader *reader, const yaml_event_t *event)
{
    const char *name = (const char *)event->data.alias.anchor;
    cw_span span = span_of(reader, &event->start_mark, &event->end_mark);
    reader->last_end = span.end;
    uint32_t number = reader->names == NULL ? 0 : cw_names_find(reader->names, name, strlen(name));
    const anchor *to = number == 0 ? NULL : CW_VEC_AT(&reader->anchors, anchor, number);
    reader->written++;
    if (to == NULL || !to->closed) {
        if (to == NULL)
            unknown_alias(reader, name, span);
        else
            complain(reader, CW_DIAG_ALIAS_BOMB, span,
                     "this alias stands inside what it repeats, so it would never end");
        const char *text = cw_arena_text(reader->arena, reader->text + span.start, span.end - span.start);
        if (text == NULL)
            return CW_NO_MEMORY;
        const cw_node as_written = scalar_node(span, text, span.end - span.start, true);
        return push(reader, &as_written);
    }
    if (to->nodes > reader->worst_nodes) {
        reader->worst_nodes = to->nodes;
        reader->worst_alias = span;
    }
    if (reader->depth + to->height > CW_YAML_MAX_DEPTH)
        return too_deep(reader, span);
    if (reader->depth > 0 && reader->frames[reader->depth - 1].height < to->height)
        reader->frames[reader->depth - 1].height = to->height;
    cw_status status = count_nodes(reader, to->nodes, span);
    return status == CW_OK ? push(reader, &to->node) : status;
}

static cw_status start_document(yaml_reader *reader, const yaml_event_t *event)
{
    if (reader->documents++ == 0)
        return CW_OK;
    uint32_t start = byte_of(reader, &event->start_mark);
    cw_diag *diag = complain(reader, CW_DIAG_SEVERAL_DOCUMENTS, (cw_span){reader->source, start, start + 3},
                             "a second document begins here; a file holds one");
    cw_diag_help(reader->diags, diag, "leave '---' out, or divide the file");
    return CW_BAD_INPUT;
}

static cw_status take_event(yaml_reader *reader, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        return start_document(reader, event);
    case YAML_SCALAR_EVENT:
        return read_scalar(reader, event);
    case YAML_ALIAS_EVENT:
        return read_alias(reader, event);
    case YAML_MAPPING_START_EVENT:
        return open_frame(reader, event, true);
    case YAML_SEQUENCE_START_EVENT:
        return open_frame(reader, event, false);
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        return close_frame(reader, event);
    default:
        return CW_OK;
    }
}

static cw_status run(yaml_reader *reader)
{
    for (;;) {
        yaml_event_t event;
        if (!yaml_parser_parse(&reader->parser, &event))
            return syntax_error(reader);
        bool last = event.type == YAML_STREAM_END_EVENT;
        cw_status status = take_event(reader, &event);
        yaml_event_delete(&event);
        if (status != CW_OK || last)
            return status;
    }
}

/* After the last event: too much blown up? nothing in it? */
static cw_status judge(yaml_reader *reader)
{
    if (reader->nodes > reader->written * MOST_BLOWN_UP) {
        complain(reader, CW_DIAG_ALIAS_BOMB, reader->worst_alias,
                 "aliases make the file more than 10 times as large as it is written");
        _Static_assert(MOST_BLOWN_UP == 10, "the message names the limit");
        return CW_BAD_INPUT;
    }
    const cw_node *root = reader->root;
    if (root == NULL || (root->kind == CW_NODE_SCALAR && root->size == 0 && !root->quoted)) {
        reader->root = NULL;
        cw_diags_add(reader->diags, CW_DIAG_EMPTY_FILE, (cw_span){reader->source, 0, 0},
                     "this file holds nothing");
    }
    return CW_OK;
}

static cw_status read_text(yaml_reader *reader)
{
    if (!check_bytes(reader))
        return CW_BAD_INPUT;
    if (!yaml_parser_initialize(&reader->parser))
        return CW_NO_MEMORY;
    size_t mark = reader->size >= 3 && memcmp(reader->text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    reader->at_byte = mark;
    yaml_parser_set_encoding(&reader->parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&reader->parser, (const unsigned char *)reader->text + mark,
                                 reader->size - mark);
    cw_status status = run(reader);
    if (status == CW_OK)
        status = judge(reader);
    yaml_parser_delete(&reader->parser);
    return status;
}

cw_status cw_yaml_read(cw_arena *arena, const cw_sources *sources, uint32_t source, cw_diags *diags,
                       const cw_node **root)
{
    *root = NULL;
    yaml_reader reader = {.arena = arena, .diags = diags, .source = source};
    reader.text = cw_source_text(sources, source, &reader.size);
    if (reader.size > CW_YAML_MAX_SIZE) {
        cw_diags_add(diags, CW_DIAG_FILE_TOO_LARGE, (cw_span){source, 0, 0},
                     "the file is larger than 64 MiB");
        return CW_BAD_INPUT;
    }
    reader.pending = CW_VEC_INIT(cw_arena_allocator(arena), cw_node);
    reader.anchors = CW_VEC_INIT(cw_arena_allocator(arena), anchor);
    duplicates_init(&reader.keys, cw_arena_allocator(arena));
    cw_status status = read_text(&reader);
    cw_vec_dispose(&reader.pending);
    cw_vec_dispose(&reader.anchors);
    duplicates_dispose(&reader.keys);
    if (cw_diags_lost(diags))
        return CW_NO_MEMORY;
    if (status != CW_OK)
        return status;
    *root = reader.root;
    return reader.wrong ? CW_BAD_INPUT : CW_OK;
}

const cw_node *cw_node_get(const cw_node *map, const char *key)
{
    if (map == NULL || map->kind != CW_NODE_MAP)
        return NULL;
    size_t size = strlen(key);
    for (size_t i = 0; i < map->size; i++) {
        const cw_node *at = cw_node_key(map, i);
        if (at->size == size && memcmp(at->text, key, size) == 0)
            return cw_node_item(map, i);
    }
    return NULL;
}
