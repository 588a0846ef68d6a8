#include "chain/world.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const patterns[] = {"^ab", "[12]$", "cd", "^(a|c).*2"};
const char *const world_texts[6] = {"AB1", "ab2", "cd1", "CD3", "xabx", ""};

/* --- making worlds --- */

static uint32_t add_atom(world *w, world_atom atom)
{
    for (uint32_t i = 0; i < w->atom_count && atom.kind != CW_ATOM_STEP; i++) {
        const world_atom *other = &w->atoms[i];
        if (other->kind == atom.kind && other->fact == atom.fact && other->value == atom.value &&
            other->band.low == atom.band.low && other->band.high == atom.band.high &&
            other->band.low_open == atom.band.low_open && other->band.high_open == atom.band.high_open)
            return i;
    }
    cr_assert_lt(w->atom_count, (uint32_t)MAX_ATOMS);
    w->atoms[w->atom_count] = atom;
    return w->atom_count++;
}

static cw_interval random_band(random_state *random)
{
    double low = random_below(random, 20) * 0.25, high = low + random_below(random, 8) * 0.25;
    switch (random_below(random, 3)) {
    case 0:
        low = -INFINITY;
        break;
    case 1:
        high = INFINITY;
        break;
    }
    return (cw_interval){low, high, isfinite(low) && random_below(random, 2),
                         isfinite(high) && random_below(random, 2)};
}

static bool finite_kind(cw_kind kind)
{
    return kind != CW_MEASURE && kind != CW_STAMPED;
}

/* An atom for a premise of a rule in this group; numbers only from groups below, like what is absent. */
static bool random_premise(world *w, random_state *random, uint32_t group, world_premise *out)
{
    out->absent = random_below(random, 4) == 0;
    uint32_t f = random_below(random, w->fact_count);
    const world_fact *fact = &w->facts[f];
    bool below = out->absent || fact->kind == CW_MEASURE;
    if (below ? fact->group >= group : fact->group > group)
        return false;
    world_atom atom = {.fact = f, .group = fact->group};
    if (random_below(random, 5) == 0) {
        atom.kind = CW_ATOM_KNOWN;
    } else if (finite_kind(fact->kind)) {
        atom.kind = CW_ATOM_VALUE;
        atom.value = random_below(random, fact->values);
    } else if (fact->kind == CW_MEASURE) {
        atom.kind = CW_ATOM_BAND;
        atom.band = random_band(random);
    } else {
        atom.kind = CW_ATOM_LIKE;
        atom.value = random_below(random, 4);
    }
    out->atom = add_atom(w, atom);
    return true;
}

static bool random_step(const world *w, random_state *random, uint32_t group, world_premise *out)
{
    uint32_t a = random_below(random, w->atom_count + 1);
    out->absent = random_below(random, 3) == 0;
    if (a >= w->atom_count || w->atoms[a].kind != CW_ATOM_STEP ||
        (out->absent ? w->atoms[a].group >= group : w->atoms[a].group > group))
        return false;
    out->atom = a;
    return true;
}

static void random_premises(world *w, random_state *random, world_rule *rule)
{
    uint32_t tries = rule->measures ? random_below(random, 3) : 1 + random_below(random, MAX_PREMISES);
    for (uint32_t t = 0; t < tries; t++) {
        world_premise premise;
        bool ok = random_below(random, 5) == 0 ? random_step(w, random, rule->group, &premise)
                                               : random_premise(w, random, rule->group, &premise);
        for (uint32_t i = 0; i < rule->count && ok; i++)
            ok = rule->premises[i].atom != premise.atom;
        if (ok)
            rule->premises[rule->count++] = premise;
    }
    rule->need = rule->count;
    if (!rule->measures && rule->count > 1 && random_below(random, 3) == 0)
        rule->need = 1 + random_below(random, rule->count);
}

