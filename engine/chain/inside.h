/* The inside of a chain, shared by the files of this room only.
 *
 * Every atom has a rank: how it is known and how far from the answers, in one number, the smaller the better.
 *
 *     0 1 2 ...          it holds; 0 by an answer, n + 1 by a rule whose needed premises are known by rank n
 *     MAYBE MAYBE+1 ...  doubtful; the distance counts from what is doubtful by itself
 *     NEVER              it does not hold
 *
 * A rule's reach is the `need`-th smallest rank of its premises, its own rank one more; an atom's rank is the
 * smallest of its supports (its answer, its rules). Ranks grow along every support, so these equations have
 * one solution, a loop that supports only itself is NEVER in it, and the order of answers has no say. After a
 * change the atoms whose rank no longer fits wait in a queue by layer and rank (Ramalingam & Reps 1996, the
 * dynamic grammar problem): one that became better takes its new rank; one that became worse falls to NEVER
 * first and comes back if other support is left. Only what changes, and the rules beside it, is touched. */
#ifndef CW_CHAIN_INSIDE_H
#define CW_CHAIN_INSIDE_H

#include "chain/chain.h"

#define MAYBE 0x40000000u
#define NEVER 0x7fffffffu
#define CHAIN_MOST 0x1fffffffu /* rules, atoms, facts: a rank and a use have room for so many */

/* What waits in the queue: atoms by their ids, then facts to be settled, then formulas to be worked out. 0 =
 * none. */
typedef uint32_t chain_node;

/* A premise, seen from its atom. */
typedef uint32_t chain_use;
#define CHAIN_ABSENT 1u
#define CHAIN_SOME 2u  /* the rule can do without some of its premises */
#define CHAIN_PLAIN 4u /* neither, and the rule's head is an atom of the same layer */
#define CHAIN_USE_BITS 3

static inline cw_rule_id chain_use_rule(chain_use use)
{
    return use >> CHAIN_USE_BITS;
}

/* Run i is items[start[i]] .. items[start[i + 1] - 1]. */
typedef struct chain_list {
    uint32_t *start, *items;
} chain_list;

/* Where a change has to be told; the same for all chains over a model. Formulas are numbered from 0. */
typedef struct chain_index {
    chain_list uses;     /* of an atom: chain_use, one entry for each premise */
    chain_list sources;  /* of a fact: formulas that work it out */
    chain_list readers;  /* of a fact: formulas that read it */
    cw_rule_id *rule_of; /* of a formula; ascending */
    uint32_t *all;       /* of a rule that needs all its premises: how many they are; else 0 */
    cw_atom_id *head;    /* of a rule; 0: it works out a measure */
    uint32_t *atom_layer;
    unsigned char *tells;   /* of an atom: somebody beside the rules that use it has to hear of it */
    uint32_t *fact_layer;   /* the layer in which the fact is complete */
    cw_atom_id *known_atom; /* of a fact */
    cw_atom_id
        *only_atom; /* of a fact: the one atom that says all there is to know of it, 0 = there is none */
    cw_check_id *text_check; /* checks that take a text */
    uint32_t formulas, texts;
    uint32_t widest; /* most premises or inputs of a rule, or atoms of a fact */
} chain_index;

/* An atom, with all that its turn touches. */
#define CHAIN_STALE 0x80000000u
typedef struct chain_atom {
    uint32_t rank;
    uint32_t support; /* the smallest rank of its supports; a lower bound, with the bit set, while stale */
} chain_atom;

/* How far a rule has come (reach.c). */
#define CHAIN_UNCOUNTED UINT32_MAX
typedef struct chain_come {
    uint32_t wants, rank, equal; /* equal: CHAIN_UNCOUNTED where it is not kept */
} chain_come;

/* The same in one number, where that has room for it and nothing is counted: nearly always. */
typedef uint32_t chain_brief;
#define CHAIN_BRIEF_BITS 6
#define CHAIN_LONG 63u /* in the place of `wants`: it is in `come` */
#define CHAIN_BRIEF_RANKS (1u << (32 - CHAIN_BRIEF_BITS))

typedef struct chain_formula {
    uint32_t inputs; /* the worst rank of its inputs; NEVER when it cannot be worked out */
    double number, error;
} chain_formula;

/* Room to work in; never part of what the chain knows, so questions to a const chain may use it. Trace nodes
 * are atoms, then facts (for their numbers). */
