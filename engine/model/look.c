/* Look-ups in a finished model, and its end. */
#include "model/inside.h"

#include <string.h>

static uint32_t look(const cw_model *model, const uint32_t *ids, const char *name)
{
    return ids[cw_names_find(model->index->names, name, strlen(name))];
}

cw_fact_id cw_model_fact(const cw_model *model, const char *name)
{
    return look(model, model->index->facts, name);
}

cw_check_id cw_model_check(const cw_model *model, const char *name)
{
    return look(model, model->index->checks, name);
}

cw_unit_id cw_model_unit(const cw_model *model, const char *name)
{
    return look(model, model->index->units, name);
}

cw_cause_id cw_model_cause(const cw_model *model, const char *name)
{
    return look(model, model->index->causes, name);
}

uint32_t cw_fact_value(const cw_model *model, cw_fact_id fact, const char *name)
{
    cw_run values = model->facts[fact].values;
    for (uint32_t i = 0; i < values.count; i++)
        if (strcmp(model->values[values.first + i].name, name) == 0)
            return i;
    return UINT32_MAX;
}

cw_atom_id cw_fact_value_atom(const cw_model *model, cw_fact_id fact, uint32_t value)
{
    cw_run values = model->facts[fact].values;
    return value < values.count ? model->index->value_atoms[values.first + value] : 0;
}

bool cw_unit_within(const cw_model *model, cw_unit_id unit, cw_unit_id of)
{
    if (of == CW_NOT_LISTED)
        return unit == CW_NOT_LISTED;
    while (unit != of && unit != CW_NOT_LISTED)
        unit = model->units[unit].parent;
    return unit == of;
}

static uint32_t own_datum(const cw_model *model, cw_run data, cw_fact_id fact)
{
    uint32_t low = data.first, high = data.first + data.count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2, id = model->unit_data[middle];
        if (model->data[id].fact == fact)
            return id;
        if (model->data[id].fact < fact)
            low = middle + 1;
        else
            high = middle;
    }
    return 0;
}

uint32_t cw_unit_datum(const cw_model *model, cw_unit_id unit, cw_fact_id fact)
{
    uint32_t found = 0;
    for (; unit != CW_NOT_LISTED && found == 0; unit = model->units[unit].parent)
        found = own_datum(model, model->units[unit].data, fact);
    return found;
}

void cw_model_free(cw_model *model)
{
    if (model == NULL)
        return;
    for (uint32_t i = 1; model->pattern_set == NULL && i <= model->patterns_count; i++)
        cw_pattern_free(model->patterns[i]);
    cw_pattern_set_free(model->pattern_set);
    cw_model_hold *hold = model->hold;
    cw_arena_free(model->arena); /* the model itself lives in it */
    if (hold != NULL)
        hold->let_go(hold);
}
