/* Order, stopping, what may be asked. */
#include "ask/world.h"

static const double mostly_0[] = {0.9, 0.1}, mostly_1[] = {0.1, 0.9}, even[] = {0.5, 0.5};

/* Two units that three checks tell apart alike; `order`: the order in which the checks are built. */
static cw_model *three_alike(const uint32_t *order, const cw_check *like)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[3];
    char name[16];
    for (int i = 0; i < 3; i++)
        facts[i] = world_check(builder, world_name(name, 'c', order[i]), 2, like[order[i]]);
    world_unit(builder, "one", 1, facts, (const double *const[]){mostly_0, mostly_0, mostly_0}, 3);
    world_unit(builder, "two", 1, facts, (const double *const[]){mostly_1, mostly_1, mostly_1}, 3);
    return world_finish(builder);
}

static const uint32_t in_order[] = {0, 1, 2};

static const char *name_at(const world *w, const cw_advice *advice, size_t i)
{
    return w->model->checks[advice->checks[i].check].name;
}

Test(choose, most_bits_per_minute_first)
{
    const cw_check like[3] = {{.minutes = 3}, {.minutes = 1}, {.minutes = 2}};
    world w = world_open(three_alike(in_order, like), CW_IDENTIFY);
    cw_advice advice = world_next(&w);
    cr_assert_eq(advice.count, 3);
    cr_assert_str_eq(name_at(&w, &advice, 0), "c1");
    cr_assert_str_eq(name_at(&w, &advice, 1), "c2");
    cr_assert_float_eq(advice.checks[1].worth, advice.checks[1].bits / 2, 1e-15);
    cr_assert_not(advice.stop);
    world_close(&w);
}

Test(choose, a_change_of_place_costs_a_minute)
{
    const cw_check like[3] = {{.minutes = 1, .places = 1u << CW_AT_COUNTER},
                              {.minutes = 1.5, .places = 1u << CW_AT_BENCH | 1u << CW_AT_VEHICLE},
                              {.minutes = 3, .places = 1u << CW_AT_COUNTER | 1u << CW_AT_BENCH}};
    world w = world_open(three_alike(in_order, like), CW_IDENTIFY);
    w.limits.here = CW_AT_BENCH;
    cw_advice advice = world_next(&w);
    cr_assert_str_eq(name_at(&w, &advice, 0), "c1");
    cr_assert_eq(advice.checks[0].minutes, 1.5);
    cr_assert_eq(advice.checks[0].place, CW_AT_BENCH);
    cr_assert_str_eq(name_at(&w, &advice, 1), "c0");
    cr_assert_eq(advice.checks[1].minutes, 2);
    cr_assert_eq(advice.checks[1].place, CW_AT_COUNTER);
    cr_assert_eq(advice.checks[2].place, CW_AT_BENCH);
    w.limits.here = CW_AT_COUNTER;
    advice = world_next(&w);
    cr_assert_str_eq(name_at(&w, &advice, 0), "c0");
    cr_assert_eq(world_proposal(&w, &advice, "c1")->place, CW_AT_VEHICLE, "the first of those allowed");
    w.limits.places = 1u << CW_AT_BENCH;
    advice = world_next(&w);
    cr_assert_eq(advice.count, 2);
    cr_assert_null(world_proposal(&w, &advice, "c0"));
    world_close(&w);
}

Test(choose, ties_by_minutes_then_name_in_whatever_order_built)
{
    const cw_check like[3] = {{.minutes = 2}, {.minutes = 2}, {.minutes = 2}};
    const uint32_t orders[][3] = {{0, 1, 2}, {2, 1, 0}, {1, 2, 0}};
    for (int i = 0; i < 3; i++) {
        world w = world_open(three_alike(orders[i], like), CW_IDENTIFY);
        cw_advice advice = world_next(&w);
        cr_assert_str_eq(name_at(&w, &advice, 0), "c0");
        cr_assert_str_eq(name_at(&w, &advice, 1), "c1");
        cr_assert_str_eq(name_at(&w, &advice, 2), "c2");
        world_close(&w);
    }
}

Test(choose, order_of_answers_has_no_say)
{
    const cw_check like[3] = {{.minutes = 1}, {.minutes = 1}, {.minutes = 1}};
    double bits[2];
    for (uint32_t i = 0; i < 2; i++) {
        world w = world_open(three_alike(in_order, like), CW_IDENTIFY);
        world_answer(&w, i == 0 ? "c0" : "c2", i == 0 ? 1 : 0);
        world_answer(&w, i == 0 ? "c2" : "c0", i == 0 ? 0 : 1);
        cw_advice advice = world_next(&w);
        cr_assert_eq(advice.count, 1);
        bits[i] = advice.checks[0].bits;
        world_close(&w);
    }
    cr_assert_eq(bits[0], bits[1]);
}

