/* Rules: read once as they are written, then made ground for every choice of things. */
#include "pack/inside.h"

#include <string.h>

void collect_rules(compiler *c)
{
    size_t count = c->entries[SECTION_rules].count;
    rule_def *rules = take(c, count, sizeof *rules);
    for (size_t i = 0; i < count && !c->no_memory; i++) {
        rule_def *rule = &rules[i];
        rule->at = CW_VEC_AT(&c->entries[SECTION_rules], entry, i);
        rule->mentions = CW_VEC_INIT(c->allocator, fact_def *);
        rule_def **slot = append(c, &c->rules);
        if (slot == NULL)
            return;
        *slot = rule;
        if (!read_fields(c, &shape_rule, rule->at->name, rule->at->key->span, rule->at->body, rule->fields))
            continue;
        rule->whole = read_each(c, rule->fields[key_rule_each], &rule->each);
        collect_conclusions(c, rule);
    }
}

static void read_rule(compiler *c, rule_def *rule)
{
    const cw_node *const *fields = rule->fields;
    if (!rule->whole)
        return;
    read_optional_text(c, fields[key_rule_because], "because");
    read_optional_text(c, fields[key_rule_source], "source");
    scope_def scope = scope_of(&rule->each);
    if (fields[key_rule_if] != NULL)
        rule->when = read_condition(c, &scope, fields[key_rule_if], &rule->mentions);
    rule->whole = rule->when != NULL && fields[key_rule_because] != NULL && fields[key_rule_source] != NULL;
    if (fields[key_rule_then] == NULL && fields[key_rule_cautions] == NULL) {
        cw_diag *diag =
            complain(c, MISSING_KEY, rule->at->key->span, "'%s' concludes nothing", rule->at->name);
        help(c, diag, "give it 'then' or 'cautions'");
    }
    read_conclusions(c, rule);
    rule->whole &= read_names(c, fields[key_rule_cautions], SECTION_cautions, "cautions", &rule->cautions,
                              &rule->caution_count);
}

/* One origin for all ground rules, or one for each choice of things where the words speak of them. */
static uint32_t origin_for(compiler *c, rule_def *rule, uint32_t ground)
{
    const char *because = rule->fields[key_rule_because]->text;
    bool speaks = rule->each.count > 0 && strchr(because, '{') != NULL;
    if (ground > 0 && !speaks)
        return rule->first_origin;
    cw_origin origin = {rule->at->name, ground_text(c, because, &rule->each, ground),
                        rule->fields[key_rule_source]->text, rule->at->key->span};
    uint32_t made = c->no_memory ? 0 : cw_builder_origin(c->builder, &origin);
    if (made == 0)
        c->no_memory = true;
    if (ground == 0)
        rule->first_origin = made;
    while (!c->no_memory && c->origin_rules.count <= made)
        append(c, &c->origin_rules);
    if (!c->no_memory)
        *CW_VEC_AT(&c->origin_rules, rule_def *, made) = rule;
    return made;
}

static void emit_conclusion(compiler *c, const rule_def *rule, const conclusion *then,
                            const uint32_t *bindings, uint32_t origin)
{
    cw_fact_id fact = then->ref.fact->first + ground_of(c, &then->ref, bindings);
    if (then->reading != NULL) {
        emit_reading(c, then, bindings, origin);
        return;
    }
    if (then->formula == NULL) {
        add_ground_rule(c, cw_builder_value_atom(c->builder, fact, then->value), 0, 0, origin);
        return;
    }
    const scope_def scope = scope_of(&rule->each);
    const cw_formula *formula = make_formula(c, &scope, then->formula, bindings);
    if (formula == NULL)
        return;
    c->ground_rules++;
    if (cw_builder_measure_rule(c->builder, fact, formula, c->premises.items, (uint32_t)c->premises.count,
                                origin) == 0)
        c->no_memory = true;
}

static void emit_rule(compiler *c, rule_def *rule)
{
    uint32_t bindings[MOST_BOUND];
    for (uint32_t ground = 0; ground < rule->each.ground && !c->no_memory && !c->too_many_rules; ground++) {
        choose_things(c, &rule->each, ground, bindings);
        uint32_t origin = origin_for(c, rule, ground);
        c->premises.count = 0;
        ground_all(c, rule->when, bindings, origin);
        for (uint32_t i = 0; i < rule->then_count && !c->no_memory; i++)
            emit_conclusion(c, rule, &rule->then[i], bindings, origin);
        for (uint32_t i = 0; i < rule->caution_count && !c->no_memory; i++)
            add_ground_rule(c, cw_builder_caution_atom(c->builder, rule->cautions[i] + 1), 0, 0, origin);
    }
    c->premises.count = 0;
    if (!c->too_many_rules)
        return;
    cw_diag *diag = complain(c, TOO_MANY, rule->at->key->span,
                             "the packs make more than %d rules once 'each' is expanded", MOST_RULES);
    help(c, diag, "let 'each' run over fewer things");
}

void read_rules(compiler *c)
{
    c->passing = cw_arena_new(c->allocator);
    c->no_memory |= c->passing == NULL;
    for (size_t i = 0; i < c->rules.count && !c->no_memory; i++) {
        rule_def *rule = *CW_VEC_AT(&c->rules, rule_def *, i);
        read_rule(c, rule);
        if (rule->whole && !c->no_memory && !c->too_many_rules)
            emit_rule(c, rule);
        rule->when = NULL;
        rule->then = NULL;
        rule->then_count = 0;
        cw_arena_reset(c->passing);
    }
    cw_arena_free(c->passing);
    c->passing = NULL;
}