typedef struct chain_scratch {
    uint32_t *seen, *depth, *nodes;    /* per trace node */
    uint32_t *waiting, *nodes_tainted; /* per trace node: contest.c */
    uint32_t *ranks;                   /* `widest` */
    double *values, *errors;           /* `widest` */
    double *read;                      /* by formula: what is read of the text at hand, NAN for nothing */
    unsigned char *truths;             /* `widest` */
    unsigned char *taint;              /* per trace node */
    uint32_t round, tainted;
    uint64_t taint_version; /* version + 1 for which taint stands; 0 = none */
} chain_scratch;

/* Nodes in order of key, of which there are two at most: `key` before `turn`, key + 1 from there on. */
typedef struct chain_line {
    chain_node *nodes;
    uint32_t head, turn, tail, room;
    uint64_t key;
} chain_line;

struct cw_chain {
    const cw_model *model;
    cw_allocator allocator;
    chain_index index;
    chain_scratch *scratch;

    /* The state; one block, so that copying it copies the chain. */
    cw_answer *answers;     /* of checks; fact 0 = not answered */
    chain_formula *formula; /* by formula */
    double *read;           /* by formula: what it reads of its text, NAN for nothing */
    chain_atom *atom;
    chain_brief *brief; /* by rule */
    chain_come *come;   /* by rule */
    uint32_t *pick;     /* of facts: the value, or the formula that gives the number (NEVER: the answer does);
                           nothing where the fact has an only atom, nor in `known` */
    cw_fact_id *conflicts; /* ascending */
    char *texts;           /* CW_ANSWER_MAX_TEXT + 1 for each check that takes one */
    unsigned char *seed;   /* of atoms: truth by the answer alone */
    unsigned char *known;  /* of facts: cw_known */
    uint32_t conflicts_count;
    uint64_t steps, version;

    /* The queue (queue.c), empty between calls: keys are layer, then rank. Most that comes goes into a line;
     * a binary heap takes the rest. */
    chain_line front, settling;
    uint64_t *keys;
    chain_node *heap;
    uint32_t *place; /* of nodes: where in the heap, from 1; 0 = not there */
    uint32_t waiting;

    void *state_block, *fixed_block;
    size_t state_size, fixed_size;
};

static inline cw_truth chain_truth_of(uint32_t rank)
{
    return rank < MAYBE ? CW_YES : rank < NEVER ? CW_DOUBTFUL : CW_NO;
}

static inline uint32_t chain_rank_of(cw_truth truth)
{
    return truth == CW_YES ? 0 : truth == CW_DOUBTFUL ? MAYBE : NEVER;
}

/* The rank of a premise, given that of its atom: absence turns the scale round. */
static inline uint32_t chain_premise_rank(uint32_t rank, bool absent)
{
    return !absent ? rank : rank < MAYBE ? NEVER : rank < NEVER ? MAYBE : 0;
}

static inline bool chain_is_finite(const cw_fact *fact)
{
    return fact->kind != CW_MEASURE && fact->kind != CW_STAMPED && fact->kind != CW_WHICH_UNIT;
}

/* The node of a fact in the queue and in traces. */
static inline chain_node chain_fact_node(const cw_chain *chain, cw_fact_id fact)
{
    return chain->model->atoms_count + fact;
}

static inline chain_node chain_formula_node(const cw_chain *chain, uint32_t formula)
{
    return chain->model->atoms_count + chain->model->facts_count + 1 + formula;
}

/* index.c: sizes first, then the lists themselves. */
void chain_index_measure(const cw_model *model, chain_index *index, size_t *premises, size_t *inputs);
void chain_index_fill(const cw_model *model, chain_index *index);

/* queue.c: a node may be taken more often than it was put, and with too small a key. */
void chain_queue_put(cw_chain *chain, chain_node node, uint32_t layer, uint32_t rank);
void chain_queue_remove(cw_chain *chain, chain_node node);
void chain_queue_line_up(cw_chain *chain, chain_line *line, chain_node node, uint32_t layer, uint32_t rank);
chain_node chain_queue_take(cw_chain *chain, uint32_t *rank); /* 0 when empty */
/* True where the head of the front line comes before all else; its key is then the line's. */
bool chain_queue_front_first(cw_chain *chain);

/* The lowest key of the heap. */
static inline uint64_t chain_queue_first_key(const cw_chain *chain)
{
    return chain->waiting > 0 ? chain->keys[1] : UINT64_MAX;
}

