/* Bits against the plainest way there is: every answer, every hypothesis or set of causes, entropies before
 * and after. */
#include "ask/inside.h"
#include "ask/world.h"

enum { UNITS = 5, CHECKS = 4, CAUSES = 5, FINDINGS = 4, MOST = 4 };

static double entropy(const double *p, size_t count)
{
    double bits = 0;
    for (size_t i = 0; i < count; i++)
        bits -= p[i] > 0 ? p[i] * log2(p[i]) : 0;
    return bits;
}

static double entropy_of_yes(double p)
{
    return entropy((double[]){p, 1 - p}, 2);
}

/* -- Units -- */

typedef struct catalogue {
    uint32_t values[CHECKS];
    double chances[UNITS][CHECKS][MOST];
    bool has[UNITS][CHECKS];
    double seen[UNITS], swapped[CHECKS], blunders[CHECKS], not_listed;
    uint32_t group[CHECKS]; /* swapped together; 0 = by itself */
} catalogue;

enum { GROUPS = 2 };

static catalogue random_catalogue(random_state *random)
{
    catalogue c = {.not_listed = random_between(random, 0.01, 0.2)};
    double shares[GROUPS + 1] = {0, random_between(random, 0, 0.8), random_between(random, 0, 0.4)};
    for (int k = 0; k < CHECKS; k++) {
        c.values[k] = 2 + random_below(random, MOST - 1);
        c.group[k] = random_below(random, GROUPS + 1);
        shares[0] = random_below(random, 2) ? 0 : random_between(random, 0, 0.4);
        c.swapped[k] = shares[c.group[k]];
        c.blunders[k] = random_below(random, 2) ? 0 : random_between(random, 0, 0.1);
    }
    for (int u = 0; u < UNITS; u++) {
        c.seen[u] = random_between(random, 1, 30);
        for (int k = 0; k < CHECKS; k++) {
            c.has[u][k] = random_below(random, 4) != 0;
            world_chances(random, c.values[k], c.chances[u][k]);
        }
    }
    return c;
}

static cw_model *build_catalogue(const catalogue *c)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[CHECKS];
    char name[16];
    cw_builder_not_listed(builder, c->not_listed);
    for (uint32_t k = 0; k < CHECKS; k++)
        facts[k] = world_check(
            builder, world_name(name, 'c', k), c->values[k],
            (cw_check){.swapped = c->swapped[k], .swap_group = c->group[k], .blunders = c->blunders[k]});
    for (uint32_t u = 0; u < UNITS; u++) {
        const double *chances[CHECKS];
        cw_fact_id on[CHECKS];
        uint32_t count = 0;
        for (int k = 0; k < CHECKS; k++) {
            if (!c->has[u][k])
                continue;
            on[count] = facts[k];
            chances[count++] = c->chances[u][k];
        }
        world_unit(builder, world_name(name, 'u', u), c->seen[u], on, chances, count);
    }
    return world_finish(builder);
}

/* P(value | hypothesis, swapped or not), hypothesis UNITS = not listed: as the language reference says it. */
static double seen_chance(const catalogue *c, int k, uint32_t v, int u, bool swapped)
{
    double average = 0, weight = 0, n = c->values[k];
    for (int i = 0; i < UNITS; i++) {
        average += c->has[i][k] ? c->seen[i] * c->chances[i][k][v] : 0;
        weight += c->has[i][k] ? c->seen[i] : 0;
    }
    average = weight > 0 ? average / weight : 1 / n;
    double real = u == UNITS ? average / 2 + 1 / (2 * n) : average;
    if (u < UNITS && c->has[u][k] && !swapped)
        real = c->chances[u][k][v];
    return (1 - c->blunders[k]) * real + c->blunders[k] / n;
}

/* P(answers | hypothesis): over all sets of swaps, those of groups 1 and 2 and then those of single checks.
 */
static double answers_chance(const catalogue *c, const int *answers, int u)
{
    double sum = 0;
    for (unsigned set = 0; set < 1u << (GROUPS + CHECKS); set++) {
        double chance = 1;
        bool counted[GROUPS + CHECKS] = {false};
        for (uint32_t k = 0; k < CHECKS; k++) {
            uint32_t swap = c->group[k] > 0 ? c->group[k] - 1 : GROUPS + k;
            bool swapped = set >> swap & 1;
            if (!counted[swap])
                chance *= swapped ? c->swapped[k] : 1 - c->swapped[k];
            counted[swap] = true;
            if (answers[k] >= 0)
                chance *= seen_chance(c, (int)k, (uint32_t)answers[k], u, swapped);
        }
        for (int swap = 0; swap < GROUPS + CHECKS; swap++)
            if (!counted[swap] && set >> swap & 1)
                chance = 0;
        sum += chance;
    }
    return sum;
}

