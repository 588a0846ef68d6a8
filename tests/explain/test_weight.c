/* Weights against fresh chains that never heard the answer. */
#include "explain/explain.h"
#include "rank/world.h"
#include "support/failing.h"
#include <math.h>
#include <string.h>

enum { FACTS = 6, CONCLUDED = 4, LINES = 5 };

/* Checks f0 .., rules over them to g0 .., units and causes with signs on both, a circumstance that shifts. */
static void add_units(random_state *random, cw_builder *builder, const cw_fact_id *facts, uint32_t count)
{
    char name[16];
    for (uint32_t i = 0; i < 6; i++) {
        cw_sign_spec signs[FACTS + CONCLUDED];
        double chances[FACTS + CONCLUDED][WORLD_VALUES];
        uint32_t signs_count = 0;
        for (uint32_t f = 0; f < count; f++)
            if (random_below(random, 3) > 0) {
                world_chances(random, cw_builder_fact_at(builder, facts[f])->values.count, 0,
                              chances[signs_count]);
                signs[signs_count] =
                    (cw_sign_spec){.sign = {.fact = facts[f], .chances = chances[signs_count]}};
                signs_count++;
            }
        const cw_unit unit = {
            .name = world_name(name, 'u', i), .title = "unit", .seen = 1 + i, .version = true};
        cw_builder_unit(builder, &unit, signs, signs_count);
    }
    cw_builder_not_listed(builder, 0.05);
}

static void add_causes(random_state *random, cw_builder *builder, const cw_fact_id *facts, uint32_t count,
                       cw_atom_id circumstance)
{
    char name[16];
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside", .where = CW_PART_UNIT});
    cw_cause_id before = 0;
    for (uint32_t i = 0; i < 6; i++) {
        cw_sign_spec signs[FACTS + CONCLUDED];
        double chances[FACTS + CONCLUDED][WORLD_VALUES];
        uint32_t signs_count = 0;
        for (uint32_t f = 0; f < count; f++)
            if (random_below(random, 3) > 0) {
                world_chances(random, cw_builder_fact_at(builder, facts[f])->values.count, 0,
                              chances[signs_count]);
                signs[signs_count] =
                    (cw_sign_spec){.sign = {.fact = facts[f], .chances = chances[signs_count]}};
                signs_count++;
            }
        const cw_shift shift = {circumstance, 4, NULL, NULL};
        const cw_cause_spec spec = {
            .cause = {.name = world_name(name, 'c', i), .title = "cause", .part = 1, .seen = 0.02 * (1 + i)},
            .signs = signs,
            .sign_count = signs_count,
            .shifts = &shift,
            .shift_count = i == 2};
        const cw_cause_id made = cw_builder_cause(builder, &spec);
        if (before != 0 && random_below(random, 2) == 0)
            cw_builder_leads_to(builder, before, made, 0.4);
        before = made;
    }
}

static cw_model *random_model(random_state *random)
{
    static const cw_value_spec no_yes[] = {{.name = "no"}, {.name = "yes"}};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[FACTS + CONCLUDED];
    char name[16];
    for (uint32_t i = 0; i < FACTS; i++) {
        const cw_check check = {.swapped = 0.3, .swap_group = i % 3}; /* two pairs, two by themselves */
        facts[i] = world_fact(builder, world_name(name, 'f', i), 2 + random_below(random, 2), NULL, &check);
    }
    const cw_atom_id circumstance = world_circumstance(builder, "hot");
    for (uint32_t i = 0; i < CONCLUDED; i++) {
        const cw_fact fact = {.name = world_name(name, 'g', i), .kind = CW_YES_OR_NO};
        facts[FACTS + i] = cw_builder_fact(builder, &fact, no_yes, 2, NULL);
        cw_premise premises[2];
        for (int p = 0; p < 2; p++)
            premises[p] = (cw_premise){
                cw_builder_value_atom(builder, facts[random_below(random, FACTS + i)], 1), false};
        cw_builder_rule(builder, cw_builder_value_atom(builder, facts[FACTS + i], 1), premises,
                        1 + random_below(random, 2), 1, 0);
    }
    add_units(random, builder, facts, FACTS + CONCLUDED);
    add_causes(random, builder, facts, FACTS + CONCLUDED, circumstance);
    return world_finish(builder);
}

typedef struct stage {
    cw_model *model;
    cw_identity_tables *tables;
    cw_chain *chain;
    cw_explainer *explainer;
    cw_arena *arena;
} stage;

