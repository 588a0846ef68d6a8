/* Each reading counts once. */
#include "rank/evidence.h"
#include "support/failing.h"
#include "world.h"
#include <string.h>

typedef struct bench { /* a model in the making, then a chain over it */
    cw_builder *builder;
    cw_model *model;
    cw_chain *chain;
    cw_arena *arena;
} bench;

static bench bench_new(void)
{
    return (bench){.builder = cw_builder_new(&cw_system_allocator),
                   .arena = cw_arena_new(&cw_system_allocator)};
}

static void bench_start(bench *b)
{
    b->model = world_finish(b->builder);
    cr_assert_eq(cw_chain_new(b->model, &cw_system_allocator, &b->chain), CW_OK);
}

static void bench_free(bench *b)
{
    cw_arena_free(b->arena);
    cw_chain_free(b->chain);
    cw_model_free(b->model);
}

/* A yes-or-no fact that only rules conclude. */
static cw_fact_id concluded(bench *b, const char *name)
{
    static const cw_value_spec specs[] = {{.name = "no"}, {.name = "yes"}};
    return cw_builder_fact(b->builder, &(cw_fact){.name = name, .kind = CW_YES_OR_NO}, specs, 2, NULL);
}

static cw_fact_id asked(bench *b, const char *name)
{
    return world_fact(b->builder, name, 2, NULL, NULL);
}

/* if all of `from` are v1/yes then `to` is too. */
static void rule(bench *b, cw_fact_id to, const cw_fact_id *from, uint32_t count)
{
    cw_premise premises[4];
    for (uint32_t i = 0; i < count; i++)
        premises[i] = (cw_premise){cw_builder_value_atom(b->builder, from[i], 1), false};
    cw_builder_rule(b->builder, cw_builder_value_atom(b->builder, to, 1), premises, count, count, 0);
}

/* A cause with a sign on each of the facts. */
static void cause(bench *b, const char *name, const cw_fact_id *facts, uint32_t count)
{
    static const double chances[] = {0.4, 0.6};
    cw_sign_spec signs[16];
    for (uint32_t i = 0; i < count; i++)
        signs[i] = (cw_sign_spec){.sign = {.fact = facts[i], .chances = chances}};
    const cw_cause_spec spec = {.cause = {.name = name, .seen = 0.1}, .signs = signs, .sign_count = count};
    cw_builder_cause(b->builder, &spec);
}

static void answer(bench *b, cw_fact_id fact, uint32_t value)
{
    cr_assert_eq(cw_chain_answer(b->chain, &(cw_answer){.fact = fact, .value = value}), CW_OK);
}

typedef struct found {
    const cw_evidence *evidence;
    size_t count;
} found;

static found collect(bench *b, cw_about about)
{
    found out;
    cr_assert_eq(cw_evidence_collect(b->chain, about, b->arena, &out.evidence, &out.count), CW_OK);
    return out;
}

/* What a fact yields to; UINT32_MAX when it is no evidence at all. */
static cw_fact_id yields(found f, cw_fact_id fact)
{
    for (size_t i = 0; i < f.count; i++)
        if (f.evidence[i].fact == fact)
            return f.evidence[i].yields_to;
    return UINT32_MAX;
}

Test(evidence, the_conclusion_counts_and_not_the_reading)
{
    bench b = bench_new();
    const cw_fact_id raw = asked(&b, "raw"), state = concluded(&b, "state");
    rule(&b, state, &raw, 1);
    cause(&b, "c", (cw_fact_id[]){raw, state}, 2);
    bench_start(&b);
    cr_assert_eq(collect(&b, CW_ABOUT_CAUSES).count, 0u);
    answer(&b, raw, 1);
    const found f = collect(&b, CW_ABOUT_CAUSES);
    cr_assert_eq(f.count, 2u);
    cr_assert_eq(yields(f, raw), state);
    cr_assert_eq(yields(f, state), 0u);
    cr_assert_eq(f.evidence[1].value, 1u);
    answer(&b, raw, 0); /* nothing is concluded now */
    const found again = collect(&b, CW_ABOUT_CAUSES);
    cr_assert_eq(again.count, 1u);
    cr_assert_eq(yields(again, raw), 0u);
    bench_free(&b);
}