/* Returns P(answers). */
static double posterior(const catalogue *c, const int *answers, double *p)
{
    double seen = 0, sum = 0;
    for (int u = 0; u < UNITS; u++)
        seen += c->seen[u];
    for (int u = 0; u <= UNITS; u++) {
        p[u] = u == UNITS ? c->not_listed : (1 - c->not_listed) * c->seen[u] / seen;
        sum += p[u] *= answers_chance(c, answers, u);
    }
    for (int u = 0; u <= UNITS; u++)
        p[u] /= sum;
    return sum;
}

static double expected_bits(const catalogue *c, const int *answers, int k)
{
    double before[UNITS + 1], after[UNITS + 1];
    int further[CHECKS];
    memcpy(further, answers, sizeof further);
    double all = posterior(c, answers, before), bits = entropy(before, UNITS + 1);
    for (uint32_t v = 0; v < c->values[k]; v++) {
        further[k] = (int)v;
        double chance = posterior(c, further, after) / all;
        bits -= chance * entropy(after, UNITS + 1);
    }
    return bits;
}

Test(gain, units_as_mutual_information)
{
    random_state random = random_start(11);
    for (int round = 0; round < 60; round++) {
        catalogue c = random_catalogue(&random);
        world w = world_open(build_catalogue(&c), CW_IDENTIFY);
        int answers[CHECKS];
        char name[16];
        for (uint32_t k = 0; k < CHECKS; k++) {
            answers[k] = random_below(&random, 3) == 0 ? (int)random_below(&random, c.values[k]) : -1;
            if (answers[k] >= 0)
                world_answer(&w, world_name(name, 'c', k), (uint32_t)answers[k]);
        }
        cw_advice advice = world_next(&w);
        cr_assert_not(advice.cut_short);
        for (uint32_t k = 0; k < CHECKS; k++) {
            double bits = world_bits(&w, &advice, world_name(name, 'c', k));
            if (answers[k] >= 0)
                cr_assert_null(world_proposal(&w, &advice, name));
            else
                cr_assert_float_eq(bits, expected_bits(&c, answers, (int)k), 1e-10);
        }
        world_close(&w);
    }
}

/* One look, which sets the stage and so may stand behind two findings, tells two features of what is swapped
 * together; a third is known. Each answer brings two new pieces of evidence of one group. */
Test(gain, one_answer_tells_two_features_of_a_swap)
{
    random_state random = random_start(14);
    for (int round = 0; round < 60; round++) {
        catalogue c = random_catalogue(&random);
        cw_builder *builder = cw_builder_new(&cw_system_allocator);
        cw_fact_id facts[CHECKS], look = 0;
        char name[16];
        cw_builder_not_listed(builder, c.not_listed);
        for (uint32_t k = 0; k < CHECKS; k++) {
            c.values[k] = 2;
            c.group[k] = 1;
            c.swapped[k] = c.swapped[0];
            c.blunders[k] = 0.01;
            cw_check check = {.swapped = c.swapped[k], .swap_group = 1, .blunders = c.blunders[k]};
            facts[k] = world_check(builder, world_name(name, 'c', k), 2, check);
        }
        look = world_values(builder, "look", 2, NULL, true);
        world_ask(builder, "look", look, (cw_check){0});
        for (uint32_t v = 0; v < 2; v++) {
            cw_atom_id premise = world_atom(builder, look, v);
            world_rule(builder, world_atom(builder, facts[1], v), &premise, 1);
            world_rule(builder, world_atom(builder, facts[2], 1 - v), &premise, 1);
        }
        for (uint32_t u = 0; u < UNITS; u++) {
            double chances[CHECKS][MOST];
            const double *of[CHECKS];
            for (int k = 0; k < CHECKS; k++) {
                c.has[u][k] = true;
                world_chances(&random, 2, chances[k]);
                memcpy(c.chances[u][k], chances[k], sizeof chances[k]);
                of[k] = chances[k];
            }
            world_unit(builder, world_name(name, 'u', u), c.seen[u], facts, of, CHECKS);
        }
        world w = world_open(world_finish(builder), CW_IDENTIFY);
        world_answer(&w, "c0", 1);
        double before[UNITS + 1], after[UNITS + 1], bits = 0, weights = 0;
        double all = posterior(&c, (int[]){1, -1, -1, -1}, before);
        for (int v = 0; v < 2; v++) {
            double weight = posterior(&c, (int[]){1, v, 1 - v, -1}, after) / all;
            for (int u = 0; u <= UNITS; u++)
                bits += weight * after[u] * log2(after[u] / before[u]);
            weights += weight;
        }
        cw_advice advice = world_next(&w);
        cr_assert_float_eq(world_bits(&w, &advice, "look"), bits / weights, 1e-10);
        world_close(&w);
    }
}

