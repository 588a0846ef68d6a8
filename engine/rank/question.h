/* Inside the room: one question put to the causes, and how it is answered as a whole: exactly, or by bounds
 * where that is too dear. */
#ifndef CW_RANK_QUESTION_H
#define CW_RANK_QUESTION_H

#include "rank/base.h"
#include "rank/bounds.h"
#include "rank/inside.h"
#include "rank/sweep.h"
#include "rank/vary.h"

/* An answer with its bounds. */
typedef struct estimate {
    double probability, low, high;
} estimate;

/* How little a finding says: its lower bound over its upper one, 1 = nothing. */
typedef struct weakness {
    double ratio;
    uint32_t evidence; /* index */
    cw_fact_id fact;
    cw_cause_id part;
} weakness;

/* A part by its first cause (parts.h): what a pass over it costs. */
typedef struct part_cost {
    double cost;
    cw_cause_id first;
} part_cost;

struct cw_causes_scratch {
    cw_allocator allocator;
    const cw_model *model;
    network net;
    rank_sweep sweep;
    rank_base base;
    rank_vary *vary;    /* NULL until a question is remembered */
    rank_lanes *lanes;  /* of the sweep; NULL until parts are ranked */
    bool *left_out;     /* by evidence; at most one piece per fact */
    weakness *weakest;  /* findings, the one to be left out first in front */
    bool *group;        /* by cause: the causes of an event */
    double *given_kept; /* by cause: posterior given the evidence that was not left out */
    double *by_cause, *low, *high;
    /* For bounds: the parts of all that was seen, and what each costs; by first cause: too dear, so that
     * findings of it may be left out; they were. */
    uint32_t *part, *finding_part;
    part_cost *costs;
    bool *dear, *bounded;
    /* By cause. */
    double *thought, *above, *below; /* what the bounds rest on; posteriors in the two networks */
    double *cause_most, *ratio, *share;
};

/* One question and how it went. */
typedef struct question {
    cw_causes_scratch *scratch;
    const cw_chain *chain;
    const cw_evidence *evidence;
    size_t count;
    double max_steps, steps;
    double log_kept;             /* logarithm of P(evidence), when exact */
    double log_above, log_below; /* of its bounds, when not */
    bool exact, blind;           /* blind: not even the sum without findings was within the budget */
    bool impossible;
} question;

/* Posterior of each cause, or its bounds; given nothing at all where the evidence is impossible. `extra`
 * passes for groups will follow. */
cw_status question_solve(question *q, double extra);
/* Nothing is known but that it lies between 0 and 1. */
bool question_is_open(const question *q);
/* by_cause, low and high of the scratch. */
void question_close_causes(const question *q);
/* P(any cause of scratch->group): one pass with all of them forced absent, two for bounds. */
cw_status question_any_of_group(question *q, estimate *out);
cw_status question_unit_at_fault(question *q, estimate *out);
cw_status question_nothing_wrong(question *q, estimate *out);
/* Never 0 but for the impossible. Between the bounds, where there are any. */
double question_evidence_probability(const question *q);

#endif