Test(evidence, more_readings_are_more_specific)
{
    bench b = bench_new();
    const cw_fact_id first = asked(&b, "first"), second = asked(&b, "second"), other = asked(&b, "other");
    const cw_fact_id deep = concluded(&b, "deep"), deeper = concluded(&b, "deeper"),
                     both = concluded(&b, "both");
    rule(&b, deep, &first, 1);
    rule(&b, deeper, &deep, 1);
    rule(&b, both, (cw_fact_id[]){first, second}, 2);
    cause(&b, "c", (cw_fact_id[]){first, second, other, deep, deeper, both}, 6);
    bench_start(&b);
    answer(&b, first, 1);
    answer(&b, other, 1);
    found f = collect(&b, CW_ABOUT_CAUSES);
    cr_assert_eq(yields(f, first), deeper);
    cr_assert_eq(yields(f, deep), deeper);
    cr_assert_eq(yields(f, deeper), 0u);
    answer(&b, second, 1);
    f = collect(&b, CW_ABOUT_CAUSES);
    cr_assert_eq(f.count, 6u);
    cr_assert_eq(yields(f, first), both);
    cr_assert_eq(yields(f, second), both);
    cr_assert_eq(yields(f, deeper), both);
    cr_assert_eq(yields(f, both), 0u);
    cr_assert_eq(yields(f, other), 0u);
    bench_free(&b);
}

/* Two facts straight from one reading: the one with more signs, then the name. */
Test(evidence, more_signs_then_the_name)
{
    bench b = bench_new();
    const cw_fact_id raw = asked(&b, "raw"), z = concluded(&b, "z"), a = concluded(&b, "a");
    rule(&b, z, &raw, 1);
    rule(&b, a, &raw, 1);
    cause(&b, "c1", (cw_fact_id[]){z, a}, 2);
    cause(&b, "c2", (cw_fact_id[]){z, a}, 2);
    bench_start(&b);
    answer(&b, raw, 1);
    cr_assert_eq(yields(collect(&b, CW_ABOUT_CAUSES), z), a, "names decide");
    bench_free(&b);

    b = bench_new();
    const cw_fact_id raw2 = asked(&b, "raw"), z2 = concluded(&b, "z"), a2 = concluded(&b, "a");
    rule(&b, z2, &raw2, 1);
    rule(&b, a2, &raw2, 1);
    cause(&b, "c1", (cw_fact_id[]){z2, a2}, 2);
    cause(&b, "c2", &z2, 1);
    bench_start(&b);
    answer(&b, raw2, 1);
    cr_assert_eq(yields(collect(&b, CW_ABOUT_CAUSES), a2), z2, "two signs against one");
    bench_free(&b);
}

Test(evidence, context_may_be_shared)
{
    bench b = bench_new();
    const cw_atom_id running = world_circumstance(b.builder, "running");
    const cw_fact_id first = concluded(&b, "first"), second = concluded(&b, "second");
    const cw_premise premise = {running, false};
    cw_builder_rule(b.builder, cw_builder_value_atom(b.builder, first, 1), &premise, 1, 1, 0);
    cw_builder_rule(b.builder, cw_builder_value_atom(b.builder, second, 1), &premise, 1, 1, 0);
    const cw_fact_id context = cw_builder_find_fact(b.builder, "running");
    cause(&b, "c", (cw_fact_id[]){context, first, second}, 3);
    bench_start(&b);
    answer(&b, context, 1);
    const found f = collect(&b, CW_ABOUT_CAUSES);
    cr_assert_eq(f.count, 2u, "the context itself is no sign");
    cr_assert_eq(yields(f, first), 0u);
    cr_assert_eq(yields(f, second), 0u);
    bench_free(&b);
}

