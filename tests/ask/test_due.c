/* What is due for verdicts on the parts of an open unit. */
#include "ask/world.h"
#include "support/failing.h"

enum { RINGS = 1, ROTOR, BRUSHES }; /* parts, in the order in which they are made */

/* Parts come after facts, so their ids are said beforehand. */
static cw_fact_id verdict(cw_builder *builder, const char *name, cw_part_id part)
{
    static const cw_value_spec values[] = {{.name = "reuse"}, {.name = "rework"}, {.name = "replace"}};
    cw_fact fact = {.name = name, .kind = CW_CHOICE, .context = true, .verdict_on = part};
    return cw_builder_fact(builder, &fact, values, CW_VERDICT_COUNT, NULL);
}

/* The check's worse value says replace, the better one reuse. */
static void decides(cw_builder *builder, cw_fact_id check, cw_fact_id decision)
{
    world_rule(builder, world_atom(builder, decision, CW_REUSE),
               (const cw_atom_id[]){world_atom(builder, check, 0)}, 1);
    world_rule(builder, world_atom(builder, decision, CW_REPLACE),
               (const cw_atom_id[]){world_atom(builder, check, 1)}, 1);
}

/* Rings: run-out 4 minutes, diameter 2, each a verdict of its own. Rotor: one check of 5 minutes. Brushes:
 * always changed. Noise is a sign of a cause and decides nothing; the colour of the rotor is one as well and
 * decides. */
static cw_model *open_unit(void)
{
    static const double often[] = {0.2, 0.8};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id run_out = world_check(builder, "run_out", 2, (cw_check){.minutes = 4}),
                     diameter = world_check(builder, "diameter", 2, (cw_check){.minutes = 2}),
                     colour = world_check(builder, "colour", 2, (cw_check){.minutes = 5}),
                     length = world_check(builder, "length", 2, (cw_check){.minutes = 1}),
                     noise = world_check(builder, "noise", 2, (cw_check){.minutes = 1});
    decides(builder, run_out, verdict(builder, "by_run_out", RINGS));
    decides(builder, diameter, verdict(builder, "by_diameter", RINGS));
    decides(builder, colour, verdict(builder, "by_colour", ROTOR));
    decides(builder, length, verdict(builder, "by_length", BRUSHES));
    cw_builder_part(builder, &(cw_part){.name = "rings", .title = "rings"});
    cw_builder_part(builder, &(cw_part){.name = "rotor", .title = "rotor"});
    cw_builder_part(builder, &(cw_part){.name = "brushes", .title = "brushes", .always = true});
    world_cause(builder, "burnt", ROTOR, 0.3, (const cw_fact_id[]){colour, noise},
                (const double *const[]){often, often}, 2);
    return world_finish(builder);
}

static void listed(const world *w, const cw_advice *advice, const char *const *names, size_t count)
{
    cr_assert_eq(advice->count, count, "%zu", advice->count);
    for (size_t i = 0; i < count; i++)
        cr_expect_str_eq(w->model->checks[advice->checks[i].check].name, names[i], "place %zu", i);
}

Test(due, part_by_part_the_quickest_first_whatever_it_tells_of_causes)
{
    world w = world_open(open_unit(), CW_TEARDOWN);
    w.limits.enough_bits = 0.01;
    cw_advice advice = world_next(&w);
    cr_expect_not(advice.stop);
    listed(&w, &advice, (const char *const[]){"colour", "diameter", "run_out", "noise"}, 4);
    cr_expect_eq(advice.checks[0].part, (cw_part_id)ROTOR);
    cr_expect_gt(advice.checks[0].bits, 0.01, "it is a sign as well");
    cr_expect_eq(advice.checks[1].part, (cw_part_id)RINGS);
    cr_expect_eq(advice.checks[1].bits, 0);
    cr_expect_eq(advice.checks[1].minutes, 2);
    cr_expect_eq(advice.checks[3].part, 0u, "the rest by what it tells");
    world_answer(&w, "diameter", 0);
    advice = world_next(&w);
    listed(&w, &advice, (const char *const[]){"run_out", "colour", "noise"}, 3);
    world_close(&w);
}

Test(due, other_stages_know_nothing_of_it)
{
    world w = world_open(open_unit(), CW_TRIAGE);
    w.limits.enough_bits = 0.01;
    cw_advice advice = world_next(&w);
    cr_expect_eq(advice.checks[0].part, 0u);
    cr_expect_null(world_proposal(&w, &advice, "diameter"));
    world_close(&w);
}

Test(due, what_must_be_replaced_is_not_measured_further)
{
    world w = world_open(open_unit(), CW_TEARDOWN);
    w.limits.enough_bits = 0.01;
    world_answer(&w, "diameter", 1);
    cw_advice advice = world_next(&w);
    cr_expect_null(world_proposal(&w, &advice, "run_out"));
    listed(&w, &advice, (const char *const[]){"colour", "noise"}, 2);
    world_close(&w);
}

