/* What a unit shows, seen through swaps and blunders. */
#include "learn/beta.h"
#include "learn/shown.h"
#include "problem.h"

#include <criterion/criterion.h>
#include <math.h>

enum { VALUES = 3 };

Test(shown, clearly_seen_it_is_the_mean_of_its_dirichlet)
{
    static const double prior[] = {4, 1, 5}, cases[] = {7, 0, 13}, none[VALUES];
    double chance[] = {0.4, 0.1, 0.5}, expected[VALUES], worth[VALUES];
    learn_shown of = {VALUES, 1, none, prior, cases, chance, expected, worth, 0, 0, false};
    cr_assert_eq(learn_shown_run(&of, &cw_system_allocator), CW_OK);
    cr_expect_float_eq(chance[0], 11.0 / 30, 1e-15);
    cr_expect_float_eq(chance[2], 18.0 / 30, 1e-15);
    cr_expect_eq(worth[1], 30);
}

typedef struct seen_unit {
    double prior[VALUES], truth[VALUES], blurred[VALUES], cases[VALUES], chance[VALUES], expected[VALUES],
        worth[VALUES];
    learn_shown of;
} seen_unit;

static void make(seen_unit *out, random_state *random, uint32_t jobs)
{
    double sum = 0;
    *out = (seen_unit){.of = {.values = VALUES, .clear = random_between(random, 0.6, 0.95)}};
    for (int v = 0; v < VALUES; v++) {
        out->prior[v] = random_between(random, 1, 5);
        out->chance[v] = out->prior[v];
        sum += out->truth[v] = problem_gamma(random, out->prior[v]);
    }
    const double worth = out->prior[0] + out->prior[1] + out->prior[2];
    for (int v = 0; v < VALUES; v++) {
        out->chance[v] /= worth;
        out->truth[v] /= sum;
        out->blurred[v] = (1 - out->of.clear) * (v == 0 ? 0.5 : 0.25);
    }
    for (uint32_t job = 0; job < jobs; job++) {
        double left = random_unit(random);
        int v = 0;
        while (v < VALUES - 1 && left >= out->of.clear * out->truth[v] + out->blurred[v]) {
            left -= out->of.clear * out->truth[v] + out->blurred[v];
            v++;
        }
        out->cases[v]++;
    }
    out->of.blurred = out->blurred;
    out->of.prior = out->prior;
    out->of.cases = out->cases;
    out->of.chance = out->chance;
    out->of.expected = out->expected;
    out->of.worth = out->worth;
}

static double log_of(const seen_unit *unit, double first, double second)
{
    const double chance[] = {first, second, 1 - first - second};
    double sum = 0;
    for (int v = 0; v < VALUES; v++)
        sum += unit->prior[v] * log(chance[v]) +
               unit->cases[v] * log(unit->of.clear * chance[v] + unit->blurred[v]);
    return sum;
}

Test(shown, no_step_makes_the_cases_less_likely_and_the_end_is_the_maximum)
{
    random_state random = random_start(31);
    for (int round = 0; round < 60; round++) {
        seen_unit unit;
        make(&unit, &random, 100);
        double last = -INFINITY;
        for (int step = 0; step < 30; step++) {
            const double slow = log_of(&unit, unit.chance[0], unit.chance[1]);
            learn_shown_step(&unit.of);
            cr_expect_float_eq(unit.of.objective, slow, 1e-9);
            cr_assert_geq(unit.of.objective, last - 1e-10);
            last = unit.of.objective;
        }
        cr_assert_eq(learn_shown_run(&unit.of, &cw_system_allocator), CW_OK);
        const double *p = unit.chance, h = 1e-4, top = log_of(&unit, p[0], p[1]);
        cr_expect_leq(log_of(&unit, p[0] + h, p[1]), top);
        cr_expect_leq(log_of(&unit, p[0] - h, p[1]), top);
        cr_expect_leq(log_of(&unit, p[0], p[1] + h), top);
        cr_expect_leq(log_of(&unit, p[0], p[1] - h), top);
    }
}

Test(shown, ninety_of_a_hundred_intervals_hold_the_truth)
{
    random_state random = random_start(32);
    uint32_t held = 0, count = 0;
    for (int round = 0; round < 1200; round++) {
        seen_unit unit;
        make(&unit, &random, 300);
        cr_assert_eq(learn_shown_run(&unit.of, &cw_system_allocator), CW_OK);
        for (int v = 0; v < VALUES; v++, count++) {
            const double shares = unit.chance[v] * unit.worth[v], rest = unit.worth[v] - shares;
            held += unit.truth[v] >= learn_beta_quantile(0.05, shares, rest) &&
                    unit.truth[v] <= learn_beta_quantile(0.95, shares, rest);
        }
    }
    cr_log_info("%u of %u", held, count);
    cr_expect(held > 0.87 * count && held < 0.93 * count, "%u of %u", held, count);
}
