/* Why: the reasons behind one line of a ranking. Decides nothing; everything is worked out again from the
 * chain.
 *
 * The weight of a piece of evidence for a hypothesis is how far the odds fall when it is left out, in bits:
 * log2(odds with) - log2(odds without) (Good 1950, weight of evidence). "Without" leaves out an answer,
 * chains the rest afresh and ranks. */
#ifndef CW_EXPLAIN_EXPLAIN_H
#define CW_EXPLAIN_EXPLAIN_H

#include "ask/ask.h"

typedef struct cw_weight {
    cw_fact_id answer;       /* the check that was answered */
    double bits;             /* > 0 speaks for it; at most CW_WEIGHT_MOST either way */
    double without;          /* the hypothesis' probability without this answer */
    const cw_rule_id *rules; /* the rules between the answer and what counted, nearest the answer first */
    uint32_t rule_count;
    cw_fact_id counted; /* the fact through which it counted: evidence, or for a cause the circumstance that
                         * rules it out or shifts its odds; 0 if neither rests on it */
    uint32_t counted_value;
} cw_weight;
#define CW_WEIGHT_MOST 64.0

typedef struct cw_account {
    uint32_t id; /* unit or cause; 0 = not listed / nothing wrong */
    double probability;
    const cw_weight *weights; /* strongest first, by absolute bits; those under 0.05 bits left out */
    size_t count;
    cw_fact_id decides; /* of the first account: the single answer without which another line would be
                         * first; 0 if none */
    uint32_t instead;   /* that other line (0: not listed / nothing wrong) */
} cw_account;

typedef struct cw_explainer cw_explainer; /* scratch of one session */
cw_status cw_explainer_new(const cw_model *model, const cw_identity_tables *tables,
                           const cw_allocator *allocator, cw_explainer **out);
void cw_explainer_free(cw_explainer *explainer);

/* Accounts for the first `lines` units or causes of the ranking in its order, and one for "not listed" or
 * "nothing wrong" where its probability puts it (the last, if it is less probable than all of them); in the
 * arena. */
cw_status cw_explain_lines(cw_explainer *explainer, const cw_chain *chain, cw_about about, size_t lines,
                           cw_arena *arena, const cw_account **out, size_t *count);

#endif