static stage stage_new(cw_model *model)
{
    stage s = {.model = model, .arena = cw_arena_new(&cw_system_allocator)};
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &s.tables), CW_OK);
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &s.chain), CW_OK);
    cr_assert_eq(cw_explainer_new(model, s.tables, &cw_system_allocator, &s.explainer), CW_OK);
    return s;
}

static void stage_free(stage *s)
{
    cw_explainer_free(s->explainer);
    cw_chain_free(s->chain);
    cw_identity_tables_free(s->tables);
    cw_model_free(s->model);
    cw_arena_free(s->arena);
}

static void answer(cw_chain *chain, cw_fact_id fact, uint32_t value)
{
    cr_assert_eq(cw_chain_answer(chain, &(cw_answer){.fact = fact, .value = value}), CW_OK);
}

/* -- The reference: everything from scratch -- */

/* probability[0]: not listed, nothing. */
static void rank_from_scratch(stage *s, cw_about about, const cw_answer *answers, size_t count,
                              size_t without, double *probability)
{
    cw_chain *chain;
    const cw_evidence *evidence;
    size_t evidence_count;
    cr_assert_eq(cw_chain_new(s->model, &cw_system_allocator, &chain), CW_OK);
    for (size_t i = 0; i < count; i++)
        if (i != without)
            cr_assert_eq(cw_chain_answer(chain, &answers[i]), CW_OK);
    cr_assert_eq(cw_evidence_collect(chain, about, s->arena, &evidence, &evidence_count), CW_OK);
    if (about == CW_ABOUT_UNITS) {
        cw_identity ranked;
        cr_assert_eq(cw_identity_rank(s->tables, evidence, evidence_count, s->arena, &ranked), CW_OK);
        probability[0] = ranked.not_listed;
        for (uint32_t i = 0; i < ranked.count; i++)
            probability[ranked.units[i]] = ranked.probability[i];
    } else {
        cw_causes ranked;
        cr_assert_eq(cw_causes_rank(chain, evidence, evidence_count, CW_CAUSES_STEPS, s->arena, &ranked),
                     CW_OK);
        probability[0] = ranked.nothing;
        for (uint32_t i = 0; i < ranked.count; i++)
            probability[ranked.causes[i]] = ranked.probability[i];
    }
    cw_chain_free(chain);
}

static double bits_between(double with, double without)
{
    return log2(with / (1 - with)) - log2(without / (1 - without));
}

static uint32_t best_of(const double *probability, uint32_t count)
{
    uint32_t best = 0;
    for (uint32_t id = 1; id < count; id++)
        if (probability[id] > probability[best])
            best = id;
    return best;
}

static const cw_weight *weight_of(const cw_account *account, cw_fact_id answered)
{
    for (size_t i = 0; i < account->count; i++)
        if (account->weights[i].answer == answered)
            return &account->weights[i];
    return NULL;
}

typedef struct reference {
    uint32_t ids;
    double all[16], without[FACTS + 1][16];
    const cw_answer *answers;
    size_t count;
} reference;

static void check_account(const reference *want, const cw_account *account)
{
    cr_assert_float_eq(account->probability, want->all[account->id], 1e-12);
    size_t expected = 0;
    for (size_t i = 0; i < want->count; i++) {
        const double bits = bits_between(want->all[account->id], want->without[i][account->id]);
        const cw_weight *weight = weight_of(account, want->answers[i].fact);
        if (fabs(bits) > 0.0501)
            cr_assert_not_null(weight);
        if (fabs(bits) < 0.0499)
            cr_assert_null(weight);
        if (weight == NULL)
            continue;
        expected++;
        cr_assert_float_eq(weight->bits, bits, 1e-6);
        cr_assert_float_eq(weight->without, want->without[i][account->id], 1e-12);
    }
    cr_assert_eq(account->count, expected);
    for (size_t i = 1; i < account->count; i++)
        cr_assert_geq(fabs(account->weights[i - 1].bits), fabs(account->weights[i].bits));
}

static void check_decision(const reference *want, const cw_account *first)
{
    size_t deciders = 0;
    bool named = false;
    const double *strongest = NULL;
    for (size_t i = 0; i < want->count; i++)
        if (best_of(want->without[i], want->ids) != first->id) {
            deciders++;
            if (want->answers[i].fact == first->decides) {
                named = true;
                strongest = want->without[i];
                cr_assert_eq(first->instead, best_of(want->without[i], want->ids));
            }
        }
    cr_assert_eq(deciders > 0, named);
    for (size_t i = 0; named && i < want->count; i++)
        if (best_of(want->without[i], want->ids) != first->id)
            cr_assert_leq(strongest[first->id], want->without[i][first->id] + 1e-12,
                          "the one that weighs most");
}

