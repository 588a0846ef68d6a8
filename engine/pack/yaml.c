/* libyaml's events, each with the bytes that it stands for, to a tree. */
#include "pack/yaml.h"
#include "pack/yaml_inside.h"

#include <string.h>
#include <yaml.h>

typedef struct yaml_reader {
    yaml_text text;
    bool ascii;               /* code points are bytes */
    size_t skipped;           /* a mark of UTF-8 before the text */
    size_t at_index, at_byte; /* libyaml counts code points: here both are known to belong together */
    yaml_parser_t parser;
    unsigned documents;
    yaml_tree tree;
} yaml_reader;

/* The byte that libyaml's mark stands on. Marks mostly move forward and never far back. */
static uint32_t byte_of(yaml_reader *reader, const yaml_mark_t *mark)
{
    if (reader->ascii)
        return (uint32_t)(mark->index < reader->text.size ? mark->index : reader->text.size);
    while (reader->at_index < mark->index && reader->at_byte < reader->text.size) {
        do {
            reader->at_byte++;
        } while (reader->at_byte < reader->text.size &&
                 ((unsigned char)reader->text.bytes[reader->at_byte] & 0xc0) == 0x80);
        reader->at_index++;
    }
    while (reader->at_index > mark->index && reader->at_byte > 0) {
        do {
            reader->at_byte--;
        } while (reader->at_byte > 0 && ((unsigned char)reader->text.bytes[reader->at_byte] & 0xc0) == 0x80);
        reader->at_index--;
    }
    return (uint32_t)reader->at_byte;
}

static cw_span span_of(yaml_reader *reader, const yaml_mark_t *start, const yaml_mark_t *end)
{
    uint32_t from = byte_of(reader, start);
    return (cw_span){reader->text.source, from, byte_of(reader, end)};
}

static cw_status syntax_error(yaml_reader *reader)
{
    const yaml_parser_t *parser = &reader->parser;
    if (parser->error == YAML_MEMORY_ERROR)
        return CW_NO_MEMORY;
    yaml_problem found = {parser->problem, parser->context, byte_of(reader, &parser->problem_mark),
                          byte_of(reader, &parser->context_mark)};
    if (parser->error == YAML_READER_ERROR)
        found.at = (uint32_t)(parser->problem_offset + reader->skipped);
    yaml_tell_problem(&reader->text, &found);
    return CW_BAD_INPUT;
}

static cw_status start_document(yaml_reader *reader, const yaml_event_t *event)
{
    if (reader->documents++ == 0)
        return CW_OK;
    const yaml_text *text = &reader->text;
    uint32_t start = byte_of(reader, &event->start_mark);
    cw_diag *diag =
        cw_diags_add(text->diags, CW_DIAG_SEVERAL_DOCUMENTS, (cw_span){text->source, start, start + 3},
                     "a second document begins here; a file holds one");
    cw_diag_help(text->diags, diag, "leave '---' out, or divide the file");
    return CW_BAD_INPUT;
}

static tree_piece piece_of(yaml_reader *reader, const yaml_event_t *event, const yaml_char_t *anchor,
                           const yaml_char_t *tag)
{
    return (tree_piece){span_of(reader, &event->start_mark, &event->end_mark), (const char *)anchor,
                        tag != NULL};
}

static cw_status take_scalar(yaml_reader *reader, const yaml_event_t *event)
{
    const tree_piece piece = piece_of(reader, event, event->data.scalar.anchor, event->data.scalar.tag);
    const yaml_scalar_style_t style = event->data.scalar.style;
    return tree_scalar(&reader->tree, &piece, (const char *)event->data.scalar.value,
                       event->data.scalar.length,
                       style == YAML_PLAIN_SCALAR_STYLE           ? TREE_PLAIN
                       : style == YAML_DOUBLE_QUOTED_SCALAR_STYLE ? TREE_ESCAPED
                                                                  : TREE_QUOTED);
}

static cw_status take_start(yaml_reader *reader, const yaml_event_t *event, bool map)
{
    const tree_piece piece =
        map ? piece_of(reader, event, event->data.mapping_start.anchor, event->data.mapping_start.tag)
            : piece_of(reader, event, event->data.sequence_start.anchor, event->data.sequence_start.tag);
    return tree_open(&reader->tree, &piece, map);
}

static cw_status take_end(yaml_reader *reader, const yaml_event_t *event)
{
    const bool seen = event->end_mark.index > event->start_mark.index;
    return tree_close(&reader->tree, seen ? byte_of(reader, &event->end_mark) : 0);
}

static cw_status take_alias(yaml_reader *reader, const yaml_event_t *event)
{
    return tree_alias(&reader->tree, span_of(reader, &event->start_mark, &event->end_mark),
                      (const char *)event->data.alias.anchor);
}

static cw_status take_event(yaml_reader *reader, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        return start_document(reader, event);
    case YAML_SCALAR_EVENT:
        return take_scalar(reader, event);
    case YAML_ALIAS_EVENT:
        return take_alias(reader, event);
    case YAML_MAPPING_START_EVENT:
        return take_start(reader, event, true);
    case YAML_SEQUENCE_START_EVENT:
        return take_start(reader, event, false);
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        return take_end(reader, event);
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

static cw_status read_text(yaml_reader *reader)
{
    const yaml_text *text = &reader->text;
    if (!yaml_bytes_fit(text))
        return CW_BAD_INPUT;
    if (!yaml_parser_initialize(&reader->parser))
        return CW_NO_MEMORY;
    const bool marked = text->size >= 3 && memcmp(text->bytes, "\xef\xbb\xbf", 3) == 0;
    reader->ascii = yaml_is_ascii(text);
    reader->at_byte = reader->skipped = marked ? 3 : 0;
    yaml_parser_set_encoding(&reader->parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&reader->parser, (const unsigned char *)text->bytes + reader->skipped,
                                 text->size - reader->skipped);
    cw_status status = run(reader);
    if (status == CW_OK)
        status = tree_finish(&reader->tree);
    yaml_parser_delete(&reader->parser);
    return status;
}

cw_status cw_yaml_read(cw_arena *arena, const cw_sources *sources, uint32_t source, cw_diags *diags,
                       const cw_node **root)
{
    *root = NULL;
    yaml_reader reader = {.text = {.diags = diags, .source = source}};
    reader.text.bytes = cw_source_text(sources, source, &reader.text.size);
    if (reader.text.size > CW_YAML_MAX_SIZE) {
        cw_diags_add(diags, CW_DIAG_FILE_TOO_LARGE, (cw_span){source, 0, 0},
                     "the file is larger than 64 MiB");
        return CW_BAD_INPUT;
    }
    tree_start(&reader.tree, &reader.text, arena);
    cw_status status = read_text(&reader);
    tree_dispose(&reader.tree);
    if (cw_diags_lost(diags))
        return CW_NO_MEMORY;
    if (status != CW_OK)
        return status;
    *root = reader.tree.root;
    return reader.tree.wrong ? CW_BAD_INPUT : CW_OK;
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