Test(choose, nothing_is_asked_twice)
{
    const cw_check like[3] = {{.minutes = 1}, {.minutes = 1, .stages = 1u << CW_TRIAGE}, {.minutes = 1}};
    world w = world_open(three_alike(in_order, like), CW_IDENTIFY);
    world_cant_tell(&w, "c0");
    cw_advice advice = world_next(&w);
    cr_assert_eq(advice.count, 1);
    cr_assert_str_eq(name_at(&w, &advice, 0), "c2");
    cr_assert_not(cw_ask_open(w.chain, cw_model_check(w.model, "c0"), &w.limits));
    cr_assert_not(cw_ask_open(w.chain, cw_model_check(w.model, "c1"), &w.limits));
    world_answer(&w, "c2", 0);
    advice = world_next(&w);
    cr_assert(advice.stop);
    cr_assert_eq(advice.why, CW_STOP_NOTHING_HELPS);
    cr_assert_eq(advice.count, 0);
    cr_assert_eq(cw_chain_withdraw(w.chain, cw_model_fact(w.model, "c0")), CW_OK);
    advice = world_next(&w);
    cr_assert_not(advice.stop);
    cr_assert_str_eq(name_at(&w, &advice, 0), "c0");
    world_close(&w);
}

Test(choose, what_is_concluded_is_not_asked)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id a = world_check(builder, "a", 2, (cw_check){0}),
               b = world_check(builder, "b", 2, (cw_check){0});
    cw_fact_id number = world_measure(builder, "m", 0, 10, 0.1, (cw_check){0});
    cw_fact_id c = world_check(builder, "c", 2, (cw_check){0});
    cw_atom_id premise = world_atom(builder, a, 1);
    world_rule(builder, world_atom(builder, b, 1), &premise, 1);
    cw_atom_id band = cw_builder_band_atom(builder, number, (cw_interval){5, INFINITY, true, true});
    world_rule(builder, world_atom(builder, c, 1), &band, 1);
    const cw_fact_id facts[] = {b, c};
    world_unit(builder, "one", 1, facts, (const double *const[]){mostly_0, mostly_0}, 2);
    world_unit(builder, "two", 1, facts, (const double *const[]){mostly_1, mostly_1}, 2);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    cr_assert(cw_ask_open(w.chain, cw_model_check(w.model, "b"), &w.limits));
    world_answer(&w, "a", 1);
    cr_assert_not(cw_ask_open(w.chain, cw_model_check(w.model, "b"), &w.limits));
    cr_assert_null(world_proposal(&w, &(cw_advice){0}, "b"));
    cw_advice advice = world_next(&w);
    cr_assert_null(world_proposal(&w, &advice, "b"));
    cr_assert_not_null(world_proposal(&w, &advice, "c"));
    world_read(&w, "m", 5.05, 0.1); /* too near the limit: doubtful, so a look still helps */
    cr_assert(cw_ask_open(w.chain, cw_model_check(w.model, "c"), &w.limits));
    world_read(&w, "m", 7, 0.1);
    cr_assert_not(cw_ask_open(w.chain, cw_model_check(w.model, "c"), &w.limits));
    world_close(&w);
}

Test(choose, only_if_holds_or_is_doubtful)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id number = world_measure(builder, "m", 0, 10, 0.1, (cw_check){0});
    cw_atom_id band = cw_builder_band_atom(builder, number, (cw_interval){5, INFINITY, true, true});
    cw_fact_id c = world_check(builder, "c", 2, (cw_check){.only_if = band});
    world_unit(builder, "one", 1, &c, (const double *const[]){mostly_0}, 1);
    world_unit(builder, "two", 1, &c, (const double *const[]){mostly_1}, 1);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    cw_check_id check = cw_model_check(w.model, "c");
    cr_assert_not(cw_ask_open(w.chain, check, &w.limits));
    world_read(&w, "m", 5.05, 0.1);
    cr_assert(cw_ask_open(w.chain, check, &w.limits));
    world_read(&w, "m", 6, 0.1);
    cr_assert(cw_ask_open(w.chain, check, &w.limits));
    cw_advice advice = world_next(&w);
    cr_assert_eq(advice.checks[0].check, check);
    world_close(&w);
}