/* The same catalogue, its signs not on the checks but on facts that rules conclude from them, value for
 * value. */
Test(gain, looks_ahead_through_rules)
{
    random_state random = random_start(12);
    for (int round = 0; round < 30; round++) {
        catalogue c = random_catalogue(&random);
        cw_builder *builder = cw_builder_new(&cw_system_allocator);
        cw_fact_id facts[CHECKS];
        char name[16];
        cw_builder_not_listed(builder, c.not_listed);
        for (uint32_t k = 0; k < CHECKS; k++) {
            c.swapped[k] = c.blunders[k] = 0;
            c.group[k] = 0;
            facts[k] = world_values(builder, world_name(name, 'f', k), c.values[k], NULL, false);
            cw_fact_id check = world_check(builder, world_name(name, 'c', k), c.values[k], (cw_check){0});
            for (uint32_t v = 0; v < c.values[k];
                 v++) { /* the other way round, to be sure it is the fact that counts */
                cw_atom_id premise = world_atom(builder, check, c.values[k] - 1 - v);
                world_rule(builder, world_atom(builder, facts[k], v), &premise, 1);
            }
        }
        for (uint32_t u = 0; u < UNITS; u++) {
            const double *chances[CHECKS];
            for (int k = 0; k < CHECKS; k++) {
                c.has[u][k] = true;
                chances[k] = c.chances[u][k];
            }
            world_unit(builder, world_name(name, 'u', u), c.seen[u], facts, chances, CHECKS);
        }
        world w = world_open(world_finish(builder), CW_IDENTIFY);
        int answers[CHECKS] = {-1, 1, -1, -1};
        world_answer(&w, "c1", c.values[1] - 2);
        cw_advice advice = world_next(&w);
        for (uint32_t k = 0; k < CHECKS; k++)
            if (answers[k] < 0)
                cr_assert_float_eq(world_bits(&w, &advice, world_name(name, 'c', k)),
                                   expected_bits(&c, answers, (int)k), 1e-10);
        world_close(&w);
    }
}

/* -- Causes -- */

typedef struct trouble {
    double seen[CAUSES], leads[CAUSES][CAUSES]; /* only from lower to higher numbers */
    uint32_t values[FINDINGS];
    double signs[CAUSES][FINDINGS][MOST], background[FINDINGS][MOST];
    bool has[CAUSES][FINDINGS], in_unit[CAUSES];
} trouble;

static trouble random_trouble(random_state *random)
{
    trouble t = {.seen = {0}};
    for (int f = 0; f < FINDINGS; f++) {
        t.values[f] = 2 + random_below(random, MOST - 1);
        world_chances(random, t.values[f], t.background[f]);
        t.background[f][0] += 4;
        for (uint32_t v = 0; v < t.values[f]; v++)
            t.background[f][v] /= 5;
    }
    for (int c = 0; c < CAUSES; c++) {
        t.seen[c] = random_between(random, 0.02, 0.3);
        t.in_unit[c] = random_below(random, 2);
        for (int f = 0; f < FINDINGS; f++) {
            t.has[c][f] = random_below(random, 2);
            world_chances(random, t.values[f], t.signs[c][f]);
        }
        for (int d = c + 1; d < CAUSES; d++)
            t.leads[c][d] = random_below(random, 4) == 0 ? random_between(random, 0.1, 0.8) : 0;
    }
    return t;
}

