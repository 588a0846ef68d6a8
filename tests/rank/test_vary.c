/* One finding more, or other circumstances, as variations of a question remembered, against the question put
 * afresh to a network of its own. */
#include "rank/vary.h"
#include "world.h"
#include <math.h>

#define CAUSES 11
#define FACTS 8
/* The last causes: no link; every other shows the last fact, which nobody else does, the others the one
 * before that, and now and then one more. */
#define LEAVES 4
#define ADDED 4 /* facts that the variations of one question add, one each */

typedef struct setting {
    cw_model *model;
    cw_fact_id facts[FACTS], gone, often;
} setting;

/* The first causes lead to later ones; every other is ruled out by a circumstance or made likelier by one.
 * The last fact is shown by leaves alone. */
static setting random_setting(random_state *random)
{
    setting out;
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    char name[16];
    double chances[WORLD_VALUES];
    for (uint32_t i = 0; i < FACTS; i++) {
        const uint32_t values = 2 + random_below(random, 2);
        world_background(random, values, 0.1, chances);
        out.facts[i] = world_fact(builder, world_name(name, 'f', i), values, chances, NULL);
    }
    const cw_atom_id gone = world_circumstance(builder, "gone"), often = world_circumstance(builder, "often");
    for (uint32_t i = 0; i < 2; i++)
        cw_builder_part(builder, &(cw_part){.name = world_name(name, 'p', i),
                                            .title = "part",
                                            .where = i == 0 ? CW_PART_UNIT : CW_PART_VEHICLE});
    cw_cause_id causes[CAUSES];
    for (uint32_t i = 0; i < CAUSES; i++) {
        const bool leaf = i >= CAUSES - LEAVES;
        cw_sign_spec signs[FACTS];
        double of[FACTS][WORLD_VALUES];
        uint32_t count = 0;
        for (uint32_t f = 0; f < FACTS; f++) {
            const bool wanted =
                leaf ? f == FACTS - 1 - i % 2 || (f < FACTS - 2 && random_below(random, 4) == 0)
                     : f < FACTS - 1 && random_below(random, 3) == 0;
            if (!wanted)
                continue;
            world_chances(random, cw_builder_fact_at(builder, out.facts[f])->values.count, 0, of[count]);
            signs[count] = (cw_sign_spec){.sign = {.fact = out.facts[f], .chances = of[count]}};
            count++;
        }
        const cw_shift shift = {often, 4, NULL, NULL};
        const cw_cause_spec spec = {.cause = {.name = world_name(name, 'c', i),
                                              .title = "cause",
                                              .part = 1 + random_below(random, 2),
                                              .seen = random_between(random, 0.01, 0.3),
                                              .ruled_out = random_below(random, 3) == 0 ? gone : 0},
                                    .signs = signs,
                                    .sign_count = count,
                                    .shifts = &shift,
                                    .shift_count = random_below(random, 2)};
        causes[i] = cw_builder_cause(builder, &spec);
        for (uint32_t j = 0; j < i && !leaf; j++)
            if (random_below(random, 4) == 0)
                cw_builder_leads_to(builder, causes[j], causes[i], random_between(random, 0.1, 0.9));
    }
    out.model = world_finish(builder);
    out.gone = cw_model_fact(out.model, "gone");
    out.often = cw_model_fact(out.model, "often");
    return out;
}

static cw_chain *chain_with(const setting *s, bool gone, bool often)
{
    cw_chain *chain = NULL;
    cr_assert_eq(cw_chain_new(s->model, &cw_system_allocator, &chain), CW_OK);
    cr_assert_eq(cw_chain_answer(chain, &(cw_answer){.fact = s->gone, .value = gone}), CW_OK);
    cr_assert_eq(cw_chain_answer(chain, &(cw_answer){.fact = s->often, .value = often}), CW_OK);
    return chain;
}

/* What is asked: evidence in order of facts, and the circumstances. */
typedef struct put {
    cw_chain *chain;
    cw_evidence evidence[FACTS];
    size_t count;
} put;

/* So many facts seen, but for those that a variation may add: `without` and the few before it. */
static put random_put(random_state *random, const setting *s, uint32_t without)
{
    put out = {chain_with(s, random_below(random, 2), random_below(random, 2)), {{0}}, 0};
    for (uint32_t f = 0; f < FACTS; f++)
        if ((f > without || f + ADDED <= without) && random_below(random, 4) > 0)
            out.evidence[out.count++] =
                (cw_evidence){.fact = s->facts[f],
                              .value = random_below(random, s->model->facts[s->facts[f]].values.count)};
    return out;
}

