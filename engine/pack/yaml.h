/* YAML text to a tree of placed nodes. Knows nothing of packs; case files use it too. The only file that
 * knows libyaml. Aliases are followed (with a limit on the blow-up), tags refused, duplicate keys reported,
 * depth counted on the events. */
#ifndef CW_PACK_YAML_H
#define CW_PACK_YAML_H

#include "base/arena.h"
#include "base/diag.h"

typedef enum cw_node_kind { CW_NODE_SCALAR, CW_NODE_LIST, CW_NODE_MAP } cw_node_kind;

typedef struct cw_node cw_node;
struct cw_node {
    cw_span span;           /* of a map or list: from its first to its last byte */
    cw_node_kind kind : 16; /* narrow, that a node is 48 bytes: a pack has tens of thousands */
    bool quoted;
    const char *text;      /* scalar, terminated; no NUL inside */
    size_t size;           /* bytes of a scalar; entries of a map or list */
    const cw_node **items; /* list: entries; map: values */
    const cw_node **keys;  /* map: scalar keys, in the order of the file */
};

#define CW_YAML_MAX_SIZE (64u << 20)
#define CW_YAML_MAX_DEPTH 32
#define CW_YAML_MAX_NODES 8000000u

/* Nodes live in the arena. CW_BAD_INPUT with diagnostics; *root is then NULL, or what could be read. An empty
 * file gives CW_OK, a warning and NULL. */
cw_status cw_yaml_read(cw_arena *arena, const cw_sources *sources, uint32_t source, cw_diags *diags,
                       const cw_node **root);
/* The value of a key, NULL if there is none or the node is no map. */
const cw_node *cw_node_get(const cw_node *map, const char *key);

#endif
