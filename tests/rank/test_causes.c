/* Causes against full enumeration: every set of causes, every finding's distribution worked out value by
 * value, in long double, straight from the model. */
#include "rank/causes.h"
#include "support/failing.h"
#include "world.h"
#include <math.h>
#include <string.h>

#define MOST_CAUSES 12
#define MOST_FACTS 16

typedef struct shape { /* what a random model is to be like */
    uint32_t causes, facts, values, parts;
    uint32_t signs_of_ten, links_of_ten, zeros;
    double others; /* background of all but the normal value together */
} shape;

static cw_model *random_model(random_state *random, shape want)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[MOST_FACTS];
    char name[16];
    double chances[WORLD_VALUES];
    for (uint32_t i = 0; i < want.facts; i++) {
        const uint32_t values = 2 + random_below(random, want.values - 1);
        world_background(random, values, want.others, chances);
        facts[i] = world_fact(builder, world_name(name, 'f', i), values, chances, NULL);
    }
    const cw_atom_id gone = world_circumstance(builder, "gone"), often = world_circumstance(builder, "often"),
                     seldom = world_circumstance(builder, "seldom");
    for (uint32_t i = 0; i < want.parts; i++) {
        const cw_part part = {
            .name = world_name(name, 'p', i), .title = "part", .where = random_below(random, 3)};
        cw_builder_part(builder, &part);
    }
    cw_cause_id causes[MOST_CAUSES];
    for (uint32_t i = 0; i < want.causes; i++) {
        cw_sign_spec signs[MOST_FACTS];
        double of[MOST_FACTS][WORLD_VALUES];
        uint32_t count = 0;
        for (uint32_t f = 0; f < want.facts; f++) {
            if (random_below(random, 10) >= want.signs_of_ten)
                continue;
            world_chances(random, cw_builder_fact_at(builder, facts[f])->values.count, want.zeros, of[count]);
            signs[count] = (cw_sign_spec){.sign = {.fact = facts[f], .chances = of[count]}};
            count++;
        }
        const cw_shift shifts[] = {{often, 3, NULL, NULL}, {seldom, 0.25, NULL, NULL}};
        const double seen =
            want.zeros > 0 && random_below(random, 6) == 0 ? 0 : random_between(random, 0.001, 0.3);
        const cw_cause_spec spec = {.cause = {.name = world_name(name, 'c', i),
                                              .title = "cause",
                                              .part = 1 + random_below(random, want.parts),
                                              .seen = seen,
                                              .ruled_out = random_below(random, 4) == 0 ? gone : 0},
                                    .signs = signs,
                                    .sign_count = count,
                                    .shifts = shifts,
                                    .shift_count = random_below(random, 3)};
        causes[i] = cw_builder_cause(builder, &spec);
        for (uint32_t j = 0; j < i; j++)
            if (random_below(random, 10) < want.links_of_ten)
                cw_builder_leads_to(builder, causes[j], causes[i], random_unit(random));
    }
    return world_finish(builder);
}

/* -- The reference -- */

typedef struct truth {
    long double evidence, unit, nothing, by_cause[MOST_CAUSES + 1], by_part[MOST_CAUSES + 1];
} truth;

static bool holds(const cw_chain *chain, cw_atom_id atom)
{
    return atom != 0 && cw_chain_truth(chain, atom) == CW_YES;
}

static long double own_chance(const cw_chain *chain, const cw_cause *cause)
{
    long double odds = (long double)cause->seen / (1 - (long double)cause->seen);
    for (uint32_t i = 0; i < cause->shifts.count; i++) {
        const cw_shift *shift = &cw_chain_model(chain)->shifts[cause->shifts.first + i];
        if (holds(chain, shift->atom))
            odds *= shift->times;
    }
    return odds / (1 + odds);
}

/* P(exactly this set of causes). */
static long double set_chance(const cw_chain *chain, uint32_t set)
{
    const cw_model *model = cw_chain_model(chain);
    long double chance = 1;
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        const cw_cause *cause = &model->causes[id];
        long double absent = 1 - own_chance(chain, cause);
        for (cw_cause_id from = 1; from <= model->causes_count; from++)
            for (uint32_t i = 0; (set >> from & 1) && i < model->causes[from].leads_to.count; i++) {
                const cw_link *link = &model->links[model->causes[from].leads_to.first + i];
                if (link->to == id)
                    absent *= 1 - (long double)link->chance;
            }
        if (holds(chain, cause->ruled_out))
            absent = 1;
        chance *= set >> id & 1 ? 1 - absent : absent;
    }
    return chance;
}