/* The dear one tells as much as the cheap one; which gate value wants it first. */
static void dear_first(uint32_t gate, bool expected)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[2];
    cw_fact_id door = world_check(builder, "gate", 2, (cw_check){0});
    cw_atom_id wanted = world_atom(builder, door, 1);
    facts[0] = world_check(builder, "cheap", 2, (cw_check){.minutes = 1});
    facts[1] = world_check(builder, "dear", 2, (cw_check){.minutes = 9, .first_while = wanted});
    world_unit(builder, "one", 1, facts, (const double *const[]){mostly_0, mostly_0}, 2);
    world_unit(builder, "two", 1, facts, (const double *const[]){mostly_1, mostly_1}, 2);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    if (gate != UINT32_MAX)
        world_answer(&w, "gate", gate);
    cw_advice advice = world_next(&w);
    cr_assert_eq(advice.count, 2);
    cr_expect_eq(advice.checks[0].check, cw_model_check(w.model, expected ? "dear" : "cheap"));
    cr_expect_eq(advice.checks[0].first, expected);
    cr_expect_not(advice.checks[1].first);
    world_close(&w);
}

Test(choose, what_the_pack_wants_first_comes_first_while_its_condition_holds)
{
    dear_first(1, true);
    dear_first(0, false);
    dear_first(UINT32_MAX, false);
}

/* -- Stopping -- */

Test(choose, stops_when_the_first_line_is_sure)
{
    const cw_check like[3] = {{.minutes = 1}, {.minutes = 1}, {.minutes = 1}};
    world w = world_open(three_alike(in_order, like), CW_IDENTIFY);
    world_answer(&w, "c0", 1);
    world_answer(&w, "c1", 1); /* 81 of 82 */
    w.limits.sure = 81.5 / 82;
    cr_assert_not(world_next(&w).stop);
    w.limits.sure = 80.5 / 82;
    cw_advice advice = world_next(&w);
    cr_assert(advice.stop);
    cr_assert_eq(advice.why, CW_STOP_SURE);
    cr_assert_eq(advice.count, 0);
    w.limits.sure = 0; /* 97 of 100 */
    cr_assert_eq(world_next(&w).why, CW_STOP_SURE);
    world_close(&w);
}

/* A cause outside the unit is as good as certain, but so far the unit may be bad as well. */
Test(choose, a_sure_cause_is_not_enough_while_the_unit_is_in_doubt)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id facts[] = {world_check(builder, "a", 2, (cw_check){0}),
                                world_check(builder, "b", 2, (cw_check){0})};
    cw_part_id inside =
        cw_builder_part(builder, &(cw_part){.name = "i", .title = "i", .where = CW_PART_UNIT});
    cw_part_id outside =
        cw_builder_part(builder, &(cw_part){.name = "o", .title = "o", .where = CW_PART_VEHICLE});
    world_cause(builder, "battery", outside, 0.5, &facts[0], (const double *const[]){mostly_1}, 1);
    world_cause(builder, "diode", inside, 0.6, &facts[1], (const double *const[]){mostly_1}, 1);
    world w = world_open(world_finish(builder), CW_TRIAGE);
    w.limits.sure = 0.97;
    world_answer(&w, "a", 1);
    cw_advice advice = world_next(&w);
    cr_assert_not(advice.stop);
    cr_assert_str_eq(name_at(&w, &advice, 0), "b");
    world_answer(&w, "b", 1);
    cr_assert_eq(world_next(&w).why, CW_STOP_SURE);
    world_close(&w);
}

Test(choose, stops_when_no_check_has_enough_bits)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const double nearly[] = {0.51, 0.49};
    const cw_fact_id facts[] = {world_check(builder, "a", 2, (cw_check){0})};
    world_unit(builder, "one", 1, facts, (const double *const[]){even}, 1);
    world_unit(builder, "two", 1, facts, (const double *const[]){nearly}, 1);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    cr_assert_not(world_next(&w).stop, "below 0: whatever tells anything");
    w.limits.enough_bits = 0; /* 1 in 100 */
    cw_advice advice = world_next(&w);
    cr_assert(advice.stop);
    cr_assert_eq(advice.why, CW_STOP_NOTHING_HELPS);
    world_close(&w);
}

