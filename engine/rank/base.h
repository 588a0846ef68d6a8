/* Inside the room: a question remembered, so that others like it need only what differs.
 *
 * Causes that no link and no finding above normal joins, through any number of others, are independent given
 * the evidence: P(evidence) is a product over such parts, and a cause's posterior is its part's own affair.
 * One more answer changes few causes; the parts they are in, and those they now touch, are summed together
 * afresh, the others are taken from the question remembered. The outcome is that of the whole sum. */
#ifndef CW_RANK_BASE_H
#define CW_RANK_BASE_H

#include "rank/sweep.h"

/* Logarithms of P(what was seen of the part), alone, with no cause of the unit, with no cause at all. */
typedef struct base_sums {
    double all, unit_free, free;
} base_sums;

typedef struct rank_base {
    const cw_model *model;
    const cw_allocator *allocator;
    bool valid;
    /* By cause, as remembered. */
    bool *possible;
    double *own, *weight;
    double *by_cause;
    cw_run *touches;   /* in facts and values */
    cw_fact_id *facts; /* beside values: the findings touched */
    uint32_t *values;
    uint32_t *part;  /* by cause: the part's first cause; 0 = not possible */
    base_sums *sums; /* by first cause */
    uint32_t *part_size;
    /* While working. */
    uint32_t *finding_part; /* by finding: a cause that touches it; then its part */
    double *hits;           /* by finding: kept while those of other parts are masked */
    bool *seed, *dirty, *member;
    double *fresh; /* by cause: posteriors of the part just swept */
    bool *in_unit;
    uint32_t sign_count;
} rank_base;

typedef struct base_answer {
    base_sums sums;
    double steps;
} base_answer;

cw_status rank_base_new(rank_base *base, const network *net, const cw_allocator *allocator);
void rank_base_dispose(rank_base *base);

/* Remembers the question in the network, which is spent. *valid stays false when a part is impossible or the
 * steps do not suffice. Posteriors are in base->by_cause. */
cw_status rank_base_set(rank_base *base, network *net, rank_sweep *sweep, const cw_evidence *evidence,
                        double max_steps, base_answer *out);
/* Answers the question in the network, which is spent, with the help of the one remembered; base->valid
 * before. False in *done where rank_base_set would have stayed invalid. */
cw_status rank_base_use(rank_base *base, network *net, rank_sweep *sweep, const cw_evidence *evidence,
                        double max_steps, double *by_cause, base_answer *out, bool *done);

#endif
