/* The proof of what was concluded: the rules on the way up from the answers, in an order in which each rests
 * on earlier ones: a foreman's reading. The ways followed are first reasons, so all of it ends at answers.
 * Works on what the chain says alone; how a step is worded is the caller's.
 *
 * Of a rule that asks for fewer than all its premises, every premise that holds is named, except where that
 * would close a circle: of premises that rest on the conclusion in turn, only those nearer to the answers
 * than it. Inner steps of nested conditions are dissolved into what they ask of facts. */
#ifndef CW_EXPLAIN_TRAIL_H
#define CW_EXPLAIN_TRAIL_H

#include "chain/chain.h"

/* One thing that a step rests on. */
typedef struct cw_support {
    cw_atom_id atom; /* what was asked of a fact; 0 when a formula read its number */
    cw_fact_id fact; /* of the atom, or the number read; 0 for an inner step or a caution */
    bool absent;     /* that it could not be concluded was used; what is told of it is not followed */
} cw_support;

typedef struct cw_trail_step {
    cw_atom_id atom;    /* what was concluded; 0 for a number */
    cw_fact_id measure; /* the measured fact worked out; 0 for an atom */
    cw_rule_id rule;
    cw_truth truth;         /* yes or doubtful */
    const cw_support *from; /* in the order of the rule's premises, a formula's inputs behind them */
    size_t from_count;
} cw_trail_step;

typedef struct cw_trail {
    const cw_trail_step *steps; /* each after those it rests on; each thing once */
    size_t count;
    const cw_fact_id *answers; /* answers they rest on, each once, in order of use */
    size_t answer_count;
} cw_trail;

/* The trail of all these at once: value atoms or raised cautions, and facts, each with all its values. What
 * is not known adds nothing; what was answered adds its answer. The lists live in the arena, which lends the
 * room to work in as well, given back at the end, by its allocator. CW_BAD_CALL for any other atom or fact;
 * CW_NO_MEMORY. */
cw_status cw_trail_walk(const cw_chain *chain, cw_arena *arena, const cw_atom_id *atoms, size_t atom_count,
                        const cw_fact_id *facts, size_t fact_count, cw_trail *out);
/* Of everything that is known of facts, in their order. */
cw_status cw_trail_all(const cw_chain *chain, cw_arena *arena, cw_trail *out);

#endif
