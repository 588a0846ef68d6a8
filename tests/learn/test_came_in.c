/* Jobs that nobody brings in, because nothing is wrong: how often causes come about, from jobs with at least
 * one. Against the truncated likelihood itself:
 *
 *     product over jobs of P(causes) / (1 - P(none)) */
#include "learn/beta.h"
#include "problem.h"

#include <criterion/criterion.h>
#include <math.h>

enum { CAUSES = 5, KINDS = 2, JOBS = 2000 };

/* In the second kind of job the odds of cause 0 are tripled and cause 1 is ruled out. */
typedef struct came {
    learn_noisy noisy;
    learn_source sources[CAUSES];
    learn_group groups[CAUSES * KINDS * 3];
    learn_came_in kinds[KINDS];
    uint32_t own[CAUSES], lists[KINDS][CAUSES];
    double prior[CAUSES][2], chance[CAUSES][2], expected[CAUSES][2], worth[CAUSES][2], truth[CAUSES];
    double present[KINDS][CAUSES], jobs[KINDS];
} came;

static bool ruled_out(uint32_t kind, uint32_t cause)
{
    return kind == 1 && cause == 1;
}

static double times_of(uint32_t kind, uint32_t cause)
{
    return kind == 1 && cause == 0 ? 3 : 1;
}

static double in_kind(double chance, uint32_t kind, uint32_t cause)
{
    const double odds = chance / (1 - chance) * times_of(kind, cause);
    return ruled_out(kind, cause) ? 0 : odds / (1 + odds);
}

static void draw_jobs(came *out, random_state *random, uint32_t jobs)
{
    while (jobs > 0) {
        const uint32_t kind = random_below(random, 4) == 0;
        bool there[CAUSES], any = false;
        for (uint32_t c = 0; c < CAUSES; c++)
            any |= there[c] = random_unit(random) < in_kind(out->truth[c], kind, c);
        for (uint32_t c = 0; any && c < CAUSES; c++)
            out->present[kind][c] += there[c];
        out->jobs[kind] += any;
        jobs -= any;
    }
}

static void add_group(came *out, uint32_t cause, uint32_t kind, uint32_t value, double cases)
{
    out->groups[out->noisy.group_count++] = (learn_group){.sources = &out->own[cause],
                                                          .count = 1,
                                                          .value = value,
                                                          .times = times_of(kind, cause),
                                                          .cases = cases};
}

static void make(came *out, random_state *random, double worth, uint32_t jobs)
{
    *out = (came){.noisy = {.sources = out->sources, .source_count = CAUSES, .groups = out->groups}};
    for (uint32_t c = 0; c < CAUSES; c++) {
        const double book = random_between(random, 0.05, 0.3);
        out->prior[c][1] = worth * book;
        out->prior[c][0] = worth - worth * book;
        out->chance[c][1] = book;
        out->chance[c][0] = 1 - book;
        const double a = problem_gamma(random, out->prior[c][1]);
        out->truth[c] = a / (a + problem_gamma(random, out->prior[c][0]));
        out->sources[c] = (learn_source){.values = 2,
                                         .prior = out->prior[c],
                                         .chance = out->chance[c],
                                         .expected = out->expected[c],
                                         .worth = out->worth[c],
                                         .odds = true};
    }
    draw_jobs(out, random, jobs);
    for (uint32_t c = 0; c < CAUSES; c++) {
        out->own[c] = c;
        for (uint32_t kind = 0; kind < KINDS; kind++) {
            if (ruled_out(kind, c))
                continue;
            add_group(out, c, kind, 1, out->present[kind][c]);
            add_group(out, c, kind, 0, out->jobs[kind] - out->present[kind][c]);
            out->lists[kind][out->kinds[kind].count++] = out->noisy.group_count;
            add_group(out, c, kind, 0, 0);
            out->groups[out->noisy.group_count - 1].unseen = true;
        }
    }
    for (uint32_t kind = 0; kind < KINDS; kind++) {
        out->kinds[kind].cases = out->jobs[kind];
        out->kinds[kind].groups = out->lists[kind];
    }
    out->noisy.came_in = out->kinds;
    out->noisy.came_in_count = KINDS;
}

static double slow_log(const came *of, const double *logits)
{
    double sum = 0;
    for (uint32_t kind = 0; kind < KINDS; kind++) {
        double none = 1;
        for (uint32_t c = 0; c < CAUSES; c++) {
            const double p = in_kind(1 / (1 + exp(-logits[c])), kind, c);
            none *= 1 - p;
            if (p > 0)
                sum += of->present[kind][c] * log(p) + (of->jobs[kind] - of->present[kind][c]) * log(1 - p);
        }
        sum -= of->jobs[kind] * log(1 - none);
    }
    for (uint32_t c = 0; c < CAUSES; c++) {
        const double p = 1 / (1 + exp(-logits[c]));
        sum += of->prior[c][1] * log(p) + of->prior[c][0] * log(1 - p);
    }
    return sum;
}

