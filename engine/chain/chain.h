/* Facts and forward chaining over one model: the mutable half of a session.
 *
 * Truth is graded no < doubtful < yes (Kleene 1952). A rule holds as far as the weakest of its premises (of
 * the `need` strongest ones where fewer than all are needed), an atom as far as the strongest of its rules,
 * `absent` turns the scale round. Within a layer this is a least fixpoint, reached by counters per rule
 * (Dowling & Gallier 1984) from the answers outward; layers come in order, so absence is asked only of what
 * is complete (Apt, Blair & Walker 1988). The outcome therefore depends on the set of answers only. A change
 * costs the rules it touches (and a heap of those that wait), whatever the size of the model.
 *
 * A fact in conflict keeps all its values: rules go on from each of them, formulas from none. A measured fact
 * may have several sources (its answer, formulas); its bands hold as far as one of them says, and its number
 * is that of the source nearest to the answers (fewest rules; then the most exact, then the smallest).
 *
 * All memory is taken when the chain is made; matching a stamped text takes some for a moment, and on failure
 * nothing has changed. One thread at a time per chain, questions included; several chains may share a model.
 */
#ifndef CW_CHAIN_CHAIN_H
#define CW_CHAIN_CHAIN_H

#include "model/model.h"

typedef struct cw_chain cw_chain;

typedef struct cw_answer {
    cw_fact_id fact;  /* of a check */
    bool cant_tell;   /* counts as asked; gives no fact */
    uint32_t value;   /* finite kinds; which unit: its id */
    double number;    /* measures: base unit */
    double error;     /* measures: standard uncertainty, base unit */
    const char *text; /* stamped; copied, at most CW_ANSWER_MAX_TEXT bytes */
} cw_answer;

#define CW_ANSWER_MAX_TEXT 200

/* The model must outlive the chain. CW_LIMIT for a model of more than five hundred million atoms, rules or
 * facts. */
cw_status cw_chain_new(const cw_model *model, const cw_allocator *allocator, cw_chain **out);
void cw_chain_free(cw_chain *chain); /* NULL allowed */
/* Makes `to` equal to `from` (same model) without taking memory: for trying answers out. */
void cw_chain_copy(cw_chain *to, const cw_chain *from);

/* Gives or changes an answer and chains. CW_BAD_CALL for a wrong fact or value; CW_LIMIT when a text pattern
 * runs out of steps, CW_NO_MEMORY, CW_BAD_INPUT when a text is not UTF-8: nothing has changed. */
cw_status cw_chain_answer(cw_chain *chain, const cw_answer *answer);
/* CW_NOT_FOUND when it was not answered. The state afterwards is that of a fresh chain with the answers left.
 */
cw_status cw_chain_withdraw(cw_chain *chain, cw_fact_id fact);
/* The answer given, NULL if none; valid until the chain next changes. */
const cw_answer *cw_chain_answered(const cw_chain *chain, cw_fact_id fact);

cw_truth cw_chain_truth(const cw_chain *chain, cw_atom_id atom);

/* What is known of a fact, by answer or rule. */
typedef enum cw_known {
    CW_UNKNOWN,
    CW_KNOWN,
    CW_DOUBTFUL_FACT, /* no value is sure, at least one is doubtful */
    CW_CONFLICT       /* several values hold */
} cw_known;
/* Finite facts: *value; in doubt or conflict the one nearest to the answers. CW_UNKNOWN leaves it alone. */
cw_known cw_chain_value(const cw_chain *chain, cw_fact_id fact, uint32_t *value);
/* Measured facts: number and standard uncertainty. A conflict: two sources whose values differ by more than
 * twice their joint uncertainty (and more than 1e-9 of their size). */
cw_known cw_chain_number(const cw_chain *chain, cw_fact_id fact, double *number, double *error);
/* What one rule works out or reads, whether or not it holds; false for nothing. */
bool cw_chain_worked_out(const cw_chain *chain, cw_rule_id rule, double *number, double *error);
const char *cw_chain_text(const cw_chain *chain, cw_fact_id fact); /* NULL when unknown */

/* A justification of an atom: an answer (rule 0), or a rule whose premises hold. Each atom that holds has at
 * least one that is grounded: following first reasons always ends at answers, by the fewest rules. A band or
 * `known` has the reasons of what gives its fact the value, rules that work out a measure among them (theirs
 * are the formula's inputs too). */
typedef struct cw_reason {
    cw_rule_id rule; /* 0: the answer to the fact itself */
    cw_truth truth;
} cw_reason;
/* Fills at most `room` reasons and returns how many there are; the first is the grounded one. */
size_t cw_chain_reasons(const cw_chain *chain, cw_atom_id atom, cw_reason *reasons, size_t room);
/* The same for the number of a measured fact. */
size_t cw_chain_number_reasons(const cw_chain *chain, cw_fact_id fact, cw_reason *reasons, size_t room);

/* How far from the answers: 0 for an answer, more for a rule than for each of the `need` premises nearest to
 * them; whatever is doubtful lies farther than all that is sure. UINT32_MAX when it does not hold. */
uint32_t cw_chain_rank(const cw_chain *chain, cw_atom_id atom);
/* The same of the first source of a measured fact's number; UINT32_MAX when it has none. */
uint32_t cw_chain_number_rank(const cw_chain *chain, cw_fact_id fact);

/* Facts in conflict, in order of id; returns how many there are. */
size_t cw_chain_conflicts(const cw_chain *chain, cw_fact_id *facts, size_t room);
/* True when every grounded way to the fact's value rests on a fact in conflict: then it counts neither way.
 */
bool cw_chain_contested(const cw_chain *chain, cw_fact_id fact);

/* The checks whose answers the fact's value (in a conflict: each of its values) rests on, through first
 * reasons, absences left out, in order of id; at most `room`; returns how many. Context checks are included
 * (callers leave them out by the fact's flag). */
size_t cw_chain_readings(const cw_chain *chain, cw_fact_id fact, cw_fact_id *facts, size_t room);
/* Rules on the longest path of first reasons below the fact's value: 0 for an answer. */
uint32_t cw_chain_depth(const cw_chain *chain, cw_fact_id fact);

/* Steps (rule touches) spent by the last answer or withdrawal, for tests of effort. */
uint64_t cw_chain_steps(const cw_chain *chain);
/* Counts up with every change. */
uint64_t cw_chain_version(const cw_chain *chain);

const cw_model *cw_chain_model(const cw_chain *chain);

#endif
