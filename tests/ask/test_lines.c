/* What is due for the lines of the proof sheet. */
#include "ask/world.h"
#include "support/failing.h"

static cw_fact_id line(cw_builder *builder, const char *name, uint32_t place)
{
    static const cw_value_spec values[] = {{.name = "pass"}, {.name = "fail"}};
    cw_fact fact = {.name = name, .kind = CW_CHOICE, .context = true, .proof = place};
    return cw_builder_fact(builder, &fact, values, CW_PROVED_COUNT, NULL);
}

/* Passed where all of the checks show their first value, failed where one shows the second. */
static void decides(cw_builder *builder, cw_fact_id on, const cw_fact_id *checks, uint32_t count)
{
    cw_atom_id good[4];
    for (uint32_t i = 0; i < count; i++) {
        good[i] = world_atom(builder, checks[i], 0);
        world_rule(builder, world_atom(builder, on, CW_FAIL),
                   (const cw_atom_id[]){world_atom(builder, checks[i], 1)}, 1);
    }
    world_rule(builder, world_atom(builder, on, CW_PASS), good, count);
}

/* Noise (place 20) stands on a sweep of 4 minutes and a coast-down of 1; output (10) on amps, 1 minute, and
 * on the plate, a circumstance of 3 minutes; volts (20, later in the alphabet) on amps too, and on volts. The
 * colour tells of a cause alone. */
static cw_model *bench(void)
{
    static const double often[] = {0.2, 0.8};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id sweep = world_check(builder, "sweep", 2, (cw_check){.minutes = 4}),
                     coast = world_check(builder, "coast", 2, (cw_check){.minutes = 1}),
                     amps = world_check(builder, "amps", 2, (cw_check){.minutes = 1}),
                     volts = world_check(builder, "volts", 2, (cw_check){.minutes = 2}),
                     colour = world_check(builder, "colour", 2, (cw_check){.minutes = 1});
    const cw_fact_id plate = world_values(builder, "plate", 2, NULL, true);
    world_ask(builder, "plate", plate, (cw_check){.minutes = 3});
    decides(builder, line(builder, "by_noise", 20), (const cw_fact_id[]){sweep, coast}, 2);
    decides(builder, line(builder, "by_output", 10), (const cw_fact_id[]){amps, plate}, 2);
    decides(builder, line(builder, "by_volts", 20), (const cw_fact_id[]){amps, volts}, 2);
    cw_builder_part(builder, &(cw_part){.name = "rotor", .title = "rotor"});
    world_cause(builder, "burnt", 1, 0.3, (const cw_fact_id[]){colour, sweep},
                (const double *const[]){often, often}, 2);
    return world_finish(builder);
}

static void listed(const world *w, const cw_advice *advice, const char *const *names, size_t count)
{
    cr_assert_eq(advice->count, count, "%zu", advice->count);
    for (size_t i = 0; i < count; i++)
        cr_expect_str_eq(w->model->checks[advice->checks[i].check].name, names[i], "place %zu", i);
}

Test(lines, in_the_order_of_the_sheet_what_sets_the_stage_first_and_each_check_once)
{
    world w = world_open(bench(), CW_PROOF);
    cw_advice advice = world_next(&w);
    cr_expect_not(advice.stop);
    listed(&w, &advice, (const char *const[]){"plate", "amps", "coast", "sweep", "volts"}, 5);
    cr_expect_eq(advice.checks[0].line, cw_model_fact(w.model, "by_output"));
    cr_expect_eq(advice.checks[2].line, cw_model_fact(w.model, "by_noise"),
                 "by name where the places are one");
    cr_expect_eq(advice.checks[4].line, cw_model_fact(w.model, "by_volts"));
    cr_expect_eq(advice.checks[0].part, 0u);
    cr_expect_eq(advice.checks[0].bits, 0);
    world_close(&w);
}

Test(lines, a_line_that_has_failed_is_not_measured_further)
{
    world w = world_open(bench(), CW_PROOF);
    world_answer(&w, "amps", 1);
    cw_advice advice = world_next(&w);
    listed(&w, &advice, (const char *const[]){"coast", "sweep"}, 2);
    world_answer(&w, "coast", 0);
    world_cant_tell(&w, "sweep");
    advice = world_next(&w);
    cr_expect(advice.stop);
    cr_expect_eq(advice.why, CW_STOP_NOTHING_HELPS);
    cr_expect_eq(advice.count, 0u);
    world_close(&w);
}

Test(lines, other_stages_know_nothing_of_it)
{
    world w = world_open(bench(), CW_TEARDOWN);
    cw_advice advice = world_next(&w);
    for (size_t i = 0; i < advice.count; i++)
        cr_expect_eq(advice.checks[i].line, 0u);
    cr_expect_null(world_proposal(&w, &advice, "volts"));
    world_close(&w);
}

Test(lines, waiting_lines_with_their_checks)
{
    world w = world_open(bench(), CW_PROOF);
    const cw_due *due;
    size_t count;
    world_cant_tell(&w, "plate");
    cr_assert_eq(cw_ask_lines(w.asker, w.chain, &w.limits, false, w.arena, &due, &count), CW_OK);
    cr_assert_eq(count, 3u);
    cr_expect_eq(due[0].line, cw_model_fact(w.model, "by_output"));
    cr_expect_eq(due[0].part, 0u);
    cr_expect_eq(due[0].count, 1u, "the plate was left open");
    cr_expect_eq(due[0].minutes, 1);
    cr_assert_eq(cw_ask_lines(w.asker, w.chain, &w.limits, true, w.arena, &due, &count), CW_OK);
    cr_expect_eq(due[0].count, 2u, "it could be told after all");
    cr_expect_eq(due[0].minutes, 4);
    w.limits.places = 1u << CW_AT_VEHICLE;
    cr_assert_eq(cw_ask_lines(w.asker, w.chain, &w.limits, false, w.arena, &due, &count), CW_OK);
    cr_expect_eq(count, 0u, "none of it can be done there");
    world_close(&w);
}

Test(lines, a_pack_without_a_sheet)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    world_check(builder, "colour", 2, (cw_check){.minutes = 1});
    world w = world_open(world_finish(builder), CW_PROOF);
    cw_advice advice = world_next(&w);
    cr_expect(advice.stop);
    cr_expect_eq(advice.count, 0u);
    world_close(&w);
}

Test(lines, every_request_for_memory_refused_once)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_model *model = bench();
    cw_identity_tables *tables;
    cw_chain *chain;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    const cw_ask_limits limits = {.stage = CW_PROOF};
    for (size_t allowed = 0;; allowed++) {
        cw_asker *asker;
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(cw_asker_new(model, tables, &memory.allocator, &asker), CW_OK);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        memory.allowed = allowed;
        memory.refused = false;
        cw_advice advice;
        const cw_due *due;
        size_t count;
        cw_status status = cw_ask_lines(asker, chain, &limits, false, arena, &due, &count);
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