Test(due, it_goes_on_when_the_cause_is_certain_and_ends_when_all_is_decided)
{
    world w = world_open(open_unit(), CW_TEARDOWN);
    w.limits.enough_bits = 0.01;
    w.limits.sure = 0.5;
    world_answer(&w, "noise", 1);
    world_answer(&w, "colour", 1);
    cw_advice advice = world_next(&w);
    cr_expect_not(advice.stop);
    listed(&w, &advice, (const char *const[]){"diameter", "run_out"}, 2);
    world_answer(&w, "diameter", 0);
    world_cant_tell(&w, "run_out");
    advice = world_next(&w);
    cr_expect(advice.stop);
    cr_expect_eq(advice.why, CW_STOP_SURE);
    cr_expect_eq(advice.count, 0u);
    world_close(&w);
}

/* The spring is measured only where the holder is of one kind; the rule that reads the groove holds for rings
 * of copper alone. Whether the groove is asked hangs on what the rings are made of. */
static cw_model *with_conditions(void)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id metal = world_check(builder, "metal", 2, (cw_check){.minutes = 3}),
                     groove = world_check(builder, "groove", 2, (cw_check){.minutes = 1}),
                     holder = world_check(builder, "holder", 2, (cw_check){.minutes = 2});
    const cw_fact_id spring = world_values(builder, "spring", 2, NULL, false);
    world_ask(builder, "spring", spring, (cw_check){.minutes = 1, .only_if = world_atom(builder, holder, 1)});
    const cw_fact_id rings = verdict(builder, "rings", RINGS);
    const cw_atom_id both[] = {world_atom(builder, metal, 1), world_atom(builder, groove, 1)};
    world_rule(builder, world_atom(builder, rings, CW_REPLACE), both, 2);
    decides(builder, spring, verdict(builder, "springs", ROTOR));
    cw_builder_part(builder, &(cw_part){.name = "rings", .title = "rings"});
    cw_builder_part(builder, &(cw_part){.name = "springs", .title = "springs"});
    return world_finish(builder);
}

Test(due, what_decides_whether_a_check_counts_is_due_and_what_cannot_count_is_not)
{
    world w = world_open(with_conditions(), CW_TEARDOWN);
    cw_advice advice = world_next(&w);
    listed(&w, &advice, (const char *const[]){"holder", "groove", "metal"}, 3);
    world_answer(&w, "metal", 0);
    world_answer(&w, "holder", 1);
    advice = world_next(&w);
    listed(&w, &advice, (const char *const[]){"spring"}, 1);
    world_answer(&w, "holder", 0);
    advice = world_next(&w);
    cr_expect(advice.stop, "neither the groove nor the spring counts");
    world_close(&w);
}

Test(due, waiting_parts_with_their_checks)
{
    world w = world_open(open_unit(), CW_TEARDOWN);
    const cw_due *due;
    size_t count;
    cr_assert_eq(cw_ask_due(w.asker, w.chain, &w.limits, false, w.arena, &due, &count), CW_OK);
    cr_assert_eq(count, 2u);
    cr_expect_eq(due[0].part, (cw_part_id)ROTOR);
    cr_expect_eq(due[1].part, (cw_part_id)RINGS);
    cr_expect_eq(due[1].count, 2u);
    cr_expect_eq(due[1].minutes, 6);
    cr_assert_eq(due[1].verdict_count, 2u);
    cr_expect_eq(due[1].verdicts[0], cw_model_fact(w.model, "by_run_out"));
    world_cant_tell(&w, "run_out");
    cr_assert_eq(cw_ask_due(w.asker, w.chain, &w.limits, false, w.arena, &due, &count), CW_OK);
    cr_expect_eq(due[0].part, (cw_part_id)RINGS, "2 minutes are left");
    cr_expect_eq(due[0].verdict_count, 1u);
    cr_assert_eq(cw_ask_due(w.asker, w.chain, &w.limits, true, w.arena, &due, &count), CW_OK);
    cr_expect_eq(due[1].verdict_count, 2u, "it could be told after all");
    cr_expect_eq(due[1].minutes, 6);
    w.limits.places = 1u << CW_AT_VEHICLE;
    cr_assert_eq(cw_ask_due(w.asker, w.chain, &w.limits, false, w.arena, &due, &count), CW_OK);
    cr_expect_eq(count, 0u, "none of it can be done there");
    world_close(&w);
}

Test(due, every_request_for_memory_refused_once)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_model *model = open_unit();
    cw_identity_tables *tables;
    cw_chain *chain;
    cw_asker *asker;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    const cw_ask_limits limits = {.stage = CW_TEARDOWN};
    for (size_t allowed = 0;; allowed++) {
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(cw_asker_new(model, tables, &memory.allocator, &asker), CW_OK);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        memory.allowed = allowed;
        memory.refused = false;
        cw_advice advice;
        const cw_due *due;
        size_t count;
        cw_status status = cw_ask_due(asker, chain, &limits, false, arena, &due, &count);
        if (status == CW_OK)
            status = cw_ask_next(asker, chain, &limits, arena, &advice);
        bool refused = memory.refused;
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK, "%zu allowed", allowed);
        cw_arena_free(arena);
        cw_asker_free(asker);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!refused)
            break;
    }
    cw_chain_free(chain);
    cw_identity_tables_free(tables);
    cw_model_free(model);
}
