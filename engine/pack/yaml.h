/* YAML text to a tree of placed nodes. Knows nothing of packs; case files use it too. The only file that
 * knows libyaml. Aliases are followed (with a limit on the blow-up), tags refused, duplicate keys reported,
 * depth counted on the events. */
#ifndef CW_PACK_YAML_H
#define CW_PACK_YAML_H

#include "base/arena.h"
#include "base/diag.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum cw_node_kind { CW_NODE_SCALAR, CW_NODE_LIST, CW_NODE_MAP } cw_node_kind;

/* Narrow, 32 bytes: a pack has tens of thousands, a catalogue millions. */
typedef struct cw_node cw_node;
struct cw_node {
    cw_span span; /* of a map or list: from its first to its last byte */
    cw_node_kind kind : 2;
    bool quoted : 1;
    uint32_t size : 29; /* bytes of a scalar; entries of a map or list */
    const char *text;   /* scalar, terminated; no NUL inside */
    const cw_node
        *entries; /* list: one behind the other; map: key, value, key, value. For the functions below */
};

/* Entry i of a list, or value i of a map; i < size. Entries lie one behind the other: of a list, item 0 is
 * the first of an array. */
static inline const cw_node *cw_node_item(const cw_node *node, size_t i)
{
    return node->kind == CW_NODE_MAP ? &node->entries[2 * i + 1] : &node->entries[i];
}

/* Key i of a map, a scalar, in the order of the file; i < size. */
static inline const cw_node *cw_node_key(const cw_node *map, size_t i)
{
    return &map->entries[2 * i];
}

#define CW_YAML_MAX_SIZE (64u << 20)
#define CW_YAML_MAX_DEPTH 32
#define CW_YAML_MAX_NODES 8000000u
#define CW_NODE_SIZE_MASK ((1u << 29) - 1)
_Static_assert(CW_YAML_MAX_SIZE <= CW_NODE_SIZE_MASK && CW_YAML_MAX_NODES <= CW_NODE_SIZE_MASK,
               "sizes fit into a node");

/* Nodes live in the arena. CW_BAD_INPUT with diagnostics; *root is then NULL, or what could be read. An empty
 * file gives CW_OK, a warning and NULL. */
cw_status cw_yaml_read(cw_arena *arena, const cw_sources *sources, uint32_t source, cw_diags *diags,
                       const cw_node **root);
/* The value of a key, NULL if there is none or the node is no map. */
const cw_node *cw_node_get(const cw_node *map, const char *key);

#endif
