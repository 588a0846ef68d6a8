/* Causes: fault modes of parts, with what they show, what rules them out and what they bring about. */
#include "pack/inside.h"

#include <string.h>

static void read_leads_to(compiler *c, const cw_node *node, cause_def *cause)
{
    if (node == NULL || !read_map(c, node, "leads_to"))
        return;
    link_def *links = take(c, node->size, sizeof *links);
    for (size_t i = 0; i < node->size && links != NULL; i++) {
        link_def *link = &links[cause->leads_to_count];
        bool good = read_name(c, cw_node_key(node, i), SECTION_causes, &link->to);
        if (read_frequency(c, cw_node_item(node, i), &link->chance) && good)
            cause->leads_to_count++;
    }
    cause->leads_to = links;
}

static void read_shift(compiler *c, const cw_node *node, cause_def *cause, shift_def *shift)
{
    const cw_node *fields[keys_of_shift];
    if (!read_fields(c, &shape_shift, NULL, node->span, node, fields))
        return;
    scope_def nothing_bound = {.count = 0};
    bool good = fields[key_shift_times] != NULL &&
                read_number(c, fields[key_shift_times], "times", &shift->shift.times);
    shift->shift.because = read_optional_text(c, fields[key_shift_because], "because");
    shift->shift.source = read_optional_text(c, fields[key_shift_source], "source");
    if (fields[key_shift_if] != NULL)
        shift->when = read_condition(c, &nothing_bound, fields[key_shift_if], &cause->mentions);
    if (good && shift->when != NULL)
        cause->shift_count++;
}

static void read_shifts(compiler *c, const cw_node *node, cause_def *cause)
{
    if (node == NULL)
        return;
    bool list = node->kind == CW_NODE_LIST;
    size_t count = list ? node->size : 1;
    shift_def *shifts = take(c, count, sizeof *shifts);
    for (size_t i = 0; i < count && shifts != NULL; i++)
        read_shift(c, list ? cw_node_item(node, i) : node, cause, &shifts[cause->shift_count]);
    cause->shifts = shifts;
}

static void read_steps(compiler *c, const cw_node *node, cause_def *cause)
{
    const cw_node *items;
    size_t count;
    if (node == NULL || !read_list(c, node, "steps", &items, &count))
        return;
    const char **steps = take(c, count, sizeof *steps);
    for (size_t i = 0; i < count && steps != NULL; i++) {
        steps[cause->step_count] = read_text(c, &items[i], "steps");
        cause->step_count += steps[cause->step_count] != NULL;
    }
    cause->steps = steps;
}

static void read_plan(compiler *c, const cw_node *node, cause_def *cause)
{
    const cw_node *fields[keys_of_plan];
    if (node == NULL || !read_fields(c, &shape_plan, "plan", node->span, node, fields))
        return;
    read_names(c, fields[key_plan_replace], SECTION_parts, "replace", &cause->replace, &cause->replace_count);
    read_names(c, fields[key_plan_look_also], SECTION_parts, "look_also", &cause->look_also,
               &cause->look_also_count);
    read_steps(c, fields[key_plan_steps], cause);
    if (fields[key_plan_minutes] != NULL)
        read_number(c, fields[key_plan_minutes], "minutes", &cause->cause.minutes);
}

static void read_cause(compiler *c, cause_def *cause)
{
    const cw_node *fields[keys_of_cause];
    const entry *at = cause->at;
    static const sign_list no_signs;
    cause->cause.name = at->name;
    cause->cause.span = at->key->span;
    if (!read_fields(c, &shape_cause, at->name, at->key->span, at->body, fields))
        return;
    cause->cause.title = read_optional_text(c, fields[key_cause_title], "title");
    cause->cause.because = read_optional_text(c, fields[key_cause_because], "because");
    cause->cause.source = read_optional_text(c, fields[key_cause_source], "source");
    uint32_t part;
    if (fields[key_cause_part] != NULL && read_name(c, fields[key_cause_part], SECTION_parts, &part))
        cause->cause.part = part + 1;
    if (fields[key_cause_seen] != NULL)
        read_frequency(c, fields[key_cause_seen], &cause->cause.seen);
    read_signs(c, fields[key_cause_signs], SIGN_OF_CAUSE, cause->cause.source, &no_signs, &cause->signs);
    scope_def nothing_bound = {.count = 0};
    if (fields[key_cause_ruled_out_by] != NULL)
        cause->ruled_out =
            read_condition(c, &nothing_bound, fields[key_cause_ruled_out_by], &cause->mentions);
    read_leads_to(c, fields[key_cause_leads_to], cause);
    read_shifts(c, fields[key_cause_shifts], cause);
    read_plan(c, fields[key_cause_plan], cause);
}

void read_causes(compiler *c)
{
    size_t count = c->entries[SECTION_causes].count;
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        cause_def *cause = append(c, &c->causes);
        if (cause == NULL)
            return;
        cause->at = CW_VEC_AT(&c->entries[SECTION_causes], entry, i);
        cause->mentions = CW_VEC_INIT(c->allocator, fact_def *);
        read_cause(c, cause);
        learn_cause(c, cause);
    }
    check_learned(c, SECTION_learned_causes, SECTION_causes);
}

static void emit_cause(compiler *c, const cause_def *from)
{
    cw_cause_spec spec = {.cause = from->cause,
                          .sign_count = from->signs.count,
                          .shift_count = from->shift_count,
                          .replace_count = from->replace_count,
                          .look_also_count = from->look_also_count,
                          .steps = from->steps,
                          .step_count = from->step_count};
    uint32_t bindings[MOST_BOUND];
    cw_shift *shifts = take(c, from->shift_count, sizeof *shifts);
    cw_part_id *parts = take(c, (size_t)from->replace_count + from->look_also_count, sizeof *parts);
    if (shifts == NULL || parts == NULL)
        return;
    for (uint32_t i = 0; i < from->shift_count; i++) {
        shifts[i] = from->shifts[i].shift;
        shifts[i].atom = ground_atom(c, from->shifts[i].when, bindings, 0);
    }
    for (uint32_t i = 0; i < from->replace_count; i++)
        parts[i] = from->replace[i] + 1;
    for (uint32_t i = 0; i < from->look_also_count; i++)
        parts[from->replace_count + i] = from->look_also[i] + 1;
    if (from->ruled_out != NULL)
        spec.cause.ruled_out = ground_atom(c, from->ruled_out, bindings, 0);
    spec.signs = sign_specs(c, &from->signs);
    spec.shifts = shifts;
    spec.replace = parts;
    spec.look_also = parts + from->replace_count;
    if (!c->no_memory && !c->too_many_rules && cw_builder_cause(c->builder, &spec) == 0)
        c->no_memory = true;
}

/* When something else is wrong only circles are of interest: names and links. */
void emit_causes(compiler *c, bool whole)
{
    for (size_t i = 0; i < c->causes.count && !c->no_memory; i++) {
        const cause_def *cause = CW_VEC_AT(&c->causes, cause_def, i);
        if (whole)
            emit_cause(c, cause);
        else if (cw_builder_cause(c->builder, &(cw_cause_spec){.cause = {.name = cause->at->name}}) == 0)
            c->no_memory = true;
    }
    for (size_t i = 0; i < c->causes.count && !c->no_memory && !c->too_many_rules; i++) {
        const cause_def *cause = CW_VEC_AT(&c->causes, cause_def, i);
        for (uint32_t k = 0; k < cause->leads_to_count; k++)
            cw_builder_leads_to(c->builder, (cw_cause_id)i + 1, cause->leads_to[k].to + 1,
                                cause->leads_to[k].chance);
    }
}