Test(choose, a_stopping_caution_ends_it_and_others_do_not)
{
    static const cw_halt halts[] = {CW_HALT_NOTHING, CW_HALT_WORK, CW_HALT_ALL};
    for (size_t i = 0; i < 3; i++) {
        const bool stop = halts[i] != CW_HALT_NOTHING;
        cw_builder *builder = cw_builder_new(&cw_system_allocator);
        cw_fact_id a = world_check(builder, "a", 2, (cw_check){0}),
                   b = world_check(builder, "b", 2, (cw_check){0});
        cw_caution_id caution = cw_builder_caution(
            builder, &(cw_caution){.name = "v", .say = "v", .source = "s", .stop = halts[i]});
        cw_atom_id premise = world_atom(builder, a, 1);
        world_rule(builder, cw_builder_caution_atom(builder, caution), &premise, 1);
        world_unit(builder, "one", 1, &b, (const double *const[]){mostly_0}, 1);
        world_unit(builder, "two", 1, &b, (const double *const[]){mostly_1}, 1);
        world w = world_open(world_finish(builder), CW_IDENTIFY);
        cr_assert_not(world_next(&w).stop);
        world_answer(&w, "a", 1);
        cw_advice advice = world_next(&w);
        cr_assert_eq(advice.stop, stop);
        cr_assert_eq(advice.why, stop ? CW_STOP_CAUTION : CW_STOP_NOT);
        cr_assert_eq(advice.count, stop ? 0 : 1);
        world_close(&w);
    }
}

Test(choose, impossible_evidence_stops)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const double only_0[] = {1, 0}, background[] = {1, 0};
    cw_fact_id a = world_values(builder, "a", 2, background, false);
    world_ask(builder, "a", a, (cw_check){0});
    cw_fact_id b = world_check(builder, "b", 2, (cw_check){0});
    const cw_fact_id facts[] = {a, b};
    cw_part_id part = cw_builder_part(builder, &(cw_part){.name = "p", .title = "p"});
    world_cause(builder, "k", part, 0.1, facts, (const double *const[]){only_0, mostly_1}, 2);
    world w = world_open(world_finish(builder), CW_TRIAGE);
    world_answer(&w, "a", 1);
    cw_advice advice = world_next(&w);
    cr_assert_eq(advice.why, CW_STOP_NOTHING_HELPS);
    cr_assert_not(advice.cut_short);
    world_close(&w);
}

/* A pack about one thing has nothing to say about the other. */
Test(choose, nothing_to_rank)
{
    const cw_check like[3] = {{.minutes = 1}, {.minutes = 1}, {.minutes = 1}};
    world w = world_open(three_alike(in_order, like), CW_TRIAGE);
    cr_assert_eq(world_next(&w).why, CW_STOP_NOTHING_HELPS);
    world_close(&w);
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    w = world_open(world_finish(builder), CW_IDENTIFY);
    cr_assert(world_next(&w).stop);
    world_close(&w);
}

/* -- Effort -- */

enum { MANY = 14 };

static cw_model *many_findings(void)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[MANY];
    double chances[MANY][MANY][2];
    char name[16];
    cw_part_id part = cw_builder_part(builder, &(cw_part){.name = "p", .title = "p"});
    for (uint32_t i = 0; i < MANY; i++)
        facts[i] = world_check(builder, world_name(name, 'f', i), 2, (cw_check){0});
    for (uint32_t k = 0; k < MANY; k++) {
        const double *rows[8];
        cw_fact_id on[8];
        for (uint32_t i = 0; i < 8; i++) {
            uint32_t f = (k + i) % MANY;
            chances[k][i][1] = 0.05 + 0.9 * ((k * 7 + i * 3) % 10) / 10;
            chances[k][i][0] = 1 - chances[k][i][1];
            rows[i] = chances[k][i];
            on[i] = facts[f];
        }
        world_cause(builder, world_name(name, 'k', k), part, 0.02 + 0.01 * k, on, rows, 8);
    }
    return world_finish(builder);
}

Test(choose, what_is_listed_is_exact_when_cut_short)
{
    world w = world_open(many_findings(), CW_TRIAGE);
    char name[16];
    for (uint32_t i = 0; i < 5; i++)
        world_answer(&w, world_name(name, 'f', i), 1);
    cw_advice whole = world_next(&w);
    cr_assert_not(whole.cut_short);
    size_t listed = 0;
    bool cut = false;
    for (uint64_t steps = 1; steps < whole.steps; steps = steps * 5 / 4 + 1) {
        w.limits.max_steps = steps;
        cw_advice part = world_next(&w);
        cr_assert_leq(part.steps, steps + 5000);
        cr_assert(part.cut_short || part.count == whole.count);
        size_t weighed = 0;
        for (; weighed < part.count && !part.checks[weighed].by_itself; weighed++) {
            const char *check = w.model->checks[part.checks[weighed].check].name;
            cr_assert_float_eq(part.checks[weighed].bits, world_bits(&w, &whole, check), 1e-12);
        }
        for (size_t i = weighed; i < part.count; i++)
            cr_assert(part.cut_short && part.checks[i].by_itself && part.checks[i].bits > 0);
        cr_assert_geq(weighed + 1, listed, "more steps, not fewer checks weighed");
        cut |= part.cut_short && weighed > 0 && weighed < part.count;
        listed = weighed;
    }
    cr_assert(cut);
    world_close(&w);
}