Test(evidence, conflicts_and_what_rests_on_them_do_not_count)
{
    bench b = bench_new();
    const cw_fact_id yes = asked(&b, "says_yes"), no = asked(&b, "says_no");
    const cw_fact_id torn = concluded(&b, "torn"), above = concluded(&b, "above");
    rule(&b, torn, &yes, 1);
    const cw_premise premise = {cw_builder_value_atom(b.builder, no, 1), false};
    cw_builder_rule(b.builder, cw_builder_value_atom(b.builder, torn, 0), &premise, 1, 1, 0);
    rule(&b, above, &torn, 1);
    cause(&b, "c", (cw_fact_id[]){torn, above}, 2);
    bench_start(&b);
    answer(&b, yes, 1);
    found f = collect(&b, CW_ABOUT_CAUSES);
    cr_assert_eq(yields(f, above), 0u);
    answer(&b, no, 1);
    f = collect(&b, CW_ABOUT_CAUSES);
    cr_assert_eq(f.count, 0u);
    bench_free(&b);
}

Test(evidence, doubtful_facts_do_not_count)
{
    bench b = bench_new();
    const cw_fact_id size =
        cw_builder_fact(b.builder, &(cw_fact){.name = "size", .kind = CW_MEASURE}, NULL, 0, NULL);
    const cw_check measured = {.name = "size", .fact = size, .range = {0, 9, false, false}, .minutes = 1};
    cw_builder_check(b.builder, &measured, NULL, 0, NULL, 0);
    const cw_fact_id large = concluded(&b, "large");
    const cw_premise above = {cw_builder_band_atom(b.builder, size, (cw_interval){5, 99, true, true}), false};
    cw_builder_rule(b.builder, cw_builder_value_atom(b.builder, large, 1), &above, 1, 1, 0);
    cause(&b, "c", &large, 1);
    bench_start(&b);
    cr_assert_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = size, .number = 5.1, .error = 1}), CW_OK);
    cr_assert_eq(collect(&b, CW_ABOUT_CAUSES).count, 0u);
    cr_assert_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = size, .number = 8, .error = 1}), CW_OK);
    cr_assert_eq(collect(&b, CW_ABOUT_CAUSES).count, 1u);
    bench_free(&b);
}

/* Units take measures and stamped texts as they are; causes do not. */
Test(evidence, measures_and_texts_speak_of_units_only)
{
    bench b = bench_new();
    const cw_fact_id size =
        cw_builder_fact(b.builder, &(cw_fact){.name = "size", .kind = CW_MEASURE}, NULL, 0, NULL);
    const cw_fact_id mark =
        cw_builder_fact(b.builder, &(cw_fact){.name = "mark", .kind = CW_STAMPED}, NULL, 0, NULL);
    const cw_check measured = {.name = "size", .fact = size, .range = {0, 1, false, false}, .minutes = 1};
    const cw_check stamped = {.name = "mark", .fact = mark, .minutes = 1};
    cw_builder_check(b.builder, &measured, NULL, 0, NULL, 0);
    cw_builder_check(b.builder, &stamped, NULL, 0, NULL, 0);
    cw_pattern *pattern;
    size_t offset;
    char message[80];
    cr_assert_eq(cw_pattern_new(&cw_system_allocator, "^T9", 3, &pattern, &offset, message, sizeof message),
                 CW_OK);
    const uint32_t patterns[] = {cw_builder_pattern(b.builder, pattern)};
    const double often = 0.6;
    const cw_sign_spec signs[] = {{.sign = {.fact = size, .kind = CW_SIGN_NORMAL, .mean = 0.1, .sd = 0.001}},
                                  {.sign = {.fact = mark, .kind = CW_SIGN_PATTERNS, .chances = &often},
                                   .patterns = patterns,
                                   .pattern_count = 1}};
    cw_builder_unit(b.builder, &(cw_unit){.name = "tern", .title = "Tern", .seen = 1, .version = true}, signs,
                    2);
    bench_start(&b);
    char text[] = "T90";
    cr_assert_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = size, .number = 0.11, .error = 0.002}), CW_OK);
    cr_assert_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = mark, .text = text}), CW_OK);
    const found f = collect(&b, CW_ABOUT_UNITS);
    cr_assert_eq(f.count, 2u);
    cr_assert(f.evidence[0].number == 0.11 && f.evidence[0].error == 0.002);
    cr_assert_str_eq(f.evidence[1].text, "T90");
    cr_assert_eq(collect(&b, CW_ABOUT_CAUSES).count, 0u);
    cr_assert_eq(cw_chain_withdraw(b.chain, mark), CW_OK);
    cr_assert_str_eq(f.evidence[1].text, "T90", "evidence outlives the answer");
    cr_assert_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = size, .cant_tell = true}), CW_OK);
    cr_assert_eq(collect(&b, CW_ABOUT_UNITS).count, 0u);
    bench_free(&b);
}

