/* Measured checks: where their range is cut, and what the pieces tell. */
#include "ask/inside.h"
#include "ask/world.h"

static double near_normal(double x, double mean, double sd)
{
    return 0.5 * (1 + erf((x - mean) / (sd * sqrt(2))));
}

/* A rule each for below 3, from 3 to 5 and above 5: with a sign on what they conclude, the thirds of the
 * answer are those of the fact. */
Test(cuts, pieces_lie_between_the_limits_of_rules)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id gap = world_measure(builder, "gap", 0, 10, 0.01, (cw_check){0});
    cw_fact_id state = world_values(builder, "state", 3, NULL, false);
    const cw_interval bands[3] = {
        {-INFINITY, 3, true, true}, {3, 5, false, false}, {5, INFINITY, true, true}};
    for (uint32_t i = 0; i < 3; i++) {
        cw_atom_id band = cw_builder_band_atom(builder, gap, bands[i]);
        world_rule(builder, world_atom(builder, state, i), &band, 1);
    }
    const double first[] = {0.7, 0.2, 0.1}, second[] = {0.1, 0.2, 0.7};
    world_unit(builder, "one", 1, &state, &(const double *){first}, 1);
    world_unit(builder, "two", 1, &state, &(const double *){second}, 1);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    const ask_outcome *outcomes = NULL;
    uint32_t count = 0;
    cw_check_id check = cw_model_check(w.model, "gap");
    cr_assert_eq(ask_outcomes(w.asker, w.chain, check, CW_ABOUT_UNITS, &outcomes, &count), CW_OK);
    cr_assert_eq(count, 3);
    cr_assert_eq(outcomes[0].high, 3);
    cr_assert_eq(outcomes[0].answer.number, 1.5);
    cr_assert_eq(outcomes[1].answer.number, 4);
    cr_assert_eq(outcomes[2].low, 5);
    cr_assert_eq(outcomes[2].answer.number, 7.5);
    cr_assert_eq(outcomes[2].answer.error, 0.01);
    cw_advice advice = world_next(&w);
    double each = 0.7 * log2(0.7 / 0.4) + 0.1 * log2(0.1 / 0.4);
    cr_assert_float_eq(world_bits(&w, &advice, "gap"), each, 1e-12);
    world_close(&w);
}

static cw_model *two_sizes(double a, double b, double sd, double error, double swapped, double blunders)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id size =
        world_measure(builder, "size", 60, 200, error, (cw_check){.swapped = swapped, .blunders = blunders});
    cw_builder_not_listed(builder, 0.1);
    const double means[] = {a, b};
    for (int i = 0; i < 2; i++) {
        cw_sign_spec sign = {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = means[i], .sd = sd}};
        char name[16];
        cw_unit unit = {.name = world_name(name, 'u', (uint32_t)i), .seen = 1, .version = true};
        cw_builder_unit(builder, &unit, &sign, 1);
    }
    return world_finish(builder);
}

/* Quantised at the cuts, worked out here from the definition: three standard deviations to each side, and
 * midway. */
Test(cuts, nominals_of_units)
{
    const double error = 1.5, sd = 0.5, scatter = sqrt(error * error + sd * sd), s = 0.05, b = 0.02;
    world w = world_open(two_sizes(120, 123, sd, error, s, b), CW_IDENTIFY);
    const double cuts[] = {
        60, 120 - 3 * scatter, 123 - 3 * scatter, 121.5, 120 + 3 * scatter, 123 + 3 * scatter, 200};
    const double before[] = {0.45, 0.45, 0.1};
    double bits = 0;
    for (int i = 0; i < 6; i++) {
        double even = (cuts[i + 1] - cuts[i]) / 140, own[2], chance[3], all = 0;
        for (int u = 0; u < 2; u++) {
            double mean = u == 0 ? 120 : 123;
            double low = i == 0 ? -INFINITY : cuts[i], high = i == 5 ? INFINITY : cuts[i + 1];
            own[u] = near_normal(high, mean, scatter) - near_normal(low, mean, scatter);
        }
        double average = (own[0] + own[1]) / 2;
        for (int u = 0; u < 3; u++) {
            double real = u == 2 ? average / 2 + even / 2 : (1 - s) * own[u] + s * average;
            chance[u] = (1 - b) * real + b * even;
            all += before[u] * chance[u];
        }
        for (int u = 0; u < 3; u++)
            bits += before[u] * chance[u] * log2(chance[u] / all);
    }
    cw_advice advice = world_next(&w);
    cr_assert_float_eq(world_bits(&w, &advice, "size"), bits, 1e-9);
    world_close(&w);
}

/* The cut answer is a little less than the whole reading (a sixth where two sizes lie closer than readings
 * scatter), and never more: against a fine sum over the range. */
Test(cuts, hardly_less_than_the_whole_reading)
{
    const double error = 1.5, sd = 0.5, scatter = sqrt(error * error + sd * sd);
    for (int far = 1; far <= 12; far++) {
        world w = world_open(two_sizes(120, 120 + far, sd, error, 0, 0.02), CW_IDENTIFY);
        double bits = 0, step = 0.01;
        for (double x = 60; x < 200; x += step) {
            double density[3] = {0}, all = 0;
            const double before[] = {0.45, 0.45, 0.1};
            for (int u = 0; u < 2; u++) {
                double off = (x - (u == 0 ? 120 : 120 + far)) / scatter;
                density[u] = exp(-off * off / 2) / (scatter * sqrt(2 * acos(-1)));
            }
            density[2] = (density[0] + density[1]) / 4 + 0.5 / 140;
            for (int u = 0; u < 3; u++) {
                density[u] = 0.98 * density[u] + 0.02 / 140;
                all += before[u] * density[u];
            }
            for (int u = 0; u < 3; u++)
                bits += step * before[u] * density[u] * log2(density[u] / all);
        }
        cw_advice advice = world_next(&w);
        double told = world_bits(&w, &advice, "size");
        cr_assert_leq(told, bits + 1e-4);
        cr_assert_geq(told, 0.82 * bits);
        world_close(&w);
    }
}