/* With steps for a few checks only, these are not the first in the pack but promising ones. */
Test(choose, the_promising_are_looked_at_first)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[MANY];
    const double dull[] = {0.8, 0.2}, bright[] = {0.05, 0.95};
    char name[16];
    cw_part_id part = cw_builder_part(builder, &(cw_part){.name = "p", .title = "p"});
    for (uint32_t i = 0; i < MANY; i++)
        facts[i] = world_check(builder, world_name(name, 'f', i), 2, (cw_check){0});
    for (uint32_t k = 0; k < MANY - 1; k++) {
        const double *rows[MANY];
        for (uint32_t i = 0; i < MANY; i++)
            rows[i] = i == MANY - 1 ? bright : dull;
        world_cause(builder, world_name(name, 'k', k), part, 0.02, facts, rows, MANY - 2 * (k % 2));
    }
    world w = world_open(world_finish(builder), CW_TRIAGE);
    for (uint32_t i = 0; i < 5; i++)
        world_answer(&w, world_name(name, 'f', i), 1);
    cw_advice whole = world_next(&w);
    cr_assert_gt(whole.twins_count, 0);
    for (uint64_t steps = 1000;; steps += 500) {
        w.limits.max_steps = steps;
        cw_advice advice = world_next(&w);
        if (advice.count == 0)
            continue;
        cr_assert(advice.cut_short);
        cr_assert_eq(advice.twins_count, 0, "nothing is said of twins by half");
        cr_assert_eq(advice.checks[0].check, whole.checks[0].check);
        cr_assert_str_eq(name_at(&w, &advice, 0), "f13");
        break;
    }
    world_close(&w);
}

/* Two checks that tell the same, their signs dealt to the units in another order: a last figure that rounding
 * made has no say. */
Test(choose, rounding_makes_no_order)
{
    random_state random = random_start(31);
    for (int round = 0; round < 40; round++) {
        enum { UNITS = 9 };
        cw_builder *builder = cw_builder_new(&cw_system_allocator);
        const cw_fact_id facts[] = {world_check(builder, "b", 3, (cw_check){0}),
                                    world_check(builder, "a", 3, (cw_check){0})};
        double chances[UNITS][3];
        char name[16];
        for (int u = 0; u < UNITS; u++)
            world_chances(&random, 3, chances[u]);
        for (uint32_t u = 0; u < UNITS; u++)
            world_unit(builder, world_name(name, 'u', u), 1, facts,
                       (const double *const[]){chances[u], chances[(u * 4 + 3) % UNITS]}, 2);
        world w = world_open(world_finish(builder), CW_IDENTIFY);
        cw_advice advice = world_next(&w);
        cr_assert_eq(advice.count, 2);
        cr_assert_str_eq(name_at(&w, &advice, 0), "a");
        world_close(&w);
    }
}

/* Both of a pair are worth the same; the quicker goes first, whatever its name. */
Test(choose, of_a_pair_the_quicker_first)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id slow = world_check(builder, "a", 2, (cw_check){.minutes = 3});
    cw_fact_id quick = world_check(builder, "b", 2, (cw_check){.minutes = 1});
    cw_fact_id f = world_values(builder, "f", 2, NULL, false);
    for (uint32_t v = 0; v < 4; v++) {
        const cw_atom_id premises[] = {world_atom(builder, slow, v & 1), world_atom(builder, quick, v >> 1)};
        world_rule(builder, world_atom(builder, f, v == 1 || v == 2), premises, 2);
    }
    world_unit(builder, "one", 1, &f, (const double *const[]){mostly_0}, 1);
    world_unit(builder, "two", 1, &f, (const double *const[]){mostly_1}, 1);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    cw_advice advice = world_next(&w);
    cr_assert_eq(advice.count, 2);
    cr_assert_str_eq(name_at(&w, &advice, 0), "b");
    cr_assert_float_eq(advice.checks[0].worth, advice.checks[1].worth, 1e-12);
    world_close(&w);
}
