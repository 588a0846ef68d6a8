/* Facts that nobody reads, choices that nothing gives, choices that nothing tells apart. */
#include "review/inside.h"

#include <string.h>

static void read_by_formulas(const cw_model *model, bool *read)
{
    for (cw_rule_id id = 1; id <= model->rules_count; id++) {
        const uint32_t *inputs = NULL;
        size_t count =
            model->rules[id].formula == NULL ? 0 : cw_formula_inputs(model->rules[id].formula, &inputs);
        for (size_t i = 0; i < count; i++)
            read[inputs[i]] = true;
    }
}

static void read_by_conditions(const reviewer *r, bool *read)
{
    for (cw_atom_id atom = 1; atom <= r->model->atoms_count; atom++)
        if (r->asked[atom] || r->model->atoms[atom].used_by.count > 0)
            read[r->model->atoms[atom].fact] = true;
}

static void read_by_people(const cw_model *model, bool *read)
{
    for (cw_fact_id id = 1; id <= model->facts_count; id++) {
        const cw_fact *fact = &model->facts[id];
        read[id] |= fact->verdict_on != 0 || fact->proof != 0 || fact->unit_signs + fact->cause_signs > 0;
    }
    for (uint32_t i = 1; i <= model->headings_count; i++)
        for (uint32_t k = 0; k < model->headings[i].facts.count; k++)
            read[model->heading_facts[model->headings[i].facts.first + k]] = true;
}

/* Of those with `each` one that is read speaks for all. */
static bool sister_is_read(const cw_model *model, const bool *read, cw_fact_id fact)
{
    cw_span span = model->facts[fact].span;
    for (cw_fact_id id = 1; id <= model->facts_count; id++)
        if (read[id] && model->facts[id].span.source == span.source &&
            model->facts[id].span.start == span.start)
            return true;
    return false;
}

static void warn_unread(reviewer *r, const bool *read)
{
    const cw_model *model = r->model;
    for (cw_fact_id id = 1; id <= model->facts_count; id++) {
        const cw_fact *fact = &model->facts[id];
        if (read[id] || fact->check != 0 || fact->span.source == 0 || sister_is_read(model, read, id))
            continue;
        cw_diag *diag =
            review_warn(r, CW_DIAG_UNREAD_FACT, fact->span, "nobody reads the fact '%s'", fact->name);
        advise(r, diag,
               "let a rule, a sign, a heading of the description or a line of the proof sheet go by it, or "
               "take it out");
    }
}

static bool is_given(const cw_model *model, cw_fact_id fact, uint32_t value)
{
    cw_atom_id atom = cw_fact_value_atom(model, fact, value);
    return atom != 0 && model->atoms[atom].concluded_by.count > 0;
}

/* The first choice is the normal one, which may well be what is left. Choices of verdicts and lines of the
 * proof sheet are not the writer's own; a fact that nothing at all gives is told of when the pack is loaded.
 */
static void warn_not_given(reviewer *r)
{
    const cw_model *model = r->model;
    for (cw_fact_id id = 1; id <= model->facts_count; id++) {
        const cw_fact *fact = &model->facts[id];
        bool any = false;
        if (fact->check != 0 || fact->kind != CW_CHOICE || fact->verdict_on != 0 || fact->proof != 0)
            continue;
        for (uint32_t value = 0; value < fact->values.count; value++)
            any |= is_given(model, id, value);
        for (uint32_t value = 1; any && value < fact->values.count; value++) {
            if (is_given(model, id, value))
                continue;
            const char *name = model->values[fact->values.first + value].name;
            cw_diag *diag = review_warn(r, CW_DIAG_CHOICE_NOT_GIVEN, fact->span,
                                        "no rule concludes that '%s' is '%s'", fact->name, name);
            advise(r, diag, "write the rule that concludes '%s', or take the choice out", name);
        }
    }
}

static bool is_tested(const reviewer *r, cw_fact_id fact, uint32_t value)
{
    cw_atom_id atom = cw_fact_value_atom(r->model, fact, value);
    return atom != 0 && (r->asked[atom] || r->model->atoms[atom].used_by.count > 0);
}

/* One choice that nothing speaks of may be "none of these"; of two the person asked is made to choose for
 * nothing. Signs and headings take every choice for what it is; where only the stage is set, people's own
 * words for it do no harm. */
static void warn_not_told_apart(reviewer *r, const bool *shown)
{
    const cw_model *model = r->model;
    for (uint32_t i = 1; i <= model->checks_count; i++) {
        cw_fact_id id = model->checks[i].fact;
        const cw_fact *fact = &model->facts[id];
        const char *idle[2];
        uint32_t count = 0;
        if (fact->kind != CW_CHOICE || fact->context || fact->unit_signs + fact->cause_signs > 0 || shown[id])
            continue;
        for (uint32_t value = 0; value < fact->values.count && count < 2; value++)
            if (!is_tested(r, id, value))
                idle[count++] = model->values[fact->values.first + value].name;
        if (count < 2 || sister_is_read(model, shown, id))
            continue;
        cw_diag *diag =
            review_warn(r, CW_DIAG_CHOICES_ALIKE, fact->span, "nothing tells '%s' from '%s', choices of '%s'",
                        idle[0], idle[1], fact->name);
        advise(r, diag, "let a rule or sign go by them, or make one choice of the two");
    }
}

void review_reads(reviewer *r)
{
    const cw_model *model = r->model;
    size_t facts = (size_t)model->facts_count + 1;
    bool *read = review_take(r, facts, sizeof *read), *shown = review_take(r, facts, sizeof *shown);
    if (read == NULL || shown == NULL)
        return;
    read_by_people(model, shown);
    memcpy(read, shown, facts * sizeof *read);
    read_by_formulas(model, read);
    read_by_conditions(r, read);
    warn_unread(r, read);
    warn_not_given(r);
    warn_not_told_apart(r, shown);
}
