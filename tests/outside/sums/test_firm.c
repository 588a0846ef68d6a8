/* What is said to be firm stays first, whichever way every frequency is a word of the scale off. */
#include "network.h"
#include "rank/firm.h"
#include <criterion/criterion.h>
#include <math.h>

static double off(random_state *random, double frequency)
{
    return rank_word_off(frequency, random_below(random, 2) == 0 ? -1 : 1);
}

/* The frequency of one value; the others keep their shares of the rest. */
static void value_off(random_state *random, double *chances, uint32_t values, uint32_t value)
{
    const double was = chances[value], is = off(random, was);
    for (uint32_t v = 0; v < values; v++)
        chances[v] *= (1 - is) / (1 - was);
    chances[value] = is;
}

/* At a corner: each frequency up or down; of a normal finding, that anything else shows. */
static void all_off(sums_network *net, random_state *random)
{
    for (uint32_t c = 0; c < net->cause_count; c++)
        net->own[c] = off(random, net->own[c]);
    for (uint32_t i = 0; i < net->link_count; i++)
        net->links[i].chance = off(random, net->links[i].chance);
    for (uint32_t f = 0; f < net->finding_count; f++)
        value_off(random, net->findings[f].background, net->findings[f].values, net->findings[f].seen);
    for (uint32_t i = 0; i < net->sign_count; i++) {
        const sums_finding *finding = &net->findings[net->signs[i].finding];
        double *chances = net->signs[i].chances;
        if (finding->seen > 0) {
            value_off(random, chances, finding->values, finding->seen);
            continue;
        }
        const double shows = 1 - chances[0], is = off(random, shows);
        for (uint32_t v = 1; v < finding->values; v++)
            chances[v] *= is / shows;
        chances[0] = 1 - is;
    }
}

static uint32_t first_of(const double *by_cause, uint32_t count)
{
    uint32_t first = 0;
    for (uint32_t c = 1; c < count; c++)
        if (by_cause[c] > by_cause[first])
            first = c;
    return first;
}

Test(sums, what_is_firm_stays_first)
{
    random_state random = random_start(23);
    static sums_network net, other;
    int firm_ones = 0, others = 0, overtaken = 0;
    for (int round = 0; round < 600; round++) {
        double by_cause[SUMS_CAUSES], now[SUMS_CAUSES];
        sums_dense(&net, &random, 2 + random_below(&random, 6), 1 + random_below(&random, 8));
        for (uint32_t c = 0; c < net.cause_count && round % 2 == 0; c++) /* one that stands out */
            net.own[c] = c == 0 ? 0.7 : net.own[c] / 100;
        cr_assert_geq(sums_rank(&net, by_cause), 0);
        const uint32_t first = first_of(by_cause, net.cause_count);
        const bool firm = sums_firm(&net);
        firm_ones += firm;
        others += !firm;
        for (int corner = 0; corner < 20; corner++) {
            other = net;
            all_off(&other, &random);
            cr_assert_geq(sums_rank(&other, now), 0);
            const bool stays = first_of(now, net.cause_count) == first;
            cr_assert(stays || !firm, "round %d", round);
            overtaken += !stays;
        }
    }
    cr_assert_gt(firm_ones, 20, "%d", firm_ones);
    cr_assert_gt(others, 100, "%d", others);
    cr_assert_gt(overtaken, 100, "%d", overtaken);
}

/* One word is one step on the printed scale; between them in proportion, in log-odds. */
Test(sums, a_word_off_is_the_next_word)
{
    static const double scale[] = {0.01, 0.08, 0.3, 0.6, 0.85, 0.98};
    for (int i = 0; i < 5; i++) {
        cr_assert_float_eq(rank_word_off(scale[i], 1), scale[i + 1], 1e-12);
        cr_assert_float_eq(rank_word_off(scale[i + 1], -1), scale[i], 1e-12);
    }
    cr_assert_eq(rank_word_off(0, 1), 0);
    cr_assert_eq(rank_word_off(1, -1), 1);
    const double half = sqrt(0.6 / 0.4 * 0.85 / 0.15), next = sqrt(0.85 / 0.15 * 0.98 / 0.02);
    cr_assert_float_eq(rank_word_off(half / (1 + half), 1), next / (1 + next), 1e-12);
    /* Beyond the ends like the last step: never is to rarely as something is to never. */
    const double odds = (0.01 / 0.99) * (0.01 / 0.99) / (0.08 / 0.92);
    cr_assert_float_eq(rank_word_off(0.01, -1), odds / (1 + odds), 1e-12);
}
