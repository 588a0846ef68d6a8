/* What one unit shows of one fact, from units known to be it: a distribution that is seen through swaps and
 * blunders (rank/identity.h), which are taken as the packs have them:
 *
 *     P(v) = clear own(v) + blurred(v)
 *
 * Expectation-maximisation over whether a case showed the unit's own; with clear = 1 the posterior is
 * Dirichlet(prior + cases) at once. */
#ifndef CW_LEARN_SHOWN_H
#define CW_LEARN_SHOWN_H

#include "learn/spread.h"
#include <stdbool.h>

typedef struct learn_shown {
    uint32_t values;
    double clear;
    const double *blurred, *prior, *cases; /* by value */
    double *chance;                        /* in: where to start from, 0 stays 0; out */
    double *expected, *worth;              /* out */
    double objective; /* out: log P(cases) + sum of prior log chance, before the last step */
    uint32_t steps;   /* out */
    bool settled;     /* out */
} learn_shown;

double learn_shown_step(learn_shown *of);
/* CW_NO_MEMORY, CW_LIMIT */
cw_status learn_shown_run(learn_shown *of, const cw_allocator *allocator);

#endif
