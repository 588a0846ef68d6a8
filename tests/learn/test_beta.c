/* Quantiles of the beta distribution. Expected values: qbeta and pbeta of R 4.2.2. */
#include "learn/beta.h"

#include <criterion/criterion.h>
#include <math.h>

Test(beta, quantiles_of_r)
{
    static const struct {
        double a, b, low, high;
    } known[] = {
        {0.5, 0.5, 0.00615582970243114, 0.993844170297569},
        {24.6, 5.4, 0.695243569779207, 0.920221892176003},
        {0.006, 9.994, 8.61660239920127e-219, 1.1507497574096e-05},
        {1200.5, 30000, 0.0367028203519558, 0.0402847121050709},
        {3, 2, 0.248604625730181, 0.902388537113586},
        {50000, 70000, 0.414326529561263, 0.419008382985999},
        {1, 1, 0.05, 0.95},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        cr_expect_float_eq(learn_beta_quantile(0.05, known[i].a, known[i].b), known[i].low, 1e-12);
        cr_expect_float_eq(learn_beta_quantile(0.95, known[i].a, known[i].b), known[i].high, 1e-12);
    }
}

Test(beta, shares_of_r)
{
    cr_expect_float_eq(learn_beta_below(0.37, 0.5, 0.5), 0.416277432528395, 1e-13);
    cr_expect_float_eq(learn_beta_below(0.37, 3, 2), 0.14638717, 1e-13);
    cr_expect_float_eq(learn_beta_below(0.37, 24.6, 5.4) / 1.61282621090722e-07, 1, 1e-12);
}

Test(beta, ends)
{
    cr_expect_eq(learn_beta_below(0, 2, 3), 0);
    cr_expect_eq(learn_beta_below(1, 2, 3), 1);
    cr_expect_eq(learn_beta_below(NAN, 2, 3), 0);
    cr_expect_eq(learn_beta_quantile(0.05, 0, 3), 0);
    cr_expect_eq(learn_beta_quantile(0.05, 3, 0), 1);
}
