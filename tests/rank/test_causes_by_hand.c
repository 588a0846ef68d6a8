/* Causes worked out by hand: small models whose posteriors, bounds and costs a pencil can check. */
#include "rank/causes.h"
#include "world.h"
#include <math.h>
#include <string.h>

typedef struct hand { /* two causes, one yes-or-no finding */
    cw_model *model;
    cw_chain *chain;
    cw_arena *arena;
} hand;

static hand two_causes(double background, double first, double second, double leads)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const double seen_alone[] = {1 - background, background}, a[] = {1 - first, first},
                 b[] = {1 - second, second};
    const cw_fact_id sign = world_fact(builder, "sign", 2, seen_alone, NULL);
    const cw_atom_id gone = world_circumstance(builder, "gone");
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside", .where = CW_PART_UNIT});
    cw_builder_part(builder, &(cw_part){.name = "outside", .title = "Outside", .where = CW_PART_VEHICLE});
    const cw_sign_spec of_a = {.sign = {.fact = sign, .chances = a}},
                       of_b = {.sign = {.fact = sign, .chances = b}};
    const cw_cause_spec root = {.cause = {.name = "root", .part = 2, .seen = 0.1, .ruled_out = gone},
                                .signs = &of_a,
                                .sign_count = 1};
    const cw_cause_spec broken = {
        .cause = {.name = "broken", .part = 1, .seen = 0.2}, .signs = &of_b, .sign_count = 1};
    const cw_cause_id from = cw_builder_cause(builder, &root), to = cw_builder_cause(builder, &broken);
    if (leads > 0)
        cw_builder_leads_to(builder, from, to, leads);
    hand out = {.model = world_finish(builder), .arena = cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_chain_new(out.model, &cw_system_allocator, &out.chain), CW_OK);
    return out;
}

static void put_away(hand *h)
{
    cw_arena_free(h->arena);
    cw_chain_free(h->chain);
    cw_model_free(h->model);
}

static double of_cause(const hand *h, const cw_causes *ranked, const char *name)
{
    for (uint32_t i = 0; i < ranked->count; i++)
        if (ranked->causes[i] == cw_model_cause(h->model, name))
            return ranked->probability[i];
    cr_assert_fail("no such cause");
    return 0;
}

static cw_causes rank_hand(const hand *h, uint32_t value)
{
    const cw_evidence seen = {.fact = cw_model_fact(h->model, "sign"), .value = value};
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h->chain, &seen, 1, CW_CAUSES_STEPS, h->arena, &ranked), CW_OK);
    return ranked;
}

/* root 0.1 with the sign half the time, broken 0.2 always, background none: P(yes) = 1 - 0.95 * 0.8 = 0.24.
 */
Test(causes_by_hand, two_causes_by_hand)
{
    hand h = two_causes(0, 0.5, 1, 0);
    const cw_causes ranked = rank_hand(&h, 1);
    cr_assert_float_eq(ranked.evidence_probability, 0.24, 1e-15);
    cr_assert_float_eq(of_cause(&h, &ranked, "broken"), 0.2 / 0.24, 1e-15);
    cr_assert_float_eq(of_cause(&h, &ranked, "root"), (0.1 * 0.2 + 0.1 * 0.8 * 0.5) / 0.24, 1e-15);
    cr_assert_float_eq(ranked.unit_at_fault, 0.2 / 0.24, 1e-15);
    cr_assert_float_eq(ranked.nothing, 0, 1e-15);
    cr_assert_float_eq(ranked.part_probability[1], ranked.unit_at_fault, 1e-15);
    cr_assert_eq(ranked.causes[0], cw_model_cause(h.model, "broken"));
    put_away(&h);
}

/* root leads to broken in half the cases: P(broken) = 0.2 + 0.8 * 0.1 * 0.5 = 0.24. Ruled out, it leads
 * nowhere. */
