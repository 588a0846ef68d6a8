/* What has failed: several causes can be true at once.
 *
 * Causes are a layered noisy-OR: P(cause absent | those that lead to it) = (1 - own) * product of (1 - chance) over those
 * present, own = `seen` with its shifts applied to the odds, 0 when ruled out (then nothing leads to it either).
 * Findings are noisy-MAX (Henrion 1989; Diez 1993): with values ordered 0 = normal .. n - 1 = worst, each present cause
 * draws a value from its sign, the background draws one, the worst shows:
 *   P(finding <= v | causes) = B(<= v) * product over present causes of S(<= v).
 * A finding seen at v is P(<= v) - P(<= v - 1): product terms only, so a set of findings with k values above normal is a
 * signed sum of 2^k products, absorbed normal values cost nothing (Heckerman 1989 for two values).
 * For each product the sum over causes splits into connected groups of leads_to; within a group those causes that lead to
 * others are enumerated, their followers summed in closed form. */
#ifndef CW_RANK_CAUSES_H
#define CW_RANK_CAUSES_H

#include "rank/evidence.h"

typedef struct cw_causes {
    uint32_t count;            /* all causes of the model */
    const cw_cause_id *causes; /* most probable first; ties by id */
    const double *probability, *low, *high; /* beside causes; equal when exact */
    double unit_at_fault, unit_at_fault_low, unit_at_fault_high;    /* any cause in a part inside the unit */
    double nothing, nothing_low, nothing_high;                      /* no listed cause at all */
    double evidence_probability;                                    /* P(evidence); 0 only if impossible */
    bool exact;
    const double *part_probability; /* by part id, from 1: any of its causes */
} cw_causes;

/* CW_LIMIT never comes back: beyond the step budget the bounds are opened instead (exact = false). Evidence that the
 * model calls impossible (all chances 0): evidence_probability 0, the priors are given and exact = false, bounds 0 to 1. */
cw_status cw_causes_rank(const cw_chain *chain, const cw_evidence *evidence, size_t count, uint64_t max_steps,
                         cw_arena *arena, cw_causes *out);
#define CW_CAUSES_STEPS 200000000u

#endif
