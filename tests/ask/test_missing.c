/* What the description lacks: asked only where no unit holds, the cheapest first. */
#include "ask/world.h"

/* Looks and colour tell the two units apart; weight and depth are for the description alone, depth is
 * measured on the open unit. Kind follows from weight. */
static cw_model *catalogue(void)
{
    static const double a[] = {0.99, 0.01}, b[] = {0.01, 0.99};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id looks = world_check(builder, "looks", 2, (cw_check){.minutes = 1}),
                     weight = world_check(builder, "weight", 2, (cw_check){.minutes = 3}),
                     colour = world_check(builder, "colour", 2, (cw_check){.minutes = 2}),
                     depth = world_check(builder, "depth", 2, (cw_check){.places = 1u << CW_AT_TEARDOWN});
    const cw_fact_id kind = world_values(builder, "kind", 2, NULL, false);
    for (uint32_t v = 0; v < 2; v++)
        world_rule(builder, world_atom(builder, kind, v),
                   (const cw_atom_id[]){world_atom(builder, weight, v)}, 1);
    world_unit(builder, "one", 1, (const cw_fact_id[]){looks}, (const double *const[]){a}, 1);
    world_unit(builder, "two", 1, (const cw_fact_id[]){looks}, (const double *const[]){b}, 1);
    cw_builder_not_listed(builder, 0.05);
    cw_builder_heading(builder, "outside", "Outside", (const cw_fact_id[]){kind, colour}, 2);
    cw_builder_heading(builder, "inside", "Inside", (const cw_fact_id[]){depth}, 1);
    return world_finish(builder);
}

Test(missing, a_unit_that_holds_needs_no_description)
{
    world w = world_open(catalogue(), CW_IDENTIFY);
    w.limits = (cw_ask_limits){.stage = CW_IDENTIFY, .sure = 0.9};
    world_answer(&w, "looks", 0);
    cw_advice advice = world_next(&w);
    cr_expect(advice.stop);
    cr_expect_eq(advice.why, CW_STOP_SURE);
    world_close(&w);
}

/* Nobody looked, so the two have the same odds, under a half. */
Test(missing, where_none_holds_the_cheapest_comes_first_and_what_is_elsewhere_is_left)
{
    world w = world_open(catalogue(), CW_IDENTIFY);
    w.limits = (cw_ask_limits){.stage = CW_IDENTIFY};
    world_cant_tell(&w, "looks");
    cw_advice advice = world_next(&w);
    cr_assert_not(advice.stop);
    cr_assert_eq(advice.count, 2u);
    cr_expect_str_eq(w.model->checks[advice.checks[0].check].name, "colour");
    cr_expect_str_eq(w.model->checks[advice.checks[1].check].name, "weight");
    cr_expect_eq(advice.checks[1].line, cw_model_fact(w.model, "kind"), "the line, not the look");
    cr_expect_eq(advice.checks[1].part, 0u);
    world_answer(&w, "weight", 1);
    world_cant_tell(&w, "colour");
    advice = world_next(&w);
    cr_expect(advice.stop);
    cr_expect_eq(advice.why, CW_STOP_NOTHING_HELPS);
    w.limits.here = CW_AT_TEARDOWN;
    advice = world_next(&w);
    cr_assert_eq(advice.count, 1u, "where the person stands");
    cr_expect_str_eq(w.model->checks[advice.checks[0].check].name, "depth");
    w.limits.places = 1u << CW_AT_COUNTER;
    cr_expect(world_next(&w).stop, "not where nothing may be done");
    world_close(&w);
}

Test(missing, lines_with_what_would_tell_them)
{
    world w = world_open(catalogue(), CW_IDENTIFY);
    const cw_ask_limits anywhere = {.stage = CW_IDENTIFY};
    const cw_missing *list;
    size_t count;
    cr_assert_eq(cw_ask_missing(w.asker, w.chain, &anywhere, false, w.arena, &list, &count), CW_OK);
    cr_assert_eq(count, 3u);
    cr_expect_eq(list[0].fact, cw_model_fact(w.model, "kind"));
    cr_expect_eq(list[2].fact, cw_model_fact(w.model, "depth"));
    cr_expect_eq(list[2].checks[0].minutes, 2, "a minute and the way");
    world_answer(&w, "weight", 0);
    world_cant_tell(&w, "depth");
    cr_assert_eq(cw_ask_missing(w.asker, w.chain, &anywhere, false, w.arena, &list, &count), CW_OK);
    cr_assert_eq(count, 1u);
    cr_expect_eq(list[0].fact, cw_model_fact(w.model, "colour"));
    cr_assert_eq(cw_ask_missing(w.asker, w.chain, &anywhere, true, w.arena, &list, &count), CW_OK);
    cr_expect_eq(count, 2u, "the depth was only left open");
    world_close(&w);
}

