/* What the files of this room share: walking down from a conclusion along first reasons. */
#ifndef CW_EXPLAIN_INSIDE_H
#define CW_EXPLAIN_INSIDE_H

#include "explain/explain.h"

/* Something that is known: an atom, or the number or answer of a fact as atoms_count + fact. */
typedef uint32_t explain_node;

explain_node explain_fact_node(const cw_model *model, cw_fact_id fact);
/* Where the value of a fact stands: its value's atom, else the fact itself. 0 when nothing is known of it. */
explain_node explain_value_node(const cw_chain *chain, cw_fact_id fact);
/* The fact that the node speaks of; 0 for steps and cautions. */
cw_fact_id explain_node_fact(const cw_model *model, explain_node node);
/* An inner step of a nested condition: no rule that anybody has written. */
bool explain_is_step(const cw_model *model, explain_node node);

/* The first reason; false when the node is not known at all. Rule 0: an answer. */
bool explain_reason(const cw_chain *chain, explain_node node, cw_reason *out);

/* The premise holds at least as far as that. */
bool explain_holds(const cw_chain *chain, cw_premise premise, cw_truth truth);

/* What a rule may rest on to hold as far as `truth`: its present premises and inputs as nodes (absent false),
 * its absent ones as atoms (absent true). Stops when visit returns false. */
typedef bool explain_visit(void *context, explain_node node, bool absent);
void explain_below(const cw_chain *chain, cw_reason reason, explain_visit *visit, void *context);

/* Room to look for ways in: one entry for each node. */
typedef struct explain_finder {
    const cw_chain *chain;
    explain_node *from; /* the node that rests on this one */
    cw_rule_id *by;     /* by this rule */
    explain_node *queue;
    uint32_t queued; /* met by the last search */
} explain_finder;
cw_status explain_finder_new(explain_finder *finder, const cw_chain *chain, cw_arena *arena);
/* The rules on a shortest way from the answer up to what is known of `counted`, steps left out, nearest the
 * answer first; CW_NOT_FOUND when `counted` does not rest on it. The list lives in the arena. */
cw_status explain_find_way(explain_finder *finder, cw_fact_id answer, cw_fact_id counted, cw_arena *arena,
                           const cw_rule_id **rules, uint32_t *count);

#endif
