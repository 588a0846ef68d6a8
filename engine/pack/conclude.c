/* What rules conclude: facts that nobody declared are found here first, then each conclusion is read. */
#include "pack/inside.h"

#include <string.h>

static bool is_formula(const cw_node *node)
{
    return node->kind == CW_NODE_SCALAR && node->size > 0 && node->text[0] == '=';
}

/* The fact of this name, made if rules are the first to speak of it; NULL for one that is declared or cannot
 * be. */
static fact_def *implicit_fact(compiler *c, const rule_def *rule, const cw_node *key)
{
    uint32_t index = find_entry(c, SECTION_checks, key->text, key->size);
    if (index != UINT32_MAX)
        return fact_at(c, index)->implicit ? fact_at(c, index) : NULL;
    if (!name_is_valid(key->text, key->size))
        return NULL;
    fact_def *fact = take(c, 1, sizeof *fact);
    entry *at = take(c, 1, sizeof *at);
    if (fact == NULL || at == NULL)
        return NULL;
    *at = (entry){.name = key->text, .key = key, .body = key, .pack = rule->at->pack};
    *fact = (fact_def){.at = at, .implicit = true, .each = rule->each};
    fact->seen_values = CW_VEC_INIT(c->allocator, const char *);
    declare_name(c, SECTION_checks, key->text, key->size, (uint32_t)c->facts.count);
    fact_def **slot = append(c, &c->facts);
    if (slot == NULL)
        return NULL;
    *slot = fact;
    return fact;
}

static void same_things(compiler *c, const rule_def *rule, const cw_node *key, fact_def *fact)
{
    bool same = fact->each.count == rule->each.count;
    for (uint32_t i = 0; same && i < rule->each.count; i++)
        same = fact->each.kinds[i] == rule->each.kinds[i];
    if (same)
        return;
    fact->spoilt = true;
    cw_diag *diag = complain(c, EACH_MISMATCH, key->span,
                             "'%s' is concluded here for other things than elsewhere", key->text);
    cw_diag_second(c->diags, diag, fact->at->key->span, "elsewhere");
    help(c, diag, "declare it under facts, with 'each' or without");
}

static void note_value(compiler *c, fact_def *fact, const cw_node *value)
{
    if (!value_is_valid(value->text, value->size) || strcmp(value->text, "known") == 0) {
        cw_diag *diag = complain(c, BAD_NAME, value->span, "'%s' cannot be a value", value->text);
        help(c, diag, "use small letters, digits and '_'");
        fact->spoilt = true;
        return;
    }
    for (size_t i = 0; i < fact->seen_values.count; i++)
        if (strcmp(*CW_VEC_AT(&fact->seen_values, const char *, i), value->text) == 0)
            return;
    const char **slot = append(c, &fact->seen_values);
    if (slot != NULL)
        *slot = value->text;
}

void collect_conclusions(compiler *c, rule_def *rule)
{
    const cw_node *then = rule->fields[key_rule_then];
    if (then == NULL || then->kind != CW_NODE_MAP || !rule->whole)
        return;
    for (size_t i = 0; i < then->size && !c->no_memory; i++) {
        const cw_node *key = cw_node_key(then, i), *value = cw_node_item(then, i);
        if (value->kind != CW_NODE_SCALAR || is_formula(value) || value->size == 0)
            continue;
        fact_def *fact = implicit_fact(c, rule, key);
        if (fact == NULL)
            continue;
        same_things(c, rule, key, fact);
        note_value(c, fact, value);
    }
}

static bool wrong_conclusion(compiler *c, const cw_node *value, const fact_def *fact)
{
    cw_diag *diag = complain(c, WRONG_TEST, value->span, "this cannot be concluded of '%s'", fact->at->name);
    if (fact->kind == CW_MEASURE)
        help(c, diag, "it is measured: write '= ' and a formula");
    else if (fact->kind == CW_WHICH_UNIT)
        help(c, diag, "which unit is in hand is said by whoever has it, never concluded");
    else if (fact->kind == CW_STAMPED)
        help(c, diag, "it is a text that only a person can read");
    else
        help(c, diag, "write one of its values");
    return false;
}

static bool read_outcome(compiler *c, rule_def *rule, const cw_node *value, conclusion *then)
{
    const fact_def *fact = then->ref.fact;
    if (value->kind == CW_NODE_MAP && fact->kind != CW_STAMPED && fact->kind != CW_WHICH_UNIT)
        return read_reading(c, rule, value, then);
    if (value->kind != CW_NODE_SCALAR || value->size == 0 || fact->kind == CW_STAMPED ||
        fact->kind == CW_WHICH_UNIT || (fact->kind == CW_MEASURE) != is_formula(value))
        return wrong_conclusion(c, value, fact);
    if (fact->kind == CW_MEASURE) {
        const scope_def scope = scope_of(&rule->each);
        then->formula = value;
        return check_formula(c, &scope, value, fact, &rule->mentions);
    }
    then->value = read_value(c, fact, value, 0, value->size);
    return then->value != UINT32_MAX;
}

static void note_concluder(compiler *c, fact_def *fact, rule_def *rule)
{
    concluder *link = take(c, 1, sizeof *link);
    if (link == NULL)
        return;
    *link = (concluder){rule, fact->rules};
    fact->rules = link;
}

/* A fact that only a formula works out must be declared: nothing else says its dimension. */
static bool undeclared_measure(compiler *c, const cw_node *key, const cw_node *value)
{
    if (!is_formula(value) || find_entry(c, SECTION_checks, key->text, key->size) != UINT32_MAX || c->holes ||
        !name_is_valid(key->text, key->size))
        return false;
    cw_diag *diag =
        complain(c, UNKNOWN_NAME, key->span, "'%s' is worked out here but declared nowhere", key->text);
    help(c, diag, "declare it under facts, with 'measure' and 'unit'");
    return true;
}

void read_conclusions(compiler *c, rule_def *rule)
{
    const cw_node *map = rule->fields[key_rule_then];
    if (map == NULL)
        return;
    if (map->kind != CW_NODE_MAP || map->size == 0) {
        help(c, complain(c, WRONG_SHAPE, map->span, "'then' is a map of fact to value"),
             "write '{fact: value}', as '{ripple_state: high}'");
        rule->whole = false;
        return;
    }
    const scope_def scope = scope_of(&rule->each);
    rule->then = take_passing(c, map->size, sizeof *rule->then);
    for (size_t i = 0; i < map->size && rule->then != NULL; i++) {
        conclusion *then = &rule->then[rule->then_count];
        const cw_node *key = cw_node_key(map, i), *value = cw_node_item(map, i);
        bool good = !undeclared_measure(c, key, value);
        if (good) {
            reference_problem problem;
            bool used = false;
            uint32_t index = find_entry(c, SECTION_checks, key->text, key->size);
            if (index != UINT32_MAX)
                used = fact_at(c, index)->used;
            good = resolve(c, &scope, key->text, key->size, &then->ref, &problem);
            if (!good)
                tell_problem(c, key, 0, &problem);
            else if (index != UINT32_MAX)
                then->ref.fact->used = used; /* to be concluded is not to be asked for */
            good = good && read_outcome(c, rule, value, then);
        }
        if (then->ref.fact != NULL)
            note_concluder(c, then->ref.fact, rule);
        if (good)
            rule->then_count++;
        else
            rule->whole = false;
    }
}
