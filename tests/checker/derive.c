/* Layers and the fixpoint within each, round after round. */
#include "checker/inside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- layers: a node is above what it needs, and one higher than what it needs absent or reads as a number
 * --- */

typedef struct need {
    checker *c;
    size_t layer; /* the least layer for what rests on this */
    bool strict;
} need;

static void need_node(need *n, size_t node, bool strict)
{
    size_t least = n->c->layers[node] + (strict || n->strict ? 1 : 0);
    n->layer = least > n->layer ? least : n->layer;
}

static void need_condition(need *n, const tree *condition, const bound *scope);
static void need_member(need *n, const member *m, const bound *scope);

static void need_part(void *context, const member *part, const tree *condition, const bound *scope)
{
    if (part != NULL)
        need_member(context, part, scope);
    else
        need_condition(context, condition, scope);
}

static void need_member(need *n, const member *m, const bound *scope)
{
    bool strict = n->strict;
    if (m->form != COND_TEST) {
        n->strict |= m->form == COND_NONE;
        ck_member_parts(n->c, m, scope, need_part, n);
        n->strict = strict;
        return;
    }
    const fact *f = ck_resolve(n->c, m->fact, scope);
    if (f->kind == FACT_MEASURE || f->kind == FACT_TEXT || f->kind == FACT_UNIT) {
        need_node(n, f->node, true);
        return;
    }
    size_t values[MAX_TESTED], count = ck_tested_values(f, m->node, values);
    for (size_t i = 0; i < count; i++)
        need_node(n, f->node + values[i], false);
}

static void need_condition(need *n, const tree *condition, const bound *scope)
{
    for (size_t i = 0; i < condition->count; i++) {
        member m = ck_member_at(condition, i);
        need_member(n, &m, scope);
    }
}

static void need_fact(void *context, fact *f)
{
    for (size_t v = 0; v < (f->value_count > 0 ? f->value_count : 1); v++)
        need_node(context, f->node + v, true);
}

static size_t caution_node(const checker *c, const char *name)
{
    for (size_t i = 0; i < c->caution_count; i++)
        if (strcmp(c->cautions[i], name) == 0)
            return c->node_count + i;
    ck_die("no caution %s", name);
}

static void add_head(ground_rule *rule, size_t node, const tree *conclusion)
{
    rule->heads = ck_grow(rule->heads, rule->head_count, sizeof *rule->heads);
    rule->heads[rule->head_count++] = (head){node, conclusion};
}

/* What the rule concludes: values, numbers, cautions. */
static void find_heads(const checker *c, ground_rule *rule)
{
    const tree *then = ck_tree_get(rule->body, "then"), *cautions = ck_tree_get(rule->body, "cautions");
    for (size_t i = 0; then != NULL && i < then->count; i++) {
        const fact *f = ck_resolve(c, then->keys[i]->text, &rule->scope);
        const tree *value = then->items[i];
        if (f->kind == FACT_MEASURE)
            add_head(rule, f->node, value);
        else if (!ck_is_reading(value))
            add_head(rule, f->node + ck_find_value(f, value->text), value);
        for (size_t v = 0; ck_is_reading(value) && v < f->value_count; v++)
            add_head(rule, f->node + v, value);
    }
    for (size_t i = 0; cautions != NULL && i < (cautions->kind == TREE_LIST ? cautions->count : 1); i++) {
        const tree *name = cautions->kind == TREE_LIST ? cautions->items[i] : cautions;
        add_head(rule, caution_node(c, name->text), NULL);
    }
}

static bool raise_layers(checker *c, const ground_rule *rule)
{
    bool changed = false;
    need n = {.c = c};
    need_condition(&n, ck_tree_get(rule->body, "if"), &rule->scope);
    for (size_t h = 0; h < rule->head_count; h++) {
        const head *to = &rule->heads[h];
        need own = n;
        if (to->conclusion != NULL && ck_is_formula(to->conclusion))
            ck_formula_names(c, to->conclusion->text + 1, &rule->scope, need_fact, &own);
        if (own.layer <= c->layers[to->node])
            continue;
        c->layers[to->node] = own.layer;
        changed = true;
    }
    return changed;
}