/* Inputs of a formula: measures and counts of groups below. */
static bool random_inputs(const world *w, random_state *random, world_rule *rule)
{
    for (uint32_t i = 0, tries = 0; i < MAX_INPUTS; tries++) {
        uint32_t f = random_below(random, w->fact_count);
        if (tries == 20)
            return false;
        if ((w->facts[f].kind == CW_MEASURE || w->facts[f].kind == CW_COUNT) &&
            w->facts[f].group < rule->group)
            rule->inputs[i++] = f;
    }
    return true;
}

static void random_rule(world *w, random_state *random)
{
    world_rule rule = {0};
    uint32_t f = random_below(random, w->fact_count);
    const world_fact *fact = &w->facts[f];
    rule.group = fact->group;
    if (fact->kind == CW_STAMPED)
        return;
    if (random_below(random, 6) == 0) {
        rule.group = random_below(random, w->groups);
        rule.head = add_atom(w, (world_atom){.kind = CW_ATOM_STEP, .group = rule.group});
    } else if (fact->kind == CW_MEASURE) {
        rule.measures = true;
        rule.head = f;
        rule.formula = (world_formula)random_below(random, 5);
        if (!random_inputs(w, random, &rule))
            return;
    } else {
        rule.head = add_atom(w, (world_atom){.kind = CW_ATOM_VALUE,
                                             .fact = f,
                                             .value = random_below(random, fact->values),
                                             .group = fact->group});
    }
    random_premises(w, random, &rule);
    if (rule.count == 0 && !rule.measures && random_below(random, 8) != 0)
        return;
    w->rules[w->rule_count++] = rule;
}

world world_random(random_state *random)
{
    static const cw_kind kinds[] = {CW_YES_OR_NO, CW_YES_OR_NO, CW_CHOICE, CW_COUNT,
                                    CW_MEASURE,   CW_MEASURE,   CW_STAMPED};
    world w = {.groups = 4};
    w.fact_count = 4 + random_below(random, MAX_FACTS - 3);
    for (uint32_t i = 0; i < w.fact_count; i++) {
        world_fact *fact = &w.facts[i];
        snprintf(fact->name, sizeof fact->name, "f%u", i);
        fact->kind = kinds[random_below(random, 7)];
        fact->values = fact->kind == CW_YES_OR_NO ? 2 : 2 + random_below(random, MAX_VALUES - 1);
        fact->check = fact->kind == CW_STAMPED || random_below(random, 3) != 0;
        fact->group = i * w.groups / w.fact_count;
    }
    uint32_t tries = random_below(random, 2) ? MAX_RULES : random_below(random, MAX_RULES);
    for (uint32_t t = 0; t < tries; t++)
        random_rule(&w, random);
    return w;
}

cw_answer world_random_answer(const world *w, random_state *random)
{
    cw_answer answer = {.fact = random_below(random, w->fact_count) + 1};
    const world_fact *fact = &w->facts[answer.fact - 1];
    if (!fact->check)
        return (cw_answer){0};
    static const double errors[] = {0, 0.25,
                                    0.75}; /* exact in binary: no two sources differ by rounding alone */
    answer.cant_tell = random_below(random, 8) == 0;
    if (answer.cant_tell)
        return answer;
    if (finite_kind(fact->kind)) {
        answer.value = random_below(random, fact->values);
    } else if (fact->kind == CW_MEASURE) {
        answer.number = random_below(random, 13) * 0.5;
        answer.error = errors[random_below(random, 3)];
    } else {
        answer.text = world_texts[random_below(random, 6)];
    }
    return answer;
}

/* --- building models --- */

static bool look_up(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    char word[16] = {0};
    memcpy(word, name, size);
    *id = cw_builder_find_fact(context, word);
    *dimension = (cw_dimension){0};
    return *id != 0;
}