Test(causes_by_hand, a_ruled_out_cause_leads_nowhere)
{
    hand h = two_causes(0, 0, 1, 0.5);
    cw_causes ranked = rank_hand(&h, 1);
    cr_assert_float_eq(ranked.evidence_probability, 0.24, 1e-15);
    cr_assert_float_eq(of_cause(&h, &ranked, "root"), 0.1 * 0.6 / 0.24, 1e-15);
    const cw_answer gone = {.fact = cw_model_fact(h.model, "gone"), .value = 1};
    cr_assert_eq(cw_chain_answer(h.chain, &gone), CW_OK);
    ranked = rank_hand(&h, 1);
    cr_assert_float_eq(ranked.evidence_probability, 0.2, 1e-15);
    cr_assert_eq(of_cause(&h, &ranked, "root"), 0.0);
    put_away(&h);
}

Test(causes_by_hand, impossible_evidence_gives_the_priors)
{
    hand h = two_causes(0, 0, 0, 0);
    const cw_causes ranked = rank_hand(&h, 1);
    cr_assert_eq(ranked.evidence_probability, 0.0);
    cr_assert(!ranked.exact);
    cr_assert_float_eq(of_cause(&h, &ranked, "root"), 0.1, 1e-15);
    cr_assert_float_eq(of_cause(&h, &ranked, "broken"), 0.2, 1e-15);
    cr_assert_float_eq(ranked.nothing, 0.9 * 0.8, 1e-15);
    for (uint32_t i = 0; i < ranked.count; i++)
        cr_assert(ranked.low[i] == 0 && ranked.high[i] == 1);
    put_away(&h);
}

/* Causes that share one finding alone and no link hang together like a tree, which costs no step: broken 0.2
 * shows it with 0.8, root 0.1 with 0.5, the background with 0.01. */
Test(causes_by_hand, one_shared_finding_costs_nothing)
{
    hand h = two_causes(0.01, 0.5, 0.8, 0);
    const cw_evidence seen = {.fact = cw_model_fact(h.model, "sign"), .value = 1};
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h.chain, &seen, 1, 0, h.arena, &ranked), CW_OK);
    cr_assert(ranked.exact);
    const double both = 0.02 * (1 - 0.99 * 0.2 * 0.5), broken = 0.18 * (1 - 0.99 * 0.2),
                 root = 0.08 * (1 - 0.99 * 0.5), none = 0.72 * 0.01, all = both + broken + root + none;
    cr_assert_float_eq(ranked.evidence_probability, all, 1e-15);
    cr_assert_float_eq(of_cause(&h, &ranked, "broken"), (both + broken) / all, 1e-15);
    cr_assert_float_eq(of_cause(&h, &ranked, "root"), (both + root) / all, 1e-15);
    cr_assert_float_eq(ranked.nothing, none / all, 1e-15);
    put_away(&h);
}

/* Two causes, x (0.1) and y (0.2), each in a part of its own, that share all findings. */
static hand sharing(uint32_t values, uint32_t findings, const double (*background)[3],
                    const double (*of_x)[3], const double (*of_y)[3])
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_sign_spec x[3], y[3];
    char name[16];
    for (uint32_t i = 0; i < findings; i++) {
        const cw_fact_id fact = world_fact(builder, world_name(name, 'f', i), values, background[i], NULL);
        x[i] = (cw_sign_spec){.sign = {.fact = fact, .chances = of_x[i]}};
        y[i] = (cw_sign_spec){.sign = {.fact = fact, .chances = of_y[i]}};
    }
    cw_builder_part(builder, &(cw_part){.name = "one", .title = "One"});
    cw_builder_part(builder, &(cw_part){.name = "two", .title = "Two"});
    const cw_cause_spec of[] = {
        {.cause = {.name = "x", .part = 1, .seen = 0.1}, .signs = x, .sign_count = findings},
        {.cause = {.name = "y", .part = 2, .seen = 0.2}, .signs = y, .sign_count = findings}};
    cw_builder_cause(builder, &of[0]);
    cw_builder_cause(builder, &of[1]);
    hand h = {.model = world_finish(builder), .arena = cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_chain_new(h.model, &cw_system_allocator, &h.chain), CW_OK);
    return h;
}

/* Seen at the middle value, which a present cause can also spoil by drawing the worst: x draws at most the
 * middle 0.7 of the time, less 0.2; y always, less half the time; the background 0.96 and 0.9. */
