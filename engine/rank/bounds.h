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

/* One finding as seen, and what each possible cause can draw: the products above are then quick. */
typedef struct bounds_view {
    const network *net;
    double most, below;               /* B(<= v), B(< v) */
    double *cause_most, *cause_below; /* by cause: S(<= v), S(< v); room of the caller's */
} bounds_view;
void rank_bounds_view(bounds_view *view, const cw_evidence *seen);

/* Bounds of g over all sets of possible causes that contain `present` (0 = none) and none of `absent` (by
 * cause; NULL = none). */
bounds_range rank_bounds_finding(const bounds_view *view, cw_cause_id present, const bool *absent);
/* The mean of g when each cause is present by itself with its probability in by_cause, but `present` is and
 * those of `absent` are not: within the bounds, and the estimate that is given. */
double rank_bounds_mean(const bounds_view *view, const double *by_cause, cw_cause_id present,
                        const bool *absent);

/* "Any cause of a group", its probability without the left-out findings, and what they say if it is so and if
 * not. */
typedef struct bounds_event {
    double probability;
    bounds_range yes, no; /* products of g */
    double yes_mean, no_mean;
} bounds_event;
bounds_event rank_bounds_event(double probability);
/* One more left-out finding. `alone`: the group's only cause, 0 when it has several. */
void rank_bounds_add(bounds_event *event, const bounds_view *view, const double *by_cause, const bool *group,
                     cw_cause_id alone);
void rank_bounds_close(const bounds_event *event, double *probability, double *low, double *high);

#endif
