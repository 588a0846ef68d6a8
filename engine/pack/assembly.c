/* Steps of putting the unit together. */
#include "pack/inside.h"

static void read_says(compiler *c, const cw_node *const *fields, cw_assembly_step *step)
{
    step->title = read_optional_text(c, fields[key_step_title], "title");
    step->action = read_optional_text(c, fields[key_step_do], "do");
    step->mistake = read_optional_text(c, fields[key_step_mistake], "mistake");
    step->tool = read_optional_text(c, fields[key_step_tool], "tool");
    step->picture = read_optional_text(c, fields[key_step_picture], "picture");
    step->because = read_optional_text(c, fields[key_step_because], "because");
    step->source = read_optional_text(c, fields[key_step_source], "source");
    if (fields[key_step_figure] != NULL && read_figure(c, fields[key_step_figure]))
        step->figure = fields[key_step_figure]->text;
}

static const cond *read_when(compiler *c, const cw_node *node)
{
    scope_def nothing_bound = {.count = 0};
    cw_vec mentions = CW_VEC_INIT(c->allocator, fact_def *);
    const cond *when = node == NULL ? NULL : read_condition(c, &nothing_bound, node, &mentions);
    cw_vec_dispose(&mentions);
    return when;
}

static void read_step(compiler *c, step_def *step)
{
    const cw_node *fields[keys_of_step];
    const entry *at = step->at;
    uint32_t index;
    step->step.name = at->name;
    step->step.span = at->key->span;
    if (!read_fields(c, &shape_step, at->name, at->key->span, at->body, fields))
        return;
    read_says(c, fields, &step->step);
    if (fields[key_step_part] != NULL && read_name(c, fields[key_step_part], SECTION_parts, &index))
        step->step.part = index + 1;
    step->own_after = fields[key_step_after] != NULL;
    step->own_before = fields[key_step_before] != NULL;
    read_names(c, fields[key_step_after], SECTION_steps, "after", &step->after, &step->after_count);
    read_names(c, fields[key_step_before], SECTION_steps, "before", &step->before, &step->before_count);
    if (fields[key_step_instead_of] != NULL &&
        read_name(c, fields[key_step_instead_of], SECTION_steps, &index)) {
        step->stands_in = fields[key_step_instead_of];
        step->instead_of = index + 1;
    }
    read_names(c, fields[key_step_cautions], SECTION_cautions, "cautions", &step->cautions,
               &step->caution_count);
    read_names(c, fields[key_step_comes_back_as], SECTION_causes, "comes_back_as", &step->comes_back_as,
               &step->cause_count);
    if (fields[key_step_comes_back_as] != NULL && fields[key_step_mistake] == NULL)
        help(c,
             complain(c, MISSING_KEY, fields[key_step_comes_back_as]->span,
                      "what comes back is a mistake's: '%s' lacks the key 'mistake'", at->name),
             "say in 'mistake' what people do wrong here");
    step->only_if = read_when(c, fields[key_step_only_if]);
    step->shows_when = read_when(c, fields[key_step_shows_when]);
}

/* One deep: each stands in place of a step that stands in place of none. */
static void check_instead(compiler *c, step_def *step)
{
    if (step->instead_of == 0)
        return;
    const step_def *of = CW_VEC_AT(&c->steps, step_def, step->instead_of - 1);
    if (of->instead_of == 0)
        return;
    step->instead_of = 0;
    if (of == step) {
        help(c,
             complain(c, STEP_INSTEAD, step->stands_in->span, "'%s' cannot stand in place of itself",
                      of->at->name),
             "name the general step that it takes the place of");
        return;
    }
    cw_diag *diag = complain(c, STEP_INSTEAD, step->stands_in->span,
                             "'%s' stands in place of another step itself", of->at->name);
    const step_def *there = CW_VEC_AT(&c->steps, step_def, of->instead_of - 1);
    if (there != step)
        help(c, diag, "did you mean that one, '%s'?", there->at->name);
    else
        help(c, diag, "each names the other: let one of the two stand by itself");
}

void read_assembly(compiler *c)
{
    size_t count = c->entries[SECTION_steps].count;
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        step_def *step = append(c, &c->steps);
        if (step == NULL)
            return;
        step->at = CW_VEC_AT(&c->entries[SECTION_steps], entry, i);
        read_step(c, step);
    }
    for (size_t i = 0; i < c->steps.count && !c->no_memory; i++)
        check_instead(c, CW_VEC_AT(&c->steps, step_def, i));
}

static cw_assembly_id emit_step(compiler *c, const step_def *from)
{
    uint32_t bindings[MOST_BOUND];
    cw_assembly_step step = from->step;
    size_t count = (size_t)from->caution_count + from->cause_count;
    uint32_t *ids = take(c, count, sizeof *ids);
    if (ids == NULL)
        return 0;
    for (uint32_t i = 0; i < from->caution_count; i++)
        ids[i] = from->cautions[i] + 1;
    for (uint32_t i = 0; i < from->cause_count; i++)
        ids[from->caution_count + i] = from->comes_back_as[i] + 1;
    if (from->only_if != NULL)
        step.only_if = ground_atom(c, from->only_if, bindings, 0);
    if (from->shows_when != NULL)
        step.shows_when = ground_atom(c, from->shows_when, bindings, 0);
    cw_assembly_id id = cw_builder_assembly_step(c->builder, &step, ids, from->caution_count,
                                                 ids + from->caution_count, from->cause_count);
    if (id == 0)
        c->no_memory = true;
    return id;
}

void emit_assembly(compiler *c)
{
    size_t count = c->steps.count;
    cw_assembly_id *ids = take(c, count, sizeof *ids);
    if (ids == NULL || c->step_order == NULL)
        return;
    for (size_t i = 0; i < count && !c->no_memory; i++)
        ids[c->step_order[i]] = emit_step(c, CW_VEC_AT(&c->steps, step_def, c->step_order[i]));
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        uint32_t of = CW_VEC_AT(&c->steps, step_def, i)->instead_of;
        if (of != 0)
            cw_builder_assembly_instead_of(c->builder, ids[i], ids[of - 1]);
    }
}