Test(causes_by_hand, a_middle_value_by_hand)
{
    const double background[][3] = {{0.9, 0.06, 0.04}}, x[][3] = {{0.2, 0.5, 0.3}}, y[][3] = {{0.5, 0.5, 0}};
    hand h = sharing(3, 1, background, x, y);
    const cw_evidence seen = {.fact = cw_model_fact(h.model, "f0"), .value = 1};
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h.chain, &seen, 1, 0, h.arena, &ranked), CW_OK);
    cr_assert(ranked.exact);
    const double with = 0.1 * (0.8 * (0.96 * 0.7 - 0.9 * 0.2) + 0.2 * (0.96 * 0.7 - 0.9 * 0.2 * 0.5)),
                 without = 0.9 * (0.8 * (0.96 - 0.9) + 0.2 * (0.96 - 0.9 * 0.5));
    cr_assert_float_eq(of_cause(&h, &ranked, "x"), with / (with + without), 1e-14);
    put_away(&h);
}

/* Three findings that two causes share need more than 300 steps: what is said then holds the truth, closer
 * than from nothing to everything. */
Test(causes_by_hand, beyond_the_budget_bounds_hold_the_truth)
{
    const double background[][3] = {{0.99, 0.01}, {0.5, 0.5}, {0.7, 0.3}};
    const double x[][3] = {{0.1, 0.9}, {0.9, 0.1}, {0.8, 0.2}}, y[][3] = {{0.2, 0.8}, {0.9, 0.1}, {0.8, 0.2}};
    hand h = sharing(2, 3, background, x, y);
    cw_evidence seen[3];
    char name[16];
    for (uint32_t i = 0; i < 3; i++)
        seen[i] = (cw_evidence){.fact = cw_model_fact(h.model, world_name(name, 'f', i)), .value = 1};
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h.chain, seen, 3, 300, h.arena, &ranked), CW_OK);
    cr_assert(!ranked.exact);
    const uint32_t line = ranked.causes[0] == cw_model_cause(h.model, "x") ? 0 : 1;
    double of[2][2]; /* by x, y */
    for (int with_x = 0; with_x < 2; with_x++)
        for (int with_y = 0; with_y < 2; with_y++) {
            double chance = (with_x ? 0.1 : 0.9) * (with_y ? 0.2 : 0.8);
            for (int i = 0; i < 3; i++)
                chance *= 1 - background[i][0] * (with_x ? x[i][0] : 1) * (with_y ? y[i][0] : 1);
            of[with_x][with_y] = chance;
        }
    const double true_one = (of[1][0] + of[1][1]) / (of[0][0] + of[0][1] + of[1][0] + of[1][1]);
    cr_assert(ranked.low[line] <= true_one && true_one <= ranked.high[line]);
    cr_assert_gt(ranked.low[line], true_one / 2);
    cr_assert_lt(ranked.high[line], (1 + true_one) / 2);
    put_away(&h);
}

/* A doubtful circumstance neither shifts nor rules out. */
Test(causes_by_hand, doubtful_circumstances_say_nothing)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id heat = cw_builder_fact(
        builder, &(cw_fact){.name = "heat", .kind = CW_MEASURE, .context = true}, NULL, 0, NULL);
    const cw_check check = {.name = "heat", .fact = heat, .range = {0, 200, false, false}, .minutes = 1};
    cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    const cw_atom_id hot = cw_builder_band_atom(builder, heat, (cw_interval){100, INFINITY, true, true});
    const cw_shift shift = {hot, 9, NULL, NULL};
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside"});
    const cw_cause_spec burnt = {
        .cause = {.name = "burnt", .part = 1, .seen = 0.1}, .shifts = &shift, .shift_count = 1};
    const cw_cause_spec frozen = {.cause = {.name = "frozen", .part = 1, .seen = 0.2, .ruled_out = hot}};
    cw_builder_cause(builder, &burnt);
    cw_builder_cause(builder, &frozen);
    hand h = {.model = world_finish(builder), .arena = cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_chain_new(h.model, &cw_system_allocator, &h.chain), CW_OK);
    static const struct {
        double reading, burnt, frozen;
    } cases[] = {{80, 0.1, 0.2}, {101, 0.1, 0.2}, {120, 0.5, 0}};
    for (int i = 0; i < 3; i++) {
        const cw_answer answer = {.fact = heat, .number = cases[i].reading, .error = 5};
        cr_assert_eq(cw_chain_answer(h.chain, &answer), CW_OK);
        cw_causes ranked;
        cr_assert_eq(cw_causes_rank(h.chain, NULL, 0, CW_CAUSES_STEPS, h.arena, &ranked), CW_OK);
        cr_assert_float_eq(of_cause(&h, &ranked, "burnt"), cases[i].burnt, 1e-15);
        cr_assert_float_eq(of_cause(&h, &ranked, "frozen"), cases[i].frozen, 1e-15);
    }
    put_away(&h);
}

