/* How surely chances are known: from the information about their logits to a number of cases each is worth.
 *
 * A share p that is known from n cases, none of them in doubt, has the posterior Beta(p n, (1 - p) n), whose
 * logits have the information n (diag(p) - p p'). Where it is in doubt what belongs to what, information is
 * missing (Louis 1982: that of the complete cases less the covariance of their scores given what was seen).
 * With the variance V that is then left for p, the share is worth p (1 - p) / V cases: the n of old where
 * nothing is missing.
 *
 * Coordinates: of each distribution the logits of the values that are possible, against its likeliest one. */
#ifndef CW_LEARN_SPREAD_H
#define CW_LEARN_SPREAD_H

#include "base/alloc.h"
#include "corewright/status.h"
#include <stdint.h>

/* More coordinates than this at once are not solved for. */
#define LEARN_MOST_COORDINATES 2000u
#define LEARN_NO_COORDINATE UINT32_MAX

typedef struct learn_spread {
    const cw_allocator *allocator;
    uint32_t count;             /* coordinates */
    double *complete, *missing; /* count x count, whole */
    double *inverse;            /* after learn_spread_solve */
} learn_spread;

/* Numbers the coordinates of one distribution from *next on: LEARN_NO_COORDINATE for the likeliest value and
 * for those with chance 0. */
void learn_spread_number(const double *chance, uint32_t values, uint32_t *next, uint32_t *numbers);
/* CW_NO_MEMORY, CW_LIMIT. */
cw_status learn_spread_new(learn_spread *spread, const cw_allocator *allocator, uint32_t count);
void learn_spread_free(learn_spread *spread);
/* Adds cases (diag(p) - p p'). */
void learn_spread_complete(learn_spread *spread, const double *chance, uint32_t values,
                           const uint32_t *numbers, double cases);
/* Inverts complete - missing. Where that is singular to rounding, as much less is taken for missing as makes
 * it regular. */
cw_status learn_spread_solve(learn_spread *spread);
/* What a value's chance is worth in cases. */
double learn_spread_worth(const learn_spread *spread, const double *chance, uint32_t values,
                          const uint32_t *numbers, uint32_t value);

#endif