void ck_layers_find(checker *c)
{
    size_t nodes = c->node_count + c->caution_count;
    for (size_t r = 0; r < c->rule_count; r++)
        find_heads(c, &c->rules[r]);
    for (bool changed = true; changed;) {
        changed = false;
        for (size_t r = 0; r < c->rule_count; r++)
            changed |= raise_layers(c, &c->rules[r]);
        for (size_t i = 0; i < nodes; i++)
            if (c->layers[i] > nodes)
                ck_die("a circle through an absence");
    }
}

/* --- the fixpoint --- */

static void raise_truth(checker_truth *truth, checker_truth to, bool *changed)
{
    if (to > *truth) {
        *truth = to;
        *changed = true;
    }
}

/* Adds the source, or makes it stronger. */
static void conclude_number(checker *c, fact *f, const ground_rule *rule, const tree *formula,
                            checker_truth truth, bool *changed)
{
    size_t id = (size_t)(rule - c->rules) + 1;
    source made = {.rule = id};
    checker_truth inputs = CHECKER_YES;
    if (truth == CHECKER_NO)
        return;
    if (ck_is_reading(formula)
            ? !ck_reads_number(c, f, formula, &rule->scope, &made.number)
            : !ck_formula_value(c, formula->text + 1, &rule->scope, &made.number, &made.error, &inputs))
        return;
    made.truth = truth < inputs ? truth : inputs;
    for (size_t s = 0; s < f->source_count; s++)
        if (f->sources[s].rule == id) {
            raise_truth(&f->sources[s].truth, made.truth, changed);
            return;
        }
    f->sources = ck_grow(f->sources, f->source_count, sizeof *f->sources);
    f->sources[f->source_count++] = made;
    *changed = true;
}

/* True when something came of the rule in this layer. */
static bool fire(checker *c, const ground_rule *rule, size_t layer)
{
    bool changed = false, asked = false;
    checker_truth truth = CHECKER_NO;
    for (size_t h = 0; h < rule->head_count; h++) {
        size_t node = rule->heads[h].node;
        if (c->layers[node] != layer)
            continue;
        if (!asked)
            truth = ck_condition_truth(c, ck_tree_get(rule->body, "if"), &rule->scope);
        asked = true;
        if (node >= c->node_count) {
            raise_truth(&c->caution_truths[node - c->node_count], truth, &changed);
            continue;
        }
        fact *f = &c->facts[c->fact_of_node[node]];
        const tree *conclusion = rule->heads[h].conclusion;
        if (f->kind == FACT_MEASURE)
            conclude_number(c, f, rule, conclusion, truth, &changed);
        else if (!ck_is_reading(conclusion) || ck_reads_value(c, f, conclusion, &rule->scope, node - f->node))
            raise_truth(&f->truths[node - f->node], truth, &changed);
    }
    return changed;
}

static void forget(checker *c)
{
    for (size_t i = 0; i < c->caution_count; i++)
        c->caution_truths[i] = CHECKER_NO;
    for (size_t i = 0; i < c->fact_count; i++) {
        fact *f = &c->facts[i];
        for (size_t v = 0; v < f->value_count; v++)
            f->truths[v] = CHECKER_NO;
        free(f->sources);
        f->sources = NULL;
        f->source_count = 0;
        if (f->answer.kind == CHECKER_CHOICE && f->kind != FACT_UNIT)
            f->truths[ck_find_value(f, f->answer.value)] = CHECKER_YES;
        if (f->answer.kind != CHECKER_NUMBER)
            continue;
        f->sources = ck_grow(NULL, 0, sizeof *f->sources);
        f->sources[f->source_count++] = (source){0, CHECKER_YES, f->answer.number, f->answer.error};
    }
    ck_unit_data(c);
}