/* P(the worst of the background's draw and those of the set's causes is `value`), draw by draw. */
static long double value_chance(const cw_model *model, uint32_t set, cw_fact_id fact, uint32_t value)
{
    const uint32_t count = model->facts[fact].values.count;
    long double worst[WORLD_VALUES], next[WORLD_VALUES];
    for (uint32_t v = 0; v < count; v++)
        worst[v] = model->facts[fact].background[v];
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        for (uint32_t i = 0; (set >> id & 1) && i < model->causes[id].signs.count; i++) {
            const cw_sign *sign = &model->signs[model->causes[id].signs.first + i];
            if (sign->fact != fact)
                continue;
            memset(next, 0, sizeof next);
            for (uint32_t a = 0; a < count; a++)
                for (uint32_t b = 0; b < count; b++)
                    next[a > b ? a : b] += worst[a] * sign->chances[b];
            memcpy(worst, next, sizeof worst);
        }
    return worst[value];
}

static void add_set(const cw_model *model, uint32_t set, long double chance, truth *out)
{
    bool parts[MOST_CAUSES + 1] = {false}, unit = false;
    for (cw_cause_id id = 1; id <= model->causes_count; id++) {
        if (!(set >> id & 1))
            continue;
        out->by_cause[id] += chance;
        parts[model->causes[id].part] = true;
        unit = unit || model->parts[model->causes[id].part].where == CW_PART_UNIT;
    }
    for (cw_part_id part = 1; part <= model->parts_count; part++)
        out->by_part[part] += parts[part] ? chance : 0;
    out->unit += unit ? chance : 0;
    out->nothing += set == 0 ? chance : 0;
    out->evidence += chance;
}

static truth enumerate(const cw_chain *chain, const cw_evidence *evidence, size_t count)
{
    const cw_model *model = cw_chain_model(chain);
    truth out = {0};
    for (uint32_t set = 0; set < 2u << model->causes_count; set += 2) { /* bit 0 is no cause */
        long double chance = set_chance(chain, set);
        for (size_t i = 0; i < count && chance > 0; i++)
            if (evidence[i].yields_to == 0)
                chance *= value_chance(model, set, evidence[i].fact, evidence[i].value);
        add_set(model, set, chance, &out);
    }
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        out.by_cause[id] /= out.evidence;
    for (cw_part_id part = 1; part <= model->parts_count; part++)
        out.by_part[part] /= out.evidence;
    out.unit /= out.evidence;
    out.nothing /= out.evidence;
    return out;
}

/* -- Random evidence -- */

static size_t random_evidence(random_state *random, const cw_model *model, uint32_t seen_of_ten, bool worst,
                              cw_evidence *out)
{
    size_t count = 0;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++) {
        if (model->facts[fact].context || random_below(random, 10) >= seen_of_ten)
            continue;
        const uint32_t values = model->facts[fact].values.count;
        out[count++] =
            (cw_evidence){.fact = fact, .value = worst ? values - 1 : random_below(random, values)};
    }
    return count;
}

static cw_chain *random_chain(random_state *random, const cw_model *model)
{
    static const char *const names[] = {"gone", "often", "seldom"};
    cw_chain *chain = NULL;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    for (int i = 0; i < 3; i++) {
        const cw_answer answer = {.fact = cw_model_fact(model, names[i]), .value = random_below(random, 2)};
        if (random_below(random, 2) == 0)
            cr_assert_eq(cw_chain_answer(chain, &answer), CW_OK);
    }
    return chain;
}

