/* That somebody has brought it in: by hand, and against a model that has it as a finding of its own. */
#include "rank/causes.h"
#include "support/random.h"
#include "world.h"
#include <math.h>

enum { CAUSES = 4, FINDINGS = 3 };

typedef struct world_of_causes {
    double seen[CAUSES], shows[CAUSES][FINDINGS], background[FINDINGS];
} world_of_causes;

static world_of_causes drawn(random_state *state)
{
    world_of_causes out;
    for (int c = 0; c < CAUSES; c++) {
        out.seen[c] = 0.02 + 0.3 * random_unit(state);
        for (int f = 0; f < FINDINGS; f++)
            out.shows[c][f] = random_unit(state);
    }
    for (int f = 0; f < FINDINGS; f++)
        out.background[f] = 0.01 + 0.2 * random_unit(state);
    return out;
}

static const char *const finding_names[] = {"f0", "f1", "f2", "came"}, *const cause_names[] = {"c0", "c1",
                                                                                               "c2", "c3"};

/* idle > 0: "somebody came" is a finding that every cause always shows. */
static cw_model *model_of(const world_of_causes *w, double no_fault, double idle)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[FINDINGS + 1];
    const int findings = FINDINGS + (idle > 0);
    for (int f = 0; f < findings; f++) {
        const double yes = f < FINDINGS ? w->background[f] : idle, chances[] = {1 - yes, yes};
        facts[f] = world_fact(builder, finding_names[f], 2, chances, NULL);
    }
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside", .where = CW_PART_UNIT});
    cw_builder_part(builder, &(cw_part){.name = "outside", .title = "Outside", .where = CW_PART_VEHICLE});
    for (uint32_t c = 0; c < CAUSES; c++) {
        double chances[FINDINGS + 1][2];
        cw_sign_spec signs[FINDINGS + 1];
        for (int f = 0; f < findings; f++) {
            chances[f][1] = f < FINDINGS ? w->shows[c][f] : 1;
            chances[f][0] = 1 - chances[f][1];
            signs[f] = (cw_sign_spec){.sign = {.fact = facts[f], .chances = chances[f]}};
        }
        const cw_cause_spec cause = {.cause = {.name = cause_names[c], .part = 1 + c % 2, .seen = w->seen[c]},
                                     .signs = signs,
                                     .sign_count = (uint32_t)findings};
        cw_builder_cause(builder, &cause);
    }
    cw_builder_no_fault(builder, no_fault);
    return world_finish(builder);
}

typedef struct result {
    double by_cause[CAUSES + 1], part[3], at_fault, nothing, evidence;
} result;

static result rank_of(cw_model *model, uint32_t values, bool came, uint64_t steps)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    cw_evidence seen[FINDINGS + 1];
    const size_t count = FINDINGS + came;
    for (size_t f = 0; f < count; f++)
        seen[f] = (cw_evidence){.fact = cw_model_fact(model, finding_names[f]),
                                .value = f < FINDINGS ? values >> f & 1 : 1};
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(chain, seen, count, steps, arena, &ranked), CW_OK);
    result out = {
        .at_fault = ranked.unit_at_fault, .nothing = ranked.nothing, .evidence = ranked.evidence_probability};
    for (uint32_t i = 0; i < ranked.count; i++) {
        out.by_cause[ranked.causes[i]] = ranked.probability[i];
        cr_expect(ranked.low[i] <= ranked.probability[i] && ranked.probability[i] <= ranked.high[i]);
        cr_expect(ranked.low[i] >= 0 && ranked.high[i] <= 1);
    }
    for (uint32_t part = 1; part <= 2; part++)
        out.part[part] = ranked.part_probability[part];
    cw_causes_scratch *scratch;
    cw_causes_tried tried;
    cr_assert_eq(cw_causes_scratch_new(model, &cw_system_allocator, &scratch), CW_OK);
    cr_assert_eq(cw_causes_try(scratch, chain, seen, count, steps, &tried), CW_OK);
    cr_expect_float_eq(tried.unit_at_fault, out.at_fault, 1e-12);
    cr_expect_float_eq(tried.nothing, out.nothing, 1e-12);
    for (uint32_t c = 1; c <= CAUSES; c++)
        cr_expect_float_eq(tried.by_cause[c], out.by_cause[c], 1e-12);
    cw_causes_scratch_free(scratch);
    cw_chain_free(chain);
    cw_arena_free(arena);
    return out;
}