static const cw_formula *formula(cw_builder *builder, const world *w, const world_rule *rule)
{
    static const char *const forms[] = {"%s + %s", "%s - %s", "2 * %s", "max(%s, %s)", "%s / %s"};
    char text[64];
    const char *a = w->facts[rule->inputs[0]].name, *b = w->facts[rule->inputs[1]].name;
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
    snprintf(text, sizeof text, forms[rule->formula], a, b);
#pragma GCC diagnostic pop
    cw_formula_problem problem;
    const cw_formula *made =
        cw_formula_parse(cw_builder_arena(builder), text, strlen(text), NULL, look_up, builder, &problem);
    cr_assert_not_null(made, "%s: %s", text, problem.message);
    return made;
}

static void build_facts(cw_builder *builder, const world *w, world_model *out)
{
    static const char *const names[MAX_VALUES] = {"v0", "v1", "v2", "v3"};
    cw_value_spec values[MAX_VALUES];
    for (uint32_t v = 0; v < MAX_VALUES; v++)
        values[v] = (cw_value_spec){.name = names[v], .number = (int32_t)v + 1};
    for (uint32_t i = 0; i < w->fact_count; i++) {
        const world_fact *fact = &w->facts[i];
        out->facts[i] = cw_builder_fact(builder, &(cw_fact){.name = fact->name, .kind = fact->kind}, values,
                                        finite_kind(fact->kind) ? fact->values : 0, NULL);
        if (fact->check)
            cw_builder_check(builder,
                             &(cw_check){.name = fact->name, .fact = out->facts[i], .ask = "?", .title = "t"},
                             &(cw_tool){"eye", 0}, 1, NULL, 0);
    }
}

static void build_atoms(cw_builder *builder, const world *w, world_model *out)
{
    uint32_t pattern_ids[4];
    for (uint32_t p = 0; p < 4; p++) {
        cw_pattern *pattern;
        size_t offset;
        char message[80];
        cr_assert_eq(cw_pattern_new(&cw_system_allocator, patterns[p], strlen(patterns[p]), &pattern, &offset,
                                    message, sizeof message),
                     CW_OK);
        pattern_ids[p] = cw_builder_pattern(builder, pattern);
    }
    for (uint32_t a = 0; a < w->atom_count; a++) {
        const world_atom *atom = &w->atoms[a];
        cw_fact_id fact = out->facts[atom->fact];
        out->atoms[a] = atom->kind == CW_ATOM_VALUE  ? cw_builder_value_atom(builder, fact, atom->value)
                        : atom->kind == CW_ATOM_BAND ? cw_builder_band_atom(builder, fact, atom->band)
                        : atom->kind == CW_ATOM_LIKE
                            ? cw_builder_like_atom(builder, fact, pattern_ids[atom->value])
                        : atom->kind == CW_ATOM_KNOWN ? cw_builder_known_atom(builder, fact)
                                                      : cw_builder_step(builder);
    }
}

world_model world_build(const world *w, const uint32_t *order, const cw_allocator *allocator)
{
    world_model out = {0};
    cw_builder *builder = cw_builder_new(allocator);
    build_facts(builder, w, &out);
    build_atoms(builder, w, &out);
    for (uint32_t i = 0; i < w->rule_count; i++)
        cw_builder_origin(builder, &(cw_origin){.name = "r", .because = "b", .source = "s"});
    for (uint32_t i = 0; i < w->rule_count; i++) {
        uint32_t r = order == NULL ? i : order[i];
        const world_rule *rule = &w->rules[r];
        cw_premise premises[MAX_PREMISES];
        for (uint32_t p = 0; p < rule->count; p++)
            premises[p] = (cw_premise){out.atoms[rule->premises[p].atom], rule->premises[p].absent};
        if (rule->measures)
            cw_builder_measure_rule(builder, out.facts[rule->head], formula(builder, w, rule), premises,
                                    rule->count, r + 1);
        else
            cw_builder_rule(builder, out.atoms[rule->head], premises, rule->count, rule->need, r + 1);
    }
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &out.model, &circle), CW_OK);
    cw_builder_free(builder);
    return out;
}

cw_answer world_answer_for(const world_model *built, const cw_answer *answer)
{
    cw_answer given = *answer;
    given.fact = built->facts[answer->fact - 1];
    return given;
}
