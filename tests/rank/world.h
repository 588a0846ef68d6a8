/* Small models for the tests of this room: facts v0 v1 .. with a check each, built without a pack. */
#ifndef CW_TESTS_RANK_WORLD_H
#define CW_TESTS_RANK_WORLD_H

#include "model/build.h"
#include "rank/identity.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#define WORLD_VALUES 8

/* A finite fact with values v0 .. and a check that answers it. */
static inline cw_fact_id world_fact(cw_builder *builder, const char *name, uint32_t values,
                                    const double *background, const cw_check *like)
{
    static const char *const names[WORLD_VALUES] = {"v0", "v1", "v2", "v3", "v4", "v5", "v6", "v7"};
    cw_value_spec specs[WORLD_VALUES] = {{0}};
    for (uint32_t v = 0; v < values; v++)
        specs[v].name = names[v];
    const cw_fact_id fact =
        cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_CHOICE}, specs, values, background);
    cw_check check = like != NULL ? *like : (cw_check){0};
    check.name = check.ask = check.title = name;
    check.fact = fact;
    check.minutes = 1;
    cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    return fact;
}

/* A yes-or-no circumstance: context, with a check; returns its yes atom. */
static inline cw_atom_id world_circumstance(cw_builder *builder, const char *name)
{
    static const cw_value_spec specs[] = {{.name = "no"}, {.name = "yes"}};
    const cw_fact_id fact = cw_builder_fact(
        builder, &(cw_fact){.name = name, .kind = CW_YES_OR_NO, .context = true}, specs, 2, NULL);
    const cw_check check = {.name = name, .ask = name, .title = name, .fact = fact, .minutes = 1};
    cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    return cw_builder_value_atom(builder, fact, 1);
}

static inline cw_model *world_finish(cw_builder *builder)
{
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_OK);
    cw_builder_free(builder);
    return model;
}

/* A distribution; `zeros`: about one entry in so many is 0 (0 = none). */
static inline void world_chances(random_state *random, uint32_t count, uint32_t zeros, double *out)
{
    double sum = 0;
    for (uint32_t v = 0; v < count; v++) {
        out[v] = zeros > 0 && random_below(random, zeros) == 0 ? 0 : random_between(random, 0.02, 1);
        sum += out[v];
    }
    if (sum == 0)
        out[0] = sum = 1;
    for (uint32_t v = 0; v < count; v++)
        out[v] /= sum;
}

/* Mostly `normal`: little of everything else. */
static inline void world_background(random_state *random, uint32_t count, double others, double *out)
{
    out[0] = 1;
    for (uint32_t v = 1; v < count; v++) {
        out[v] = random_between(random, 0.2, 1) * others / count;
        out[0] -= out[v];
    }
}

static inline char *world_name(char *buffer, char letter, uint32_t number)
{
    snprintf(buffer, 16, "%c%u", letter, (unsigned)number);
    return buffer;
}

static inline uint32_t world_pattern(cw_builder *builder, const char *text)
{
    cw_pattern *pattern;
    size_t offset;
    char message[80];
    cr_assert_eq(
        cw_pattern_new(&cw_system_allocator, text, strlen(text), &pattern, &offset, message, sizeof message),
        CW_OK);
    return cw_builder_pattern(builder, pattern);
}

static inline cw_identity world_rank(const cw_model *model, const cw_evidence *evidence, size_t count,
                                     cw_arena *arena)
{
    cw_identity_tables *tables;
    cw_identity got;
    cr_assert_eq(cw_identity_tables_new(model, &cw_system_allocator, &tables), CW_OK);
    cr_assert_eq(cw_identity_rank(tables, evidence, count, arena, &got), CW_OK);
    cw_identity_tables_free(tables);
    return got;
}

#endif
