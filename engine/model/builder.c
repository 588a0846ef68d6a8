/* The builder's own house-keeping, and the first half of what it takes in: facts, atoms, rules. */
#include "model/inside.h"

#include <assert.h>
#include <string.h>

void *builder_add(cw_builder *builder, cw_vec *vec)
{
    if (builder->failed)
        return NULL;
    void *item = vec->count >= UINT32_MAX / 2 ? NULL : cw_vec_add(vec);
    if (item == NULL)
        builder->failed = true;
    return item;
}

uint32_t builder_last(const cw_vec *vec)
{
    return (uint32_t)vec->count - 1;
}

const char *builder_text(cw_builder *builder, const char *text)
{
    if (text == NULL || builder->failed)
        return NULL;
    const char *copy = cw_arena_text(builder->arena, text, strlen(text));
    if (copy == NULL)
        builder->failed = true;
    return copy;
}

const char *builder_text_again(cw_builder *builder, const char *text)
{
    if (text == NULL || builder->failed)
        return NULL;
    if (builder->last_text == NULL || strcmp(builder->last_text, text) != 0)
        builder->last_text = builder_text(builder, text);
    return builder->last_text;
}

void builder_name(cw_builder *builder, cw_vec *ids, const char *name, uint32_t id)
{
    if (builder->failed)
        return;
    uint32_t number = cw_names_add(builder->names, name, strlen(name));
    if (number == 0)
        builder->failed = true;
    while (!builder->failed && ids->count <= number)
        builder_add(builder, ids);
    if (!builder->failed)
        *CW_VEC_AT(ids, uint32_t, number) = id;
}

cw_run builder_run(cw_builder *builder, cw_vec *vec, const uint32_t *numbers, uint32_t count)
{
    cw_run run = {(uint32_t)vec->count, count};
    for (uint32_t i = 0; i < count; i++) {
        uint32_t *number = builder_add(builder, vec);
        if (number != NULL)
            *number = numbers[i];
    }
    return run;
}

/* Every array with the size of its items, for making and unmaking them. */
#define BUILDER_IDS(X)                                                                                       \
    X(facts, cw_fact)                                                                                        \
    X(atoms, cw_atom)                                                                                        \
    X(rules, cw_rule)                                                                                        \
    X(origins, cw_origin)                                                                                    \
    X(checks, cw_check)                                                                                      \
    X(cautions, cw_caution)                                                                                  \
    X(parts, cw_part)                                                                                        \
    X(units, cw_unit)                                                                                        \
    X(causes, cw_cause)                                                                                      \
    X(hints, cw_hint)                                                                                        \
    X(assembly_steps, cw_assembly_step)                                                                      \
    X(headings, cw_heading)                                                                                  \
    X(data, cw_datum)                                                                                        \
    X(patterns, cw_pattern *)
#define BUILDER_LISTS(X)                                                                                     \
    X(fact_of, uint32_t)                                                                                     \
    X(check_of, uint32_t)                                                                                    \
    X(unit_of, uint32_t)                                                                                     \
    X(cause_of, uint32_t)                                                                                    \
    X(values, cw_value)                                                                                      \
    X(value_atoms, uint32_t)                                                                                 \
    X(premises, cw_premise)                                                                                  \
    X(tools, cw_tool)                                                                                        \
    X(signs, cw_sign)                                                                                        \
    X(links, cw_link)                                                                                        \
    X(shifts, cw_shift)                                                                                      \
    X(suggestions, cw_suggestion)                                                                            \
    X(words, const char *)                                                                                   \
    X(caution_lists, uint32_t)                                                                               \
    X(part_lists, uint32_t)                                                                                  \
    X(unit_data, uint32_t)                                                                                   \
    X(pattern_lists, uint32_t)                                                                               \
    X(cause_lists, uint32_t)                                                                                 \
    X(heading_facts, uint32_t)                                                                               \
    X(packs, cw_pack_info)                                                                                   \
    X(chances, sign_chances)                                                                                 \
    X(stamps, uint32_t)

cw_builder *cw_builder_new(const cw_allocator *allocator)
{
    cw_builder *builder = cw_allocate(allocator, sizeof *builder);
    if (builder == NULL)
        return NULL;
    memset(builder, 0, sizeof *builder);
    builder->allocator = *allocator;
    cw_builder_costs(builder, &(cw_costs){0});
#define BUILDER_MAKE(name, type) builder->name = CW_VEC_INIT(&builder->allocator, type);
    BUILDER_IDS(BUILDER_MAKE)
    BUILDER_LISTS(BUILDER_MAKE)
#undef BUILDER_MAKE
    builder->arena = cw_arena_new(allocator);
    builder->tables = builder->arena == NULL ? NULL : cw_arena_new(allocator);
    builder->names = builder->tables == NULL ? NULL : cw_names_new_apart(builder->tables, builder->arena);
    builder->failed = builder->names == NULL;
#define BUILDER_NONE(name, type) builder_add(builder, &builder->name);
    BUILDER_IDS(BUILDER_NONE)
#undef BUILDER_NONE
    builder_add(builder, &builder->stamps);
    builder_add(builder, &builder->stamps);
    if (builder->failed) {
        cw_builder_free(builder);
        return NULL;
    }
    return builder;
}

