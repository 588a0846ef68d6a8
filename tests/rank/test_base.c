/* A question remembered must change nothing but the effort: each try beside it equals the whole sum on a
 * fresh scratch. */
#include "rank/causes.h"
#include "world.h"

#include <math.h>

enum { CAUSES = 12, FACTS = 10, VALUES = 3 };

typedef struct room {
    cw_model *model;
    cw_fact_id facts[FACTS];
    cw_atom_id when[2];
    cw_fact_id when_facts[2];
} room;

/* Sparse, so that causes fall into several parts; some links, a circumstance that shifts, one that rules out.
 */
static room random_room(random_state *random)
{
    room r = {NULL, {0}, {0}, {0}};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    char name[16];
    double background[VALUES];
    const cw_part_id parts[2] = {
        cw_builder_part(builder, &(cw_part){.name = "in", .title = "in", .where = CW_PART_UNIT}),
        cw_builder_part(builder, &(cw_part){.name = "out", .title = "out", .where = CW_PART_VEHICLE})};
    for (uint32_t f = 0; f < FACTS; f++) {
        world_background(random, VALUES, 0.1, background);
        r.facts[f] = world_fact(builder, world_name(name, 'f', f), VALUES, background, NULL);
    }
    for (uint32_t i = 0; i < 2; i++) {
        r.when[i] = world_circumstance(builder, world_name(name, 'w', i));
        r.when_facts[i] = cw_builder_find_fact(builder, name);
    }
    cw_cause_id ids[CAUSES];
    for (uint32_t c = 0; c < CAUSES; c++) {
        double chances[2][VALUES];
        const uint32_t first = random_below(random, FACTS),
                       second = (first + 1 + random_below(random, FACTS - 1)) % FACTS;
        cw_sign_spec signs[2] = {{{0}, NULL, 0}};
        for (int s = 0; s < 2; s++) {
            world_chances(random, VALUES, 5, chances[s]);
            signs[s].sign = (cw_sign){
                .fact = r.facts[s == 0 ? first : second], .kind = CW_SIGN_VALUES, .chances = chances[s]};
        }
        const cw_shift shift = {.atom = r.when[0], .times = 4};
        const cw_cause_spec spec = {.cause = {.name = world_name(name, 'c', c),
                                              .title = name,
                                              .part = parts[random_below(random, 2)],
                                              .seen = random_between(random, 0.01, 0.2),
                                              .ruled_out = random_below(random, 4) == 0 ? r.when[1] : 0},
                                    .signs = signs,
                                    .sign_count = random_below(random, 3),
                                    .shifts = &shift,
                                    .shift_count = random_below(random, 4) == 0};
        ids[c] = cw_builder_cause(builder, &spec);
    }
    for (uint32_t from = 0; from + 1 < CAUSES; from++)
        if (random_below(random, 4) == 0)
            cw_builder_leads_to(builder, ids[from], ids[from + 1 + random_below(random, CAUSES - from - 1)],
                                0.4);
    r.model = world_finish(builder);
    return r;
}

static void change_something(random_state *random, const room *r, cw_chain *chain)
{
    const uint32_t which = random_below(random, FACTS + 2);
    const cw_fact_id fact = which < FACTS ? r->facts[which] : r->when_facts[which - FACTS];
    const cw_answer answer = {.fact = fact, .value = random_below(random, which < FACTS ? VALUES : 2)};
    if (random_below(random, 3) == 0)
        (void)cw_chain_withdraw(chain, fact);
    else
        cr_assert_eq(cw_chain_answer(chain, &answer), CW_OK);
}

static void compare(const room *r, const cw_causes_tried *a, const cw_causes_tried *b)
{
    cr_assert_eq(a->exact, b->exact);
    cr_assert_float_eq(a->evidence_probability / b->evidence_probability, 1, 1e-10);
    cr_assert_float_eq(a->unit_at_fault, b->unit_at_fault, 1e-10);
    cr_assert_float_eq(a->nothing, b->nothing, 1e-10);
    for (cw_cause_id id = 1; id <= r->model->causes_count; id++)
        cr_assert_float_eq(a->by_cause[id], b->by_cause[id], 1e-10);
}

Test(base, a_question_remembered_changes_nothing_but_the_effort)
{
    random_state random = random_start(71);
    uint64_t with = 0, without = 0;
    for (int round = 0; round < 150; round++) {
        const room r = random_room(&random);
        cw_chain *chain = NULL, *further = NULL;
        cw_causes_scratch *scratch = NULL;
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cr_assert_eq(cw_chain_new(r.model, &cw_system_allocator, &chain), CW_OK);
        cr_assert_eq(cw_chain_new(r.model, &cw_system_allocator, &further), CW_OK);
        cr_assert_eq(cw_causes_scratch_new(r.model, &cw_system_allocator, &scratch), CW_OK);
        for (int step = 0; step < 12; step++) {
            const bool remember = step % 4 == 0;
            const cw_evidence *evidence;
            size_t count;
            cw_causes_tried tried, whole;
            cw_causes_scratch *fresh = NULL;
            if (remember) {
                for (int i = 0; i < 3; i++)
                    change_something(&random, &r, chain);
                cw_chain_copy(further, chain);
            } else {
                change_something(&random, &r, further);
            }
            cr_assert_eq(cw_evidence_collect(further, CW_ABOUT_CAUSES, arena, &evidence, &count), CW_OK);
            cr_assert_eq(cw_causes_scratch_new(r.model, &cw_system_allocator, &fresh), CW_OK);
            cr_assert_eq(cw_causes_try(fresh, further, evidence, count, CW_CAUSES_STEPS, &whole), CW_OK);
            cr_assert_eq((remember ? cw_causes_remember : cw_causes_try)(scratch, further, evidence, count,
                                                                         CW_CAUSES_STEPS, &tried),
                         CW_OK);
            compare(&r, &tried, &whole);
            with += remember ? 0 : tried.steps;
            without += remember ? 0 : whole.steps;
            cw_causes_scratch_free(fresh);
        }
        cw_causes_scratch_free(scratch);
        cw_chain_free(further);
        cw_chain_free(chain);
        cw_arena_free(arena);
        cw_model_free(r.model);
    }
    cr_assert_lt(2 * with, without);
}