/* fire.c */
void chain_start(cw_chain *chain); /* everything as it is before any answer */
void chain_support_changed(cw_chain *chain, cw_atom_id id, uint32_t before, uint32_t after);
void chain_settle_later(cw_chain *chain, cw_fact_id fact);
void chain_run(cw_chain *chain);

/* One use of the atom, whose rank was and is so; returns how many, for a rule that wants the atom both there
 * and absent changes twice at once, which the counts cannot follow. */
uint32_t chain_tell_rule(cw_chain *chain, const chain_use *uses, uint32_t count, uint32_t was, uint32_t is);
/* Tells those beside the rules that use the atom: `known` of its fact, and the fact. */
void chain_tell_fact(cw_chain *chain, cw_atom_id atom, uint32_t was, uint32_t is);
/* The atom's turn; `due` is the rank it waited with. */
void chain_turn(cw_chain *chain, cw_atom_id id, uint32_t due);

/* wave.c: takes what stands at the head of the front line with one key, as long as it comes first. */
void chain_wave(cw_chain *chain);

/* reach.c */
void chain_reach_find(cw_chain *chain, cw_rule_id id);
uint32_t chain_reach(const cw_chain *chain, cw_rule_id id); /* the `need`-th smallest rank of its premises */
/* How many premises of just that rank it rests on. */
uint32_t chain_reach_ties(const cw_chain *chain, cw_rule_id id);
typedef struct chain_reach_move {
    uint32_t before, after; /* reaches */
} chain_reach_move;
/* The atom of this use had the rank `was` and now, in chain->atom too, has the rank `is`. */
chain_reach_move chain_reach_update(cw_chain *chain, chain_use use, uint32_t was, uint32_t is);
/* The rank of a rule that has come so far. */
uint32_t chain_rank_beyond(const cw_chain *chain, cw_rule_id id, uint32_t reach);
uint32_t chain_rule_rank(const cw_chain *chain, cw_rule_id id);

/* bands.c */
uint32_t chain_band_rank(const cw_atom *atom, uint32_t rank, double number, double error);
/* The truth of each atom of the fact by this answer alone, or without an answer, into scratch->truths, and
 * the numbers that are read of it into scratch->read. */
cw_status chain_seeds_find(const cw_chain *chain, cw_fact_id fact, const cw_answer *answer);
void chain_seeds_clear(const cw_chain *chain, cw_fact_id fact);
void chain_seeds_take(cw_chain *chain, cw_fact_id fact);

/* measure.c */
uint32_t chain_formula_of(const cw_chain *chain, cw_rule_id rule);
uint32_t chain_source_rank(const cw_chain *chain, uint32_t formula);
void chain_source_changed(cw_chain *chain, uint32_t formula, uint32_t before, const chain_formula *was);
void chain_formula_work_out(cw_chain *chain, uint32_t formula);
cw_known chain_settle_number(const cw_chain *chain, cw_fact_id fact, uint32_t *pick);

/* conflict.c */
void chain_settle(cw_chain *chain, cw_fact_id fact);
cw_known chain_known(const cw_chain *chain, cw_fact_id fact);
uint32_t chain_pick(const cw_chain *chain, cw_fact_id fact); /* of a finite fact that is known */
bool chain_in_conflict(const cw_chain *chain, cw_fact_id fact);

/* chain.c */
char *chain_text_place(const cw_chain *chain, cw_check_id check);

/* answer.c */
const cw_answer *chain_given(const cw_chain *chain,
                             cw_fact_id fact); /* an answer with a value, NULL if none */

/* why.c: every support of an atom, or of a fact's number; rule 0 is the answer. Those that do not hold come
 * with NEVER. */
typedef void chain_visit(void *context, cw_rule_id rule, uint32_t rank);
void chain_supports(const cw_chain *chain, cw_atom_id id, chain_visit *visit, void *context);
void chain_number_supports(const cw_chain *chain, cw_fact_id fact, chain_visit *visit, void *context);
/* The support of the best rank: a rule, or 0 for the answer. */
cw_rule_id chain_first_reason(const cw_chain *chain, cw_atom_id atom);
cw_rule_id chain_first_source(const cw_chain *chain, cw_fact_id fact); /* of a measured fact that is known */

/* trace.c: where the value of a fact that is known stands: an atom, or the fact's node. */
chain_node chain_value_node(const cw_chain *chain, cw_fact_id fact);

#endif