void cw_builder_free(cw_builder *builder)
{
    if (builder == NULL)
        return;
    if (!builder->spent) {
        for (size_t i = 1; i < builder->patterns.count; i++)
            cw_pattern_free(*CW_VEC_AT(&builder->patterns, cw_pattern *, i));
        cw_arena_free(builder->arena);
    }
#define BUILDER_UNMAKE(name, type) cw_vec_dispose(&builder->name);
    BUILDER_IDS(BUILDER_UNMAKE)
    BUILDER_LISTS(BUILDER_UNMAKE)
#undef BUILDER_UNMAKE
    cw_arena_free(builder->tables);
    cw_release(&builder->allocator, builder->table, builder->table_size * sizeof *builder->table);
    cw_allocator allocator = builder->allocator;
    cw_release(&allocator, builder, sizeof *builder);
}

cw_arena *cw_builder_arena(cw_builder *builder)
{
    return builder->arena;
}

static cw_run add_words(cw_builder *builder, const char *const *texts, uint32_t count)
{
    cw_run run = {(uint32_t)builder->words.count, count};
    for (uint32_t i = 0; i < count; i++) {
        const char *copy = builder_text(builder, texts[i]);
        const char **word = builder_add(builder, &builder->words);
        if (word != NULL)
            *word = copy;
    }
    return run;
}

static cw_run add_values(cw_builder *builder, const cw_value_spec *values, uint32_t count)
{
    cw_run run = {(uint32_t)builder->values.count, count};
    for (uint32_t i = 0; i < count; i++) {
        const char *name = builder_text(builder, values[i].name);
        const char *title = values[i].title == NULL ? name : builder_text(builder, values[i].title);
        cw_run also = add_words(builder, values[i].also, values[i].also_count);
        cw_value *value = builder_add(builder, &builder->values);
        builder_add(builder, &builder->value_atoms);
        if (value != NULL)
            *value = (cw_value){name, title, also, values[i].number};
    }
    return run;
}

static const double *add_background(cw_builder *builder, const double *background, uint32_t count)
{
    double *copy = count == 0 || builder->failed ? NULL : CW_NEW_ARRAY(builder->arena, double, count);
    if (copy == NULL) {
        builder->failed |= count != 0;
        return NULL;
    }
    static const double seen_otherwise = 0.02;
    for (uint32_t i = 0; i < count; i++) {
        if (background != NULL)
            copy[i] = background[i];
        else if (count == 1)
            copy[i] = 1;
        else
            copy[i] = i == 0 ? 1 - seen_otherwise : seen_otherwise / (count - 1);
    }
    return copy;
}

cw_fact_id cw_builder_fact(cw_builder *builder, const cw_fact *fact, const cw_value_spec *values,
                           uint32_t value_count, const double *background)
{
    assert(cw_builder_find_fact(builder, fact->name) == 0);
    cw_fact made = *fact;
    made.name = builder_text(builder, fact->name);
    made.title = fact->title == NULL ? made.name : builder_text(builder, fact->title);
    made.check = 0;
    made.values = add_values(builder, values, value_count);
    made.background = add_background(builder, background, value_count);
    made.atoms = (cw_run){0, 0};
    cw_fact *place = builder_add(builder, &builder->facts);
    if (place == NULL)
        return 0;
    *place = made;
    builder_name(builder, &builder->fact_of, made.name, builder_last(&builder->facts));
    return builder->failed ? 0 : builder_last(&builder->facts);
}

cw_fact_id cw_builder_find_fact(const cw_builder *builder, const char *name)
{
    uint32_t number = cw_names_find(builder->names, name, strlen(name));
    return number == 0 || number >= builder->fact_of.count ? 0
                                                           : *CW_VEC_AT(&builder->fact_of, uint32_t, number);
}

const cw_fact *cw_builder_fact_at(const cw_builder *builder, cw_fact_id fact)
{
    return CW_VEC_AT(&builder->facts, cw_fact, fact);
}

const cw_value *cw_builder_value_at(const cw_builder *builder, cw_fact_id fact, uint32_t value)
{
    cw_run values = cw_builder_fact_at(builder, fact)->values;
    assert(value < values.count);
    return CW_VEC_AT(&builder->values, cw_value, values.first + value);
}