static put varied(random_state *random, const setting *s, const put *base, uint32_t with)
{
    const bool other = random_below(random, 2);
    put out = {.count = 0};
    out.chain =
        chain_with(s, other ? random_below(random, 2) : cw_chain_answered(base->chain, s->gone)->value,
                   other ? random_below(random, 2) : cw_chain_answered(base->chain, s->often)->value);
    const cw_evidence more = {.fact = s->facts[with],
                              .value = random_below(random, s->model->facts[s->facts[with]].values.count)};
    size_t k = 0;
    while (k < base->count && base->evidence[k].fact < more.fact)
        out.evidence[out.count++] = base->evidence[k++];
    if (random_below(random, 4) > 0)
        out.evidence[out.count++] = more;
    while (k < base->count)
        out.evidence[out.count++] = base->evidence[k++];
    return out;
}

static bool is_among(cw_cause_id id, const cw_causes_tried *got)
{
    for (uint32_t i = 0; i < got->moved_count; i++)
        if (got->moved[i] == id)
            return true;
    return false;
}

/* Those that are not said to have moved are as they were. */
static void check_taken(const put *asked, const double *before, const cw_causes_tried *got)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_causes want;
    cr_assert_eq(cw_causes_rank(asked->chain, asked->evidence, asked->count, CW_CAUSES_STEPS, arena, &want),
                 CW_OK);
    cr_assert(want.exact);
    for (uint32_t i = 0; i < want.count; i++) {
        const cw_cause_id id = want.causes[i];
        cr_assert_float_eq(got->by_cause[id], want.probability[i], 1e-9);
        cr_assert(is_among(id, got) || fabs(want.probability[i] - before[id]) < 1e-9);
    }
    cr_assert_float_eq(got->unit_at_fault, want.unit_at_fault, 1e-9);
    cr_assert_float_eq(got->nothing, want.nothing, 1e-9);
    cr_assert_float_eq(got->evidence_probability / want.evidence_probability, 1, 1e-9);
    cw_arena_free(arena);
}

enum { TRIALS = 14 }; /* of one question: more than lanes */

/* How many were worked out as variations; `leaves` of them add the fact of the leaves. */
static void try_some(random_state *random, rank_vary *vary, const setting *s, int *taken, int *leaves)
{
    const uint32_t with = random_below(random, 3) == 0 ? FACTS - 1 : random_below(random, FACTS);
    const put base = random_put(random, s, with);
    put trials[TRIALS];
    uint32_t tickets[TRIALS], added[TRIALS];
    double steps = 0;
    cr_assert_eq(rank_vary_set(vary, base.chain, base.evidence, base.count, 1e9, &steps), CW_OK);
    cr_assert(vary->valid);
    for (int i = 0; i < TRIALS; i++) {
        added[i] = with - random_below(random, with + 1 < ADDED ? with + 1 : ADDED);
        trials[i] = varied(random, s, &base, added[i]);
        cr_assert_eq(
            rank_vary_foresee(vary, trials[i].chain, trials[i].evidence, trials[i].count, &tickets[i]),
            CW_OK);
    }
    for (int i = 0; i < TRIALS; i++) {
        cw_causes_tried got;
        bool done = false;
        if (tickets[i] != 0)
            cr_assert_eq(rank_vary_take(vary, tickets[i], 1e9, &got, &done), CW_OK);
        if (done)
            check_taken(&trials[i], vary->by_cause, &got);
        *taken += done;
        *leaves += done && added[i] == FACTS - 1 && trials[i].count > base.count;
        cw_chain_free(trials[i].chain);
    }
    cw_chain_free(base.chain);
}

Test(vary, equals_the_question_put_afresh)
{
    random_state random = random_start(97);
    int taken = 0, leaves = 0;
    for (int round = 0; round < 60; round++) {
        const setting s = random_setting(&random);
        rank_vary vary;
        cr_assert_eq(rank_vary_new(&vary, s.model, &cw_system_allocator), CW_OK);
        for (int i = 0; i < 4; i++)
            try_some(&random, &vary, &s, &taken, &leaves);
        rank_vary_dispose(&vary);
        cw_model_free(s.model);
    }
    cr_assert_gt(taken, 1000, "%d", taken);
    cr_assert_gt(leaves, 200, "%d", leaves);
}
