/* A model as lines of text, without ids and places: two packs that mean the same give the same lines. */
#include "help.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct lines {
    char **items;
    size_t count, room;
} lines;

static void add(lines *all, cw_text *line)
{
    if (all->count == all->room)
        all->items = realloc(all->items, (all->room = all->room * 2 + 64) * sizeof *all->items);
    all->items[all->count++] = strdup(cw_text_get(line));
    cw_text_clear(line);
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Sorted, one behind the other; empties the list. */
static char *join(lines *all)
{
    if (all->count > 0)
        qsort(all->items, all->count, sizeof *all->items, by_text);
    size_t size = 1;
    for (size_t i = 0; i < all->count; i++)
        size += strlen(all->items[i]) + 1;
    char *text = malloc(size), *at = text;
    for (size_t i = 0; i < all->count; i++) {
        at += sprintf(at, "%s\n", all->items[i]);
        free(all->items[i]);
    }
    *at = '\0';
    free(all->items);
    return text;
}

static const char *or_none(const char *text)
{
    return text == NULL ? "-" : text;
}

static void add_atom(cw_text *out, const cw_model *model, cw_atom_id id, int depth);

/* What the datum says: the conclusion of its rule. */
static void add_datum(cw_text *out, const cw_model *model, uint32_t id)
{
    const cw_datum *datum = &model->data[id];
    const cw_rule *rule = &model->rules[model->uses[model->atoms[datum->atom].used_by.first]];
    cw_text_format(out, "%s of %s", model->facts[datum->fact].name, model->origins[rule->origin].source);
    double number = 0, error = 0;
    if (rule->head == 0 && cw_formula_value(rule->formula, NULL, NULL, &number, &error))
        cw_text_format(out, " %.17g +- %.17g", number, error);
    else if (rule->head != 0)
        add_atom(out, model, rule->head, 0);
}

static void add_premises(cw_text *out, const cw_model *model, const cw_rule *rule, int depth)
{
    lines parts = {0};
    cw_text one = CW_TEXT_INIT(&cw_system_allocator);
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &model->premises[rule->premises.first + i];
        cw_text_add(&one, premise->absent ? "absent " : "");
        add_atom(&one, model, premise->atom, depth + 1);
        add(&parts, &one);
    }
    cw_text_dispose(&one);
    char *text = join(&parts);
    for (char *at = text; *at != '\0'; at++)
        if (*at == '\n')
            *at = ';';
    cw_text_format(out, "%u of (%s)", rule->need, text);
    free(text);
}

/* A step is what its rules say. */
static void add_step(cw_text *out, const cw_model *model, const cw_atom *atom, int depth)
{
    lines ways = {0};
    cw_text one = CW_TEXT_INIT(&cw_system_allocator);
    for (uint32_t i = 0; i < atom->concluded_by.count && depth < 40; i++) {
        add_premises(&one, model, &model->rules[model->concludes[atom->concluded_by.first + i]], depth);
        add(&ways, &one);
    }
    cw_text_dispose(&one);
    char *text = join(&ways);
    for (char *at = text; *at != '\0'; at++)
        if (*at == '\n')
            *at = '|';
    cw_text_format(out, "step{%s}", text);
    free(text);
}

