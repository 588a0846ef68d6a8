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
#define NEVER UINT32_MAX

/* What waits in the queue: atoms by their ids, then facts to be settled, then formulas to be worked out. 0 =
 * none. */
typedef uint32_t chain_node;

/* Run i is items[start[i]] .. items[start[i + 1] - 1]. */
typedef struct chain_list {
    uint32_t *start, *items;
} chain_list;

/* Where a change has to be told; the same for all chains over a model. Formulas are numbered from 0. */
typedef struct chain_index {
    chain_list uses;         /* of an atom: rule << 1 | absent, one entry for each premise */
    chain_list sources;      /* of a fact: formulas that work it out */
    chain_list readers;      /* of a fact: formulas that read it */
    cw_rule_id *rule_of;     /* of a formula; ascending */
    uint32_t *fact_layer;    /* the layer in which the fact is complete */
    cw_atom_id *known_atom;  /* of a fact */
    cw_check_id *text_check; /* checks that take a text */
    uint32_t formulas, texts;
    uint32_t widest; /* most premises or inputs of a rule, or atoms of a fact */
} chain_index;

/* How far a rule has come: `less` premises have a rank below reach, `equal` have just that rank, so that
 * less < need <= less + equal. */
typedef struct chain_rule {
    uint32_t reach, less, equal;
} chain_rule;

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

struct cw_chain {
    const cw_model *model;
    cw_allocator allocator;
    chain_index index;
    chain_scratch *scratch;

    /* The state; one block, so that copying it copies the chain. */
    cw_answer *answers;     /* of checks; fact 0 = not answered */
    chain_formula *formula; /* by formula */
    double *read;           /* by formula: what it reads of its text, NAN for nothing */
    uint32_t *rank;         /* of atoms */
    uint32_t *support;      /* of atoms: the smallest rank of their supports; a lower bound while stale */
    chain_rule *rule;
    uint32_t *pick; /* of facts: the value, or the formula that gives the number (NEVER: the answer does) */
    cw_fact_id *conflicts; /* ascending */
    char *texts;           /* CW_ANSWER_MAX_TEXT + 1 for each check that takes one */
    unsigned char *seed;   /* of atoms: truth by the answer alone */
    unsigned char *stale;  /* of atoms */
    unsigned char *known;  /* of facts: cw_known */
    uint32_t conflicts_count;
    uint64_t steps, version;

    /* The queue, a binary heap, empty between calls: keys are layer, then rank. */
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

/* queue.c */
void chain_queue_put(cw_chain *chain, chain_node node, uint32_t layer, uint32_t rank);
void chain_queue_remove(cw_chain *chain, chain_node node);
chain_node chain_queue_take(cw_chain *chain, uint32_t *rank); /* 0 when empty */

/* fire.c */
void chain_start(cw_chain *chain); /* everything as it is before any answer */
void chain_support_changed(cw_chain *chain, cw_atom_id atom, uint32_t before, uint32_t after);
void chain_settle_later(cw_chain *chain, cw_fact_id fact);
void chain_run(cw_chain *chain);

/* reach.c */
void chain_reach_find(cw_chain *chain, cw_rule_id id);
/* True when the reach is another afterwards. */
bool chain_reach_update(cw_chain *chain, cw_rule_id id, uint32_t before, uint32_t after);
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
