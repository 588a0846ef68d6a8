/* Rules that some answers set against each other. */
#include "review/search.h"

static bool same_origin(const cw_model *model, cw_rule_id a, cw_rule_id b)
{
    cw_span x = model->origins[model->rules[a].origin].span, y = model->origins[model->rules[b].origin].span;
    return x.source == y.source && x.start == y.start;
}

static void warn_conflict(reviewer *r, cw_fact_id id, cw_rule_id a, cw_rule_id b, const char *answers)
{
    const cw_model *model = r->model;
    const cw_fact *fact = &model->facts[id];
    const cw_origin *x = &model->origins[model->rules[a].origin],
                    *y = &model->origins[model->rules[b].origin];
    const cw_value *values = &model->values[fact->values.first];
    const char *of_x = values[model->atoms[model->rules[a].head].value].name,
               *of_y = values[model->atoms[model->rules[b].head].value].name;
    cw_diag *diag = review_warn(r, CW_DIAG_CAN_CONFLICT, y->span,
                                "'%s' can conclude '%s: %s' while '%s' concludes '%s: %s'", y->name,
                                fact->name, of_y, x->name, fact->name, of_x);
    cw_diag_second(r->diags, diag, x->span, "the other rule");
    advise(r, diag,
           "these answers do it: %s. Make the two exclude each other, or say in one with 'none:' when the "
           "other counts",
           answers);
}

static void look_at_pair(reviewer *r, cw_fact_id fact, cw_rule_id a, cw_rule_id b)
{
    const cw_model *model = r->model;
    const char *answers;
    if (!review_is_asked_for(r, model->origins[model->rules[a].origin].span) &&
        !review_is_asked_for(r, model->origins[model->rules[b].origin].span))
        return;
    if (review_search_conflict(r->search, a, b, &answers) == REVIEW_ANSWERS)
        warn_conflict(r, fact, a, b, answers);
}

static void look_at_values(reviewer *r, cw_fact_id fact, cw_run first, cw_run second)
{
    const cw_model *model = r->model;
    for (uint32_t i = 0; i < first.count; i++)
        for (uint32_t k = 0; k < second.count; k++) {
            cw_rule_id a = model->concludes[first.first + i], b = model->concludes[second.first + k];
            if (review_is_written(model, &model->rules[a]) && review_is_written(model, &model->rules[b]) &&
                !same_origin(model, a, b))
                look_at_pair(r, fact, a, b);
        }
}

static void look_at_fact(reviewer *r, cw_fact_id id)
{
    const cw_model *model = r->model;
    cw_run atoms = model->facts[id].atoms;
    for (uint32_t i = 0; i < atoms.count && !r->no_memory; i++)
        for (uint32_t k = 0; k < i; k++) {
            const cw_atom *a = &model->atoms[model->fact_atoms[atoms.first + k]],
                          *b = &model->atoms[model->fact_atoms[atoms.first + i]];
            if (a->kind == CW_ATOM_VALUE && b->kind == CW_ATOM_VALUE)
                look_at_values(r, id, a->concluded_by, b->concluded_by);
        }
}

void review_conflicts(reviewer *r)
{
    for (cw_fact_id id = 1; r->search != NULL && id <= r->model->facts_count && !r->no_memory; id++)
        look_at_fact(r, id);
}