static void check_exact(const cw_model *model, const cw_causes *got, const truth *want, double tolerance)
{
    cr_assert(got->exact);
    cr_assert_eq(got->count, model->causes_count);
    cr_assert_float_eq(got->evidence_probability / (double)want->evidence, 1, tolerance);
    cr_assert_float_eq(got->unit_at_fault, (double)want->unit, tolerance);
    cr_assert_float_eq(got->nothing, (double)want->nothing, tolerance);
    cr_assert(got->unit_at_fault_low == got->unit_at_fault && got->unit_at_fault_high == got->unit_at_fault);
    cr_assert(got->nothing_low == got->nothing && got->nothing_high == got->nothing);
    for (uint32_t i = 0; i < got->count; i++) {
        cr_assert_float_eq(got->probability[i], (double)want->by_cause[got->causes[i]], tolerance);
        cr_assert(got->low[i] == got->probability[i] && got->high[i] == got->probability[i]);
        if (i > 0)
            cr_assert(
                got->probability[i - 1] > got->probability[i] ||
                (got->probability[i - 1] == got->probability[i] && got->causes[i - 1] < got->causes[i]));
    }
    for (cw_part_id part = 1; part <= model->parts_count; part++)
        cr_assert_float_eq(got->part_probability[part], (double)want->by_part[part], tolerance);
}

static shape random_shape(random_state *random, uint32_t most_causes)
{
    return (shape){.causes = 1 + random_below(random, most_causes),
                   .facts = 1 + random_below(random, 12),
                   .values = 2 + random_below(random, 3),
                   .parts = 1 + random_below(random, 5),
                   .signs_of_ten = 1 + random_below(random, 10),
                   .links_of_ten = random_below(random, 6),
                   .zeros = random_below(random, 2) * 4,
                   .others = 0.06};
}

Test(causes, equal_full_enumeration)
{
    random_state random = random_start(1);
    for (int round = 0; round < 300; round++) {
        cw_model *model = random_model(&random, random_shape(&random, round < 280 ? 8 : MOST_CAUSES));
        cw_chain *chain = random_chain(&random, model);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_evidence evidence[MOST_FACTS];
        const size_t count = random_evidence(&random, model, 8, false, evidence);
        if (count > 0 && random_below(&random, 3) == 0)
            evidence[random_below(&random, (uint32_t)count)].yields_to = 1;
        const truth want = enumerate(chain, evidence, count);
        cw_causes got;
        cr_assert_eq(cw_causes_rank(chain, evidence, count, CW_CAUSES_STEPS, arena, &got), CW_OK);
        if (want.evidence > 0)
            check_exact(model, &got, &want, 1e-10);
        else
            cr_assert(got.evidence_probability == 0 && !got.exact);
        cw_arena_free(arena);
        cw_chain_free(chain);
        cw_model_free(model);
    }
}

/* Twelve findings above normal that next to nothing explains: the signed sum would be rounding alone. */
Test(causes, improbable_evidence_stays_exact)
{
    random_state random = random_start(2);
    for (int round = 0; round < 30; round++) {
        const shape want_shape = {.causes = 7,
                                  .facts = 12,
                                  .values = 2 + random_below(&random, 2),
                                  .parts = 3,
                                  .signs_of_ten = 2,
                                  .links_of_ten = 3,
                                  .others = round % 2 == 0 ? 1e-5 : 1e-11};
        cw_model *model = random_model(&random, want_shape);
        cw_chain *chain = random_chain(&random, model);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_evidence evidence[MOST_FACTS];
        const size_t count = random_evidence(&random, model, 10, true, evidence);
        cr_assert_eq(count, 12u);
        const truth want = enumerate(chain, evidence, count);
        cr_assert_lt(want.evidence, 1e-6L);
        cw_causes got;
        cr_assert_eq(cw_causes_rank(chain, evidence, count, CW_CAUSES_STEPS, arena, &got), CW_OK);
        check_exact(model, &got, &want, 1e-11);
        cw_arena_free(arena);
        cw_chain_free(chain);
        cw_model_free(model);
    }
}

