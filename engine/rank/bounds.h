/* Inside the room: what findings that were left out could still change.
 *
 * A finding seen at v has, given the set X of present causes, the chance
 *   g(X) = P(<= v | X) - P(< v | X) = product S(<= v) * (B(<= v) - B(< v) * product S(< v) / S(<= v)),
 * both products over X. Each factor only falls as X grows, or only rises: so with some causes known present
 * and some known absent g lies between two numbers that the extreme sets give, and posterior odds computed
 * without the finding move at most by their ratio. */
#ifndef CW_RANK_BOUNDS_H
#define CW_RANK_BOUNDS_H

#include "rank/network.h"

typedef struct bounds_range {
    double low, high;
} bounds_range;

/* Bounds of g over all sets of possible causes that contain `present` (0 = none) and none of `absent` (by
 * cause; NULL = none). */
bounds_range rank_bounds_finding(const network *net, const cw_evidence *seen, cw_cause_id present,
                                 const bool *absent);
/* The mean of g when each cause is present by itself with its probability in by_cause, but `present` is and
 * those of `absent` are not: within the bounds, and the estimate that is given. */
double rank_bounds_mean(const network *net, const cw_evidence *seen, const double *by_cause,
                        cw_cause_id present, const bool *absent);

/* An event whose probability without the left-out findings is known, and what they say if it happened and if
 * not. */
typedef struct bounds_event {
    double probability;
    bounds_range yes, no; /* products of g */
    double yes_mean, no_mean;
} bounds_event;
void rank_bounds_close(const bounds_event *event, double *probability, double *low, double *high);

#endif
