/* Small models for the tests of this room, built without a pack. */
#ifndef CW_TESTS_ASK_WORLD_H
#define CW_TESTS_ASK_WORLD_H

#include "ask/ask.h"
#include "model/build.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { WORLD_VALUES = 6, WORLD_SIGNS = 16 };
#define WORLD_ALL_STAGES 0xFu

static inline cw_fact_id world_values(cw_builder *builder, const char *name, uint32_t values,
                                      const double *background, bool context)
{
    static const char *const names[WORLD_VALUES] = {"v0", "v1", "v2", "v3", "v4", "v5"};
    cw_value_spec specs[WORLD_VALUES] = {{0}};
    for (uint32_t v = 0; v < values; v++)
        specs[v].name = names[v];
    return cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_CHOICE, .context = context}, specs,
                           values, background);
}

static inline cw_check_id world_ask(cw_builder *builder, const char *name, cw_fact_id fact, cw_check like)
{
    static const cw_tool tool = {"tape", 0};
    like.name = like.ask = like.title = name;
    like.fact = fact;
    like.minutes = like.minutes > 0 ? like.minutes : 1;
    like.stages = like.stages != 0 ? like.stages : WORLD_ALL_STAGES;
    like.places = like.places != 0 ? like.places : 1u << CW_AT_COUNTER;
    return cw_builder_check(builder, &like, &tool, 1, NULL, 0);
}

/* A finite fact with a check of its own. */
static inline cw_fact_id world_check(cw_builder *builder, const char *name, uint32_t values, cw_check like)
{
    cw_fact_id fact = world_values(builder, name, values, NULL, false);
    world_ask(builder, name, fact, like);
    return fact;
}

static inline cw_fact_id world_measure(cw_builder *builder, const char *name, double low, double high,
                                       double error, cw_check like)
{
    cw_fact_id fact = cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_MEASURE}, NULL, 0, NULL);
    const cw_tool tool = {"caliper", error};
    like.name = like.ask = like.title = name;
    like.fact = fact;
    like.minutes = 1;
    like.stages = WORLD_ALL_STAGES;
    like.places = like.places != 0 ? like.places : 1u << CW_AT_COUNTER;
    like.range = (cw_interval){low, high, false, false};
    cw_builder_check(builder, &like, &tool, 1, NULL, 0);
    return fact;
}

static inline cw_atom_id world_atom(cw_builder *builder, cw_fact_id fact, uint32_t value)
{
    return cw_builder_value_atom(builder, fact, value);
}

static inline void world_rule(cw_builder *builder, cw_atom_id head, const cw_atom_id *premises,
                              uint32_t count)
{
    cw_premise list[8] = {{0}};
    for (uint32_t i = 0; i < count; i++)
        list[i].atom = premises[i];
    cw_builder_rule(builder, head, list, count, count,
                    cw_builder_origin(builder, &(cw_origin){.name = "r", .because = "b", .source = "s"}));
}

/* One version with signs of chances: facts[i] shows with chances[i]. */
static inline cw_unit_id world_unit(cw_builder *builder, const char *name, double seen,
                                    const cw_fact_id *facts, const double *const *chances, uint32_t count)
{
    cw_sign_spec signs[WORLD_SIGNS] = {{{0}, NULL, 0}};
    for (uint32_t i = 0; i < count; i++)
        signs[i].sign = (cw_sign){.fact = facts[i], .kind = CW_SIGN_VALUES, .chances = chances[i]};
    return cw_builder_unit(builder, &(cw_unit){.name = name, .title = name, .seen = seen, .version = true},
                           signs, count);
}

static inline cw_cause_id world_cause(cw_builder *builder, const char *name, cw_part_id part, double seen,
                                      const cw_fact_id *facts, const double *const *chances, uint32_t count)
{
    cw_sign_spec signs[WORLD_SIGNS] = {{{0}, NULL, 0}};
    for (uint32_t i = 0; i < count; i++)
        signs[i].sign = (cw_sign){.fact = facts[i], .kind = CW_SIGN_VALUES, .chances = chances[i]};
    cw_cause_spec spec = {.cause = {.name = name, .title = name, .part = part, .seen = seen},
                          .signs = signs,
                          .sign_count = count};
    return cw_builder_cause(builder, &spec);
}

static inline cw_model *world_finish(cw_builder *builder)
{
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_OK);
    cw_builder_free(builder);
    return model;
}

/* Shares of 1, none too small. */
static inline void world_chances(random_state *random, uint32_t count, double *out)
{
    double sum = 0;
    for (uint32_t v = 0; v < count; v++)
        sum += out[v] = random_between(random, 0.02, 1);
    for (uint32_t v = 0; v < count; v++)
        out[v] /= sum;
}

static inline char *world_name(char *buffer, char letter, uint32_t number)
{
    snprintf(buffer, 16, "%c%u", letter, (unsigned)number);
    return buffer;
}

/* Everything that asking needs, over one model, which it takes over. */
typedef struct world {
    cw_model *model;
    cw_identity_tables *tables;
    cw_chain *chain;
    cw_asker *asker;
    cw_arena *arena;
    cw_ask_limits limits;
} world;

static inline world world_open(cw_model *model, cw_stage stage)
{
    world w = {.model = model, .limits = {.stage = stage, .enough_bits = -1, .sure = 2}};
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &w.tables), CW_OK);
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &w.chain), CW_OK);
    cr_assert_eq(cw_asker_new(model, w.tables, &cw_system_allocator, &w.asker), CW_OK);
    w.arena = cw_arena_new(&cw_system_allocator);
    cr_assert_not_null(w.arena);
    return w;
}

static inline void world_close(world *w)
{
    cw_arena_free(w->arena);
    cw_asker_free(w->asker);
    cw_chain_free(w->chain);
    cw_identity_tables_free(w->tables);
    cw_model_free(w->model);
}

static inline cw_advice world_next(world *w)
{
    cw_advice advice;
    cr_assert_eq(cw_ask_next(w->asker, w->chain, &w->limits, w->arena, &advice), CW_OK);
    return advice;
}

static inline void world_answer(world *w, const char *check, uint32_t value)
{
    cw_answer answer = {.fact = cw_model_fact(w->model, check), .value = value};
    cr_assert_eq(cw_chain_answer(w->chain, &answer), CW_OK);
}

static inline void world_read(world *w, const char *check, double number, double error)
{
    cw_answer answer = {.fact = cw_model_fact(w->model, check), .number = number, .error = error};
    cr_assert_eq(cw_chain_answer(w->chain, &answer), CW_OK);
}

static inline void world_cant_tell(world *w, const char *check)
{
    cw_answer answer = {.fact = cw_model_fact(w->model, check), .cant_tell = true};
    cr_assert_eq(cw_chain_answer(w->chain, &answer), CW_OK);
}

/* The proposal for the check, NULL if it is not listed. */
static inline const cw_proposal *world_proposal(const world *w, const cw_advice *advice, const char *check)
{
    for (size_t i = 0; i < advice->count; i++)
        if (strcmp(w->model->checks[advice->checks[i].check].name, check) == 0)
            return &advice->checks[i];
    return NULL;
}

static inline double world_bits(const world *w, const cw_advice *advice, const char *check)
{
    const cw_proposal *proposal = world_proposal(w, advice, check);
    return proposal == NULL ? 0 : proposal->bits;
}

#endif