/* A hundred findings of one cause, each 1 in 100,000 without it and 1 in 10,000 with it: P is near 10^-400,
 * no double, yet not 0, and the cause is certain. A finding of one cause alone needs no bit: a hundred cost
 * nothing. */
Test(causes_by_hand, evidence_beyond_the_smallest_double_is_possible)
{
    enum { MANY = 100 };
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const double background[] = {1 - 1e-5, 1e-5}, chances[] = {1 - 1e-4, 1e-4};
    cw_sign_spec signs[MANY];
    cw_evidence evidence[MANY];
    char name[16];
    for (uint32_t i = 0; i < MANY; i++) {
        const cw_fact_id fact = world_fact(builder, world_name(name, 'f', i), 2, background, NULL);
        signs[i] = (cw_sign_spec){.sign = {.fact = fact, .chances = chances}};
        evidence[i] = (cw_evidence){.fact = fact, .value = 1};
    }
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside"});
    const cw_cause_spec spec = {
        .cause = {.name = "broken", .part = 1, .seen = 0.1}, .signs = signs, .sign_count = MANY};
    cw_builder_cause(builder, &spec);
    hand h = {.model = world_finish(builder), .arena = cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_chain_new(h.model, &cw_system_allocator, &h.chain), CW_OK);
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h.chain, evidence, MANY, CW_CAUSES_STEPS, h.arena, &ranked), CW_OK);
    cr_assert(ranked.exact);
    cr_assert_gt(ranked.evidence_probability, 0);
    cr_assert_float_eq(ranked.probability[0], 1, 1e-15);
    cr_assert_eq(cw_causes_rank(h.chain, evidence, 20, CW_CAUSES_STEPS, h.arena, &ranked), CW_OK);
    cr_assert_float_eq(log10(ranked.evidence_probability), -1 + 20 * log10(1.1e-4 - 1e-9), 1e-9);
    /* Two of them: P(seen | broken) = 1e-4 + 1e-5 - 1e-9 each. */
    cr_assert_eq(cw_causes_rank(h.chain, evidence, 2, CW_CAUSES_STEPS, h.arena, &ranked), CW_OK);
    const double with = 0.1 * (1.1e-4 - 1e-9) * (1.1e-4 - 1e-9), without = 0.9 * 1e-10;
    cr_assert_float_eq(ranked.probability[0], with / (with + without), 1e-12);
    cr_assert_float_eq(ranked.evidence_probability / (with + without), 1, 1e-12);
    put_away(&h);
}

Test(causes_by_hand, a_model_without_causes)
{
    cw_model *model = world_finish(cw_builder_new(&cw_system_allocator));
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(chain, NULL, 0, CW_CAUSES_STEPS, arena, &ranked), CW_OK);
    cr_assert_eq(ranked.count, 0u);
    cr_assert(ranked.exact && ranked.nothing == 1 && ranked.unit_at_fault == 0);
    cw_arena_free(arena);
    cw_chain_free(chain);
    cw_model_free(model);
}

/* -- Size -- */

/* Heaps of causes that share no finding: their posteriors are those of one heap alone, and fifteen findings
 * in five heaps cost five times three, not 2^15. */