void checker_derive(checker *c)
{
    size_t highest = 0;
    for (size_t i = 0; i < c->node_count + c->caution_count; i++)
        highest = c->layers[i] > highest ? c->layers[i] : highest;
    forget(c);
    for (size_t layer = 0; layer <= highest; layer++) {
        for (bool changed = true; changed;) {
            changed = false;
            for (size_t r = 0; r < c->rule_count; r++)
                changed |= fire(c, &c->rules[r], layer);
        }
    }
}

/* --- answers and questions --- */

static double reading_error(const fact *f, const char *tool)
{
    const tree *errors = ck_tree_get(f->body, "reading_error");
    double error = 0;
    const char *text = NULL;
    if (errors == NULL)
        return 0;
    if (errors->kind == TREE_WORD)
        text = errors->text;
    else if (tool != NULL && ck_tree_word(errors, tool) != NULL)
        text = ck_tree_word(errors, tool);
    else
        text = errors->items[0]->text;
    /* A difference: two temperatures on the scale are one step apart. */
    double zero = 0;
    ck_quantity_read(text, ck_tree_word(f->body, "unit"), &error);
    char none[64] = "0 ";
    const char *unit = text + strcspn(text, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ%\"\302");
    snprintf(none + 2, sizeof none - 2, "%s", unit);
    ck_quantity_read(none, ck_tree_word(f->body, "unit"), &zero);
    return error - zero;
}

static bool says(const tree *word, const char *text)
{
    return word != NULL && word->kind == TREE_WORD && strcmp(word->text, text) == 0;
}

/* A value by its name, its title or one of its other words. */
static bool choose(const fact *f, const char *text, const char **value)
{
    const tree *choices = ck_tree_get(f->body, "choices");
    size_t v = ck_find_value(f, text);
    for (size_t i = 0;
         v == f->value_count && choices != NULL && choices->kind == TREE_MAP && i < choices->count; i++) {
        const tree *body = choices->items[i], *also = ck_tree_get(body, "also");
        bool met = says(body, text) || says(ck_tree_get(body, "title"), text) || says(also, text);
        for (size_t k = 0; also != NULL && k < also->count; k++)
            met |= says(also->items[k], text);
        if (met)
            v = i;
    }
    *value = v < f->value_count ? f->values[v] : NULL;
    return *value != NULL;
}

bool checker_answer(checker *c, const char *name, const char *text, const char *tool)
{
    fact *f = ck_find_fact(c, name);
    if (f == NULL || !f->check)
        return false;
    checker_reading reading = {.kind = CHECKER_CANT_TELL};
    if (strcmp(text, "can't tell") == 0) {
        f->answer = reading;
        return true;
    }
    if (f->kind == FACT_MEASURE) {
        reading.kind = CHECKER_NUMBER;
        if (!ck_quantity_read(text, ck_tree_word(f->body, "unit"), &reading.number))
            return false;
        reading.error = reading_error(f, tool);
    } else if (f->kind == FACT_TEXT) {
        reading.kind = CHECKER_TEXT;
        free(f->text);
        f->text = ck_copy_text(text, strlen(text));
        reading.value = f->text;
    } else if (f->kind == FACT_UNIT) {
        reading.kind = CHECKER_CHOICE;
        if (!ck_unit_choose(c, text, &reading.value))
            return false;
    } else {
        reading.kind = CHECKER_CHOICE;
        if (!choose(f, text, &reading.value))
            return false;
    }
    f->answer = reading;
    return true;
}

void checker_withdraw(checker *c, const char *name)
{
    fact *f = ck_find_fact(c, name);
    if (f != NULL)
        f->answer = (checker_reading){.kind = CHECKER_NOTHING};
}

checker_reading checker_read(const checker *c, const char *name)
{
    const fact *f = ck_find_fact(c, name);
    return f == NULL ? (checker_reading){.kind = CHECKER_NOTHING} : f->answer;
}

checker_truth checker_value(const checker *c, const char *name, const char *value)
{
    const fact *f = ck_find_fact(c, name);
    if (f == NULL)
        ck_die("no fact %s", name);
    size_t v = ck_find_value(f, value);
    return v < f->value_count ? f->truths[v] : CHECKER_NO;
}

