/* The second half of what the builder takes in: checks, cautions, parts, units, causes, words, steps
 * of assembly, packs. */
#include "model/inside.h"

#include <assert.h>
#include <string.h>

cw_check_id cw_builder_check(cw_builder *builder, const cw_check *check, const cw_tool *tools,
                             uint32_t tool_count, const cw_caution_id *cautions, uint32_t caution_count)
{
    cw_check made = *check;
    made.name = builder_text(builder, check->name);
    made.ask = builder_text(builder, check->ask);
    made.title = builder_text(builder, check->title);
    made.how = builder_text(builder, check->how);
    made.picture = builder_text(builder, check->picture);
    made.source = builder_text(builder, check->source);
    made.tools = (cw_run){(uint32_t)builder->tools.count, tool_count};
    for (uint32_t i = 0; i < tool_count; i++) {
        const char *name = builder_text(builder, tools[i].name);
        cw_tool *tool = builder_add(builder, &builder->tools);
        if (tool != NULL)
            *tool = (cw_tool){name, tools[i].error};
    }
    made.cautions = builder_run(builder, &builder->caution_lists, cautions, caution_count);
    cw_check *place = builder_add(builder, &builder->checks);
    if (place == NULL)
        return 0;
    *place = made;
    cw_check_id id = builder_last(&builder->checks);
    CW_VEC_AT(&builder->facts, cw_fact, made.fact)->check = id;
    builder_name(builder, &builder->check_of, made.name, id);
    return builder->failed ? 0 : id;
}

cw_caution_id cw_builder_caution(cw_builder *builder, const cw_caution *caution)
{
    cw_caution made = {builder_text(builder, caution->name), builder_text(builder, caution->say),
                       builder_text(builder, caution->source), caution->stop, 0};
    cw_caution *place = builder_add(builder, &builder->cautions);
    if (place == NULL)
        return 0;
    *place = made;
    return builder_last(&builder->cautions);
}

cw_part_id cw_builder_part(cw_builder *builder, const cw_part *part)
{
    cw_part made = *part;
    made.name = builder_text(builder, part->name);
    made.title = builder_text(builder, part->title);
    cw_part *place = builder_add(builder, &builder->parts);
    if (place == NULL)
        return 0;
    *place = made;
    return builder_last(&builder->parts);
}

void cw_builder_fact_only_if(cw_builder *builder, cw_fact_id fact, cw_atom_id only_if)
{
    if (!builder->failed)
        CW_VEC_AT(&builder->facts, cw_fact, fact)->only_if = only_if;
}

static const double *copy_chances(cw_builder *builder, const double *chances, uint32_t count)
{
    double *copy = count == 0 || builder->failed ? NULL : CW_NEW_ARRAY(builder->arena, double, count);
    if (copy == NULL) {
        builder->failed |= count != 0;
        return NULL;
    }
    for (uint32_t i = 0; i < count; i++)
        copy[i] = chances[i];
    return copy;
}

/* Version after version has the signs of its family, so the last chances on a fact are kept once. */
static const double *same_chances(cw_builder *builder, cw_fact_id fact, const double *chances, uint32_t count)
{
    while (!builder->failed && builder->chances.count <= fact)
        builder_add(builder, &builder->chances);
    if (builder->failed || count == 0)
        return NULL;
    sign_chances *last = CW_VEC_AT(&builder->chances, sign_chances, fact);
    if (last->count != count || memcmp(last->chances, chances, count * sizeof *chances) != 0)
        *last = (sign_chances){copy_chances(builder, chances, count), count};
    return last->chances;
}

static void add_sign(cw_builder *builder, const cw_sign_spec *spec)
{
    cw_sign sign = spec->sign;
    sign.source = builder_text_again(builder, spec->sign.source);
    sign.patterns = (cw_run){0, 0};
    if (sign.kind == CW_SIGN_PATTERNS)
        sign.patterns = builder_run(builder, &builder->pattern_lists, spec->patterns, spec->pattern_count);
    if (sign.kind != CW_SIGN_NORMAL) {
        uint32_t count = sign.kind == CW_SIGN_PATTERNS ? spec->pattern_count
                                                       : cw_builder_fact_at(builder, sign.fact)->values.count;
        sign.chances = same_chances(builder, sign.fact, spec->sign.chances, count);
    }
    cw_sign *place = builder_add(builder, &builder->signs);
    if (place != NULL)
        *place = sign;
}

/* Appends the signs in order of their facts. Few per unit or cause, and mostly in order already: moving each
 * down to its place costs little. */
