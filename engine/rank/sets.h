/* Inside the room: the most probable sets of causes, exactly these present and all others absent.
 *
 * Parts of the network that nothing joins (parts.h) are looked at one after the other, and the best of each
 * put together with the best so far. Within a part, branch and bound by what its gates can come to at most
 * (gates.h): of the causes that may still be added to those present, any that cannot lead to a set that
 * counts is dropped; each of the others in turn is added, with only those before it left to add. So every set
 * is looked at once, small ones of likely causes first, which soon say what counts. What a set comes to is
 * summed exactly in the end: once nothing is left that could come to more, those found are the most probable.
 *
 * Sets whose logarithms differ by less than SETS_SAME are as probable as each other: the smaller comes first,
 * then the one with the cause of the lowest id that the other lacks. */
#ifndef CW_RANK_SETS_H
#define CW_RANK_SETS_H

#include "base/arena.h"
#include "rank/network.h"

#define RANK_SETS (CW_CAUSES_SETS + 1)
#define SETS_SAME 1e-10

typedef struct rank_set {
    const cw_cause_id *causes; /* in order of id */
    uint32_t count;
    double log_chance; /* logarithm of P(exactly these and the evidence) */
} rank_set;

/* Up to RANK_SETS of the network as it is, in the arena, the first of the order first; only those that are
 * possible. *proven: false where the steps did not suffice; then there may be others, or none is given.
 * *steps: what was spent is added, at most max_steps. */
cw_status rank_sets_find(const network *net, double max_steps, cw_arena *arena, rank_set *sets,
                         uint32_t *count, bool *proven, double *steps);

#endif
