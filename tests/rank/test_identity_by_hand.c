/* Units by hand: small catalogues whose figures are worked out beside them. */
#include "rank/identity.h"
#include "world.h"
#include <math.h>
#include <string.h>

/* Two versions with a colour and a size. */
static cw_model *two_units(double first_seen, double second_seen, double blunders)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_check check = {.blunders = blunders};
    const cw_fact_id colour = world_fact(builder, "colour", 3, NULL, &check);
    const cw_fact_id size =
        cw_builder_fact(builder, &(cw_fact){.name = "size", .kind = CW_MEASURE}, NULL, 0, NULL);
    const cw_check measured = {
        .name = "size", .fact = size, .range = {0, 100, false, false}, .minutes = 1, .blunders = blunders};
    cw_builder_check(builder, &measured, NULL, 0, NULL, 0);
    const double a[] = {0.9, 0.1, 0}, b[] = {0.2, 0.8, 0};
    const cw_sign_spec of_a[] = {{.sign = {.fact = colour, .chances = a}},
                                 {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 40, .sd = 1}}};
    const cw_sign_spec of_b[] = {{.sign = {.fact = colour, .chances = b}},
                                 {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 60, .sd = 1}}};
    cw_builder_unit(builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = first_seen, .version = true},
                    of_a, 2);
    cw_builder_unit(builder,
                    &(cw_unit){.name = "plover", .title = "Plover", .seen = second_seen, .version = true},
                    of_b, 2);
    cw_builder_not_listed(builder, 0.05);
    return world_finish(builder);
}

/* 3 to 1 before, colour v1 at 0.1 against 0.8; not listed: average of v1 (3 * 0.1 + 0.8) / 4 = 0.275, so
 * 0.275 / 2 + 1 / 6. */
Test(identity_by_hand, two_units_by_hand)
{
    cw_model *model = two_units(30, 10, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence seen = {.fact = cw_model_fact(model, "colour"), .value = 1};
    const cw_identity got = world_rank(model, &seen, 1, arena);
    const double tern = 0.95 * 0.75 * 0.1, plover = 0.95 * 0.25 * 0.8, other = 0.05 * (0.1375 + 1.0 / 6);
    cr_assert_eq(got.units[0], cw_model_unit(model, "plover"));
    cr_assert_float_eq(got.probability[0], plover / (tern + plover + other), 1e-15);
    cr_assert_float_eq(got.probability[1], tern / (tern + plover + other), 1e-15);
    cr_assert_float_eq(got.not_listed, other / (tern + plover + other), 1e-15);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity_by_hand, alike_units_stand_by_seen_then_by_id)
{
    cw_model *model = two_units(10, 30, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_identity got = world_rank(model, NULL, 0, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "plover"));
    cw_model_free(model);
    model = two_units(10, 10, 0);
    got = world_rank(model, NULL, 0, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "tern"));
    cr_assert(got.probability[0] == got.probability[1]);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity_by_hand, not_listed_rises_when_nothing_fits)
{
    cw_model *model = two_units(10, 10, 0.02);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_fact_id size = cw_model_fact(model, "size");
    const cw_evidence fits = {.fact = size, .number = 40.5, .error = 0.2};
    const cw_evidence strange = {.fact = size, .number = 50, .error = 0.2};
    const cw_evidence both[] = {strange, {.fact = cw_model_fact(model, "colour"), .value = 2}};
    const double before = world_rank(model, NULL, 0, arena).not_listed;
    const double fitting = world_rank(model, &fits, 1, arena).not_listed;
    const double once = world_rank(model, &strange, 1, arena).not_listed;
    const double twice = world_rank(model, both, 2, arena).not_listed;
    cr_assert_lt(fitting, before);
    cr_assert_gt(once, 10 * before);
    cr_assert_gt(twice, once);
    cr_assert_gt(twice, 0.95);
    cw_arena_free(arena);
    cw_model_free(model);
}

/* 3,000 standard deviations off: the density is no double any more, its logarithm is. */
Test(identity_by_hand, far_out_the_nearer_unit_still_leads)
{
    cw_model *model = two_units(10, 10, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence far = {.fact = cw_model_fact(model, "size"), .number = 3060};
    const cw_evidence near = {.fact = far.fact, .number = 40};
    cw_identity got = world_rank(model, &near, 1, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "tern"));
    got = world_rank(model, &far, 1, arena);
    cr_assert_eq(got.units[0], cw_model_unit(model, "plover"));
    cr_assert_float_eq(got.not_listed, 1, 1e-15);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity_by_hand, evidence_that_nothing_allows_leaves_the_shares)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id colour = world_fact(builder, "colour", 2, NULL, NULL);
    const double only_first[] = {1, 0};
    const cw_sign_spec sign = {.sign = {.fact = colour, .chances = only_first}};
    cw_builder_unit(builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 3, .version = true}, &sign,
                    1);
    cw_builder_unit(builder, &(cw_unit){.name = "plover", .title = "Plover", .seen = 1, .version = true},
                    &sign, 1);
    cw_builder_not_listed(builder, 0);
    cw_model *model = world_finish(builder);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence seen = {.fact = colour, .value = 1};
    const cw_identity got = world_rank(model, &seen, 1, arena);
    cr_assert_float_eq(got.probability[0], 0.75, 1e-15);
    cr_assert_float_eq(got.probability[1], 0.25, 1e-15);
    cr_assert_eq(got.not_listed, 0.0);
    cw_arena_free(arena);
    cw_model_free(model);
}

/* Two versions, alike but for two features of the pulley and one of the shaft; the pulley is swapped in one
 * of five, both features at once where `together`. */