checker_known checker_number(const checker *c, const char *name, double *number, double *error)
{
    const fact *f = ck_find_fact(c, name);
    checker_truth truth;
    if (f == NULL)
        ck_die("no fact %s", name);
    return ck_settle_number(f, number, error, &truth);
}

bool checker_has_source(const checker *c, const char *name, double number, double error)
{
    const fact *f = ck_find_fact(c, name);
    for (size_t i = 0; f != NULL && i < f->source_count; i++) {
        const source *one = &f->sources[i];
        if (fabs(number - one->number) <= 1e-9 * fabs(one->number) &&
            fabs(error - one->error) <= 1e-9 * one->error + 1e-13 * fabs(one->number))
            return true;
    }
    return false;
}

checker_truth checker_caution(const checker *c, const char *caution)
{
    return c->caution_truths[caution_node(c, caution) - c->node_count];
}

/* The things in the brackets of a ground name, bound as the section's `each` says. */
static bound scope_of(const tree *body, const char *ground)
{
    const tree *each = ck_tree_get(body, "each");
    bound out = {.count = 0};
    const char *at = strchr(ground, '[');
    for (size_t i = 0; at != NULL && each != NULL && i < (each->kind == TREE_LIST ? each->count : 1); i++) {
        out.bindings[out.count++] =
            (binding){each->kind == TREE_LIST ? each->items[i]->text : each->text, at + 1};
        at = strchr(at + 1, ',');
    }
    return out;
}

checker_truth checker_condition(const checker *c, const char *section, const char *name, const char *key)
{
    size_t base = strcspn(name, "[");
    for (size_t i = 0; i < c->root_count; i++) {
        const tree *map = ck_tree_get(c->roots[i], section);
        for (size_t e = 0; map != NULL && e < map->count; e++) {
            const tree *body = map->items[e], *condition = ck_tree_get(body, key);
            if (strlen(map->keys[e]->text) != base || strncmp(map->keys[e]->text, name, base) != 0)
                continue;
            if (condition == NULL)
                return CHECKER_YES;
            bound in = scope_of(body, name);
            for (size_t b = 0; b < in.count; b++) {
                const kind_of_thing *kind = ck_find_kind(c, in.bindings[b].kind);
                size_t length = strcspn(in.bindings[b].thing, ",]");
                for (size_t t = 0; t < kind->things->count; t++)
                    if (strlen(kind->things->items[t]->text) == length &&
                        strncmp(kind->things->items[t]->text, in.bindings[b].thing, length) == 0) {
                        in.bindings[b].thing = kind->things->items[t]->text;
                        break;
                    }
            }
            return ck_condition_truth(c, condition, &in);
        }
    }
    return CHECKER_YES;
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

char **checker_lines(const checker *c, size_t *count)
{
    char **lines = NULL;
    *count = 0;
    for (size_t i = 0; i < c->fact_count; i++) {
        const fact *f = &c->facts[i];
        char line[600];
        double number, error;
        checker_truth truth;
        for (size_t v = 0; v < f->value_count; v++) {
            if (f->truths[v] == CHECKER_NO)
                continue;
            snprintf(line, sizeof line, "%s=%s%s", f->name, f->values[v],
                     f->truths[v] == CHECKER_YES ? "" : "?");
            lines = ck_grow(lines, *count, sizeof *lines);
            lines[(*count)++] = ck_copy_text(line, strlen(line));
        }
        if (f->kind != FACT_MEASURE || ck_settle_number(f, &number, &error, &truth) == CHECKER_UNKNOWN)
            continue;
        snprintf(line, sizeof line, "%s=%.9g%s", f->name, number, truth == CHECKER_YES ? "" : "?");
        lines = ck_grow(lines, *count, sizeof *lines);
        lines[(*count)++] = ck_copy_text(line, strlen(line));
    }
    if (*count > 0)
        qsort(lines, *count, sizeof *lines, by_text);
    return lines;
}