static void add_atom(cw_text *out, const cw_model *model, cw_atom_id id, int depth)
{
    const cw_atom *atom = &model->atoms[id];
    const cw_fact *fact = &model->facts[atom->fact];
    if (id == 0)
        cw_text_add(out, "nothing");
    else if (atom->kind == CW_ATOM_VALUE)
        cw_text_format(out, "%s=%s", fact->name, model->values[fact->values.first + atom->value].name);
    else if (atom->kind == CW_ATOM_BAND)
        cw_text_format(out, "%s in %d%.17g..%.17g%d", fact->name, atom->band.low_open, atom->band.low,
                       atom->band.high, atom->band.high_open);
    else if (atom->kind == CW_ATOM_LIKE)
        cw_text_format(out, "%s like something", fact->name);
    else if (atom->kind == CW_ATOM_UNIT)
        cw_text_format(out, "%s within %s", fact->name, or_none(model->units[atom->value].name));
    else if (atom->kind == CW_ATOM_DATUM)
        add_datum(out, model, atom->value);
    else if (atom->kind == CW_ATOM_KNOWN)
        cw_text_format(out, "%s known", fact->name);
    else if (atom->kind == CW_ATOM_UNIT)
        cw_text_format(out, "in hand %s",
                       atom->value == CW_NOT_LISTED ? "not listed" : model->units[atom->value].name);
    else if (atom->kind == CW_ATOM_CAUTION)
        cw_text_format(out, "caution %s", model->cautions[atom->value].name);
    else
        add_step(out, model, atom, depth);
}

static void dump_facts(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t f = 1; f <= model->facts_count; f++) {
        const cw_fact *fact = &model->facts[f];
        cw_text_format(line, "fact %s '%s' kind %d unit %s context %d on %s proof %u %d if %u", fact->name,
                       fact->title, fact->kind, fact->unit == NULL ? "-" : fact->unit->symbol, fact->context,
                       or_none(model->parts[fact->verdict_on].name), fact->proof, fact->optional,
                       fact->only_if != 0);
        for (uint32_t v = 0; v < fact->values.count; v++) {
            const cw_value *value = &model->values[fact->values.first + v];
            cw_text_format(line, " %s '%s' %d %.17g", value->name, value->title, value->number,
                           fact->background[v]);
            for (uint32_t w = 0; w < value->also.count; w++)
                cw_text_format(line, " also '%s'", model->words[value->also.first + w]);
        }
        add(all, line);
    }
}

static void dump_rules(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t r = 1; r <= model->rules_count; r++) {
        const cw_rule *rule = &model->rules[r];
        if (rule->head != 0 && model->atoms[rule->head].kind == CW_ATOM_STEP)
            continue;
        const cw_origin *origin = &model->origins[rule->origin];
        cw_text_format(line, "rule %s '%s' '%s' layer %u: ", origin->name, origin->because, origin->source,
                       rule->layer);
        if (rule->head != 0)
            add_atom(line, model, rule->head, 0);
        else
            cw_text_add(line, model->facts[rule->measure].name);
        const uint32_t *inputs = NULL;
        size_t count = rule->formula == NULL ? 0 : cw_formula_inputs(rule->formula, &inputs);
        for (size_t i = 0; i < count; i++)
            cw_text_format(line, " from %s", model->facts[inputs[i]].name);
        if (rule->reading != NULL)
            cw_text_format(line, " by '%s' in %s, %.17g to %.17g",
                           cw_pattern_text(model->patterns[rule->reading->pattern]),
                           rule->reading->unit == NULL ? "no unit" : rule->reading->unit->symbol,
                           rule->reading->range.low, rule->reading->range.high);
        cw_text_add(line, " <- ");
        add_premises(line, model, rule, 0);
        add(all, line);
    }
}

