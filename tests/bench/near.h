/* A figure against what it should be, to a share of it (or absolutely, where it should be 0). */
#ifndef CW_TESTS_BENCH_NEAR_H
#define CW_TESTS_BENCH_NEAR_H

#include <criterion/criterion.h>
#include <math.h>

#define NEAR(got, wanted, share)                                                                             \
    do {                                                                                                     \
        double got_ = (got), wanted_ = (wanted);                                                             \
        cr_assert(fabs(got_ - wanted_) <= (share) * (wanted_ != 0 ? fabs(wanted_) : 1),                      \
                  "%s is %.9g, wanted %.9g to %g", #got, got_, wanted_, (double)(share));                    \
    } while (0)

#endif