/* -- Formulas -- */

static bool find_fact(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    char copy[32] = {0};
    memcpy(copy, name, size);
    *id = cw_builder_find_fact(context, copy);
    *dimension = (cw_dimension){0};
    return *id != 0;
}

static cw_fact_id work_out(cw_builder *builder, const char *name, const char *text)
{
    cw_fact_id fact = cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_MEASURE}, NULL, 0, NULL);
    cw_formula_problem problem;
    cw_formula *formula =
        cw_formula_parse(cw_builder_arena(builder), text, strlen(text), NULL, find_fact, builder, &problem);
    cr_assert_not_null(formula, "%s", problem.message);
    cw_builder_measure_rule(
        builder, fact, formula, NULL, 0,
        cw_builder_origin(builder, &(cw_origin){.name = name, .because = "b", .source = "s"}));
    return fact;
}

/* loss = stud - post, twice = 2 * loss; a loss above 1 is high; twice above 6 is very high. */
static cw_model *losses(cw_where post)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    world_measure(builder, "stud", 0, 30, 0.01, (cw_check){0});
    world_measure(builder, "post", 0, 30, 0.01, (cw_check){.places = 1u << post});
    cw_fact_id loss = work_out(builder, "loss", "stud - post"),
               twice = work_out(builder, "twice", "loss * 2");
    cw_fact_id high = world_values(builder, "high", 2, NULL, false);
    cw_fact_id very = world_values(builder, "very", 2, NULL, false);
    cw_atom_id band = cw_builder_band_atom(builder, loss, (cw_interval){1, INFINITY, true, true});
    world_rule(builder, world_atom(builder, high, 1), &band, 1);
    band = cw_builder_band_atom(builder, twice, (cw_interval){6, INFINITY, true, true});
    world_rule(builder, world_atom(builder, very, 1), &band, 1);
    const cw_fact_id facts[] = {high, very};
    const double first[] = {0.2, 0.8}, second[] = {0.9, 0.1};
    world_unit(builder, "one", 1, facts, (const double *const[]){first, second}, 2);
    world_unit(builder, "two", 1, facts, (const double *const[]){second, second}, 2);
    return world_finish(builder);
}

Test(cuts, formulas_bring_limits_back_to_the_reading)
{
    world w = world_open(losses(CW_AT_COUNTER), CW_IDENTIFY);
    world_read(&w, "post", 12.5, 0.01);
    const ask_outcome *outcomes = NULL;
    uint32_t count = 0;
    cw_check_id check = cw_model_check(w.model, "stud");
    cr_assert_eq(ask_outcomes(w.asker, w.chain, check, CW_ABOUT_UNITS, &outcomes, &count), CW_OK);
    cr_assert_eq(count, 3);
    cr_assert_float_eq(outcomes[1].low, 13.5, 1e-9);
    cr_assert_float_eq(outcomes[1].high, 15.5, 1e-9);
    cw_advice advice = world_next(&w);
    cr_assert_gt(world_bits(&w, &advice, "stud"), 0.05);
    world_close(&w);
}

Test(cuts, thirds_where_a_formula_waits_for_more)
{
    world w = world_open(losses(CW_AT_COUNTER), CW_IDENTIFY);
    const ask_outcome *outcomes = NULL;
    uint32_t count = 0;
    cw_check_id check = cw_model_check(w.model, "stud");
    cr_assert_eq(ask_outcomes(w.asker, w.chain, check, CW_ABOUT_UNITS, &outcomes, &count), CW_OK);
    cr_assert_eq(count, 3);
    cr_assert_eq(outcomes[0].high, 10);
    cr_assert_eq(outcomes[2].low, 20);
    world_close(&w);
}

/* Neither reading tells anything without the other: they are found as a pair. */
Test(cuts, two_readings_of_a_formula_are_a_pair)
{
    world w = world_open(losses(CW_AT_COUNTER), CW_IDENTIFY);
    w.limits.enough_bits = 0.01;
    cw_advice advice = world_next(&w);
    cr_assert_not(advice.stop);
    cr_assert_eq(advice.count, 2);
    for (size_t i = 0; i < 2; i++) {
        cr_assert_neq(advice.checks[i].with, 0);
        cr_assert_neq(advice.checks[i].with, advice.checks[i].check);
        cr_assert_gt(advice.checks[i].bits, 0.01);
    }
    world_close(&w);
}

/* One of the readings is out of reach, so what is worked out from both never comes. */
Test(cuts, half_a_formula_parts_nobody)
{
    world w = world_open(losses(CW_AT_BENCH), CW_IDENTIFY);
    w.limits.places = 1u << CW_AT_COUNTER;
    cw_advice advice = world_next(&w);
    cr_assert(advice.stop);
    cr_assert_eq(advice.twins_count, 1);
    cr_assert_neq(advice.twins[0].tells.check, 0);
    w.limits.places = 0;
    cr_assert_eq(world_next(&w).twins_count, 0);
    world_close(&w);
}