static void dump_checks(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t i = 1; i <= model->checks_count; i++) {
        const cw_check *check = &model->checks[i];
        cw_text_format(
            line,
            "check %s of %s '%s' '%s' '%s' '%s' '%s' places %u stages %u minutes %.17g range %.17g %.17g",
            check->name, model->facts[check->fact].name, check->ask, check->title, or_none(check->how),
            or_none(check->picture), or_none(check->source), check->places, check->stages, check->minutes,
            check->range.low, check->range.high);
        cw_text_format(line, " lasting %d swapped %.17g with %u blunders %.17g only if ", check->lasting,
                       check->swapped, check->swap_group, check->blunders);
        add_atom(line, model, check->only_if, 0);
        add_atom(line, model, check->first_while, 0);
        for (uint32_t t = 0; t < check->tools.count; t++)
            cw_text_format(line, " tool %s %.17g", model->tools[check->tools.first + t].name,
                           model->tools[check->tools.first + t].error);
        for (uint32_t k = 0; k < check->cautions.count; k++)
            cw_text_format(line, " caution %s",
                           model->cautions[model->caution_lists[check->cautions.first + k]].name);
        add(all, line);
    }
    for (uint32_t i = 1; i <= model->cautions_count; i++) {
        cw_text_format(line, "caution %s '%s' '%s' %d raised %d", model->cautions[i].name,
                       model->cautions[i].say, model->cautions[i].source, model->cautions[i].stop,
                       model->cautions[i].atom != 0);
        add(all, line);
    }
    for (uint32_t i = 1; i <= model->parts_count; i++) {
        cw_text_format(line, "part %s '%s' %d by %s always %d cost %.17g", model->parts[i].name,
                       model->parts[i].title, (int)model->parts[i].where,
                       or_none(model->parts[model->parts[i].replaced_by].name), model->parts[i].always,
                       model->parts[i].cost);
        add(all, line);
    }
}

static void add_signs(cw_text *line, const cw_model *model, cw_run signs)
{
    for (uint32_t i = 0; i < signs.count; i++) {
        const cw_sign *sign = &model->signs[signs.first + i];
        const cw_fact *fact = &model->facts[sign->fact];
        cw_text_format(line, " [%s %d %.17g %.17g", fact->name, (int)sign->kind, sign->mean, sign->sd);
        uint32_t count = sign->kind == CW_SIGN_VALUES ? fact->values.count : sign->patterns.count;
        for (uint32_t k = 0; k < count && sign->kind != CW_SIGN_NORMAL; k++)
            cw_text_format(line, " %.17g", sign->chances[k]);
        cw_text_add(line, "]");
    }
}

static void dump_units(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t i = 1; i <= model->units_count; i++) {
        const cw_unit *unit = &model->units[i];
        cw_text_format(line, "unit %s '%s' '%s' '%s' in %s seen %.17g version %d by %s", unit->name,
                       unit->title, or_none(unit->notes), or_none(unit->source),
                       or_none(model->units[unit->parent].name), unit->seen, unit->version,
                       or_none(model->units[unit->replaced_by].name));
        add_signs(line, model, unit->signs);
        for (uint32_t k = 0; k < unit->data.count; k++) {
            cw_text_add(line, " says ");
            add_datum(line, model, model->unit_data[unit->data.first + k]);
        }
        add(all, line);
    }
}

static void dump_causes(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t i = 1; i <= model->causes_count; i++) {
        const cw_cause *cause = &model->causes[i];
        cw_text_format(line, "cause %u %s '%s' '%s' '%s' part %s seen %.17g rank %u ruled out by ", i,
                       cause->name, cause->title, or_none(cause->because), cause->source,
                       model->parts[cause->part].name, cause->seen, cause->rank);
        add_atom(line, model, cause->ruled_out, 0);
        add_signs(line, model, cause->signs);
        for (uint32_t k = 0; k < cause->shifts.count; k++) {
            cw_text_format(line, " shift %.17g '%s' if ", model->shifts[cause->shifts.first + k].times,
                           or_none(model->shifts[cause->shifts.first + k].because));
            add_atom(line, model, model->shifts[cause->shifts.first + k].atom, 0);
        }
        for (uint32_t k = 0; k < cause->leads_to.count; k++)
            cw_text_format(line, " leads to %s %.17g",
                           model->causes[model->links[cause->leads_to.first + k].to].name,
                           model->links[cause->leads_to.first + k].chance);
        for (uint32_t k = 0; k < cause->replace.count; k++)
            cw_text_format(line, " replace %s",
                           model->parts[model->part_lists[cause->replace.first + k]].name);
        for (uint32_t k = 0; k < cause->look_also.count; k++)
            cw_text_format(line, " look %s",
                           model->parts[model->part_lists[cause->look_also.first + k]].name);
        for (uint32_t k = 0; k < cause->steps.count; k++)
            cw_text_format(line, " step '%s'", model->words[cause->steps.first + k]);
        add(all, line);
    }
}