Test(causes, trying_gives_what_ranking_gives)
{
    random_state random = random_start(3);
    for (int round = 0; round < 60; round++) {
        cw_model *model = random_model(&random, random_shape(&random, 10));
        cw_chain *chain = random_chain(&random, model);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        failing memory;
        failing_start(&memory, FAILING_NEVER);
        cw_causes_scratch *scratch;
        cr_assert_eq(cw_causes_scratch_new(model, &memory.allocator, &scratch), CW_OK);
        cw_evidence evidence[MOST_FACTS];
        for (int again = 0; again < 4; again++) {
            const size_t count = random_evidence(&random, model, 7, false, evidence);
            cw_causes ranked;
            cw_causes_tried tried;
            cr_assert_eq(cw_causes_rank(chain, evidence, count, CW_CAUSES_STEPS, arena, &ranked), CW_OK);
            cr_assert_eq(cw_causes_try(scratch, chain, evidence, count, CW_CAUSES_STEPS, &tried), CW_OK);
            for (uint32_t i = 0; i < ranked.count; i++)
                cr_assert(ranked.probability[i] == tried.by_cause[ranked.causes[i]]);
            cr_assert(ranked.unit_at_fault == tried.unit_at_fault && ranked.nothing == tried.nothing);
            cr_assert(ranked.evidence_probability == tried.evidence_probability);
            const size_t requests = memory.requests;
            cr_assert_eq(cw_causes_try(scratch, chain, evidence, count, CW_CAUSES_STEPS, &tried), CW_OK);
            cr_assert_eq(memory.requests, requests, "the second time everything is there");
        }
        cw_causes_scratch_free(scratch);
        cr_assert_eq(failing_bytes(&memory), 0u);
        cw_arena_free(arena);
        cw_chain_free(chain);
        cw_model_free(model);
    }
}

Test(causes, order_of_evidence_changes_nothing)
{
    random_state random = random_start(4);
    for (int round = 0; round < 60; round++) {
        cw_model *model = random_model(&random, random_shape(&random, 10));
        cw_chain *chain = random_chain(&random, model);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_evidence evidence[MOST_FACTS];
        const size_t count = random_evidence(&random, model, 9, false, evidence);
        const uint64_t steps = round % 2 ? CW_CAUSES_STEPS : 2000; /* with bounds, too */
        cw_causes first, second;
        cr_assert_eq(cw_causes_rank(chain, evidence, count, steps, arena, &first), CW_OK);
        for (size_t i = count; i > 1; i--) {
            const size_t j = random_below(&random, (uint32_t)i);
            const cw_evidence swap = evidence[i - 1];
            evidence[i - 1] = evidence[j];
            evidence[j] = swap;
        }
        cr_assert_eq(cw_causes_rank(chain, evidence, count, steps, arena, &second), CW_OK);
        cr_assert_eq(first.exact, second.exact);
        for (uint32_t i = 0; i < first.count; i++) {
            cr_assert_eq(first.causes[i], second.causes[i]);
            cr_assert_float_eq(first.probability[i], second.probability[i], 1e-14);
            cr_assert_float_eq(first.low[i], second.low[i], 1e-14);
            cr_assert_float_eq(first.high[i], second.high[i], 1e-14);
        }
        cw_arena_free(arena);
        cw_chain_free(chain);
        cw_model_free(model);
    }
}

/* -- Bounds -- */

static void check_bounds(const cw_model *model, const cw_causes *got, const truth *want)
{
    const double slack = 1e-12;
    for (uint32_t i = 0; i < got->count; i++) {
        const double true_one = (double)want->by_cause[got->causes[i]];
        cr_assert(got->low[i] <= true_one + slack && true_one <= got->high[i] + slack);
        cr_assert(got->low[i] <= got->probability[i] && got->probability[i] <= got->high[i]);
    }
    cr_assert(got->unit_at_fault_low <= (double)want->unit + slack);
    cr_assert(got->unit_at_fault_high >= (double)want->unit - slack);
    cr_assert(got->unit_at_fault_low <= got->unit_at_fault && got->unit_at_fault <= got->unit_at_fault_high);
    cr_assert(got->nothing_low <= (double)want->nothing + slack);
    cr_assert(got->nothing_high >= (double)want->nothing - slack);
    cr_assert(got->nothing_low <= got->nothing && got->nothing <= got->nothing_high);
    for (cw_part_id part = 1; part <= model->parts_count; part++)
        cr_assert(got->part_probability[part] >= 0 && got->part_probability[part] <= 1);
}

