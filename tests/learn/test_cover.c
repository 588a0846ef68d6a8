/* 90 of 100 intervals hold the truth, when it is drawn as the book believes. The share of n intervals that do
 * has a standard deviation of sqrt(0.9 * 0.1 / n), and more where those of one problem hang together; 3 of
 * 100 is allowed. */
#include "learn/beta.h"
#include "problem.h"

#include <criterion/criterion.h>

static void cover(const problem_plan *plan, uint32_t rounds, uint64_t seed)
{
    random_state random = random_start(seed);
    uint32_t held = 0, count = 0;
    for (uint32_t round = 0; round < rounds; round++) {
        problem of;
        problem_make(&of, &random, plan);
        cr_assert_eq(learn_noisy_run(&of.noisy, &cw_system_allocator), CW_OK);
        for (uint32_t s = 0; s < of.noisy.source_count; s++)
            for (uint32_t v = 1; v < plan->values; v++) {
                const double shares = of.sources[s].chance[v] * of.sources[s].worth[v];
                const double rest = of.sources[s].worth[v] - shares, truth = of.truth[s][v];
                held += truth >= learn_beta_quantile(0.05, shares, rest) &&
                        truth <= learn_beta_quantile(0.95, shares, rest);
                count++;
            }
    }
    const double share = (double)held / count;
    cr_log_info("%u of %u: %.2f %%", held, count, 100 * share);
    cr_expect(share > 0.87 && share < 0.93, "%u of %u", held, count);
}

Test(cover, two_thousand_jobs)
{
    cover(&(problem_plan){.causes = 4, .values = 2, .jobs = 2000, .most_causes = 1, .worth = 10}, 300, 21);
}

Test(cover, two_causes_at_once_and_forty_of_a_hundred_missing)
{
    cover(
        &(problem_plan){
            .causes = 4, .values = 2, .jobs = 2000, .most_causes = 2, .worth = 10, .missing = 0.4},
        300, 22);
    cover(
        &(problem_plan){
            .causes = 3, .values = 3, .jobs = 2000, .most_causes = 2, .worth = 10, .missing = 0.4},
        150, 23);
}

Test(cover, few_jobs)
{
    cover(
        &(problem_plan){.causes = 4, .values = 2, .jobs = 100, .most_causes = 2, .worth = 10, .missing = 0.4},
        300, 24);
}

Test(cover, odds_changed_by_circumstances)
{
    cover(
        &(problem_plan){.causes = 2, .values = 2, .jobs = 2000, .most_causes = 2, .worth = 10, .odds = true},
        250, 25);
}