Test(causes_by_hand, separate_heaps_cost_their_sum)
{
    enum { HEAPS = 5, CAUSES = 8, FACTS = 3 };
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    random_state random = random_start(7);
    double chances[CAUSES][FACTS][2];
    for (int i = 0; i < CAUSES; i++)
        for (int f = 0; f < FACTS; f++)
            world_chances(&random, 2, 0, chances[i][f]);
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside", .where = CW_PART_UNIT});
    char name[16];
    for (uint32_t heap = 0; heap < HEAPS; heap++) {
        cw_fact_id facts[FACTS];
        for (uint32_t f = 0; f < FACTS; f++)
            facts[f] = world_fact(builder, world_name(name, 'f', 10 * heap + f), 2, NULL, NULL);
        cw_cause_id causes[CAUSES];
        for (uint32_t i = 0; i < CAUSES; i++) {
            cw_sign_spec signs[FACTS];
            for (uint32_t f = 0; f < FACTS; f++)
                signs[f] = (cw_sign_spec){.sign = {.fact = facts[f], .chances = chances[i][f]}};
            const cw_cause_spec spec = {
                .cause = {.name = world_name(name, 'c', 10 * heap + i), .part = 1, .seen = 0.05},
                .signs = signs,
                .sign_count = FACTS};
            causes[i] = cw_builder_cause(builder, &spec);
            if (i > 0)
                cw_builder_leads_to(builder, causes[i - 1], causes[i], 0.3);
        }
    }
    cw_model *model = world_finish(builder);
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_evidence evidence[HEAPS * FACTS];
    for (uint32_t i = 0; i < HEAPS * FACTS; i++)
        evidence[i] = (cw_evidence){.fact = i + 1, .value = 1};
    cw_causes all, one;
    cr_assert_eq(cw_causes_rank(chain, evidence, FACTS, CW_CAUSES_STEPS, arena, &one), CW_OK);
    cr_assert_eq(cw_causes_rank(chain, evidence, HEAPS * FACTS, CW_CAUSES_STEPS, arena, &all), CW_OK);
    cr_assert(all.exact && all.steps < 500000);
    cr_assert_float_eq(log(all.evidence_probability), HEAPS * log(one.evidence_probability), 1e-12);
    for (uint32_t i = 0; i < one.count; i++) {
        const char *of_one = model->causes[one.causes[i]].name;
        if (strlen(of_one) > 2)
            continue; /* not of the first heap: c0 .. c7 */
        for (uint32_t j = 0; j < all.count; j++) {
            const char *of_all = model->causes[all.causes[j]].name;
            if (of_all[strlen(of_all) - 1] == of_one[1])
                cr_assert_float_eq(all.probability[j], one.probability[i], 1e-12);
        }
    }
    cw_arena_free(arena);
    cw_chain_free(chain);
    cw_model_free(model);
}

/* Forty pairs of causes that share a finding each: P is that of one pair to the fortieth, near 10^-190. */
Test(causes_by_hand, small_vectors_are_scaled)
{
    enum { PAIRS = 40 };
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const double background[] = {1 - 1e-7, 1e-7}, chances[] = {1 - 1e-4, 1e-4};
    cw_evidence evidence[PAIRS];
    char name[16];
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside"});
    for (uint32_t i = 0; i < PAIRS; i++) {
        const cw_fact_id fact = world_fact(builder, world_name(name, 'f', i), 2, background, NULL);
        evidence[i] = (cw_evidence){.fact = fact, .value = 1};
        const cw_sign_spec sign = {.sign = {.fact = fact, .chances = chances}};
        cw_cause_spec spec = {.cause = {.name = world_name(name, 'a', i), .part = 1, .seen = 0.1},
                              .signs = &sign,
                              .sign_count = 1};
        cw_builder_cause(builder, &spec);
        spec.cause.name = world_name(name, 'b', i);
        cw_builder_cause(builder, &spec);
    }
    hand h = {.model = world_finish(builder), .arena = cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_chain_new(h.model, &cw_system_allocator, &h.chain), CW_OK);
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h.chain, evidence, PAIRS, CW_CAUSES_STEPS, h.arena, &ranked), CW_OK);
    const double none = 1 - 1e-7, one = none * (1 - 1e-4), two = one * (1 - 1e-4);
    const double pair = 0.81 * (1 - none) + 0.18 * (1 - one) + 0.01 * (1 - two);
    const double of_one = (0.09 * (1 - one) + 0.01 * (1 - two)) / pair;
    cr_assert(ranked.exact);
    cr_assert_float_eq(log(ranked.evidence_probability) / (PAIRS * log(pair)), 1, 1e-9);
    for (uint32_t i = 0; i < ranked.count; i++)
        cr_assert_float_eq(ranked.probability[i], of_one, 1e-9);
    put_away(&h);
}
