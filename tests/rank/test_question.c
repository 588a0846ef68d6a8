/* A part whose exact sum is too dear gets bounds; parts within the steps stay exact. Against every set of
 * causes. */
#include "rank/causes.h"
#include "world.h"
#include <math.h>
#include <stdlib.h>

/* One block where everything shows everything, and pairs that share a finding each. */
#define BLOCK 7
#define BLOCK_FINDINGS 8
#define PAIRS 2
enum { CAUSES = BLOCK + 2 * PAIRS, FINDINGS = BLOCK_FINDINGS + PAIRS };

typedef struct blocks {
    double own[CAUSES], leak[FINDINGS], shows[CAUSES][FINDINGS]; /* 0: does not */
    bool seen[FINDINGS];
} blocks;

static blocks random_blocks(random_state *random)
{
    blocks out = {{0}, {0}, {{0}}, {0}};
    for (uint32_t c = 0; c < CAUSES; c++)
        out.own[c] = random_between(random, 0.01, 0.3);
    for (uint32_t f = 0; f < FINDINGS; f++) {
        out.leak[f] = random_between(random, 0.02, 0.2);
        out.seen[f] = random_below(random, 8) > 0;
    }
    for (uint32_t c = 0; c < BLOCK; c++)
        for (uint32_t f = 0; f < BLOCK_FINDINGS; f++)
            out.shows[c][f] = random_between(random, 0.1, 0.9);
    for (uint32_t p = 0; p < PAIRS; p++)
        for (uint32_t i = 0; i < 2; i++)
            out.shows[BLOCK + 2 * p + i][BLOCK_FINDINGS + p] = random_between(random, 0.1, 0.9);
    return out;
}

/* The block is the unit; the pairs are the vehicle. */
static cw_model *model_of(const blocks *of)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    char name[16];
    for (uint32_t f = 0; f < FINDINGS; f++) {
        const double background[] = {1 - of->leak[f], of->leak[f]};
        world_fact(builder, world_name(name, 'f', f), 2, background, NULL);
    }
    static const cw_part parts[] = {{.name = "block", .title = "block", .where = CW_PART_UNIT},
                                    {.name = "pairs", .title = "pairs", .where = CW_PART_VEHICLE}};
    cw_builder_part(builder, &parts[0]);
    cw_builder_part(builder, &parts[1]);
    for (uint32_t c = 0; c < CAUSES; c++) {
        cw_sign_spec signs[FINDINGS];
        double chances[FINDINGS][2];
        uint32_t count = 0;
        for (uint32_t f = 0; f < FINDINGS; f++) {
            if (of->shows[c][f] <= 0)
                continue;
            chances[count][0] = 1 - of->shows[c][f];
            chances[count][1] = of->shows[c][f];
            signs[count] = (cw_sign_spec){.sign = {.fact = f + 1, .chances = chances[count]}};
            count++;
        }
        const cw_cause_spec spec = {.cause = {.name = world_name(name, 'c', c),
                                              .title = "cause",
                                              .part = c < BLOCK ? 1 : 2,
                                              .seen = of->own[c]},
                                    .signs = signs,
                                    .sign_count = count};
        cw_builder_cause(builder, &spec);
    }
    return world_finish(builder);
}

typedef struct truth {
    double by_cause[CAUSES], block, pairs, nothing;
} truth;

static double joint(const blocks *of, uint32_t set)
{
    double out = 1;
    for (uint32_t c = 0; c < CAUSES; c++)
        out *= set >> c & 1 ? of->own[c] : 1 - of->own[c];
    for (uint32_t f = 0; f < FINDINGS; f++) {
        double none = 1 - of->leak[f];
        for (uint32_t c = 0; c < CAUSES; c++)
            none *= set >> c & 1 ? 1 - of->shows[c][f] : 1;
        out *= of->seen[f] ? 1 - none : none;
    }
    return out;
}

static truth enumerate(const blocks *of)
{
    truth out = {{0}, 0, 0, 0};
    double sum = 0;
    for (uint32_t set = 0; set < 1u << CAUSES; set++) {
        const double chance = joint(of, set);
        sum += chance;
        for (uint32_t c = 0; c < CAUSES; c++)
            out.by_cause[c] += set >> c & 1 ? chance : 0;
        out.block += set & ((1u << BLOCK) - 1) ? chance : 0;
        out.pairs += set >> BLOCK ? chance : 0;
        out.nothing += set == 0 ? chance : 0;
    }
    for (uint32_t c = 0; c < CAUSES; c++)
        out.by_cause[c] /= sum;
    out.block /= sum;
    out.pairs /= sum;
    out.nothing /= sum;
    return out;
}

static bool holds(double low, double value, double high)
{
    return low <= value + 1e-9 && value <= high + 1e-9;
}

/* How many of the causes are exact; the block's number comes first. */
static void check_lines(const cw_model *model, const cw_causes *got, const truth *want, uint32_t exact[2])
{
    exact[0] = exact[1] = 0;
    for (uint32_t i = 0; i < got->count; i++) {
        const long which =
            strtol(model->causes[got->causes[i]].name + 1, NULL, 10); /* ids are in another order */
        const double true_one = want->by_cause[which];
        cr_assert(holds(got->low[i], true_one, got->high[i]));
        exact[which >= BLOCK] += got->low[i] == got->high[i];
    }
    cr_assert(holds(got->unit_at_fault_low, want->block, got->unit_at_fault_high));
    cr_assert(holds(got->nothing_low, want->nothing, got->nothing_high));
}

Test(question, a_dear_part_leaves_the_others_exact)
{
    random_state random = random_start(41);
    int all_exact = 0, block_bounded = 0, tight = 0;
    for (int round = 0; round < 150; round++) {
        const blocks of = random_blocks(&random);
        const truth want = enumerate(&of);
        cw_model *model = model_of(&of);
        cw_chain *chain = NULL;
        cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_evidence evidence[FINDINGS];
        for (uint32_t f = 0; f < FINDINGS; f++)
            evidence[f] = (cw_evidence){.fact = f + 1, .value = of.seen[f]};
        const uint64_t budget = 200 + random_below(&random, 80000);
        cw_causes got;
        uint32_t exact[2];
        cr_assert_eq(cw_causes_rank(chain, evidence, FINDINGS, budget, arena, &got), CW_OK);
        cr_assert_leq(got.steps, budget);
        check_lines(model, &got, &want, exact);
        all_exact += got.exact;
        if (!got.exact && budget > 4000) {
            cr_assert_eq(exact[1], 2 * PAIRS, "round %d", round);
            cr_assert_float_eq(got.part_probability[2], want.pairs, 1e-9);
            block_bounded += exact[0] == 0;
            tight += got.unit_at_fault_high - got.unit_at_fault_low < 0.5;
        }
        cw_arena_free(arena);
        cw_chain_free(chain);
        cw_model_free(model);
    }
    cr_assert_gt(all_exact, 10);
    cr_assert_gt(block_bounded, 30);
    cr_assert_gt(tight, 30);
}