Test(causes, bounds_hold_the_truth)
{
    random_state random = random_start(5);
    int opened = 0, useful = 0;
    for (int round = 0; round < 300; round++) {
        shape want_shape = random_shape(&random, 9);
        want_shape.facts = 12;
        want_shape.others = round % 3 == 0 ? 0.5 : 0.06;
        cw_model *model = random_model(&random, want_shape);
        cw_chain *chain = random_chain(&random, model);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_evidence evidence[MOST_FACTS];
        const size_t count = random_evidence(&random, model, 9, round % 2 == 0, evidence);
        const truth want = enumerate(chain, evidence, count);
        const uint64_t budget = 200 + random_below(&random, 20000);
        cw_causes got;
        cr_assert_eq(cw_causes_rank(chain, evidence, count, budget, arena, &got), CW_OK);
        cr_assert_leq(got.steps, budget);
        if (want.evidence > 0 && !got.exact) {
            check_bounds(model, &got, &want);
            opened++;
            useful += got.high[0] - got.low[0] < 1;
        }
        cw_arena_free(arena);
        cw_chain_free(chain);
        cw_model_free(model);
    }
    cr_assert_gt(opened, 100);
    cr_assert_gt(useful, 50);
}

/* No budget at all: everything between 0 and 1, and it says so. */
Test(causes, nothing_is_claimed_without_a_step)
{
    random_state random = random_start(6);
    const shape want_shape = {.causes = 6,
                              .facts = 6,
                              .values = 3,
                              .parts = 3,
                              .signs_of_ten = 8,
                              .links_of_ten = 4,
                              .others = 0.05};
    cw_model *model = random_model(&random, want_shape);
    cw_chain *chain = random_chain(&random, model);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_evidence evidence[MOST_FACTS];
    const size_t count = random_evidence(&random, model, 10, true, evidence);
    cw_causes got;
    cr_assert_eq(cw_causes_rank(chain, evidence, count, 0, arena, &got), CW_OK);
    cr_assert(!got.exact);
    cr_assert_eq(got.steps, 0u);
    cr_assert_gt(got.evidence_probability, 0);
    for (uint32_t i = 0; i < got.count; i++)
        cr_assert(got.low[i] == 0 && got.high[i] == 1 && got.probability[i] >= 0 && got.probability[i] <= 1);
    cr_assert(got.nothing_low == 0 && got.nothing_high == 1);
    cr_assert_eq(cw_causes_rank(chain, NULL, 0, 0, arena, &got), CW_OK);
    cr_assert(!got.exact, "not even without findings");
    cr_assert(got.nothing_low == 0 && got.nothing_high == 1);
    cw_arena_free(arena);
    cw_chain_free(chain);
    cw_model_free(model);
}

/* -- By hand -- */

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
Test(causes, two_causes_by_hand)
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
Test(causes, a_ruled_out_cause_leads_nowhere)
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

Test(causes, impossible_evidence_gives_the_priors)
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

/* Left out, the finding could still be anything between what the smallest and the largest set of causes makes
 * of it: with broken there 0.99 * 0.2 or 0.99 * 0.2 * 0.5 that it does not show, without it 0.99 or 0.99 *
 * 0.5. */
Test(causes, bounds_by_hand)
{
    hand h = two_causes(0.01, 0.5, 0.8, 0);
    const cw_evidence seen = {.fact = cw_model_fact(h.model, "sign"), .value = 1};
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h.chain, &seen, 1, 0, h.arena, &ranked), CW_OK);
    cr_assert(!ranked.exact);
    const uint32_t line = ranked.causes[0] == cw_model_cause(h.model, "broken") ? 0 : 1;
    const double least = 1 - 0.99 * 0.2, most = 1 - 0.99 * 0.2 * 0.5, least_not = 0.01,
                 most_not = 1 - 0.99 * 0.5;
    cr_assert_float_eq(ranked.low[line], 0.2 * least / (0.2 * least + 0.8 * most_not), 1e-15);
    cr_assert_float_eq(ranked.high[line], 0.2 * most / (0.2 * most + 0.8 * least_not), 1e-15);
    /* The estimate takes root as likely as before: 0.1. */
    const double with = 1 - 0.99 * 0.2 * 0.95, without = 1 - 0.99 * 0.95;
    cr_assert_float_eq(ranked.probability[line], 0.2 * with / (0.2 * with + 0.8 * without), 1e-15);
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
Test(causes, bounds_of_a_middle_value_by_hand)
{
    const double background[][3] = {{0.9, 0.06, 0.04}}, x[][3] = {{0.2, 0.5, 0.3}}, y[][3] = {{0.5, 0.5, 0}};
    hand h = sharing(3, 1, background, x, y);
    const cw_evidence seen = {.fact = cw_model_fact(h.model, "f0"), .value = 1};
    cw_causes ranked;
    cr_assert_eq(cw_causes_rank(h.chain, &seen, 1, 0, h.arena, &ranked), CW_OK);
    const uint32_t line = ranked.causes[0] == cw_model_cause(h.model, "x") ? 0 : 1;
    const double least = 0.7 * (0.96 - 0.9 * 0.2 / 0.7), most = 0.7 * (0.96 - 0.9 * 0.2 / 0.7 * 0.5);
    const double least_not = 0.96 - 0.9, most_not = 0.96 - 0.9 * 0.5;
    cr_assert_float_eq(ranked.low[line], 0.1 * least / (0.1 * least + 0.9 * most_not), 1e-14);
    cr_assert_float_eq(ranked.high[line], 0.1 * most / (0.1 * most + 0.9 * least_not), 1e-14);
    put_away(&h);
}