/* -- Random rules: against picking the most specific one again and again -- */

enum { ASKED = 7, CONCLUDED = 9 };

static void random_bench(random_state *random, bench *b, cw_fact_id *facts)
{
    char name[16];
    *b = bench_new();
    for (uint32_t i = 0; i < ASKED; i++) {
        if (random_below(random, 5) > 0) {
            facts[i] = asked(b, world_name(name, 'r', random_below(random, 90) * 10 + i));
        } else {
            world_circumstance(b->builder, world_name(name, 'k', i));
            facts[i] = cw_builder_find_fact(b->builder, name);
        }
    }
    for (uint32_t i = 0; i < CONCLUDED; i++) {
        facts[ASKED + i] = concluded(b, world_name(name, 'g', random_below(random, 90) * 10 + i));
        for (uint32_t rules = 1 + random_below(random, 2); rules > 0; rules--) {
            cw_fact_id from[3];
            const uint32_t count = 1 + random_below(random, 3);
            for (uint32_t p = 0; p < count; p++)
                from[p] = facts[random_below(random, ASKED + i)];
            rule(b, facts[ASKED + i], from, count);
        }
    }
    for (uint32_t i = 0; i < 3; i++) {
        cw_fact_id of[16];
        uint32_t count = 0;
        for (uint32_t f = 0; f < ASKED + CONCLUDED; f++)
            if (random_below(random, 3) > 0)
                of[count++] = facts[f];
        cause(b, world_name(name, 'c', i), of, count);
    }
    bench_start(b);
}

typedef struct claim {
    cw_fact_id fact;
    cw_fact_id readings[ASKED];
    size_t count;
    uint32_t depth, signs;
} claim;

static claim claim_of(const bench *b, cw_fact_id fact)
{
    claim out = {.fact = fact, .depth = cw_chain_depth(b->chain, fact)};
    cw_fact_id all[ASKED];
    const size_t found_readings = cw_chain_readings(b->chain, fact, all, ASKED);
    for (size_t i = 0; i < found_readings; i++)
        if (!b->model->facts[all[i]].context)
            out.readings[out.count++] = all[i];
    for (cw_cause_id id = 1; id <= b->model->causes_count; id++)
        for (uint32_t i = 0; i < b->model->causes[id].signs.count; i++)
            out.signs += b->model->signs[b->model->causes[id].signs.first + i].fact == fact;
    return out;
}

static bool share(const claim *a, const claim *b)
{
    for (size_t i = 0; i < a->count; i++)
        for (size_t j = 0; j < b->count; j++)
            if (a->readings[i] == b->readings[j])
                return true;
    return false;
}

static bool beats(const bench *b, const claim *x, const claim *y)
{
    if (x->count != y->count)
        return x->count > y->count;
    if (x->depth != y->depth)
        return x->depth > y->depth;
    if (x->signs != y->signs)
        return x->signs > y->signs;
    return strcmp(b->model->facts[x->fact].name, b->model->facts[y->fact].name) < 0;
}