/* With their numbers: the order is part of what they mean. */
static void dump_steps(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t i = 1; i <= model->assembly_steps_count; i++) {
        const cw_assembly_step *step = &model->assembly_steps[i];
        cw_text_format(line, "step %u %s '%s' '%s' '%s' '%s' '%s' '%s' '%s' '%s' of %s for %s only if ", i,
                       step->name, step->title, step->action, or_none(step->mistake), or_none(step->tool),
                       or_none(step->figure), or_none(step->picture), or_none(step->because), step->source,
                       or_none(model->parts[step->part].name),
                       or_none(model->assembly_steps[step->instead_of].name));
        add_atom(line, model, step->only_if, 0);
        cw_text_add(line, " shows when ");
        add_atom(line, model, step->shows_when, 0);
        for (uint32_t k = 0; k < step->cautions.count; k++)
            cw_text_format(line, " caution %s",
                           model->cautions[model->caution_lists[step->cautions.first + k]].name);
        for (uint32_t k = 0; k < step->comes_back_as.count; k++)
            cw_text_format(line, " back as %s",
                           model->causes[model->cause_lists[step->comes_back_as.first + k]].name);
        add(all, line);
    }
}

static void dump_words(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t i = 1; i <= model->hints_count; i++) {
        const cw_hint *hint = &model->hints[i];
        cw_text_format(line, "word %s '%s' but not %d denies %d even denied %d", hint->name,
                       hint->say != NULL ? hint->say : "", hint->not_like != 0, hint->before != 0,
                       hint->even_denied);
        lines answers = {0};
        cw_text one = CW_TEXT_INIT(&cw_system_allocator);
        for (uint32_t k = 0; k < hint->suggests.count; k++) {
            const cw_suggestion *suggestion = &model->suggestions[hint->suggests.first + k];
            cw_text_format(&one, "%s is %s", model->checks[suggestion->check].name, suggestion->answer);
            add(&answers, &one);
        }
        cw_text_dispose(&one);
        char *text = join(&answers);
        for (char *at = text; *at != '\0'; at++)
            if (*at == '\n')
                *at = ';';
        cw_text_format(line, " suggests %s", text);
        free(text);
        add(all, line);
    }
}

static void dump_headings(lines *all, cw_text *line, const cw_model *model)
{
    for (uint32_t i = 1; i <= model->headings_count; i++) {
        const cw_heading *heading = &model->headings[i];
        cw_text_format(line, "heading %u %s '%s'", i, heading->name, heading->title);
        for (uint32_t k = 0; k < heading->facts.count; k++)
            cw_text_format(line, " %s", model->facts[model->heading_facts[heading->facts.first + k]].name);
        add(all, line);
    }
}

char *dump(const cw_model *model)
{
    lines all = {0};
    cw_text line = CW_TEXT_INIT(&cw_system_allocator);
    dump_facts(&all, &line, model);
    dump_rules(&all, &line, model);
    dump_checks(&all, &line, model);
    dump_units(&all, &line, model);
    dump_causes(&all, &line, model);
    dump_words(&all, &line, model);
    dump_steps(&all, &line, model);
    dump_headings(&all, &line, model);
    cw_text_format(&line, "layers %u not listed %.17g idle %.17g patterns %u", model->layers_count,
                   model->not_listed, model->idle, model->patterns_count);
    add(&all, &line);
    const cw_costs *costs = &model->costs;
    cw_text_format(&line, "hour %.17g comeback %.17g %.17g exchange %.17g %.17g reach", costs->hour,
                   costs->comeback.minutes, costs->comeback.money, costs->exchange.minutes,
                   costs->exchange.money);
    for (int where = 0; where < CW_WHERE_COUNT; where++)
        cw_text_format(&line, " %.17g", costs->reach[where]);
    add(&all, &line);
    cw_text_dispose(&line);
    return join(&all);
}
