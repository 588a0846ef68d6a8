/* What has failed: several causes can be true at once.
 *
 * Causes are a layered noisy-OR:
 *   P(cause absent | those that lead to it) = (1 - own) * product of (1 - chance) over those present,
 * own = `seen` with its shifts applied to the odds, 0 when ruled out (then nothing leads to it either).
 * Findings are noisy-MAX (Henrion 1989; Diez 1993): with values ordered 0 = normal .. n - 1 = worst, each
 * present cause draws a value from its sign, the background draws one, the worst shows:
 *   P(finding <= v | causes) = B(<= v) * product over present causes of S(<= v).
 * Somebody has brought it in, which with nothing listed wrong he seldom does (came_in.h): that counts from
 * the start. A finding seen at its normal value is one factor per cause and costs nothing (Heckerman 1989,
 * two values). One seen at v above normal keeps one bit: has somebody drawn v yet? Sweeping over the causes,
 * one after the other, the engine carries the probability of each combination of these bits and of the
 * presence of causes that still lead to others; a bit is dropped with the last cause that needs it (sweep.h).
 * That is the sum of Heckerman's quickscore in another order. His is a signed sum of 2^k products whose terms
 * cancel, down to nothing but rounding where the evidence is improbable; here every term is positive and none
 * cancels. */
#ifndef CW_RANK_CAUSES_H
#define CW_RANK_CAUSES_H

#include "rank/evidence.h"

#define CW_CAUSES_SETS 5
typedef struct cw_cause_set {
    const cw_cause_id *causes; /* in order of id; none: nothing listed is wrong */
    uint32_t count;
    double probability, low, high; /* equal when exact */
} cw_cause_set;

typedef struct cw_causes {
    uint32_t count;                         /* all causes of the model */
    const cw_cause_id *causes;              /* most probable first; ties by id */
    const double *probability, *low, *high; /* beside causes; equal when exact */
    /* Any cause in a part inside the unit. */
    double unit_at_fault, unit_at_fault_low, unit_at_fault_high;
    /* No listed cause at all. */
    double nothing, nothing_low, nothing_high;
    double evidence_probability; /* P(evidence); 0 only if impossible; an estimate when not exact */
    bool exact;
    const double *part_probability; /* by part id, from 1: any of its causes */
    /* By part id: of the causes outside the part that lead to one of its own, directly or not, the one most
     * probably present when the part is at fault, and how probably; 0 where there is none, or steps do not
     * suffice. */
    const cw_cause_id *part_root;
    const double *root_probability;
    /* The most probable sets: exactly these causes and no other. Not proven: where the steps did not suffice,
     * others may be as probable, or none is given. */
    const cw_cause_set *sets;
    uint32_t set_count;
    bool sets_proven;
    /* The first cause stays first when every frequency is off by one word of the scale, all at their worst at
     * once: shown to hold. If not, the rival that may come first; 0 where nothing was looked into. */
    bool firm;
    cw_cause_id rival;
    uint64_t steps; /* spent: numbers touched */
} cw_causes;

/* CW_LIMIT never comes back: beyond the step budget the bounds are opened instead (exact = false), the
 * probabilities are then estimates within them. Evidence that the model calls impossible (all chances 0):
 * evidence_probability 0, the priors are given and exact = false, bounds 0 to 1. */
cw_status cw_causes_rank(const cw_chain *chain, const cw_evidence *evidence, size_t count, uint64_t max_steps,
                         cw_arena *arena, cw_causes *out);
#define CW_CAUSES_STEPS 200000000u

/* The same for trying many answers out: memory is taken once and grows only when a trial needs more than any
 * before. One scratch per session; the chain may be any over the same model. */
typedef struct cw_causes_scratch cw_causes_scratch;
cw_status cw_causes_scratch_new(const cw_model *model, const cw_allocator *allocator,
                                cw_causes_scratch **out);
void cw_causes_scratch_free(cw_causes_scratch *scratch); /* NULL allowed */

/* Ranks on a scratch. briefly: nothing of parts, roots, sets and firmness (NULL, none, not firm). */
cw_status cw_causes_rank_on(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                            size_t count, uint64_t max_steps, bool briefly, cw_arena *arena, cw_causes *out);

typedef struct cw_causes_tried {
    const double *by_cause;   /* by cause id, from 1; the scratch's, until its next use */
    const cw_cause_id *moved; /* those that differ from what is remembered are among these; NULL: all may */
    uint32_t moved_count;
    double unit_at_fault, nothing, evidence_probability;
    bool exact;     /* false: estimates, or impossible evidence (evidence_probability 0, the priors) */
    uint64_t steps; /* spent, at most max_steps */
    uint64_t each;  /* remembered: what a try that follows is likely to take */
} cw_causes_tried;
cw_status cw_causes_try(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                        size_t count, uint64_t max_steps, cw_causes_tried *out);
/* The same, and the question is remembered: tries that follow on this scratch sum anew only the causes that
 * they change (vary.h, base.h), until another is remembered. */
cw_status cw_causes_remember(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                             size_t count, uint64_t max_steps, cw_causes_tried *out);
/* How probable `other` is where `one` is present, given the evidence. */
typedef struct cw_cause_pair {
    cw_cause_id one, other;
    double given_one; /* below 0: the steps do not suffice for an exact sum, or the evidence is impossible */
} cw_cause_pair;
/* Fills given_one. *steps: what was spent is added. */
cw_status cw_causes_both(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                         size_t count, uint64_t max_steps, cw_cause_pair *pairs, uint32_t pair_count,
                         uint64_t *steps);
/* Notes that this will be tried on what is remembered, so that several are worked out at once. chain NULL:
 * what shifts causes or rules them out is as it was. *ticket: 0 where that does not help. Tickets hold until
 * the next cw_causes_remember or cw_causes_foresee_anew. */
cw_status cw_causes_foresee(cw_causes_scratch *scratch, const cw_chain *chain, const cw_evidence *evidence,
                            size_t count, uint32_t *ticket);
void cw_causes_foresee_anew(cw_causes_scratch *scratch);
/* What cw_causes_try gives; *done is false where only that can tell. */
cw_status cw_causes_foreseen(cw_causes_scratch *scratch, uint32_t ticket, uint64_t max_steps,
                             cw_causes_tried *out, bool *done);

#endif
