/* Inside the room: exact sums over all sets of causes, in one sweep.
 *
 * The sweep takes the causes one by one, parents before followers. What must be remembered between two steps
 * is a *bit* each for
 *   - every finding that several causes touch, between the first and the last: has somebody drawn the value
 *     seen? (One that a single cause touches is a factor of that cause, present or absent.)
 *   - every cause that still leads to a cause to come: is it present?
 * and a vector holds the probability of each combination of bits:
 *
 *     vector ──open findings──▶ ──split──▶ absent  ──────────────────┐
 *                                └───────▶ present ──touch findings──┴─join─▶ ──close what is done──▶ vector
 *
 * Opening doubles the vector, closing halves it: a finding keeps the half where its value was drawn, a cause
 * adds both halves. The width is that of a path decomposition (Dechter 1999, bucket elimination along one
 * line), so independent heaps of causes cost the sum and not the product of their sizes. The way back
 * carries, for each combination, the probability of all that comes later; present and absent parts times it
 * give each cause's posterior without a division of large by large (forward and backward, Rabiner 1989). All
 * terms are positive; vectors are scaled by powers of two. */
#ifndef CW_RANK_SWEEP_H
#define CW_RANK_SWEEP_H

#include "rank/network.h"

#define RANK_LOG_2 0.693147180559945309417

/* At most this many numbers are kept at once (32 MiB); a plan that needs more counts as too dear. */
#define SWEEP_MAX_NUMBERS ((size_t)1 << 22)

typedef struct sweep_bit { /* of a finding or a cause, at a position in the state */
    uint32_t place;
    uint32_t who; /* index of a finding, id of a cause */
    bool cause;
    double hit, miss; /* open: the background; touch: the cause; parent: hit is its chance */
} sweep_bit;

typedef struct sweep_step {
    cw_cause_id cause;
    double absent, present; /* factors of the two halves */
    bool leads;
    uint32_t width_in, width;               /* before, and after opening */
    cw_run opens, parents, touches, closes; /* sweep bits */
    size_t saved;                           /* where the vector before the step is kept for the way back */
} sweep_step;

typedef struct rank_sweep {
    const network *net;
    const cw_allocator *allocator;
    cw_cause_id *order; /* chosen once per network */
    uint32_t order_count;
    sweep_step *steps;
    uint32_t step_count;
    sweep_bit *bits;
    uint32_t bit_count;
    sweep_bit *state; /* while planning: what is remembered, by position */
    uint32_t state_count;
    uint32_t *finding_left;                 /* by finding: touches to come */
    uint32_t *cause_left;                   /* by cause: followers to come */
    double *absent_factor, *present_factor; /* by cause: what it says by itself */
    const bool *forced;                     /* by cause: forced absent; NULL = none */
    bool *alone;           /* by cause: in no link, shares no finding: worked out by itself */
    bool *placed, *opened; /* while ordering: causes, findings */
    double log_factor;     /* constant of the plan */
    double cost;           /* numbers touched by a forward pass */
    double numbers_needed; /* to keep for the way back */
    double widest;         /* numbers of the widest vector, present and absent half */
    double *numbers;
    size_t numbers_room;
} rank_sweep;

cw_status rank_sweep_new(rank_sweep *sweep, const network *net, const cw_allocator *allocator);
void rank_sweep_dispose(rank_sweep *sweep);

/* Chooses an order for the network as it is now. */
void rank_sweep_order(rank_sweep *sweep);
/* Plans along that order, with some causes forced absent (by cause id; NULL = none). Never dearer than
 * without. */
void rank_sweep_plan(rank_sweep *sweep, const bool *forced);
bool rank_sweep_fits(const rank_sweep *sweep);

/* Natural logarithm of P(evidence and the forced absences); -INFINITY if impossible. */
cw_status rank_sweep_forward(rank_sweep *sweep, bool keep, double *log_probability);
/* After a forward pass with `keep`: P(cause | evidence) for every possible cause, 0 for the others. */
void rank_sweep_backward(rank_sweep *sweep, double *by_cause);

#endif