cw_run builder_signs(cw_builder *builder, const cw_sign_spec *signs, uint32_t count)
{
    cw_run run = {(uint32_t)builder->signs.count, count};
    for (uint32_t i = 0; i < count && !builder->failed; i++) {
        add_sign(builder, &signs[i]);
        for (size_t at = builder->signs.count - 1; !builder->failed && at > run.first; at--) {
            cw_sign *here = CW_VEC_AT(&builder->signs, cw_sign, at), *before = here - 1, moved = *before;
            assert(before->fact != here->fact);
            if (before->fact < here->fact)
                break;
            *before = *here;
            *here = moved;
        }
    }
    return run;
}

void cw_builder_expect_units(cw_builder *builder, size_t units, size_t signs)
{
    builder->failed |= cw_vec_reserve(&builder->units, builder->units.count + units) != CW_OK ||
                       cw_vec_reserve(&builder->signs, builder->signs.count + signs) != CW_OK;
}

cw_unit_id cw_builder_unit(cw_builder *builder, const cw_unit *unit, const cw_sign_spec *signs,
                           uint32_t sign_count)
{
    assert(builder->failed || unit->parent < builder->units.count);
    cw_unit made = *unit;
    made.name = builder_text(builder, unit->name);
    made.title = builder_text(builder, unit->title);
    made.notes = builder_text(builder, unit->notes);
    made.source = builder_text_again(builder, unit->source);
    made.signs = builder_signs(builder, signs, sign_count);
    made.data = (cw_run){0, 0};
    cw_unit *place = builder_add(builder, &builder->units);
    if (place == NULL)
        return 0;
    *place = made;
    builder_name(builder, &builder->unit_of, made.name, builder_last(&builder->units));
    return builder->failed ? 0 : builder_last(&builder->units);
}

uint32_t cw_builder_datum(cw_builder *builder, cw_fact_id which_unit, cw_fact_id fact)
{
    cw_datum *place = builder_add(builder, &builder->data);
    uint32_t id = builder_last(&builder->data);
    cw_atom_id atom = place == NULL ? 0 : builder_datum_atom(builder, which_unit, id);
    if (builder->failed)
        return 0;
    *CW_VEC_AT(&builder->data, cw_datum, id) = (cw_datum){fact, atom};
    return id;
}

cw_atom_id cw_builder_datum_atom(const cw_builder *builder, uint32_t datum)
{
    return CW_VEC_AT(&builder->data, cw_datum, datum)->atom;
}

static cw_fact_id fact_of_datum(const cw_builder *builder, uint32_t datum)
{
    return CW_VEC_AT(&builder->data, cw_datum, datum)->fact;
}

/* In order of their facts; few, and mostly in order already. */
void cw_builder_unit_data(cw_builder *builder, cw_unit_id unit, const uint32_t *data, uint32_t count)
{
    cw_run run = builder_run(builder, &builder->unit_data, data, count);
    if (builder->failed)
        return;
    uint32_t *list = count == 0 ? NULL : CW_VEC_AT(&builder->unit_data, uint32_t, run.first);
    for (uint32_t i = 1; i < count; i++)
        for (uint32_t at = i; at > 0; at--) {
            uint32_t here = list[at], before = list[at - 1];
            assert(fact_of_datum(builder, before) != fact_of_datum(builder, here));
            if (fact_of_datum(builder, before) < fact_of_datum(builder, here))
                break;
            list[at] = before;
            list[at - 1] = here;
        }
    CW_VEC_AT(&builder->units, cw_unit, unit)->data = run;
}

void cw_builder_unit_replaced(cw_builder *builder, cw_unit_id unit, cw_unit_id by)
{
    if (!builder->failed)
        CW_VEC_AT(&builder->units, cw_unit, unit)->replaced_by = by;
}

static cw_run add_shifts(cw_builder *builder, const cw_shift *shifts, uint32_t count)
{
    cw_run run = {(uint32_t)builder->shifts.count, count};
    for (uint32_t i = 0; i < count; i++) {
        cw_shift made = {shifts[i].atom, shifts[i].times, builder_text(builder, shifts[i].because),
                         builder_text(builder, shifts[i].source)};
        cw_shift *place = builder_add(builder, &builder->shifts);
        if (place != NULL)
            *place = made;
    }
    return run;
}

static cw_run add_steps(cw_builder *builder, const char *const *steps, uint32_t count)
{
    cw_run run = {(uint32_t)builder->words.count, count};
    for (uint32_t i = 0; i < count; i++) {
        const char *copy = builder_text(builder, steps[i]);
        const char **place = builder_add(builder, &builder->words);
        if (place != NULL)
            *place = copy;
    }
    return run;
}

