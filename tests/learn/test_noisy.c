/* Expectation-maximisation over which cause made which finding, against sums over every combination of draws.
 */
#include "problem.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

Test(noisy, one_source_alone_is_the_mean_of_its_dirichlet)
{
    static const double prior[] = {4, 1, 5};
    double chance[] = {0.4, 0.1, 0.5}, expected[3], worth[3];
    static const uint32_t only[] = {0};
    learn_source source = {
        .values = 3, .prior = prior, .chance = chance, .expected = expected, .worth = worth};
    learn_group groups[] = {{only, 1, 0, 1, 7, false}, {only, 1, 2, 1, 13, false}};
    learn_noisy of = {.sources = &source, .source_count = 1, .groups = groups, .group_count = 2};
    cr_assert_eq(learn_noisy_run(&of, &cw_system_allocator), CW_OK);
    cr_expect_float_eq(chance[0], 11.0 / 30, 1e-15);
    cr_expect_float_eq(chance[1], 1.0 / 30, 1e-15);
    cr_expect_float_eq(chance[2], 18.0 / 30, 1e-15);
    for (int v = 0; v < 3; v++)
        cr_expect_eq(worth[v], 30);
    cr_expect(of.settled);
    cr_expect_float_eq(source.cases, 20, 0);
}

/* Two causes, each one half at fault where nobody else is: 1 of 2 shows by "at least one of two".
 * By hand: P(no) = (1 - p)^2 with p the same in both, prior Beta(1, 1) each, 3 yes and 1 no:
 * d/dp [2 log p + 2 log(1 - p) + 3 log(1 - (1 - p)^2) + log((1 - p)^2)] = 0 in logits; with q = 1 - p
 *     2 q - 2 p + 3 * 2 q^2 p / (1 - q^2) - 2 p = 0,  and 1 - q^2 = p (1 + q):
 *     2 q - 4 (1 - q) + 6 q^2 / (1 + q) = 0  ->  12 q^2 + 2 q - 4 = 0  ->  q = (-1 + 7) / 12 = 1 / 2. */
Test(noisy, two_alike_share_what_they_show)
{
    static const double prior[] = {1, 1};
    double chance[2][2] = {{0.7, 0.3}, {0.7, 0.3}}, expected[2][2], worth[2][2];
    static const uint32_t both[] = {0, 1};
    learn_source sources[2];
    for (int s = 0; s < 2; s++)
        sources[s] = (learn_source){
            .values = 2, .prior = prior, .chance = chance[s], .expected = expected[s], .worth = worth[s]};
    learn_group groups[] = {{both, 2, 1, 1, 3, false}, {both, 2, 0, 1, 1, false}};
    learn_noisy of = {.sources = sources, .source_count = 2, .groups = groups, .group_count = 2};
    cr_assert_eq(learn_noisy_run(&of, &cw_system_allocator), CW_OK);
    cr_expect_float_eq(chance[0][1], 0.5, 1e-9);
    cr_expect_float_eq(chance[1][1], 0.5, 1e-9);
}

Test(noisy, what_no_source_can_make_counts_for_nothing)
{
    static const double prior[] = {10, 0};
    double chance[] = {1, 0}, expected[2], worth[2];
    static const uint32_t only[] = {0};
    learn_source source = {
        .values = 2, .prior = prior, .chance = chance, .expected = expected, .worth = worth};
    learn_group groups[] = {{only, 1, 1, 1, 3, false}, {only, 1, 0, 1, 4, false}};
    learn_noisy of = {.sources = &source, .source_count = 1, .groups = groups, .group_count = 2};
    cr_assert_eq(learn_noisy_run(&of, &cw_system_allocator), CW_OK);
    cr_expect_eq(of.impossible, 3);
    cr_expect_eq(source.cases, 4);
    cr_expect_eq(chance[1], 0);
}

static const problem_plan plans[] = {
    {.causes = 2, .values = 2, .jobs = 60, .most_causes = 2, .worth = 10},
    {.causes = 3, .values = 3, .jobs = 80, .most_causes = 3, .worth = 8, .missing = 0.4},
    {.causes = 2, .values = 4, .jobs = 120, .most_causes = 2, .worth = 12},
    {.causes = 3, .values = 2, .jobs = 100, .most_causes = 2, .worth = 10, .odds = true},
};
enum { PLANS = sizeof plans / sizeof *plans };

