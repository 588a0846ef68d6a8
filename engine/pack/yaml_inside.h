/* What the files behind yaml.h share: the bytes of a text looked at first (bytes.c), libyaml's events
 * (yaml.c), what its errors are said as (syntax.c), and the tree of nodes that the events come to (tree.c).
 */
#ifndef CW_PACK_YAML_INSIDE_H
#define CW_PACK_YAML_INSIDE_H

#include "base/atom.h"
#include "base/vec.h"
#include "pack/duplicates.h"

/* The text that is read, and where what is said of it goes. */
typedef struct yaml_text {
    cw_diags *diags;
    uint32_t source;
    const char *bytes;
    size_t size;
} yaml_text;

/* --- bytes.c --- */
/* False, and said: bytes that no text file holds, which libyaml would tell no place of. */
bool yaml_bytes_fit(const yaml_text *text);
/* The first control character that no text holds; `size` if there is none. */
size_t yaml_find_odd(const char *text, size_t size);
/* All code points are bytes. */
bool yaml_is_ascii(const yaml_text *text);

/* --- syntax.c --- */
/* What libyaml stopped at, in its own words (NULL: none), and where it began what it could not finish. Bytes.
 */
typedef struct yaml_problem {
    const char *problem, *context;
    uint32_t at, context_at;
} yaml_problem;
/* --- yaml_meant.c --- */
/* What was meant, seen from the bytes around, puts better words where there are some. problem: not NULL.
 * *opens: where quotes open that close only lines further on; else it is left as it is. */
void yaml_meant(const yaml_text *text, uint32_t at, const char *problem, const char **message,
                const char **help, uint32_t *opens);
/* How the control character is written in double quotes: "\b". */
const char *yaml_escape(char byte);

void yaml_tell_problem(const yaml_text *text, const yaml_problem *found);

/* --- tree.c --- */
typedef struct tree_frame { /* an open map or list */
    bool map;
    size_t first; /* of its entries in `pending` */
    uint32_t start;
    uint32_t anchor;       /* name number, 0 = none */
    uint64_t nodes_before; /* counted before this one */
    uint32_t height;       /* of the highest entry so far */
} tree_frame;

/* Built without recursion: open maps and lists wait in `frames`, their finished entries on one stack,
 * `pending`, from frame.first on. */
typedef struct yaml_tree {
    const yaml_text *text;
    cw_arena *arena;
    tree_frame frames[CW_YAML_MAX_DEPTH];
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
    bool wrong; /* an error that does not end the file */
} yaml_tree;

/* What is read, with its anchor (NULL: none), and whether it bears a tag. */
typedef struct tree_piece {
    cw_span span;
    const char *anchor;
    bool tagged;
} tree_piece;

typedef enum tree_style { TREE_PLAIN, TREE_QUOTED, TREE_ESCAPED /* in double quotes */ } tree_style;

void tree_start(yaml_tree *tree, const yaml_text *text, cw_arena *arena);
void tree_dispose(yaml_tree *tree);
/* In the order in which things stand. CW_BAD_INPUT where the rest of the file cannot be read; CW_NO_MEMORY.
 */
cw_status tree_scalar(yaml_tree *tree, const tree_piece *piece, const char *text, size_t size,
                      tree_style style);
cw_status tree_open(yaml_tree *tree, const tree_piece *piece, bool map);
/* end: where it is closed; 0 = by nothing that could be seen. */
cw_status tree_close(yaml_tree *tree, uint32_t end);
cw_status tree_alias(yaml_tree *tree, cw_span span, const char *name);
/* After the last one: too much blown up? nothing in it? */
cw_status tree_finish(yaml_tree *tree);

#endif
