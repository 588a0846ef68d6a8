/* Random little worlds for the chain's tests: facts, atoms and rules as plain lists, a model built from them
 * in any order of rules, and a slow obvious reference: three-valued, group after group, every rule again and
 * again until nothing changes. The reference shares nothing with the engine but the model's structs for
 * intervals. */
#ifndef CW_TESTS_CHAIN_WORLD_H
#define CW_TESTS_CHAIN_WORLD_H

#include "chain/chain.h"
#include "model/build.h"
#include "support/random.h"

enum {
    MAX_FACTS = 12,
    MAX_VALUES = 4,
    MAX_ATOMS = 80,
    MAX_RULES = 60,
    MAX_PREMISES = 5,
    MAX_INPUTS = 2,
    MAX_SOURCES = 61
};

typedef enum world_formula { ADD, SUBTRACT, TWICE, LARGER, DIVIDE } world_formula;

typedef struct world_fact {
    char name[16];
    cw_kind kind;
    uint32_t values; /* finite kinds; value v of a count is the number v + 1 */
    bool check;
    uint32_t group;
} world_fact;

typedef struct world_atom {
    cw_atom_kind kind;
    uint32_t fact;  /* index; unused for steps */
    uint32_t value; /* value, or pattern */
    cw_interval band;
    uint32_t group;
} world_atom;

typedef struct world_premise {
    uint32_t atom;
    bool absent;
} world_premise;

typedef struct world_rule {
    bool measures; /* head is a fact, else an atom */
    uint32_t head;
    world_formula formula;
    uint32_t inputs[MAX_INPUTS]; /* facts */
    world_premise premises[MAX_PREMISES];
    uint32_t count, need;
    uint32_t group;
} world_rule;

typedef struct world {
    world_fact facts[MAX_FACTS];
    world_atom atoms[MAX_ATOMS];
    world_rule rules[MAX_RULES];
    uint32_t fact_count, atom_count, rule_count, groups;
} world;

/* What stamps say; the patterns of world.c are read off against them in reference.c. */
extern const char *const world_texts[6];

/* Answers by fact index; fact 0 in an answer means none, else index + 1. */
typedef struct world_answers {
    cw_answer of[MAX_FACTS];
} world_answers;

/* Small worlds with everything in them: absence, at least N, loops, bands with errors, formulas, texts. */
world world_random(random_state *random);
cw_answer world_random_answer(const world *world, random_state *random); /* fact 0: nothing can be answered */

typedef struct world_model {
    cw_model *model;
    cw_fact_id facts[MAX_FACTS];
    cw_atom_id atoms[MAX_ATOMS];
} world_model;

/* order: the rules in the order in which the builder gets them. A rule's origin is its index + 1. */
world_model world_build(const world *world, const uint32_t *order, const cw_allocator *allocator);
cw_answer world_answer_for(const world_model *built, const cw_answer *answer);

typedef struct world_source {
    uint32_t rule; /* index + 1; 0 = the answer */
    double number, error, distance;
} world_source;

/* What must be so. A distance is rules away from the answers, 1e6 more when doubtful, INFINITY when not so.
 */
typedef struct world_truth {
    cw_truth atoms[MAX_ATOMS];
    double distance[MAX_ATOMS];
    double rules[MAX_RULES];
    cw_known known[MAX_FACTS];
    uint32_t value[MAX_FACTS];
    double number[MAX_FACTS], error[MAX_FACTS];
    world_source sources[MAX_FACTS][MAX_SOURCES];
    uint32_t source_count[MAX_FACTS];
    bool contested[MAX_FACTS];
} world_truth;

void world_reference(const world *world, const world_answers *answers, world_truth *out);

#endif
