#include "quantity/quantity.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>

Test(interval, limits_belong_or_not)
{
    cw_interval at_least = {5, INFINITY, false, true};
    cw_interval above = {5, INFINITY, true, true};
    cw_interval at_most = {-INFINITY, 5, true, false};
    cw_interval below = {-INFINITY, 5, true, true};
    cr_assert_eq(cw_interval_holds(at_least, 5, 0), CW_YES);
    cr_assert_eq(cw_interval_holds(above, 5, 0), CW_NO);
    cr_assert_eq(cw_interval_holds(at_most, 5, 0), CW_YES);
    cr_assert_eq(cw_interval_holds(below, 5, 0), CW_NO);
    cr_assert_eq(cw_interval_holds(above, nextafter(5, 6), 0), CW_YES);
    cr_assert_eq(cw_interval_holds(below, nextafter(5, 4), 0), CW_YES);
}

Test(interval, doubtful_within_the_reading_error_only)
{
    cw_interval above = {0.5, INFINITY, true, true};
    cr_assert_eq(cw_interval_holds(above, 0.75, 0.25), CW_YES, "as far as the error is far enough");
    cr_assert_eq(cw_interval_holds(above, 0.75, 0.2500001), CW_DOUBTFUL);
    cr_assert_eq(cw_interval_holds(above, 0.5, 0.1), CW_DOUBTFUL);
    cr_assert_eq(cw_interval_holds(above, 0.25, 0.25), CW_NO);
    cr_assert_eq(cw_interval_holds(above, 0.3, 0.25), CW_DOUBTFUL);
    cr_assert_eq(cw_interval_holds(above, 0.5, 0), CW_NO, "an exact reading is never doubtful");
}

Test(interval, of_two_limits_the_weaker_verdict_counts)
{
    cw_interval band = {12.2, 12.6, false, false};
    cr_assert_eq(cw_interval_holds(band, 12.4, 0.1), CW_YES);
    cr_assert_eq(cw_interval_holds(band, 12.25, 0.1), CW_DOUBTFUL);
    cr_assert_eq(cw_interval_holds(band, 12.55, 0.1), CW_DOUBTFUL);
    cr_assert_eq(cw_interval_holds(band, 12.65, 0.1), CW_DOUBTFUL);
    cr_assert_eq(cw_interval_holds(band, 12.9, 0.1), CW_NO);
    cr_assert_eq(cw_interval_holds(band, 11, 0.1), CW_NO);
    cr_assert_eq(cw_interval_holds(band, 12.4, 5), CW_DOUBTFUL);
    cr_assert_eq(cw_interval_holds((cw_interval){-INFINITY, INFINITY, true, true}, 3, 1e300), CW_YES);
    cw_interval empty = {5, 4, false, false};
    cr_assert_eq(cw_interval_holds(empty, 4.5, 0), CW_NO);
}

/* What the words say, over the whole range of readings that could be true: yes if the limit is on the same
 * side of all. */
static cw_truth slow(cw_interval in, double x, double error)
{
    bool doubt = error > 0 && (fabs(x - in.low) < error || fabs(x - in.high) < error);
    bool above = in.low_open ? x > in.low : x >= in.low;
    bool below = in.high_open ? x < in.high : x <= in.high;
    /* A limit in doubt cannot turn a plain no of the other one. */
    bool low_no = !above && !(error > 0 && fabs(x - in.low) < error);
    bool high_no = !below && !(error > 0 && fabs(x - in.high) < error);
    if (low_no || high_no)
        return CW_NO;
    return doubt ? CW_DOUBTFUL : CW_YES;
}

Test(interval, a_grid_against_the_words)
{
    random_state random = random_start(20);
    size_t seen[3] = {0};
    for (int round = 0; round < 100000; round++) {
        cw_interval in = {random_below(&random, 9), random_below(&random, 9), random_below(&random, 2) == 0,
                          random_below(&random, 2) == 0};
        if (random_below(&random, 4) == 0)
            in.low = -INFINITY;
        if (random_below(&random, 4) == 0)
            in.high = INFINITY;
        double x = random_below(&random, 17) / 2.0;
        double error = random_below(&random, 4) / 2.0;
        cw_truth got = cw_interval_holds(in, x, error);
        cr_assert_eq(got, slow(in, x, error), "[%g, %g] %g +- %g: %d", in.low, in.high, x, error, got);
        seen[got]++;
    }
    cr_assert(seen[CW_NO] > 1000 && seen[CW_DOUBTFUL] > 1000 && seen[CW_YES] > 1000);
}