static cw_model *build_trouble(const trouble *t)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[FINDINGS];
    cw_cause_id causes[CAUSES];
    char name[16];
    cw_part_id parts[2] = {
        cw_builder_part(builder, &(cw_part){.name = "b", .title = "b", .where = CW_PART_VEHICLE}),
        cw_builder_part(builder, &(cw_part){.name = "a", .title = "a", .where = CW_PART_UNIT})};
    for (uint32_t f = 0; f < FINDINGS; f++) {
        facts[f] = world_values(builder, world_name(name, 'f', f), t->values[f], t->background[f], false);
        world_ask(builder, name, facts[f], (cw_check){0});
    }
    for (uint32_t c = 0; c < CAUSES; c++) {
        const double *chances[FINDINGS];
        cw_fact_id on[FINDINGS];
        uint32_t count = 0;
        for (int f = 0; f < FINDINGS; f++) {
            if (!t->has[c][f])
                continue;
            on[count] = facts[f];
            chances[count++] = t->signs[c][f];
        }
        causes[c] = world_cause(builder, world_name(name, 'k', c), parts[t->in_unit[c]], t->seen[c], on,
                                chances, count);
    }
    for (int c = 0; c < CAUSES; c++)
        for (int d = c + 1; d < CAUSES; d++)
            if (t->leads[c][d] > 0)
                cw_builder_leads_to(builder, causes[c], causes[d], t->leads[c][d]);
    return world_finish(builder);
}

/* P(finding f at most v | set of causes). */
static double at_most(const trouble *t, int f, int v, unsigned set)
{
    double chance = 0;
    for (int i = 0; i <= v; i++)
        chance += t->background[f][i];
    for (int c = 0; c < CAUSES; c++) {
        double own = 0;
        for (int i = 0; i <= v; i++)
            own += t->signs[c][f][i];
        chance *= (set >> c & 1) && t->has[c][f] ? own : 1;
    }
    return v < 0 ? 0 : chance;
}

/* Fills p with the chance of each cause, then that of any in the unit; returns P(answers). */
static double diagnose(const trouble *t, const int *answers, double *p)
{
    double all = 0;
    memset(p, 0, (CAUSES + 1) * sizeof *p);
    for (unsigned set = 0; set < 1u << CAUSES; set++) {
        double chance = 1;
        bool fault = false;
        for (int c = 0; c < CAUSES; c++) {
            double absent = 1 - t->seen[c];
            for (int d = 0; d < c; d++)
                absent *= set >> d & 1 ? 1 - t->leads[d][c] : 1;
            chance *= set >> c & 1 ? 1 - absent : absent;
            fault |= (set >> c & 1) && t->in_unit[c];
        }
        for (int f = 0; f < FINDINGS; f++)
            if (answers[f] >= 0)
                chance *= at_most(t, f, answers[f], set) - at_most(t, f, answers[f] - 1, set);
        all += chance;
        for (int c = 0; c < CAUSES; c++)
            p[c] += set >> c & 1 ? chance : 0;
        p[CAUSES] += fault ? chance : 0;
    }
    for (int c = 0; c <= CAUSES; c++)
        p[c] /= all;
    return all;
}

static double unsettled(const double *p)
{
    double bits = 2 * entropy_of_yes(p[CAUSES]);
    for (int c = 0; c < CAUSES; c++)
        bits += entropy_of_yes(p[c]);
    return bits;
}

static double expected_fall(const trouble *t, const int *answers, int f)
{
    double p[CAUSES + 1];
    int further[FINDINGS];
    memcpy(further, answers, sizeof further);
    double before = diagnose(t, answers, p), bits = unsettled(p);
    for (uint32_t v = 0; v < t->values[f]; v++) {
        further[f] = (int)v;
        double chance = diagnose(t, further, p) / before;
        bits -= chance * unsettled(p);
    }
    return bits;
}

Test(gain, causes_as_expected_fall_of_entropies)
{
    random_state random = random_start(13);
    for (int round = 0; round < 60; round++) {
        trouble t = random_trouble(&random);
        world w = world_open(build_trouble(&t), CW_TRIAGE);
        int answers[FINDINGS];
        char name[16];
        for (uint32_t f = 0; f < FINDINGS; f++) {
            answers[f] = random_below(&random, 3) == 0 ? (int)random_below(&random, t.values[f]) : -1;
            if (answers[f] >= 0)
                world_answer(&w, world_name(name, 'f', f), (uint32_t)answers[f]);
        }
        cw_advice advice = world_next(&w);
        for (uint32_t f = 0; f < FINDINGS; f++)
            if (answers[f] < 0)
                cr_assert_float_eq(world_bits(&w, &advice, world_name(name, 'f', f)),
                                   expected_fall(&t, answers, (int)f), 1e-9);
        world_close(&w);
    }
}

/* -- Answers that say nothing -- */

