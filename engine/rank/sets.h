/* Inside the room: the most probable sets of causes, exactly these present and all others absent.
 *
 * Depth first along a line of the causes (line.c) with branch and bound: what a set that begins like this can
 * still come to is bounded by a way back that takes the better of absent and present wherever the sums add
 * both (mini-buckets, Kask & Dechter 2001). The bound is exact at the end, so the sets found are the most
 * probable ones once nothing is left that could come to more. Causes that stand alone multiply in last. */
#ifndef CW_RANK_SETS_H
#define CW_RANK_SETS_H

#include "rank/sweep.h"

#define RANK_SETS (CW_CAUSES_SETS + 1)

/* Up to so many of the network as it is, in the arena: `log_chance` is the logarithm of P(exactly
 * these and the evidence), most probable first. *proven: false where the steps did not suffice; then there
 * may be others, or none is given. */
typedef struct rank_set {
    const cw_cause_id *causes; /* in order of id */
    uint32_t count;
    double log_chance;
} rank_set;
cw_status rank_sets_find(rank_sweep *sweep, double max_steps, cw_arena *arena, rank_set *sets,
                         uint32_t *count, bool *proven, double *steps);

#endif
