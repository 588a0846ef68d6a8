/* Inside the room: variations of one network, several walked through at once along one plan.
 *
 * A finding f with the values 0 = normal .. n - 1 says of a set X of present causes
 *   P(f <= v | X) = B(<= v) * product over X of S(<= v),
 * one factor for each cause that shows it: no bit, no other plan. And P(f = v) = P(f <= v) - P(f < v), two
 * positive sums of which the smaller is taken from the larger once, at the very end. So is "none of these
 * causes" a variation (their factor is 0), and what shifts a cause's own chance or rules it out. Only what
 * hangs together with the causes that vary is summed anew; the rest stays as it is in the plan's own network.
 */
#ifndef CW_RANK_LANES_H
#define CW_RANK_LANES_H

#include "rank/sweep.h"

typedef struct rank_lanes {
    rank_sweep *sweep;
    const cw_allocator *allocator;
    /* The network as it is, with the sweep's plan. */
    double *by_cause;
    uint32_t *root_of; /* by cause: 1 + the root that it is summed in; 0: none */
    double *base_logs; /* by message */
    /* By cause and lane. */
    double *own, *absent, *present;
    bool *ruled, *any_ruled; /* ruled out; by cause: in some lane */
    sweep_drawn *before;
    double *tried; /* posteriors */
    /* By finding and lane. */
    sweep_drawn *drawn;
    bool *stirred;         /* by message: to be summed anew, where it is a root */
    uint32_t *folded_mark; /* by finding: its leaves vary */
    /* What varies now. */
    bool *varies;
    cw_cause_id *list, *leaves;
    uint32_t count;
    double ratio[SWEEP_LANES]; /* logarithm: the sum of each lane over that of the network as it is */
    double cost;               /* of the pass made last: numbers touched there, in one lane */
    size_t message_room, finding_room;
} rank_lanes;

cw_status rank_lanes_new(rank_lanes *lanes, rank_sweep *sweep, const cw_allocator *allocator);
void rank_lanes_dispose(rank_lanes *lanes);

/* After the sweep has gone there and back as planned: its network is what all lanes begin with. */
cw_status rank_lanes_begin(rank_lanes *lanes, const double *by_cause);
/* There is room for walking this plan in lanes. */
bool rank_lanes_fit(const rank_sweep *sweep);

/* In this lane the cause is `times` as probable where present. */
void rank_lanes_times(rank_lanes *lanes, uint32_t lane, cw_cause_id cause, double times);
/* In this lane it comes about so often by itself; ruled: never, whatever leads to it. */
void rank_lanes_own(rank_lanes *lanes, uint32_t lane, cw_cause_id cause, double own, bool ruled);
/* All lanes as they were. */
void rank_lanes_clear(rank_lanes *lanes);

/* Once after what varies was said. Fills `ratio`; with `back`, `tried` by cause and lane (of no meaning where
 * the ratio is -INFINITY). */
cw_status rank_lanes_run(rank_lanes *lanes, bool back);

#endif