Test(missing, other_stages_ask_nothing_for_it)
{
    world w = world_open(catalogue(), CW_TRIAGE);
    w.limits = (cw_ask_limits){.stage = CW_TRIAGE};
    cr_expect(world_next(&w).stop);
    world_close(&w);
}

/* Letters tell three lines in 2 minutes, size two in 1.1: what tells more a minute is asked first. Size has a
 * line of its own, and is asked for that, though it tells the kind as well. */
Test(missing, what_tells_most_lines_a_minute_comes_first)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id size = world_check(builder, "size", 2, (cw_check){.minutes = 1.1}),
                     letters = world_check(builder, "letters", 2, (cw_check){.minutes = 2});
    cw_fact_id lines[3];
    for (uint32_t i = 0; i < 3; i++) {
        lines[i] = world_values(builder, (const char *const[]){"lamp", "sense", "kind"}[i], 2, NULL, false);
        world_rule(builder, world_atom(builder, lines[i], 1),
                   (const cw_atom_id[]){world_atom(builder, letters, 1)}, 1);
    }
    world_rule(builder, world_atom(builder, lines[2], 0), (const cw_atom_id[]){world_atom(builder, size, 0)},
               1);
    cw_builder_heading(builder, "all", "All", (const cw_fact_id[]){lines[2], lines[0], lines[1], size}, 4);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    w.limits = (cw_ask_limits){.stage = CW_IDENTIFY};
    cw_advice advice = world_next(&w);
    cr_assert_eq(advice.count, 2u);
    cr_expect_str_eq(w.model->checks[advice.checks[0].check].name, "size", "two lines in 1.1 minutes: 1.8");
    cr_expect_eq(advice.checks[0].line, size);
    cr_expect_str_eq(w.model->checks[advice.checks[1].check].name, "letters", "three in 2: 1.5");
    world_answer(&w, "size", 0);
    advice = world_next(&w);
    cr_assert_eq(advice.count, 1u);
    cr_expect_float_eq(advice.checks[0].worth, 1, 1e-12, "the kind is known; two lines in 2 minutes");
    world_close(&w);
}

/* Two families, the second of two versions: what a family has is the sum of its versions. */
Test(missing, a_family_holds_by_the_sum_of_its_versions)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_unit_id one = world_unit(builder, "one", 1, NULL, NULL, 0);
    cw_unit_id family = cw_builder_unit(builder, &(cw_unit){.name = "two", .title = "two"}, NULL, 0);
    cw_unit_id a = cw_builder_unit(
        builder, &(cw_unit){.name = "a", .title = "a", .seen = 1, .version = true, .parent = family}, NULL,
        0);
    cw_unit_id b = cw_builder_unit(
        builder, &(cw_unit){.name = "b", .title = "b", .seen = 1, .version = true, .parent = family}, NULL,
        0);
    world w = world_open(world_finish(builder), CW_IDENTIFY);
    double chance[5] = {0};
    chance[0] = 0.3, chance[one] = 0.1, chance[a] = 0.3, chance[b] = 0.3;
    cr_expect_not(cw_ask_unlisted(w.chain, chance), "0.6 against 0.3");
    double even[5] = {0};
    even[0] = 0.1, even[one] = 0.43, even[a] = 0.24, even[b] = 0.23;
    cr_expect(cw_ask_unlisted(w.chain, even), "0.47 is less than even odds");
    double leads[5] = {0};
    leads[0] = 0.5, leads[a] = 0.25, leads[b] = 0.25;
    cr_expect(cw_ask_unlisted(w.chain, leads), "no family is above what no list has");
    world_close(&w);
}