/* c = v1 concludes f = v1, anything else nothing: the silent answers get what v1 leaves. */
static cw_model *one_cue(uint32_t values, double a, double b)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id check = world_check(builder, "c", values, (cw_check){0});
    cw_fact_id fact = world_values(builder, "f", 2, NULL, false);
    cw_atom_id premise = world_atom(builder, check, 1);
    world_rule(builder, world_atom(builder, fact, 1), &premise, 1);
    const double first[] = {1 - a, a}, second[] = {1 - b, b};
    world_unit(builder, "one", 1, &fact, &(const double *){first}, 1);
    world_unit(builder, "two", 1, &fact, &(const double *){second}, 1);
    return world_finish(builder);
}

static double told(double p, double q)
{
    return q * log2(q / p);
}

Test(gain, silent_answers_get_what_the_cue_leaves)
{
    world w = world_open(one_cue(2, 0.3, 0.1), CW_IDENTIFY);
    cw_advice advice = world_next(&w);
    /* One in five sees the cue, then it is the first unit three times in four. */
    cr_assert_float_eq(world_bits(&w, &advice, "c"), 0.2 * (told(0.5, 0.75) + told(0.5, 0.25)), 1e-12);
    world_close(&w);
}

Test(gain, silent_answers_get_at_least_their_number)
{
    world w = world_open(one_cue(4, 0.96, 0.64), CW_IDENTIFY);
    cw_advice advice = world_next(&w);
    /* The cue would come in 0.8 of all cases, but it is one answer of four. */
    cr_assert_float_eq(world_bits(&w, &advice, "c"), 0.25 * (told(0.5, 0.6) + told(0.5, 0.4)), 1e-12);
    world_close(&w);
}

/* A circumstance: three answers, one of which makes the cause three times as likely. Each answer counts
 * alike. */
Test(gain, circumstances_count_by_the_number_of_answers)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id when = world_values(builder, "when", 3, NULL, true);
    world_ask(builder, "when", when, (cw_check){0});
    cw_part_id part =
        cw_builder_part(builder, &(cw_part){.name = "b", .title = "b", .where = CW_PART_VEHICLE});
    cw_shift shift = {.atom = world_atom(builder, when, 2), .times = 3};
    cw_cause_spec spec = {
        .cause = {.name = "k", .title = "k", .part = part, .seen = 0.25}, .shifts = &shift, .shift_count = 1};
    cw_builder_cause(builder, &spec);
    world w = world_open(world_finish(builder), CW_TRIAGE);
    cw_advice advice = world_next(&w);
    cr_assert_float_eq(world_bits(&w, &advice, "when"), (told(0.25, 0.5) + told(0.75, 0.5)) / 3, 1e-12);
    world_close(&w);
}

/* A stamped check: a text for each pattern and one for none, as likely as the ranking of units says. */
Test(gain, stamped_texts)
{
    static const char *const texts[] = {"^A ?1\\b", "^(B|C)[7-9]"};
    static const double often[] = {0.8, 0.6};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id stamp =
        cw_builder_fact(builder, &(cw_fact){.name = "stamp", .kind = CW_STAMPED}, NULL, 0, NULL);
    world_ask(builder, "stamp", stamp, (cw_check){.blunders = 0.02, .swapped = 0.1});
    for (uint32_t u = 0; u < 3; u++) {
        char name[16], message[100];
        cw_sign_spec sign = {.sign = {.fact = stamp, .kind = CW_SIGN_PATTERNS, .chances = &often[u % 2]},
                             .pattern_count = 1};
        uint32_t number = 0;
        if (u < 2) {
            cw_pattern *pattern = NULL;
            size_t offset = 0;
            cr_assert_eq(cw_pattern_new(&cw_system_allocator, texts[u], strlen(texts[u]), &pattern, &offset,
                                        message, sizeof message),
                         CW_OK);
            number = cw_builder_pattern(builder, pattern);
            sign.patterns = &number;
        }
        cw_unit unit = {.name = world_name(name, 'u', u), .seen = 1, .version = true};
        cw_builder_unit(builder, &unit, &sign, u < 2 ? 1 : 0);
    }
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    double bits = 0, weights = 0;
    for (int text = -1; text < 2; text++) { /* -1: matched by none */
        double likely[3], all = 0, gained = 0, c = text < 0 ? 0.99 : 0.01;
        for (int u = 0; u < 3; u++)
            likely[u] = u == 2 ? c : u == text ? often[u] : (1 - often[u]) * c;
        double average = (likely[0] + likely[1]) / 2; /* the third says nothing of it */
        for (int u = 0; u < 3; u++) {
            likely[u] = 0.98 * (0.9 * likely[u] + 0.1 * average) + 0.02 / 2;
            all += likely[u] / 3;
        }
        for (int u = 0; u < 3; u++)
            gained += likely[u] / 3 / all * log2(likely[u] / all);
        bits += all * gained;
        weights += all;
    }
    cw_advice advice = world_next(&w);
    cr_assert_float_eq(world_bits(&w, &advice, "stamp"), bits / weights, 1e-12);
    world_close(&w);
}

