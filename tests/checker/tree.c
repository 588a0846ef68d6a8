#include "checker/inside.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <yaml.h>

void ck_die(const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    fputs("checker: ", stderr);
    vfprintf(stderr, format, arguments);
    fputc('\n', stderr);
    va_end(arguments);
    exit(1);
}

void *ck_grow(void *items, size_t count, size_t size)
{
    /* A power of two is full: double. */
    if ((count & (count - 1)) != 0)
        return items;
    void *larger = realloc(items, (count == 0 ? 1 : 2 * count) * size);
    if (larger == NULL)
        ck_die("no memory");
    return larger;
}

char *ck_copy_text(const char *text, size_t size)
{
    char *copy = malloc(size + 1);
    if (copy == NULL)
        ck_die("no memory");
    memcpy(copy, text, size);
    copy[size] = '\0';
    return copy;
}

static tree *convert(yaml_document_t *document, yaml_node_t *from)
{
    tree *node = calloc(1, sizeof *node);
    if (node == NULL)
        ck_die("no memory");
    if (from->type == YAML_SCALAR_NODE) {
        node->kind = TREE_WORD;
        node->text = ck_copy_text((const char *)from->data.scalar.value, from->data.scalar.length);
        node->quoted = from->data.scalar.style != YAML_PLAIN_SCALAR_STYLE;
    } else if (from->type == YAML_SEQUENCE_NODE) {
        node->kind = TREE_LIST;
        for (yaml_node_item_t *i = from->data.sequence.items.start; i < from->data.sequence.items.top; i++) {
            node->items = ck_grow(node->items, node->count, sizeof *node->items);
            node->items[node->count++] = convert(document, yaml_document_get_node(document, *i));
        }
    } else {
        node->kind = TREE_MAP;
        for (yaml_node_pair_t *i = from->data.mapping.pairs.start; i < from->data.mapping.pairs.top; i++) {
            node->keys = ck_grow(node->keys, node->count, sizeof *node->keys);
            node->items = ck_grow(node->items, node->count, sizeof *node->items);
            node->keys[node->count] = convert(document, yaml_document_get_node(document, i->key));
            node->items[node->count++] = convert(document, yaml_document_get_node(document, i->value));
        }
    }
    return node;
}

tree *ck_tree_read(const char *text, size_t size, const char *name)
{
    yaml_parser_t parser;
    yaml_document_t document;
    if (!yaml_parser_initialize(&parser))
        ck_die("no memory");
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, size);
    if (!yaml_parser_load(&parser, &document))
        ck_die("%s: %s in line %zu", name, parser.problem, parser.problem_mark.line + 1);
    yaml_node_t *root = yaml_document_get_root_node(&document);
    tree *out = root == NULL ? NULL : convert(&document, root);
    yaml_document_delete(&document);
    yaml_parser_delete(&parser);
    return out;
}

void ck_tree_free(tree *node)
{
    if (node == NULL)
        return;
    for (size_t i = 0; i < node->count; i++) {
        if (node->keys != NULL)
            ck_tree_free(node->keys[i]);
        ck_tree_free(node->items[i]);
    }
    free(node->keys);
    free(node->items);
    free((char *)node->text);
    free(node);
}

const tree *ck_tree_get(const tree *map, const char *key)
{
    if (map == NULL || map->kind != TREE_MAP)
        return NULL;
    for (size_t i = 0; i < map->count; i++)
        if (strcmp(map->keys[i]->text, key) == 0)
            return map->items[i];
    return NULL;
}

const char *ck_tree_word(const tree *map, const char *key)
{
    const tree *node = ck_tree_get(map, key);
    return node == NULL || node->kind != TREE_WORD ? NULL : node->text;
}