static size_t random_answers(random_state *random, stage *s, cw_answer *answers)
{
    size_t count = 0;
    for (cw_fact_id fact = 1; fact <= FACTS + 1; fact++) { /* the checks, and the circumstance */
        if (random_below(random, 5) == 0)
            continue;
        answers[count] =
            (cw_answer){.fact = fact, .value = random_below(random, s->model->facts[fact].values.count)};
        cr_assert_eq(cw_chain_answer(s->chain, &answers[count]), CW_OK);
        count++;
    }
    return count;
}

Test(weight, equals_rankings_from_scratch)
{
    random_state random = random_start(31);
    int decided = 0;
    for (int round = 0; round < 80; round++) {
        stage s = stage_new(random_model(&random));
        const cw_about about = round % 2 ? CW_ABOUT_UNITS : CW_ABOUT_CAUSES;
        cw_answer answers[FACTS + 1];
        reference want = {.ids = 7, .answers = answers};
        want.count = random_answers(&random, &s, answers);
        rank_from_scratch(&s, about, answers, want.count, want.count, want.all);
        for (size_t i = 0; i < want.count; i++)
            rank_from_scratch(&s, about, answers, want.count, i, want.without[i]);
        const uint64_t version = cw_chain_version(s.chain);
        const cw_account *accounts;
        size_t count;
        cr_assert_eq(cw_explain_lines(s.explainer, s.chain, about, LINES, s.arena, &accounts, &count), CW_OK);
        cr_assert_eq(cw_chain_version(s.chain), version, "the chain is only read");
        cr_assert_eq(count, LINES + 1u);
        bool none = false;
        for (size_t i = 0; i < count; i++) {
            check_account(&want, &accounts[i]);
            none = none || accounts[i].id == 0;
            cr_assert(i == 0 || accounts[i - 1].probability >= accounts[i].probability);
            cr_assert(i == 0 || accounts[i].decides == 0);
        }
        cr_assert(none, "not listed, or nothing wrong, is always accounted for");
        cr_assert_eq(accounts[0].id, best_of(want.all, want.ids));
        check_decision(&want, &accounts[0]);
        decided += accounts[0].decides != 0;
        stage_free(&s);
    }
    cr_assert(decided > 10 && decided < 75);
}

/* -- By hand -- */

/* Two units that differ in colour alone, one fourth and three fourths before, none unlisted: the weight of a
 * colour is the logarithm of its likelihood ratio (Good 1950), log2(0.9 / 0.2). */
Test(weight, of_two_units_is_the_likelihood_ratio)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id colour = world_fact(builder, "colour", 2, NULL, NULL);
    const double a[] = {0.9, 0.1}, b[] = {0.2, 0.8};
    const cw_sign_spec of_a = {.sign = {.fact = colour, .chances = a}},
                       of_b = {.sign = {.fact = colour, .chances = b}};
    const cw_unit_id tern = cw_builder_unit(
        builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 1, .version = true}, &of_a, 1);
    const cw_unit_id plover = cw_builder_unit(
        builder, &(cw_unit){.name = "plover", .title = "Plover", .seen = 3, .version = true}, &of_b, 1);
    cw_builder_not_listed(builder, 0);
    stage s = stage_new(world_finish(builder));
    answer(s.chain, colour, 0);
    const cw_account *accounts;
    size_t count;
    cr_assert_eq(cw_explain_lines(s.explainer, s.chain, CW_ABOUT_UNITS, 2, s.arena, &accounts, &count),
                 CW_OK);
    cr_assert_eq(count, 3u);
    cr_assert_eq(accounts[0].id, tern);
    cr_assert_eq(accounts[0].count, 1u);
    cr_assert_float_eq(accounts[0].weights[0].bits, log2(0.9 / 0.2), 1e-12);
    cr_assert_float_eq(accounts[0].weights[0].without, 0.25, 1e-12);
    cr_assert_eq(accounts[0].weights[0].counted, colour);
    cr_assert_eq(accounts[0].weights[0].rule_count, 0u);
    cr_assert_float_eq(accounts[1].weights[0].bits, -log2(0.9 / 0.2), 1e-12);
    cr_assert_eq(accounts[0].decides, colour);
    cr_assert_eq(accounts[0].instead, plover);
    stage_free(&s);
}