Test(noisy, no_step_makes_the_cases_less_likely)
{
    random_state random = random_start(11);
    for (uint32_t round = 0; round < 80; round++) {
        problem of;
        problem_make(&of, &random, &plans[round % PLANS]);
        double last = -INFINITY;
        for (int step = 0; step < 60; step++) {
            double before[PROBLEM_SOURCES][PROBLEM_VALUES];
            for (uint32_t s = 0; s < of.noisy.source_count; s++)
                memcpy(before[s], of.sources[s].chance, sizeof before[s]);
            learn_noisy_step(&of.noisy);
            if (step % 20 == 0)
                cr_expect_float_eq(of.noisy.objective, problem_log(&of, before), 1e-8);
            cr_assert_geq(of.noisy.objective, last - 1e-9, "round %u step %d: %.12g after %.12g", round, step,
                          of.noisy.objective, last);
            last = of.noisy.objective;
        }
    }
}

/* --- the maximum and the information, by differences of the slow sum --- */

typedef struct logits {
    uint32_t count;
    uint32_t source[PROBLEM_SOURCES * PROBLEM_VALUES], value[PROBLEM_SOURCES * PROBLEM_VALUES];
} logits;

static double at(const problem *of, const logits *all, uint32_t i, double a, uint32_t k, double b)
{
    double chance[PROBLEM_SOURCES][PROBLEM_VALUES];
    for (uint32_t s = 0; s < of->noisy.source_count; s++) {
        double sum = 0;
        for (uint32_t v = 0; v < of->sources[s].values; v++) {
            double logit = log(of->sources[s].chance[v]);
            logit += all->source[i] == s && all->value[i] == v ? a : 0;
            logit += all->source[k] == s && all->value[k] == v ? b : 0;
            sum += chance[s][v] = exp(logit);
        }
        for (uint32_t v = 0; v < of->sources[s].values; v++)
            chance[s][v] /= sum;
    }
    return problem_log(of, chance);
}

/* Gauss-Jordan. */
static void invert(uint32_t n, double m[][24], double out[][24])
{
    for (uint32_t i = 0; i < n; i++)
        for (uint32_t k = 0; k < n; k++)
            out[i][k] = i == k;
    for (uint32_t c = 0; c < n; c++) {
        const double pivot = m[c][c];
        for (uint32_t k = 0; k < n; k++) {
            m[c][k] /= pivot;
            out[c][k] /= pivot;
        }
        for (uint32_t i = 0; i < n; i++) {
            const double times = m[i][c];
            for (uint32_t k = 0; k < n && i != c; k++) {
                m[i][k] -= times * m[c][k];
                out[i][k] -= times * out[c][k];
            }
        }
    }
}

static void hold_against_differences(const problem *of)
{
    static double hessian[24][24], inverse[24][24];
    const double h = 1e-3;
    logits all = {0};
    for (uint32_t s = 0; s < of->noisy.source_count; s++)
        for (uint32_t v = 1; v < of->sources[s].values; v++) {
            all.source[all.count] = s;
            all.value[all.count++] = v;
        }
    for (uint32_t i = 0; i < all.count; i++) {
        const double slope = (at(of, &all, i, 1e-5, i, 0) - at(of, &all, i, -1e-5, i, 0)) / 2e-5;
        cr_expect_float_eq(slope, 0, 1e-4, "slope %g", slope);
        for (uint32_t k = 0; k < all.count; k++)
            hessian[i][k] = -(at(of, &all, i, h, k, h) - at(of, &all, i, h, k, -h) -
                              at(of, &all, i, -h, k, h) + at(of, &all, i, -h, k, -h)) /
                            (4 * h * h);
    }
    invert(all.count, hessian, inverse);
    for (uint32_t c = 0; c < all.count; c++) {
        const learn_source *source = &of->sources[all.source[c]];
        double variance = 0;
        for (uint32_t i = 0; i < all.count; i++)
            for (uint32_t k = 0; k < all.count; k++)
                if (all.source[i] == all.source[c] && all.source[k] == all.source[c])
                    variance += ((i == c) - source->chance[all.value[i]]) *
                                ((k == c) - source->chance[all.value[k]]) * inverse[i][k];
        const double p = source->chance[all.value[c]], worth = (1 - p) / p / variance;
        cr_expect_float_eq(source->worth[all.value[c]] / worth, 1, 2e-3, "p %g worth %g, not %g", p,
                           source->worth[all.value[c]], worth);
    }
}

Test(noisy, it_ends_at_the_maximum_and_knows_how_sure_it_is)
{
    random_state random = random_start(12);
    for (uint32_t round = 0; round < 40; round++) {
        problem of;
        problem_make(&of, &random, &plans[round % PLANS]);
        cr_assert_eq(learn_noisy_run(&of.noisy, &cw_system_allocator), CW_OK);
        cr_assert(of.noisy.settled);
        hold_against_differences(&of);
    }
}
