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

static long double joint(const cw_chain *chain, uint32_t set, const cw_evidence *evidence, size_t count)
{
    long double chance = set_chance(chain, set);
    for (size_t i = 0; i < count && chance > 0; i++)
        if (evidence[i].yields_to == 0)
            chance *= value_chance(cw_chain_model(chain), set, evidence[i].fact, evidence[i].value);
    return chance;
}

/* The chances of the most probable sets, largest first. */
static void most_probable_sets(const cw_chain *chain, const cw_evidence *evidence, size_t count,
                               long double *best)
{
    for (int i = 0; i < CW_CAUSES_SETS; i++)
        best[i] = 0;
    for (uint32_t set = 0; set < 2u << cw_chain_model(chain)->causes_count; set += 2) {
        const long double chance = joint(chain, set, evidence, count);
        int to = CW_CAUSES_SETS;
        for (; to > 0 && chance > best[to - 1]; to--)
            if (to < CW_CAUSES_SETS)
                best[to] = best[to - 1];
        if (to < CW_CAUSES_SETS)
            best[to] = chance;
    }
}

static void check_sets(const cw_chain *chain, const cw_evidence *evidence, size_t count, const cw_causes *got,
                       const truth *want)
{
    long double best[CW_CAUSES_SETS];
    most_probable_sets(chain, evidence, count, best);
    cr_assert(got->sets_proven);
    for (uint32_t i = 0; i < CW_CAUSES_SETS; i++) {
        if (i >= got->set_count) {
            cr_assert_eq(best[i], 0);
            continue;
        }
        uint32_t set = 0;
        for (uint32_t k = 0; k < got->sets[i].count; k++)
            set |= 1u << got->sets[i].causes[k];
        const long double chance = joint(chain, set, evidence, count);
        cr_assert_float_eq(got->sets[i].probability, (double)(chance / want->evidence), 1e-10);
        cr_assert_float_eq(got->sets[i].probability, (double)(best[i] / want->evidence), 1e-10);
        cr_assert(got->sets[i].low == got->sets[i].probability &&
                  got->sets[i].high == got->sets[i].probability);
    }
}

/* Whether one leads to the other, directly or not. */
static bool comes_before(const cw_model *model, cw_cause_id from, cw_cause_id to)
{
    for (uint32_t i = 0; i < model->causes[from].leads_to.count; i++) {
        const cw_cause_id next = model->links[model->causes[from].leads_to.first + i].to;
        if (next == to || comes_before(model, next, to))
            return true;
    }
    return false;
}

static bool leads_into(const cw_model *model, cw_cause_id from, cw_part_id part)
{
    bool any = false;
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        any |= model->causes[id].part == part && comes_before(model, from, id);
    return any && model->causes[from].part != part;
}

/* P(root and any of the part) by enumeration, for each that leads there. */
static void check_roots(const cw_chain *chain, const cw_evidence *evidence, size_t count,
                        const cw_causes *got, const truth *want)
{
    const cw_model *model = cw_chain_model(chain);
    for (cw_part_id part = 1; part <= model->parts_count; part++) {
        long double with[MOST_CAUSES + 1] = {0}, most = 0;
        uint32_t of_part = 0;
        for (cw_cause_id id = 1; id <= model->causes_count; id++)
            of_part |= model->causes[id].part == part ? 1u << id : 0;
        for (uint32_t set = 0; set < 2u << model->causes_count; set += 2)
            for (cw_cause_id id = 1; id <= model->causes_count && (set & of_part); id++)
                with[id] += set >> id & 1 ? joint(chain, set, evidence, count) : 0;
        for (cw_cause_id id = 1; id <= model->causes_count; id++)
            if (leads_into(model, id, part) && with[id] > most)
                most = with[id];
        if (got->part_root[part] == 0)
            continue;
        cr_assert(leads_into(model, got->part_root[part], part));
        const double of = (double)(most / want->evidence / want->by_part[part]);
        cr_assert_float_eq(got->root_probability[part], of, 1e-8);
        cr_assert_float_eq((double)(with[got->part_root[part]] / want->evidence / want->by_part[part]), of,
                           1e-8);
    }
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
        if (want.evidence > 0) {
            check_exact(model, &got, &want, 1e-10);
            check_sets(chain, evidence, count, &got, &want);
            if (round % 4 == 0 && round < 280)
                check_roots(chain, evidence, count, &got, &want);
        } else
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

/* P(other | one) by enumeration, for every two causes. */
Test(causes, two_at_once_equal_full_enumeration)
{
    random_state random = random_start(9);
    int unknown = 0; /* without a step */
    for (int round = 0; round < 40; round++) {
        cw_model *model = random_model(&random, random_shape(&random, 7));
        cw_chain *chain = random_chain(&random, model);
        cw_causes_scratch *scratch;
        cw_evidence evidence[MOST_FACTS];
        const size_t count = random_evidence(&random, model, 8, false, evidence);
        const truth want = enumerate(chain, evidence, count);
        cr_assert_eq(cw_causes_scratch_new(model, &cw_system_allocator, &scratch), CW_OK);
        for (cw_cause_id one = 1; one <= model->causes_count; one++)
            for (cw_cause_id other = 1; other <= model->causes_count; other++) {
                cw_cause_pair pair = {.one = one, .other = other};
                uint64_t steps = 7;
                long double both = 0;
                for (uint32_t set = 0; set < 2u << model->causes_count; set += 2)
                    if ((set >> one & 1) != 0 && (set >> other & 1) != 0)
                        both += joint(chain, set, evidence, count);
                if (one == other || (want.evidence > 0 && want.by_cause[one] < 1e-6L))
                    continue;
                cr_assert_eq(
                    cw_causes_both(scratch, chain, evidence, count, CW_CAUSES_STEPS, &pair, 1, &steps),
                    CW_OK);
                const double is =
                    want.evidence > 0 ? (double)(both / want.evidence / want.by_cause[one]) : -1;
                cr_assert_float_eq(pair.given_one, is, 1e-8);
                cr_assert_eq(cw_causes_both(scratch, chain, evidence, count, 0, &pair, 1, &steps), CW_OK);
                cr_assert(pair.given_one == -1 || fabs(pair.given_one - is) < 1e-8);
                unknown += pair.given_one == -1;
            }
        cw_causes_scratch_free(scratch);
        cw_chain_free(chain);
        cw_model_free(model);
    }
    cr_assert_gt(unknown, 100);
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