/* Ribs and belt are swapped together, in one unit of five. Beside the belt, which says the same, the ribs
 * weigh what both together weigh more than the belt alone: (0.8 * 0.81 + 0.2 * 0.25) / (0.8 * 0.01 + 0.2 *
 * 0.25) against (0.8 * 0.9 + 0.2 * 0.5) / (0.8 * 0.1 + 0.2 * 0.5). */
Test(weight, of_what_is_swapped_together_is_what_it_adds)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_check pulley = {.swapped = 0.2, .swap_group = 1};
    const cw_fact_id ribs = world_fact(builder, "ribs", 2, NULL, &pulley);
    const cw_fact_id belt = world_fact(builder, "belt", 2, NULL, &pulley);
    const double a[] = {0.9, 0.1}, b[] = {0.1, 0.9};
    const cw_sign_spec of_a[] = {{.sign = {.fact = ribs, .chances = a}},
                                 {.sign = {.fact = belt, .chances = a}}};
    const cw_sign_spec of_b[] = {{.sign = {.fact = ribs, .chances = b}},
                                 {.sign = {.fact = belt, .chances = b}}};
    const cw_unit_id tern = cw_builder_unit(
        builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 1, .version = true}, of_a, 2);
    cw_builder_unit(builder, &(cw_unit){.name = "plover", .title = "Plover", .seen = 1, .version = true},
                    of_b, 2);
    cw_builder_not_listed(builder, 0);
    stage s = stage_new(world_finish(builder));
    answer(s.chain, ribs, 0);
    answer(s.chain, belt, 0);
    const cw_account *accounts;
    size_t count;
    cr_assert_eq(cw_explain_lines(s.explainer, s.chain, CW_ABOUT_UNITS, 2, s.arena, &accounts, &count),
                 CW_OK);
    cr_assert_eq(accounts[0].id, tern);
    cr_assert_eq(accounts[0].count, 2u);
    cr_assert_float_eq(accounts[0].weights[0].bits, log2(0.698 / 0.058) - log2(0.82 / 0.18), 1e-12);
    cr_assert_float_eq(accounts[0].weights[1].bits, log2(0.698 / 0.058) - log2(0.82 / 0.18), 1e-12);
    stage_free(&s);
}

/* reading -> first rule -> state, and other; both -> second rule (through an inner step) -> verdict, which
 * counts. */
static cw_model *two_rules(void)
{
    static const cw_value_spec no_yes[] = {{.name = "no"}, {.name = "yes"}};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id reading = world_fact(builder, "reading", 2, NULL, NULL);
    const cw_fact_id other = world_fact(builder, "other", 2, NULL, NULL);
    const cw_fact_id state = cw_builder_fact(builder, &(cw_fact){.name = "state"}, no_yes, 2, NULL);
    const cw_fact_id verdict = cw_builder_fact(builder, &(cw_fact){.name = "verdict"}, no_yes, 2, NULL);
    const uint32_t first = cw_builder_origin(builder, &(cw_origin){.name = "first"});
    const uint32_t second = cw_builder_origin(builder, &(cw_origin){.name = "second"});
    const cw_atom_id step = cw_builder_step(builder);
    const cw_premise from_reading = {cw_builder_value_atom(builder, reading, 1), false};
    const cw_premise inner[] = {{cw_builder_value_atom(builder, state, 1), false},
                                {cw_builder_value_atom(builder, other, 1), false}};
    const cw_premise from_step = {step, false};
    cw_builder_rule(builder, cw_builder_value_atom(builder, state, 1), &from_reading, 1, 1, first);
    cw_builder_rule(builder, step, inner, 2, 2, 0);
    cw_builder_rule(builder, cw_builder_value_atom(builder, verdict, 1), &from_step, 1, 1, second);
    const double chances[] = {0.1, 0.9}, weaker[] = {0.5, 0.5};
    const cw_sign_spec signs[] = {{.sign = {.fact = reading, .chances = weaker}}, /* yields to the verdict */
                                  {.sign = {.fact = verdict, .chances = chances}}};
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside"});
    const cw_cause_spec spec = {
        .cause = {.name = "broken", .part = 1, .seen = 0.1}, .signs = signs, .sign_count = 2};
    cw_builder_cause(builder, &spec);
    return world_finish(builder);
}

static const char *origin_of(const stage *s, const cw_weight *weight, uint32_t i)
{
    return s->model->origins[s->model->rules[weight->rules[i]].origin].name;
}

