/* Inside the room: what findings that were left out could still change.
 *
 * A finding seen at v has, given the set X of present causes, the chance
 *   g(X) = B(<= v) product S(<= v) * (1 - r0 product r),  r0 = B(< v) / B(<= v), r = S(< v) / S(<= v),
 * both products over X. The first is a factor of each cause. Of the second, with z = -log(r0 product r), the
 * logarithm f(z) = log(1 - exp(-z)) is concave, so two products of one factor per cause enclose it (Jaakkola
 * & Jordan 1999): above, its tangent at some z*: exp(f(z*) + f'(z*) (z - z*)), no cause's factor larger than
 * makes it 1; below, by Jensen, with shares q of the causes that sum to 1: product over all causes of (1 -
 * r0)^q, absent, or (1 - r0 r^(1 / q))^q, present. They hold for every z* and every q; how close depends on
 * the choice, which rests on what the causes are thought to be. Worked into the network they cost nothing,
 * and its sums then enclose the true ones. */
#ifndef CW_RANK_BOUNDS_H
#define CW_RANK_BOUNDS_H

#include "rank/network.h"

/* One finding as seen. */
typedef struct bounds_view {
    const network *net;
    double leak;                /* r0 */
    double most;                /* B(<= v) */
    double *cause_most, *ratio; /* by cause that shows the fact: S(<= v), r; room of the caller's */
    double *share;              /* by cause: q; likewise */
    cw_run showing;             /* network shows */
} bounds_view;
void rank_bounds_view(bounds_view *view, const cw_evidence *seen);

/* How much it can say at most: the smallest g over the largest, over all sets of possible causes. */
double rank_bounds_weakness(const bounds_view *view);
/* Works the product above, or below, into the network; by_cause: how probable each cause is thought to be. */
void rank_bounds_above(const bounds_view *view, network *net, const double *by_cause);
void rank_bounds_below(const bounds_view *view, network *net, const double *by_cause);

/* An event whose probability is `above` in the network with the larger sums and `below` in that with the
 * smaller ones; log_ratio: logarithm of the whole sum above over the one below. */
void rank_bounds_close(double above, double below, double log_ratio, double *probability, double *low,
                       double *high);

#endif