static cw_model *one_cause(cw_builder *builder, double seen, cw_atom_id ruled_out, const cw_shift *shifts,
                           uint32_t count)
{
    cw_part_id part =
        cw_builder_part(builder, &(cw_part){.name = "b", .title = "b", .where = CW_PART_VEHICLE});
    cw_cause_spec spec = {
        .cause = {.name = "k", .title = "k", .part = part, .seen = seen, .ruled_out = ruled_out},
        .shifts = shifts,
        .shift_count = count};
    cw_builder_cause(builder, &spec);
    return world_finish(builder);
}

/* Of five answers one says nothing, one makes the cause nine times as likely, three make it a third as
 * likely. */
Test(gain, circumstances_that_several_answers_bring_count_for_each)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id when = world_values(builder, "when", 5, NULL, true),
               late = world_values(builder, "late", 2, NULL, true);
    world_ask(builder, "when", when, (cw_check){0});
    for (uint32_t v = 2; v < 5; v++) {
        cw_atom_id premise = world_atom(builder, when, v);
        world_rule(builder, world_atom(builder, late, 1), &premise, 1);
    }
    const cw_shift shifts[] = {{.atom = world_atom(builder, when, 1), .times = 9},
                               {.atom = world_atom(builder, late, 1), .times = 1 / 3.0}};
    world w = world_open(one_cause(builder, 0.1, 0, shifts, 2), CW_TRIAGE);
    cw_advice advice = world_next(&w);
    double more = told(0.1, 0.5) + told(0.9, 0.5), third = 1 / 28.0,
           less = told(0.1, third) + told(0.9, 1 - third);
    cr_assert_float_eq(world_bits(&w, &advice, "when"), more / 5 + 3 * less / 5, 1e-12);
    world_close(&w);
}

Test(gain, ruling_out_is_news)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id when = world_values(builder, "when", 2, NULL, true);
    world_ask(builder, "when", when, (cw_check){0});
    world w = world_open(one_cause(builder, 0.25, world_atom(builder, when, 1), NULL, 0), CW_TRIAGE);
    cw_advice advice = world_next(&w);
    cr_assert_float_eq(world_bits(&w, &advice, "when"), told(0.75, 1) / 2, 1e-12);
    world_close(&w);
}

/* The first answer counted by itself; once the second is there, the two together conclude what is more
 * specific, and the first no longer counts: its weight must be taken back, not counted twice. */
Test(gain, what_yields_to_a_closer_look_is_taken_back)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const double a_signs[2][2] = {{0.8, 0.2}, {0.3, 0.7}}, f_signs[2][2] = {{0.9, 0.1}, {0.4, 0.6}};
    cw_fact_id a = world_check(builder, "a", 2, (cw_check){0}),
               b = world_check(builder, "b", 2, (cw_check){0});
    const cw_fact_id facts[] = {a, world_values(builder, "f", 2, NULL, false)};
    for (uint32_t v = 0; v < 2; v++) {
        const cw_atom_id premises[] = {world_atom(builder, a, 1), world_atom(builder, b, v)};
        world_rule(builder, world_atom(builder, facts[1], v), premises, 2);
    }
    world_unit(builder, "one", 1, facts, (const double *const[]){a_signs[0], f_signs[0]}, 2);
    world_unit(builder, "two", 1, facts, (const double *const[]){a_signs[1], f_signs[1]}, 2);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    world_answer(&w, "a", 1);
    const double before[] = {0.2 / 0.9, 0.7 / 0.9};
    double bits = 0;
    for (int v = 0; v < 2; v++) {
        double chance = (f_signs[0][v] + f_signs[1][v]) / 2;
        for (int u = 0; u < 2; u++)
            bits += chance * told(before[u], f_signs[u][v] / 2 / chance);
    }
    cw_advice advice = world_next(&w);
    cr_assert_float_eq(world_bits(&w, &advice, "b"), bits, 1e-12);
    world_close(&w);
}
