/* What parts two units or causes: sizes, texts and swaps by hand or by plain summing up; who is like whom.
 * The sets for random packs are in tests/outside/apart. */
#include "ask/apart.h"
#include "ask/world.h"

#define STEPS 40000

static double density(double x, double mean, double sd)
{
    return exp(-(x - mean) * (x - mean) / (2 * sd * sd)) / (sd * sqrt(2 * 3.14159265358979323846));
}

static cw_apart_result apart_of(world *w, cw_about about, uint32_t places)
{
    cw_apart_result out;
    const cw_apart_limits limits = {.about = about, .places = places};
    cr_assert_eq(cw_ask_apart(w->asker, &limits, w->arena, &out), CW_OK);
    return out;
}

static void size_of(cw_builder *builder, const char *name, cw_fact_id fact, double mean, double sd)
{
    const cw_sign_spec sign = {{.fact = fact, .kind = CW_SIGN_NORMAL, .mean = mean, .sd = sd}, NULL, 0};
    cw_builder_unit(builder, &(cw_unit){.name = name, .title = name, .seen = 1, .version = true}, &sign,
                    sd > 0 ? 1 : 0);
}

/* By summing |f - g| over a fine grid: production and reading error together; what a third unit shows, that
 * says nothing, is the average of all that do. */
Test(apart, sizes)
{
    random_state random = random_start(8);
    for (int round = 0; round < 30; round++) {
        const double mean[2] = {random_between(&random, 40, 60), random_between(&random, 40, 60)};
        const double sd[2] = {random_between(&random, 0.5, 6),
                              round % 3 == 0 ? 1 : random_between(&random, 0.5, 6)};
        const double error = random_between(&random, 0.1, 4), swapped = 0.02, blunders = 0.01;
        cw_builder *builder = cw_builder_new(&cw_system_allocator);
        cw_fact_id fact = world_measure(builder, "size", 0, 100, error,
                                        (cw_check){.swapped = swapped, .blunders = blunders});
        size_of(builder, "a", fact, mean[0], sd[0]);
        size_of(builder, "b", fact, mean[1], sd[1]);
        size_of(builder, "c", fact, 0, 0);
        world w = world_open(world_finish(builder), CW_IDENTIFY);
        const cw_apart_result r = apart_of(&w, CW_ABOUT_UNITS, 0);
        double sums[3] = {0}; /* a b, a c, b c */
        for (int i = 0; i < STEPS; i++) {
            const double x = -50 + 200 * (i + 0.5) / STEPS;
            const double f = density(x, mean[0], hypot(sd[0], error)),
                         g = density(x, mean[1], hypot(sd[1], error));
            sums[0] += fabs(f - g) * 200 / STEPS / 2;
            sums[1] += fabs(f - (f + g) / 2) * 200 / STEPS / 2;
            sums[2] += fabs(g - (f + g) / 2) * 200 / STEPS / 2;
        }
        for (int i = 0; i < 3; i++) {
            const double right = (1 + (1 - swapped) * (1 - blunders) * sums[i]) / 2;
            const double most =
                i == 0 ? 1e-5 : 0.004; /* beside the average the cuts are tenths of an sd apart */
            cr_expect_float_eq(r.list[i].set.certainty, right, most, "round %d, %d: %g, not %g", round, i,
                               r.list[i].set.certainty, right);
        }
        world_close(&w);
    }
}

static void marked(cw_builder *builder, const char *name, cw_fact_id fact, uint32_t pattern, double chance)
{
    const cw_sign_spec sign = {{.fact = fact, .kind = CW_SIGN_PATTERNS, .chances = &chance}, &pattern, 1};
    cw_builder_unit(builder, &(cw_unit){.name = name, .title = name, .seen = 1, .version = true}, &sign,
                    chance > 0 ? 1 : 0);
}

static uint32_t pattern_of(cw_builder *builder, const char *text)
{
    cw_pattern *pattern = NULL;
    char message[100];
    size_t offset = 0;
    cr_assert_eq(
        cw_pattern_new(&cw_system_allocator, text, strlen(text), &pattern, &offset, message, sizeof message),
        CW_OK);
    return cw_builder_pattern(builder, pattern);
}

/* With patterns: each pattern of the two, then all other texts. A text of another's is seen 1 time in 100 of
 * those in which none of its own is (rank/identity.h). */
Test(apart, texts)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id fact = cw_builder_fact(builder, &(cw_fact){.name = "mark", .kind = CW_STAMPED}, NULL, 0, NULL);
    world_ask(builder, "mark", fact, (cw_check){.swapped = 0.2});
    marked(builder, "a", fact, pattern_of(builder, "^T9[0-4]"), 0.6);
    marked(builder, "b", fact, pattern_of(builder, "^G12"), 0.3);
    marked(builder, "c", fact, pattern_of(builder, "^T9"), 0.6); /* matches what a shows */
    marked(builder, "d", fact, 0, 0);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    const cw_apart_result r = apart_of(&w, CW_ABOUT_UNITS, 0);
    /* a: .6, .004, .396; b: .007, .3, .693; V = .593 */
    cr_expect_float_eq(r.list[0].set.certainty, (1 + 0.8 * 0.593) / 2, 1e-6, "%g", r.list[0].set.certainty);
    cr_expect_eq(r.list[1].how, CW_APART_NOT, "a and c look alike");
    /* d: .01 beside .6, .99 beside .4 */
    cr_expect_float_eq(r.list[2].set.certainty, (1 + 0.8 * 0.59) / 2, 1e-6, "%g", r.list[2].set.certainty);
    world_close(&w);
}