static cw_model *moved_pulley(bool together)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_check pulley = {.swapped = 0.2, .swap_group = together ? 1 : 0};
    const cw_fact_id ribs = world_fact(builder, "ribs", 2, NULL, &pulley);
    const cw_fact_id belt = world_fact(builder, "belt", 2, NULL, &pulley);
    const cw_fact_id shaft = world_fact(builder, "shaft", 2, NULL, NULL);
    const double first[] = {0.9, 0.1}, second[] = {0.1, 0.9};
    const cw_sign_spec of_a[] = {{.sign = {.fact = ribs, .chances = first}},
                                 {.sign = {.fact = belt, .chances = first}},
                                 {.sign = {.fact = shaft, .chances = first}}};
    const cw_sign_spec of_b[] = {{.sign = {.fact = ribs, .chances = second}},
                                 {.sign = {.fact = belt, .chances = second}},
                                 {.sign = {.fact = shaft, .chances = second}}};
    cw_builder_unit(builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 1, .version = true}, of_a,
                    3);
    cw_builder_unit(builder, &(cw_unit){.name = "plover", .title = "Plover", .seen = 1, .version = true},
                    of_b, 3);
    cw_builder_not_listed(builder, 0);
    return world_finish(builder);
}

/* The average of either value is 1/2. Apart, each feature stands 0.8 * 0.9 + 0.2 * 0.5 = 0.82 to 0.18, and
 * the two of the plover outvote the tern's shaft: 0.82 * 0.82 * 0.1 to 0.18 * 0.18 * 0.9. Together they stand
 * 0.8 * 0.81 + 0.2 * 0.25 = 0.698 to 0.8 * 0.01 + 0.2 * 0.25 = 0.058, and no longer do so by as much. */
Test(identity_by_hand, a_moved_pulley_speaks_once)
{
    const double tern[] = {0.18 * 0.18 * 0.9, 0.058 * 0.9}, plover[] = {0.82 * 0.82 * 0.1, 0.698 * 0.1};
    for (int together = 0; together < 2; together++) {
        cw_model *model = moved_pulley(together);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        const cw_evidence seen[] = {{.fact = cw_model_fact(model, "ribs"), .value = 1},
                                    {.fact = cw_model_fact(model, "belt"), .value = 1},
                                    {.fact = cw_model_fact(model, "shaft"), .value = 0}};
        const cw_identity got = world_rank(model, seen, 3, arena);
        cr_assert_eq(got.units[0], cw_model_unit(model, "plover"));
        cr_assert_float_eq(got.probability[0], plover[together] / (plover[together] + tern[together]), 1e-14);
        cw_arena_free(arena);
        cw_model_free(model);
    }
}

/* Nobody has ever counted: all alike. */
Test(identity_by_hand, units_never_seen_share_alike)
{
    cw_model *model = two_units(0, 0, 0);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence seen = {.fact = cw_model_fact(model, "colour"), .value = 1};
    cw_identity got = world_rank(model, NULL, 0, arena);
    cr_assert_float_eq(got.probability[0], 0.475, 1e-15);
    cr_assert_float_eq(got.probability[1], 0.475, 1e-15);
    got = world_rank(model, &seen, 1, arena); /* the average of 0.1 and 0.8 is 0.45 */
    const double other = 0.05 * (0.45 / 2 + 1.0 / 6);
    cr_assert_float_eq(got.not_listed, other / (0.475 * 0.9 + other), 1e-15);
    cw_arena_free(arena);
    cw_model_free(model);
}

/* A size without a range (which no pack has), and one that is exact: nothing divides by 0. */
Test(identity_by_hand, sizes_without_a_range_or_without_a_tolerance)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id size =
        cw_builder_fact(builder, &(cw_fact){.name = "size", .kind = CW_MEASURE}, NULL, 0, NULL);
    cw_builder_check(builder, &(cw_check){.name = "size", .fact = size, .minutes = 1}, NULL, 0, NULL, 0);
    const cw_sign_spec exact = {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 40}};
    const cw_sign_spec loose = {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 60, .sd = 5}};
    cw_builder_unit(builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 1, .version = true}, &exact,
                    1);
    cw_builder_unit(builder, &(cw_unit){.name = "plover", .title = "Plover", .seen = 1, .version = true},
                    &loose, 1);
    cw_builder_not_listed(builder, 0.05);
    cw_model *model = world_finish(builder);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_evidence on = {.fact = size, .number = 40}, off = {.fact = size, .number = 41};
    const cw_identity fits = world_rank(model, &on, 1, arena), misses = world_rank(model, &off, 1, arena);
    cr_assert_eq(fits.units[0], cw_model_unit(model, "tern"));
    /* Half of all units seen are the tern, so a stranger is as likely to fit as one in four. */
    cr_assert_float_eq(fits.probability[0], 0.475 / (0.475 + 0.05 / 4), 1e-6);
    cr_assert_eq(misses.units[0], cw_model_unit(model, "plover"));
    /* The units span 40 to 60 + 4 * 5, so a stranger is half the average, half spread over 40. */
    const double density = exp(-0.5 * 19 * 19 / 25.0) / (5 * sqrt(2 * acos(-1)));
    const double plover = 0.475 * density, other = 0.05 * (density / 2 / 2 + 0.5 / 40);
    cr_assert_float_eq(misses.not_listed, other / (plover + other), 1e-12);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(identity_by_hand, without_versions_everything_is_unlisted)
{
    cw_model *model = world_finish(cw_builder_new(&cw_system_allocator));
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_identity got = world_rank(model, NULL, 0, arena);
    cr_assert_eq(got.count, 0u);
    cr_assert_eq(got.not_listed, 1.0);
    cw_arena_free(arena);
    cw_model_free(model);
}
