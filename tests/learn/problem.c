#include "problem.h"

#include <math.h>
#include <string.h>

static double normal(random_state *random)
{
    const double pi = 3.14159265358979323846;
    return sqrt(-2 * log(1 - random_unit(random))) * cos(2 * pi * random_unit(random));
}

double problem_gamma(random_state *random, double shape)
{
    if (shape < 1)
        return problem_gamma(random, shape + 1) * pow(random_unit(random), 1 / shape);
    const double d = shape - 1.0 / 3, c = 1 / sqrt(9 * d);
    for (;;) {
        const double x = normal(random), v = pow(1 + c * x, 3);
        if (v > 0 && log(1 - random_unit(random)) < 0.5 * x * x + d - d * v + d * log(v))
            return d * v;
    }
}

static uint32_t draw(random_state *random, const double *chance, uint32_t values)
{
    double left = random_unit(random);
    for (uint32_t v = 0; v + 1 < values; v++) {
        if (left < chance[v])
            return v;
        left -= chance[v];
    }
    return values - 1;
}

static void make_source(problem *out, random_state *random, const problem_plan *plan, uint32_t s)
{
    double *prior = out->numbers[s][0], sum = 0;
    const double normal_share = s == 0 ? random_between(random, 0.9, 0.98) : random_between(random, 0.1, 0.8);
    for (uint32_t v = 1; v < plan->values; v++)
        sum += prior[v] = random_between(random, 0.3, 1);
    for (uint32_t v = 1; v < plan->values; v++)
        prior[v] *= plan->worth * (1 - normal_share) / sum;
    prior[0] = plan->worth * normal_share;
    sum = 0;
    for (uint32_t v = 0; v < plan->values; v++)
        sum += out->truth[s][v] = problem_gamma(random, prior[v]);
    for (uint32_t v = 0; v < plan->values; v++) {
        out->truth[s][v] /= sum;
        out->numbers[s][1][v] = prior[v] / plan->worth;
    }
    out->sources[s] = (learn_source){.values = plan->values,
                                     .prior = prior,
                                     .chance = out->numbers[s][1],
                                     .expected = out->numbers[s][2],
                                     .worth = out->numbers[s][3],
                                     .odds = s == 0 && plan->odds};
}

/* Which causes a job has, 0 the background first; how many. */
static uint32_t choose(random_state *random, const problem_plan *plan, uint32_t *list)
{
    uint32_t want = random_below(random, plan->most_causes + 1), count = 0;
    list[count++] = 0;
    for (uint32_t s = 1; s <= plan->causes; s++) {
        const uint32_t left = plan->causes - s + 1;
        if (want > 0 && random_below(random, left) < want) {
            list[count++] = s;
            want--;
        }
    }
    return count;
}

static void add_job(problem *out, const uint32_t *list, uint32_t count, uint32_t value, double times)
{
    uint32_t g = 0;
    for (; g < out->noisy.group_count; g++)
        if (out->groups[g].count == count && out->groups[g].value == value && out->groups[g].times == times &&
            memcmp(out->lists[g], list, count * sizeof *list) == 0)
            break;
    if (g == out->noisy.group_count) {
        memcpy(out->lists[g], list, count * sizeof *list);
        out->groups[g] =
            (learn_group){.sources = out->lists[g], .count = count, .value = value, .times = times};
        out->noisy.group_count++;
    }
    out->groups[g].cases++;
}

void problem_make(problem *out, random_state *random, const problem_plan *plan)
{
    memset(out, 0, sizeof *out);
    out->noisy =
        (learn_noisy){.sources = out->sources, .source_count = plan->causes + 1, .groups = out->groups};
    for (uint32_t s = 0; s <= plan->causes; s++)
        make_source(out, random, plan, s);
    for (uint32_t job = 0; job < plan->jobs; job++) {
        uint32_t list[PROBLEM_SOURCES], value = 0;
        const uint32_t count = choose(random, plan, list);
        const double times = plan->odds && random_below(random, 3) == 0 ? 3 : 1;
        for (uint32_t i = 0; i < count; i++) {
            const double *truth = out->truth[list[i]];
            const double odd = truth[1] * times / (truth[0] + truth[1] * times);
            const uint32_t drawn =
                list[i] == 0 && times != 1 ? random_unit(random) < odd : draw(random, truth, plan->values);
            value = drawn > value ? drawn : value;
        }
        if (random_unit(random) >= plan->missing)
            add_job(out, list, count, value, times);
    }
}

static double chance_of_draw(const learn_group *group, double chance[PROBLEM_SOURCES][PROBLEM_VALUES],
                             uint32_t source, uint32_t value)
{
    const double *own = chance[source];
    if (source != 0 || group->times == 1)
        return own[value];
    const double odds = own[1] / (1 - own[1]) * group->times;
    return value == 1 ? odds / (1 + odds) : 1 / (1 + odds);
}

/* Sum over every combination of draws of the group's sources from i on, the largest so far given. */
static double sum_draws(const problem *of, const learn_group *group, uint32_t i, uint32_t largest,
                        double chance[PROBLEM_SOURCES][PROBLEM_VALUES])
{
    if (i == group->count)
        return largest == group->value;
    double sum = 0;
    for (uint32_t v = 0; v < of->sources[0].values; v++)
        sum += chance_of_draw(group, chance, group->sources[i], v) *
               sum_draws(of, group, i + 1, v > largest ? v : largest, chance);
    return sum;
}

double problem_log(const problem *of, double chance[PROBLEM_SOURCES][PROBLEM_VALUES])
{
    double sum = 0;
    for (uint32_t s = 0; s < of->noisy.source_count; s++)
        for (uint32_t v = 0; v < of->sources[s].values; v++)
            sum += of->sources[s].prior[v] * log(chance[s][v]);
    for (uint32_t g = 0; g < of->noisy.group_count; g++)
        sum += of->groups[g].cases * log(sum_draws(of, &of->groups[g], 0, 0, chance));
    return sum;
}