/* What is swapped together counts once: three looks at one pulley are one look. */
Test(apart, of_one_swap_one_look_counts)
{
    static const double first[] = {0.9, 0.1}, second[] = {0.1, 0.9};
    for (uint32_t group = 0; group < 2; group++) {
        cw_builder *builder = cw_builder_new(&cw_system_allocator);
        cw_fact_id facts[3];
        const double *a[3] = {first, first, first}, *b[3] = {second, second, second};
        char name[16];
        for (uint32_t i = 0; i < 3; i++)
            facts[i] = world_check(builder, world_name(name, 'c', i), 2,
                                   (cw_check){.swapped = 0.1, .swap_group = group});
        world_unit(builder, "a", 1, facts, a, 3);
        world_unit(builder, "b", 1, facts, b, 3);
        world w = world_open(world_finish(builder), CW_IDENTIFY);
        const cw_apart_result r = apart_of(&w, CW_ABOUT_UNITS, 0);
        /* one says .9 * .9 + .1 * .5 = .86; of three by themselves the majority is right: .86^2 (3 - 2 * .86)
         */
        const double right = group == 0 ? 0.86 * 0.86 * (3 - 2 * 0.86) : 0.86;
        cr_expect_float_eq(r.list[0].set.certainty, right, 1e-6, "%g", r.list[0].set.certainty);
        cr_expect_eq(r.list[0].how, CW_APART_HARDLY);
        cr_expect_eq(r.list[0].set.count, group == 0 ? 3u : 1u);
        world_close(&w);
    }
}

/* Causes: the worse of what the cause and the background draw. */
Test(apart, causes_alone_beside_the_background)
{
    static const double background[] = {0.9, 0.06, 0.04}, shows[] = {0.2, 0.3, 0.5};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_part_id part = cw_builder_part(builder, &(cw_part){.name = "p", .title = "P"});
    cw_fact_id fact = world_values(builder, "lamp", 3, background, false);
    world_ask(builder, "lamp", fact, (cw_check){0});
    const double *rows[] = {shows};
    world_cause(builder, "a", part, 0.1, &fact, rows, 1);
    world_cause(builder, "b", part, 0.1, NULL, NULL, 0);
    world w = world_open(world_finish(builder), CW_TRIAGE);
    const cw_apart_result r = apart_of(&w, CW_ABOUT_CAUSES, 0);
    /* a: .18, .5 * .96 - .18 = .3, .52; b: .9, .06, .04; V = .72 */
    cr_expect_float_eq(r.list[0].set.certainty, 0.86, 1e-6, "%g", r.list[0].set.certainty);
    world_close(&w);
}

/* Four hundred units of few kinds: all pairs are counted, the hardest listed, who is alike stands together.
 */
Test(apart, many_units)
{
    enum { UNITS = 400, KINDS = 27, CHECKS = 3 };
    static const double shapes[3][3] = {{0.98, 0.01, 0.01}, {0.01, 0.98, 0.01}, {0.01, 0.01, 0.98}};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[CHECKS];
    char name[16];
    for (uint32_t c = 0; c < CHECKS; c++)
        facts[c] = world_check(builder, world_name(name, 'c', c), 3, (cw_check){.minutes = 1 + c});
    for (uint32_t u = 0; u < UNITS; u++) {
        const double *rows[CHECKS] = {shapes[u % 3], shapes[u / 3 % 3], shapes[u / 9 % 3]};
        world_unit(builder, world_name(name, 'u', u), 1, facts, rows, CHECKS);
    }
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    const cw_apart_result r = apart_of(&w, CW_ABOUT_UNITS, 0);
    uint64_t alike = 0;
    for (uint64_t k = 0; k < KINDS; k++) {
        const uint64_t size = UNITS / KINDS + (k < UNITS % KINDS ? 1 : 0);
        alike += size * (size - 1) / 2;
    }
    cr_expect_eq(r.pairs[CW_APART_NOT], alike);
    cr_expect_eq(r.pairs[CW_APART_ONE], (uint64_t)UNITS * (UNITS - 1) / 2 - alike);
    cr_expect_eq(r.group_count, (uint32_t)KINDS);
    cr_expect(!r.all && !r.cut_short);
    cr_expect_eq(r.list_count, (uint32_t)CW_APART_WORST);
    cr_expect_eq(r.cover.count, 3u);
    cr_expect(r.cover.exact);
    world_close(&w);
}