cw_cause_id cw_builder_cause(cw_builder *builder, const cw_cause_spec *spec)
{
    cw_cause made = spec->cause;
    made.name = builder_text(builder, spec->cause.name);
    made.title = builder_text(builder, spec->cause.title);
    made.because = builder_text(builder, spec->cause.because);
    made.source = builder_text(builder, spec->cause.source);
    made.signs = builder_signs(builder, spec->signs, spec->sign_count);
    made.shifts = add_shifts(builder, spec->shifts, spec->shift_count);
    made.replace = builder_run(builder, &builder->part_lists, spec->replace, spec->replace_count);
    made.look_also = builder_run(builder, &builder->part_lists, spec->look_also, spec->look_also_count);
    made.steps = add_steps(builder, spec->steps, spec->step_count);
    made.leads_to = (cw_run){0, 0};
    made.rank = 0;
    cw_cause *place = builder_add(builder, &builder->causes);
    if (place == NULL)
        return 0;
    *place = made;
    builder_name(builder, &builder->cause_of, made.name, builder_last(&builder->causes));
    return builder->failed ? 0 : builder_last(&builder->causes);
}

void cw_builder_leads_to(cw_builder *builder, cw_cause_id from, cw_cause_id to, double chance)
{
    cw_link *link = builder_add(builder, &builder->links);
    if (link != NULL)
        *link = (cw_link){from, to, chance};
}

void cw_builder_hint(cw_builder *builder, const cw_hint *hint, const cw_suggestion *suggestions,
                     uint32_t count)
{
    cw_hint made = *hint;
    made.name = builder_text(builder, hint->name);
    made.say = builder_text(builder, hint->say);
    made.suggests = (cw_run){(uint32_t)builder->suggestions.count, count};
    for (uint32_t i = 0; i < count; i++) {
        const char *answer = builder_text(builder, suggestions[i].answer);
        cw_suggestion *place = builder_add(builder, &builder->suggestions);
        if (place != NULL)
            *place = (cw_suggestion){suggestions[i].check, answer};
    }
    cw_hint *place = builder_add(builder, &builder->hints);
    if (place != NULL)
        *place = made;
}

cw_assembly_id cw_builder_assembly_step(cw_builder *builder, const cw_assembly_step *step,
                                        const cw_caution_id *cautions, uint32_t caution_count,
                                        const cw_cause_id *comes_back_as, uint32_t cause_count)
{
    cw_assembly_step made = *step;
    made.name = builder_text(builder, step->name);
    made.title = builder_text(builder, step->title);
    made.action = builder_text(builder, step->action);
    made.source = builder_text(builder, step->source);
    made.mistake = builder_text(builder, step->mistake);
    made.tool = builder_text(builder, step->tool);
    made.figure = builder_text(builder, step->figure);
    made.picture = builder_text(builder, step->picture);
    made.because = builder_text(builder, step->because);
    made.cautions = builder_run(builder, &builder->caution_lists, cautions, caution_count);
    made.comes_back_as = builder_run(builder, &builder->cause_lists, comes_back_as, cause_count);
    cw_assembly_step *place = builder_add(builder, &builder->assembly_steps);
    if (place == NULL)
        return 0;
    *place = made;
    return builder_last(&builder->assembly_steps);
}

void cw_builder_assembly_instead_of(cw_builder *builder, cw_assembly_id step, cw_assembly_id of)
{
    if (!builder->failed)
        CW_VEC_AT(&builder->assembly_steps, cw_assembly_step, step)->instead_of = of;
}

void cw_builder_heading(cw_builder *builder, const char *name, const char *title, const cw_fact_id *facts,
                        uint32_t count)
{
    cw_heading made = {builder_text(builder, name), builder_text(builder, title),
                       builder_run(builder, &builder->heading_facts, facts, count)};
    cw_heading *place = builder_add(builder, &builder->headings);
    if (place != NULL)
        *place = made;
}

void cw_builder_pack(cw_builder *builder, const cw_pack_info *pack)
{
    cw_pack_info made = *pack;
    made.name = builder_text(builder, pack->name);
    made.title = builder_text(builder, pack->title);
    cw_pack_info *place = builder_add(builder, &builder->packs);
    if (place != NULL)
        *place = made;
}

void cw_builder_not_listed(cw_builder *builder, double chance)
{
    builder->not_listed = chance;
}

void cw_builder_no_fault(cw_builder *builder, double share)
{
    builder->no_fault = share;
}

void cw_builder_costs(cw_builder *builder, const cw_costs *costs)
{
    builder->costs = *costs;
    for (int where = 0; where < CW_WHERE_COUNT; where++)
        if (costs->reach[where] <= 0)
            builder->costs.reach[where] = 1;
}