static void logits_of(const came *of, double *out)
{
    for (uint32_t c = 0; c < CAUSES; c++)
        out[c] = log(of->chance[c][1] / of->chance[c][0]);
}

Test(came_in, no_step_makes_the_jobs_less_likely)
{
    random_state random = random_start(41);
    for (int round = 0; round < 40; round++) {
        came of;
        make(&of, &random, 10, 200);
        double last = -INFINITY, logits[CAUSES];
        for (int step = 0; step < 50; step++) {
            logits_of(&of, logits);
            const double slow = slow_log(&of, logits);
            learn_noisy_step(&of.noisy);
            cr_expect_float_eq(of.noisy.objective, slow, 1e-7, "%.12g, not %.12g", of.noisy.objective, slow);
            cr_assert_geq(of.noisy.objective, last - 1e-9);
            last = of.noisy.objective;
        }
    }
}

static double moved(const came *of, const double *logits, uint32_t i, double a, uint32_t k, double b)
{
    double to[CAUSES];
    for (uint32_t c = 0; c < CAUSES; c++)
        to[c] = logits[c] + (c == i ? a : 0) + (c == k ? b : 0);
    return slow_log(of, to);
}

/* Gauss-Jordan: the inverse stands in out. */
static void invert(double m[CAUSES][CAUSES], double out[CAUSES][CAUSES])
{
    for (uint32_t c = 0; c < CAUSES; c++)
        for (uint32_t k = 0; k < CAUSES; k++)
            out[c][k] = c == k;
    for (uint32_t c = 0; c < CAUSES; c++) {
        const double pivot = m[c][c];
        for (uint32_t k = 0; k < CAUSES; k++) {
            m[c][k] /= pivot;
            out[c][k] /= pivot;
        }
        for (uint32_t i = 0; i < CAUSES; i++) {
            const double times = m[i][c];
            for (uint32_t k = 0; k < CAUSES && i != c; k++) {
                m[i][k] -= times * m[c][k];
                out[i][k] -= times * out[c][k];
            }
        }
    }
}

Test(came_in, it_ends_at_the_maximum_and_knows_how_sure_it_is)
{
    random_state random = random_start(42);
    for (int round = 0; round < 40; round++) {
        came of;
        double logits[CAUSES], hessian[CAUSES][CAUSES], inverse[CAUSES][CAUSES];
        const double h = 1e-3;
        make(&of, &random, 10, 300);
        cr_assert_eq(learn_noisy_run(&of.noisy, &cw_system_allocator), CW_OK);
        cr_assert(of.noisy.settled);
        logits_of(&of, logits);
        for (uint32_t i = 0; i < CAUSES; i++) {
            cr_expect_float_eq(
                (moved(&of, logits, i, 1e-5, i, 0) - moved(&of, logits, i, -1e-5, i, 0)) / 2e-5, 0, 1e-4);
            for (uint32_t k = 0; k < CAUSES; k++)
                hessian[i][k] = (moved(&of, logits, i, h, k, -h) + moved(&of, logits, i, -h, k, h) -
                                 moved(&of, logits, i, h, k, h) - moved(&of, logits, i, -h, k, -h)) /
                                (4 * h * h);
        }
        invert(hessian, inverse);
        for (uint32_t c = 0; c < CAUSES; c++) {
            const double p = of.chance[c][1], worth = 1 / (p * (1 - p) * inverse[c][c]);
            cr_expect_float_eq(of.worth[c][1] / worth, 1, 2e-3, "%g, not %g", of.worth[c][1], worth);
        }
    }
}

Test(came_in, ninety_of_a_hundred_intervals_hold_the_truth)
{
    random_state random = random_start(43);
    uint32_t held = 0, count = 0;
    for (int round = 0; round < 400; round++) {
        came of;
        make(&of, &random, 10, JOBS);
        cr_assert_eq(learn_noisy_run(&of.noisy, &cw_system_allocator), CW_OK);
        for (uint32_t c = 0; c < CAUSES; c++, count++) {
            const double shares = of.chance[c][1] * of.worth[c][1], rest = of.worth[c][1] - shares;
            held += of.truth[c] >= learn_beta_quantile(0.05, shares, rest) &&
                    of.truth[c] <= learn_beta_quantile(0.95, shares, rest);
        }
    }
    cr_log_info("%u of %u", held, count);
    cr_expect(held > 0.87 * count && held < 0.93 * count, "%u of %u", held, count);
}