/* yields[i] for the claims, by repeated picking. */
static void pick_all(const bench *b, const claim *claims, size_t count, cw_fact_id *out)
{
    bool settled[ASKED + CONCLUDED] = {false};
    for (;;) {
        size_t best = count;
        for (size_t i = 0; i < count; i++)
            if (!settled[i] && (best == count || beats(b, &claims[i], &claims[best])))
                best = i;
        if (best == count)
            return;
        settled[best] = true;
        out[best] = 0;
        for (size_t i = 0; i < count; i++)
            if (!settled[i] && share(&claims[i], &claims[best])) {
                settled[i] = true;
                out[i] = claims[best].fact;
            }
    }
}

static size_t check_against_picking(const bench *b, found f)
{
    claim claims[ASKED + CONCLUDED];
    cw_fact_id want[ASKED + CONCLUDED];
    size_t count = 0, yielded = 0;
    for (cw_fact_id fact = 1; fact <= b->model->facts_count; fact++) {
        uint32_t value;
        const claim next = claim_of(b, fact);
        if (next.signs > 0 && !b->model->facts[fact].context &&
            cw_chain_value(b->chain, fact, &value) == CW_KNOWN)
            claims[count++] = next;
    }
    cr_assert_eq(f.count, count);
    pick_all(b, claims, count, want);
    for (size_t i = 0; i < count; i++) {
        cr_assert_eq(f.evidence[i].fact, claims[i].fact);
        cr_assert_eq(f.evidence[i].yields_to, want[i]);
        yielded += want[i] != 0;
    }
    return yielded;
}

Test(evidence, equals_picking_and_ignores_the_order_of_answers)
{
    random_state random = random_start(11);
    size_t yielded = 0;
    for (int round = 0; round < 200; round++) {
        bench b;
        cw_fact_id facts[ASKED + CONCLUDED];
        random_bench(&random, &b, facts);
        uint32_t values[ASKED], order[ASKED];
        for (uint32_t i = 0; i < ASKED; i++) {
            values[i] = random_below(&random, 4) > 0;
            order[i] = i;
            answer(&b, facts[i], values[i]);
        }
        const found first = collect(&b, CW_ABOUT_CAUSES);
        yielded += check_against_picking(&b, first);
        cw_chain_free(b.chain);
        cr_assert_eq(cw_chain_new(b.model, &cw_system_allocator, &b.chain), CW_OK);
        for (uint32_t i = ASKED; i > 0; i--) {
            const uint32_t j = random_below(&random, i), swap = order[j];
            order[j] = order[i - 1];
            order[i - 1] = swap;
            answer(&b, facts[swap], values[swap]);
        }
        const found second = collect(&b, CW_ABOUT_CAUSES);
        cr_assert_eq(first.count, second.count);
        for (size_t i = 0; i < first.count; i++) {
            cr_assert_eq(first.evidence[i].fact, second.evidence[i].fact);
            cr_assert_eq(first.evidence[i].value, second.evidence[i].value);
            cr_assert_eq(first.evidence[i].yields_to, second.evidence[i].yields_to);
        }
        bench_free(&b);
    }
    cr_assert_gt(yielded, 200u);
}

Test(evidence, every_allocation_may_fail)
{
    random_state random = random_start(12);
    bench b;
    cw_fact_id facts[ASKED + CONCLUDED];
    random_bench(&random, &b, facts);
    for (uint32_t i = 0; i < ASKED; i++)
        answer(&b, facts[i], 1);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        if (arena != NULL) {
            found f;
            const cw_status status =
                cw_evidence_collect(b.chain, CW_ABOUT_CAUSES, arena, &f.evidence, &f.count);
            cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
            cw_arena_free(arena);
        }
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    bench_free(&b);
}