/* Two causes worth 0.2 and 0.1, two that are as good as never: nothing is wrong in 0.72 of all, and in 0.25
 * of those that come in. So 0.28 / 0.75 of all come in. */
Test(came_in, by_hand)
{
    world_of_causes w = {.seen = {0.2, 0.1, 1e-15, 1e-15}, .background = {0.1, 0.1, 0.1}};
    cw_model *model = model_of(&w, 0.25, 0);
    cr_expect_float_eq(model->idle, 0.25 / 0.75 * 0.28 / 0.72, 1e-12);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(chain, NULL, 0, CW_CAUSES_STEPS, arena, &ranked), CW_OK);
    cr_expect_float_eq(ranked.nothing, 0.25, 1e-12);
    cr_expect_float_eq(ranked.probability[0], 0.2 * 0.75 / 0.28, 1e-12);
    cr_expect_float_eq(ranked.unit_at_fault, 0.2 * 0.75 / 0.28, 1e-12);
    cr_expect_float_eq(ranked.part_probability[2], 0.1 * 0.75 / 0.28, 1e-12);
    cw_chain_free(chain);
    cw_arena_free(arena);
    cw_model_free(model);
}

Test(came_in, is_a_finding_that_every_cause_shows)
{
    random_state state = random_start(20);
    for (int round = 0; round < 60; round++) {
        const world_of_causes w = drawn(&state);
        cw_model *said = model_of(&w, 0.01 + 0.3 * random_unit(&state), 0),
                 *shown = model_of(&w, 0, said->idle);
        cr_expect_eq(shown->idle, 1);
        for (uint32_t values = 0; values < 1U << FINDINGS; values++) {
            const result a = rank_of(said, values, false, CW_CAUSES_STEPS),
                         b = rank_of(shown, values, true, CW_CAUSES_STEPS);
            cr_expect_float_eq(a.nothing, b.nothing, 1e-9);
            cr_expect_float_eq(a.at_fault, b.at_fault, 1e-9);
            cr_expect_float_eq(a.evidence, b.evidence, 1e-9);
            for (uint32_t c = 1; c <= CAUSES; c++)
                cr_expect_float_eq(a.by_cause[c], b.by_cause[c], 1e-9);
            for (uint32_t part = 1; part <= 2; part++)
                cr_expect_float_eq(a.part[part], b.part[part], 1e-9);
        }
        cw_model_free(said);
        cw_model_free(shown);
    }
}

/* Too dear to be summed: the bounds still hold what is exact. */
Test(came_in, bounds_hold_the_exact)
{
    random_state state = random_start(21);
    for (int round = 0; round < 40; round++) {
        const world_of_causes w = drawn(&state);
        cw_model *model = model_of(&w, 0.1, 0);
        const result exact = rank_of(model, 7, false, CW_CAUSES_STEPS);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_chain *chain;
        cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
        cw_evidence seen[FINDINGS];
        for (size_t f = 0; f < FINDINGS; f++)
            seen[f] = (cw_evidence){.fact = cw_model_fact(model, finding_names[f]), .value = 1};
        cw_causes rough;
        cr_assert_eq(cw_causes_rank(chain, seen, FINDINGS, 0, arena, &rough), CW_OK);
        cr_assert_not(rough.exact);
        for (uint32_t i = 0; i < rough.count; i++) {
            cr_expect_leq(rough.low[i], exact.by_cause[rough.causes[i]] + 1e-12);
            cr_expect_geq(rough.high[i], exact.by_cause[rough.causes[i]] - 1e-12);
        }
        cr_expect_leq(rough.unit_at_fault_low, exact.at_fault + 1e-12);
        cr_expect_geq(rough.unit_at_fault_high, exact.at_fault - 1e-12);
        cr_expect_leq(rough.nothing_low, exact.nothing + 1e-12);
        cr_expect_geq(rough.nothing_high, exact.nothing - 1e-12);
        cw_chain_free(chain);
        cw_arena_free(arena);
        cw_model_free(model);
    }
}
