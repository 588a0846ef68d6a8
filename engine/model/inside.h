/* What the files of this room share: the builder's growing arrays, the index of names, and the graph that
 * layers are worked out on. Nobody outside model/ includes this. */
#ifndef CW_MODEL_INSIDE_H
#define CW_MODEL_INSIDE_H

#include "base/atom.h"
#include "base/vec.h"
#include "model/build.h"

/* Names to ids: one table of names for all kinds, one array of ids per kind beside it (indexed by the name's
 * number). */
typedef struct cw_model_index {
    const cw_names *names;
    const uint32_t *facts, *checks, *units, *causes;
    uint32_t names_count;
    const uint32_t *value_atoms; /* beside model->values */
} cw_model_index;

typedef struct sign_chances {
    const double *chances;
    uint32_t count;
} sign_chances;

struct cw_builder {
    cw_allocator allocator;
    cw_arena *arena;  /* becomes the model's */
    bool failed;      /* memory; sticks */
    bool spent;       /* finished: arena and patterns belong to the model */
    cw_arena *tables; /* of names; they outgrow themselves many times, and only the last is kept */
    cw_names *names;
    /* ids by name number */
    cw_vec fact_of, check_of, unit_of, cause_of;
    /* by id, entry 0 unused */
    cw_vec facts, atoms, rules, origins, checks, cautions, parts, units, causes, hints, patterns,
        assembly_steps, headings, data;
    /* runs point into these */
    cw_vec values, value_atoms, premises, tools, signs, links, shifts, suggestions, words, caution_lists,
        part_lists, pattern_lists, cause_lists, heading_facts, unit_data;
    cw_vec packs;
    /* BAND, LIKE and KNOWN atoms by what they say: linear probing over atom ids, a power of two large. */
    uint32_t *table;
    size_t table_size, table_used;
    const char *last_text; /* of builder_text_again */
    cw_vec chances;        /* sign_chances by fact: those of its last sign */
    cw_vec stamps;         /* two for each atom (present, absent): the last rule that has it as a premise */
    double not_listed;
    double no_fault; /* 0: not said */
    cw_costs costs;
};

/* Appends one zeroed item; NULL, and the failure sticks, when memory fails or has failed. */
void *builder_add(cw_builder *builder, cw_vec *vec);
/* The id of the item that was added last. */
uint32_t builder_last(const cw_vec *vec);
/* Copies a text, NULL stays NULL. */
const char *builder_text(cw_builder *builder, const char *text);
/* The same for what one sign after the other says, as its source: kept once where it is that of the last. */
const char *builder_text_again(cw_builder *builder, const char *text);
/* Remembers the id under the name. */
void builder_name(cw_builder *builder, cw_vec *ids, const char *name, uint32_t id);
/* Appends numbers as one run. */
cw_run builder_run(cw_builder *builder, cw_vec *vec, const uint32_t *numbers, uint32_t count);
cw_atom_id builder_datum_atom(cw_builder *builder, cw_fact_id which_unit, uint32_t datum);
cw_run builder_signs(cw_builder *builder, const cw_sign_spec *signs, uint32_t count);

/* Edges point from what depends to what it depends on. A strict edge asks for a higher layer. */
#define GRAPH_STRICT 0x80000000u
typedef struct layer_graph {
    uint32_t count;  /* nodes 0 .. count - 1 */
    uint32_t *first; /* count + 1: edges of node i are to[first[i]] .. to[first[i + 1] - 1] */
    uint32_t *to;    /* node, with GRAPH_STRICT or without */
    uint32_t *layer;
    uint32_t *component;
} layer_graph;

/* Called twice with the same edges in the same order: to count them, then to note them. */
typedef struct graph_edges {
    layer_graph *graph;
    uint32_t *fill; /* NULL while counting */
} graph_edges;
void graph_edge(graph_edges *edges, uint32_t from, uint32_t to, bool strict);
typedef void (*graph_list)(const cw_builder *builder, graph_edges *edges);

/* Lives in the arena. False when memory fails. */
bool graph_make(layer_graph *graph, uint32_t count, graph_list list, const cw_builder *builder,
                cw_arena *arena);
/* Fills component (dependencies have smaller numbers; Tarjan 1972) and layer. False when memory fails. */
bool graph_layers(layer_graph *graph, cw_arena *arena);
/* For each component with a strict edge inside, the shortest circle through the first such edge: next[node]
 * is the node after it on the circle, GRAPH_OFF elsewhere; start lies on it. False from the visitor, or when
 * memory fails, ends it. */
#define GRAPH_OFF UINT32_MAX
typedef bool (*graph_visit)(void *context, const uint32_t *next, uint32_t start);
bool graph_circles(const layer_graph *graph, cw_arena *arena, graph_visit visit, void *context);

/* Fills the layers of atoms and rules; CW_BAD_INPUT with circles. */
cw_status builder_rule_layers(cw_builder *builder, cw_arena *scratch, cw_circle *circle);
/* Fills the ranks of causes; CW_BAD_INPUT with circles, added behind those of rules. */
cw_status builder_cause_ranks(cw_builder *builder, cw_arena *scratch, cw_circle *circle);
/* Copies everything into the arena; NULL when memory fails. */
cw_model *builder_lay_out(cw_builder *builder, cw_arena *scratch);

#endif
