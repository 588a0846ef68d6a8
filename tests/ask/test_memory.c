/* Every allocation made to fail once: a clear status, nothing leaked, the chain as it was. */
#include "ask/world.h"
#include "support/failing.h"

/* Units and causes; rules of two premises, so that pairs are looked at; a measure; a stamp; twins. */
static cw_model *bit_of_everything(void)
{
    static const double left[] = {0.9, 0.1}, right[] = {0.2, 0.8};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id a = world_check(builder, "a", 2, (cw_check){0}),
               b = world_check(builder, "b", 2, (cw_check){0});
    cw_fact_id f = world_values(builder, "f", 2, NULL, false);
    cw_fact_id size = world_measure(builder, "size", 0, 100, 1, (cw_check){.places = 1u << CW_AT_BENCH});
    cw_fact_id stamp =
        cw_builder_fact(builder, &(cw_fact){.name = "stamp", .kind = CW_STAMPED}, NULL, 0, NULL);
    world_ask(builder, "stamp", stamp, (cw_check){.places = 1u << CW_AT_BENCH});
    cw_pattern *pattern = NULL;
    size_t offset = 0;
    char message[100];
    cr_assert_eq(cw_pattern_new(&cw_system_allocator, "^AB?1", 5, &pattern, &offset, message, sizeof message),
                 CW_OK);
    uint32_t number = cw_builder_pattern(builder, pattern);
    for (uint32_t v = 0; v < 2; v++) {
        const cw_atom_id premises[] = {world_atom(builder, a, v), world_atom(builder, b, 1)};
        world_rule(builder, world_atom(builder, f, v), premises, 2);
    }
    for (uint32_t u = 0; u < 3; u++) {
        static const double often = 0.8;
        cw_sign_spec signs[3] = {
            {.sign = {.fact = f, .kind = CW_SIGN_VALUES, .chances = u == 0 ? left : right}},
            {.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 20 + 10 * u, .sd = 1}},
            {.sign = {.fact = stamp, .kind = CW_SIGN_PATTERNS, .chances = &often},
             .patterns = &number,
             .pattern_count = 1}};
        char name[16];
        cw_unit unit = {.name = world_name(name, 'u', u), .seen = 1, .version = true};
        cw_builder_unit(builder, &unit, signs, u == 2 ? 2 : 3);
    }
    cw_part_id part = cw_builder_part(builder, &(cw_part){.name = "p", .title = "p"});
    world_cause(builder, "k0", part, 0.2, &f, (const double *const[]){right}, 1);
    world_cause(builder, "k1", part, 0.1, &f, (const double *const[]){right}, 1);
    return world_finish(builder);
}

static void sweep(cw_stage stage, uint32_t places, bool once)
{
    world w = world_open(bit_of_everything(), stage);
    w.limits.places = places;
    w.limits.enough_bits = 0.01;
    cw_advice wanted = world_next(&w);
    uint64_t version = cw_chain_version(w.chain);
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        if (once)
            failing_start_once(&memory, allowed);
        else
            failing_start(&memory, allowed);
        cw_asker *asker = NULL;
        cw_arena *arena = cw_arena_new(&memory.allocator);
        cw_status status =
            arena == NULL ? CW_NO_MEMORY : cw_asker_new(w.model, w.tables, &memory.allocator, &asker);
        cw_advice advice = {.count = 99};
        if (status == CW_OK) {
            status = cw_ask_next(asker, w.chain, &w.limits, arena, &advice);
            cr_assert(status == CW_OK || advice.count == 99, "nothing is said by half");
        }
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        if (status == CW_OK) {
            cr_assert_eq(advice.count, wanted.count);
            cr_assert_eq(advice.twins_count, wanted.twins_count);
        }
        cw_asker_free(asker);
        cw_arena_free(arena);
        cr_assert_eq(failing_bytes(&memory), 0);
        cr_assert_eq(cw_chain_version(w.chain), version);
        if (!memory.refused)
            break;
    }
    world_close(&w);
}

Test(memory, units_everywhere)
{
    sweep(CW_IDENTIFY, 0, false);
}

Test(memory, units_as_pairs)
{
    sweep(CW_IDENTIFY, 1u << CW_AT_COUNTER, false);
    sweep(CW_IDENTIFY, 1u << CW_AT_COUNTER, true);
}

Test(memory, causes)
{
    sweep(CW_TRIAGE, 0, false);
    sweep(CW_TRIAGE, 0, true);
}

/* The same asker works on after a failure. */
Test(memory, an_asker_survives_a_failed_call)
{
    world w = world_open(bit_of_everything(), CW_IDENTIFY);
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_asker *asker = NULL;
    cr_assert_eq(cw_asker_new(w.model, w.tables, &memory.allocator, &asker), CW_OK);
    for (size_t allowed = 0; allowed < 40; allowed++) {
        cw_advice advice;
        memory.allowed = allowed;
        memory.refused = false;
        cw_status status = cw_ask_next(asker, w.chain, &w.limits, w.arena, &advice);
        cr_assert_eq(status == CW_OK, !memory.refused);
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(cw_ask_next(asker, w.chain, &w.limits, w.arena, &advice), CW_OK);
        cr_assert_gt(advice.count, 0);
    }
    cw_asker_free(asker);
    cr_assert_eq(failing_bytes(&memory), 0);
    world_close(&w);
}
