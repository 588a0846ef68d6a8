/* Every pointer of a model, for image_write.c. A struct of model.h that gets a new pointer needs a line here:
 * tests/pack finds what is missing. */
#include "model/image_inside.h"

/* Into the arena, of each item of a run. */
#define WALK(run, array, ...)                                                                                \
    for (uint32_t at_ = (run).first; at_ < (run).first + (run).count; at_++)                                 \
        inside(places, array, sizeof *(array), at_, (const size_t[]){__VA_ARGS__, NO_FIELD});

enum { NO_FIELD = SIZE_MAX / 2 };

static void inside(cw_places *places, const void *items, size_t size, uint32_t at, const size_t *fields)
{
    const char *item = (const char *)items + at * size;
    for (size_t i = 0; fields[i] != NO_FIELD; i++)
        places->visit(places, item + fields[i], CW_INTO_ARENA);
}

#define F(type, field) offsetof(type, field)

static cw_run ids(uint32_t count)
{
    return (cw_run){1, count};
}

static void walk_facts(const cw_model *model, cw_places *places)
{
    WALK(ids(model->facts_count), model->facts, F(cw_fact, name), F(cw_fact, title), F(cw_fact, background))
    for (uint32_t i = 1; i <= model->facts_count; i++) {
        places->visit(places, &model->facts[i].unit, CW_TO_UNIT);
        WALK(model->facts[i].values, model->values, F(cw_value, name), F(cw_value, title))
        for (uint32_t k = 0; k < model->facts[i].values.count; k++)
            WALK(model->values[model->facts[i].values.first + k].also, model->words, 0)
    }
}

static void walk_rules(const cw_model *model, cw_places *places)
{
    WALK(ids(model->origins_count), model->origins, F(cw_origin, name), F(cw_origin, because),
         F(cw_origin, source))
    for (uint32_t i = 1; i <= model->rules_count; i++) {
        const cw_rule *rule = &model->rules[i];
        places->visit(places, &rule->formula, CW_INTO_ARENA);
        places->visit(places, &rule->reading, CW_INTO_ARENA);
        if (rule->formula != NULL)
            cw_formula_places(rule->formula, places);
        if (rule->reading != NULL)
            places->visit(places, &rule->reading->unit, CW_TO_UNIT);
    }
}

static void walk_checks(const cw_model *model, cw_places *places)
{
    WALK(ids(model->checks_count), model->checks, F(cw_check, name), F(cw_check, ask), F(cw_check, title),
         F(cw_check, how), F(cw_check, picture), F(cw_check, source))
    for (uint32_t i = 1; i <= model->checks_count; i++)
        WALK(model->checks[i].tools, model->tools, F(cw_tool, name))
    WALK(ids(model->cautions_count), model->cautions, F(cw_caution, name), F(cw_caution, say),
         F(cw_caution, source))
    WALK(ids(model->parts_count), model->parts, F(cw_part, name), F(cw_part, title))
}

static void walk_units(const cw_model *model, cw_places *places)
{
    WALK(ids(model->units_count), model->units, F(cw_unit, name), F(cw_unit, title), F(cw_unit, notes),
         F(cw_unit, source))
    for (uint32_t i = 1; i <= model->units_count; i++)
        WALK(model->units[i].signs, model->signs, F(cw_sign, chances), F(cw_sign, source))
}

static void walk_causes(const cw_model *model, cw_places *places)
{
    WALK(ids(model->causes_count), model->causes, F(cw_cause, name), F(cw_cause, title), F(cw_cause, because),
         F(cw_cause, source))
    for (uint32_t i = 1; i <= model->causes_count; i++) {
        const cw_cause *cause = &model->causes[i];
        WALK(cause->signs, model->signs, F(cw_sign, chances), F(cw_sign, source))
        WALK(cause->shifts, model->shifts, F(cw_shift, because), F(cw_shift, source))
        WALK(cause->steps, model->words, 0)
    }
}

static void walk_rest(const cw_model *model, cw_places *places)
{
    WALK(((cw_run){0, model->packs_count}), model->packs, F(cw_pack_info, name), F(cw_pack_info, title))
    WALK(ids(model->hints_count), model->hints, F(cw_hint, name), F(cw_hint, say))
    for (uint32_t i = 1; i <= model->hints_count; i++)
        WALK(model->hints[i].suggests, model->suggestions, F(cw_suggestion, answer))
    WALK(ids(model->assembly_steps_count), model->assembly_steps, F(cw_assembly_step, name),
         F(cw_assembly_step, title), F(cw_assembly_step, action), F(cw_assembly_step, source),
         F(cw_assembly_step, mistake), F(cw_assembly_step, tool), F(cw_assembly_step, figure),
         F(cw_assembly_step, picture), F(cw_assembly_step, because))
    WALK(ids(model->headings_count), model->headings, F(cw_heading, name), F(cw_heading, title))
    const cw_model_index *index = model->index;
    WALK(((cw_run){0, 1}), index, F(cw_model_index, names), F(cw_model_index, facts),
         F(cw_model_index, checks), F(cw_model_index, units), F(cw_model_index, causes),
         F(cw_model_index, value_atoms))
    cw_names_places(index->names, places);
}

static void walk_root(const cw_model *model, cw_places *places)
{
    WALK(((cw_run){0, 1}), model, F(cw_model, packs), F(cw_model, facts), F(cw_model, values),
         F(cw_model, atoms), F(cw_model, rules), F(cw_model, premises), F(cw_model, origins),
         F(cw_model, checks), F(cw_model, tools), F(cw_model, cautions), F(cw_model, parts),
         F(cw_model, signs), F(cw_model, units), F(cw_model, data), F(cw_model, links), F(cw_model, shifts),
         F(cw_model, causes), F(cw_model, hints), F(cw_model, assembly_steps), F(cw_model, suggestions),
         F(cw_model, headings), F(cw_model, words), F(cw_model, fact_atoms), F(cw_model, uses),
         F(cw_model, concludes), F(cw_model, caution_lists), F(cw_model, part_lists),
         F(cw_model, pattern_lists), F(cw_model, cause_lists), F(cw_model, heading_facts),
         F(cw_model, unit_data), F(cw_model, index))
    places->visit(places, &model->patterns, CW_OF_NO_MEANING);
    for (uint32_t i = 0; i <= model->patterns_count; i++)
        places->visit(places, &model->patterns[i], CW_OF_NO_MEANING);
    places->visit(places, &model->arena, CW_OF_NO_MEANING);
    places->visit(places, &model->pattern_set, CW_OF_NO_MEANING);
    places->visit(places, &model->hold, CW_OF_NO_MEANING);
}

void model_places(const cw_model *model, cw_places *places)
{
    walk_root(model, places);
    walk_facts(model, places);
    walk_rules(model, places);
    walk_checks(model, places);
    walk_units(model, places);
    walk_causes(model, places);
    walk_rest(model, places);
}