Test(weight, names_the_rules_between)
{
    stage s = stage_new(two_rules());
    const cw_fact_id reading = cw_model_fact(s.model, "reading"), other = cw_model_fact(s.model, "other");
    answer(s.chain, reading, 1);
    answer(s.chain, other, 1);
    const cw_account *accounts;
    size_t count;
    cr_assert_eq(cw_explain_lines(s.explainer, s.chain, CW_ABOUT_CAUSES, 1, s.arena, &accounts, &count),
                 CW_OK);
    cr_assert_eq(accounts[0].count, 2u);
    for (int i = 0; i < 2; i++) {
        cr_assert_eq(accounts[0].weights[i].counted, cw_model_fact(s.model, "verdict"));
        cr_assert_eq(accounts[0].weights[i].counted_value, 1u);
    }
    const cw_weight *long_way = &accounts[0].weights[0], *short_way = &accounts[0].weights[1];
    cr_assert_eq(long_way->answer, reading);
    cr_assert_eq(long_way->rule_count, 2u);
    cr_assert_str_eq(origin_of(&s, long_way, 0), "first");
    cr_assert_str_eq(origin_of(&s, long_way, 1), "second");
    cr_assert_eq(short_way->answer, other);
    cr_assert_eq(short_way->rule_count, 1u);
    cr_assert_str_eq(origin_of(&s, short_way, 0), "second");
    stage_free(&s);
}

/* A circumstance is no sign, but it shifts odds and rules out: it counted through itself. Four times as
 * likely is two bits; what is ruled out is as much against as can be said. */
Test(weight, of_circumstances)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_atom_id hot = world_circumstance(builder, "hot"), fresh = world_circumstance(builder, "fresh");
    const cw_shift shift = {hot, 4, NULL, NULL};
    cw_builder_part(builder, &(cw_part){.name = "inside", .title = "Inside"});
    const cw_cause_spec burnt = {
        .cause = {.name = "burnt", .part = 1, .seen = 0.2}, .shifts = &shift, .shift_count = 1};
    const cw_cause_spec worn = {.cause = {.name = "worn", .part = 1, .seen = 0.1, .ruled_out = fresh}};
    cw_builder_cause(builder, &burnt);
    cw_builder_cause(builder, &worn);
    stage s = stage_new(world_finish(builder));
    const cw_fact_id heat = cw_model_fact(s.model, "hot"), age = cw_model_fact(s.model, "fresh");
    answer(s.chain, heat, 1);
    answer(s.chain, age, 1);
    const cw_account *accounts;
    size_t count;
    cr_assert_eq(cw_explain_lines(s.explainer, s.chain, CW_ABOUT_CAUSES, 2, s.arena, &accounts, &count),
                 CW_OK);
    cr_assert_eq(count, 3u);
    for (size_t i = 0; i < count; i++) {
        const cw_account *account = &accounts[i];
        if (account->id == cw_model_cause(s.model, "burnt")) {
            cr_assert_eq(account->count, 1u);
            cr_assert_eq(account->weights[0].counted, heat);
            cr_assert_float_eq(account->weights[0].bits, 2, 1e-9);
        } else if (account->id == cw_model_cause(s.model, "worn")) {
            cr_assert_eq(account->count, 1u);
            cr_assert_eq(account->weights[0].counted, age);
            cr_assert_eq(account->weights[0].bits, -CW_WEIGHT_MOST);
            cr_assert_float_eq(account->weights[0].without, 0.1, 1e-15);
        } else {
            cr_assert_eq(account->id, 0u);
            cr_assert_eq(account->count, 2u);
            cr_assert_eq(account->weights[0].counted, 0u);
        }
    }
    stage_free(&s);
}

Test(weight, every_allocation_may_fail)
{
    random_state random = random_start(33);
    stage s = stage_new(random_model(&random));
    cw_answer answers[FACTS + 1];
    random_answers(&random, &s, answers);
    for (int about = 0; about < 2; about++)
        for (size_t allowed = 0;; allowed++) {
            failing memory;
            failing_start(&memory, allowed);
            cw_explainer *explainer = NULL;
            cw_arena *arena = cw_arena_new(&memory.allocator);
            cw_status status = CW_NO_MEMORY;
            if (arena != NULL)
                status = cw_explainer_new(s.model, s.tables, &memory.allocator, &explainer);
            const cw_account *accounts;
            size_t count;
            if (status == CW_OK)
                status = cw_explain_lines(explainer, s.chain, about ? CW_ABOUT_UNITS : CW_ABOUT_CAUSES, 3,
                                          arena, &accounts, &count);
            cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
            cw_explainer_free(explainer);
            cw_arena_free(arena);
            cr_assert_eq(failing_bytes(&memory), 0u);
            if (!memory.refused)
                break;
        }
    stage_free(&s);
}