/* Three findings, room for two: the one that says least, f1, is left out, and it alone. Three take 2 * 2^4 *
 * 5 numbers a pass, two 2 * 2^3 * 4; there are four passes. */
Test(causes, the_finding_that_says_least_is_left_out_first)
{
    const double background[][3] = {{0.99, 0.01}, {0.5, 0.5}, {0.7, 0.3}};
    const double x[][3] = {{0.1, 0.9}, {0.9, 0.1}, {0.8, 0.2}}, y[][3] = {{0.2, 0.8}, {0.9, 0.1}, {0.8, 0.2}};
    hand h = sharing(2, 3, background, x, y);
    cw_evidence seen[3];
    char name[16];
    for (uint32_t i = 0; i < 3; i++)
        seen[i] = (cw_evidence){.fact = cw_model_fact(h.model, world_name(name, 'f', i)), .value = 1};
    const cw_evidence kept[] = {seen[0], seen[2]};
    cw_causes ranked, of_kept;
    cr_assert_eq(cw_causes_rank(h.chain, kept, 2, 300, h.arena, &of_kept), CW_OK);
    cr_assert(of_kept.exact);
    cr_assert_eq(cw_causes_rank(h.chain, seen, 3, 300, h.arena, &ranked), CW_OK);
    cr_assert(!ranked.exact);
    const uint32_t line = ranked.causes[0] == cw_model_cause(h.model, "x") ? 0 : 1;
    const double p = of_cause(&h, &of_kept, "x");
    const double least = 1 - 0.5 * 0.9, most = 1 - 0.5 * 0.9 * 0.9, least_not = 0.5, most_not = 1 - 0.5 * 0.9;
    cr_assert_float_eq(ranked.low[line], p * least / (p * least + (1 - p) * most_not), 1e-14);
    cr_assert_float_eq(ranked.high[line], p * most / (p * most + (1 - p) * least_not), 1e-14);
    put_away(&h);
}

/* A doubtful circumstance neither shifts nor rules out. */
Test(causes, doubtful_circumstances_say_nothing)
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
Test(causes, evidence_beyond_the_smallest_double_is_possible)
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

Test(causes, a_model_without_causes)
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
Test(causes, separate_heaps_cost_their_sum)
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
    cr_assert(all.exact && all.steps < 60000);
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
Test(causes, small_vectors_are_scaled)
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

Test(causes, every_allocation_may_fail)
{
    random_state random = random_start(8);
    const shape want_shape = {.causes = 6,
                              .facts = 6,
                              .values = 3,
                              .parts = 3,
                              .signs_of_ten = 8,
                              .links_of_ten = 4,
                              .others = 0.05};
    cw_model *model = random_model(&random, want_shape);
    cw_chain *chain = random_chain(&random, model);
    cw_evidence evidence[MOST_FACTS];
    const size_t count = random_evidence(&random, model, 10, true, evidence);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        if (arena != NULL) {
            cw_causes got;
            const cw_status status = cw_causes_rank(chain, evidence, count, CW_CAUSES_STEPS, arena, &got);
            cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
            cw_arena_free(arena);
        }
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    cw_chain_free(chain);
    cw_model_free(model);
}
