/* Inside the room: a question remembered with its plan, so that one more finding, or other circumstances, are
 * a matter of a few variations of it (lanes.h), however many causes they touch. What more findings, or
 * others, would come to is left to base.h. */
#ifndef CW_RANK_VARY_H
#define CW_RANK_VARY_H

#include "rank/lanes.h"

typedef struct vary_change { /* a cause's circumstances */
    cw_cause_id cause;
    double own;
    bool ruled;
} vary_change;

typedef struct vary_job { /* a variation: the finding is at most this */
    cw_fact_id fact;
    uint32_t most;
} vary_job;

typedef struct rank_vary {
    const cw_model *model;
    const cw_allocator *allocator;
    bool valid;
    int made; /* of the parts that follow */
    network net;
    rank_sweep whole, unit_free;
    rank_lanes lanes, unit_lanes;
    double log_all, log_unit_free, log_free;
    double *by_cause;
    bool *ruled, *in_unit; /* by cause */
    uint32_t *value_of;    /* by fact: 1 + the value seen */
    vary_change *changes;
    /* Findings likely to be asked for, in this order. */
    cw_fact_id *expected;
    size_t expected_count;
    uint32_t *expected_at; /* by fact: 1 + its place there */
    vary_job *jobs;
    size_t job_room;
    /* What has been worked out: by fact, 1 + the row of "at most 0"; the next ones follow. */
    uint32_t *row_of;
    double *rows; /* each: logarithms of the two ratios, then posteriors by cause, from 1 */
    size_t row_count, row_room;
} rank_vary;

cw_status rank_vary_new(rank_vary *vary, const cw_model *model, const cw_allocator *allocator);
void rank_vary_dispose(rank_vary *vary);

/* valid stays false where the plan is too dear, or the evidence impossible. *steps: numbers touched. */
cw_status rank_vary_set(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                        double max_steps, double *steps);
void rank_vary_expect(rank_vary *vary, const cw_fact_id *facts, size_t count);

/* *done is false where it takes more than that, or the difference would lose its figures. */
cw_status rank_vary_try(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                        double max_steps, double *by_cause, cw_causes_tried *out, bool *done);

#endif
