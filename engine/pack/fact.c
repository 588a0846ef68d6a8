/* Checks' answers and facts: what they are called, what values they have. */
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

fact_def *fact_at(const compiler *c, size_t index)
{
    return *CW_VEC_AT(&c->facts, fact_def *, index);
}

bool is_finite(const fact_def *fact)
{
    return fact->kind == CW_YES_OR_NO || fact->kind == CW_CHOICE || fact->kind == CW_COUNT;
}

uint32_t find_value(const fact_def *fact, const char *text, size_t size)
{
    for (uint32_t i = 0; i < fact->value_count; i++)
        if (fact->values[i].name[0] == text[0] && strlen(fact->values[i].name) == size &&
            memcmp(fact->values[i].name, text, size) == 0)
            return i;
    return UINT32_MAX;
}

static void list_values(compiler *c, cw_diag *diag, const fact_def *fact)
{
    enum { FEW = 12 };
    if (fact->value_count > FEW || fact->kind == CW_COUNT) {
        if (fact->kind == CW_COUNT)
            help(c, diag, "it counts from %.0f to %.0f", fact->range.low, fact->range.high);
        return;
    }
    cw_text list = CW_TEXT_INIT(c->allocator);
    for (uint32_t i = 0; i < fact->value_count; i++)
        cw_text_format(&list, "%s%s", i == 0 ? "" : ", ", fact->values[i].name);
    if (list.status == CW_OK)
        help(c, diag, "its values are: %s", cw_text_get(&list));
    else
        c->no_memory = true;
    cw_text_dispose(&list);
}

uint32_t read_value(compiler *c, const fact_def *fact, const cw_node *node, size_t at, size_t size)
{
    uint32_t value = find_value(fact, node->text + at, size);
    if (value != UINT32_MAX || (fact->implicit && c->holes))
        return value;
    cw_diag *diag = complain(c, UNKNOWN_VALUE, spot(c, node, at, size), "'%.*s' is not a value of '%s'",
                             (int)size, node->text + at, fact->at->name);
    const char *word = cw_arena_text(c->arena, node->text + at, size);
    if (word == NULL) {
        c->no_memory = true;
        return UINT32_MAX;
    }
    cw_nearest nearest = cw_nearest_start(word);
    for (uint32_t i = 0; i < fact->value_count && fact->kind != CW_COUNT; i++)
        cw_nearest_try(&nearest, fact->values[i].name);
    size_t blank = strcspn(word, " ");
    if (word[blank] != '\0' && find_value(fact, word, blank) != UINT32_MAX)
        help(c, diag, "a ':' belongs behind the value: '%.*s: %s'", (int)blank, word, word + blank + 1);
    else if (nearest.best != NULL)
        help_nearest(c, diag, &nearest);
    else
        list_values(c, diag, fact);
    return UINT32_MAX;
}

static int by_name(const void *a, const void *b)
{
    return strcmp((*(fact_def *const *)a)->at->name, (*(fact_def *const *)b)->at->name);
}

/* How many from `at` on are in order. */
static size_t run_from(fact_def *const *facts, size_t at, size_t count)
{
    size_t end = at + 1;
    while (end < count && by_name(&facts[end - 1], &facts[end]) < 0)
        end++;
    return end - at;
}

/* The first `left` and the rest, each in order. */
static void merge_runs(fact_def **facts, size_t left, size_t count, fact_def **aside)
{
    size_t from = 0, other = left, to = 0;
    memcpy(aside, facts, left * sizeof(fact_def *));
    while (from < left)
        facts[to++] =
            other < count && by_name(&facts[other], &aside[from]) < 0 ? facts[other++] : aside[from++];
}

/* Those declared are sorted already, and those that only rules speak of come as their rules do: mostly
 * sorted too. */
static void put_in_order(compiler *c)
{
    const size_t count = c->facts.count;
    fact_def **facts = c->facts.items;
    const size_t left = count == 0 ? 0 : run_from(facts, 0, count);
    if (left == count)
        return;
    fact_def **aside =
        left + run_from(facts, left, count) == count ? take(c, left, sizeof(fact_def *)) : NULL;
    if (aside != NULL)
        merge_runs(facts, left, count, aside);
    else
        qsort(facts, count, sizeof(fact_def *), by_name);
}

void sort_facts(compiler *c)
{
    put_in_order(c);
    for (size_t i = 0; i < c->facts.count; i++) {
        const char *name = fact_at(c, i)->at->name;
        uint32_t number = cw_names_find(c->names, name, strlen(name));
        *CW_VEC_AT(&c->by_name[SECTION_checks], uint32_t, number) = (uint32_t)i + 1;
    }
}

bool has_choices(const fact_def *fact, const char *const *words, uint32_t count)
{
    bool right = fact->kind == CW_CHOICE && fact->value_count == count;
    for (uint32_t i = 0; i < count && right; i++)
        right = strcmp(fact->values[i].name, words[i]) == 0;
    return right;
}

/* A verdict is what is decided about a part. It rests on readings that are signs themselves, so it is none.
 */
static bool read_verdict(compiler *c, fact_def *fact, const cw_node *const *fields)
{
    static const char *const words[CW_VERDICT_COUNT] = {"reuse", "rework", "replace"};
    const char *name = fact->at->name;
    uint32_t part;
    bool good = read_name(c, fields[key_fact_verdict_on], SECTION_parts, &part);
    bool right = has_choices(fact, words, CW_VERDICT_COUNT);
    if (!right) {
        cw_diag *diag = complain(c, VERDICT_CHOICES, fact->at->key->span,
                                 "'%s' is a verdict, so its choices are reuse, rework and replace", name);
        help(c, diag, "write 'choices: [reuse, rework, replace]', in this order: from normal to worst");
    }
    const cw_node *unwanted[] = {fields[key_fact_normal], fields[key_fact_background]};
    for (int i = 0; i < 2; i++)
        if (unwanted[i] != NULL)
            help(c,
                 complain(c, VERDICT_AS_SIGN, unwanted[i]->span,
                          "'%s' means nothing here: '%s' is a verdict, and a verdict is no sign",
                          i == 0 ? "normal" : "background", name),
                 "take it out");
    fact->verdict_on = good ? part + 1 : 0;
    fact->context = true;
    return good && right;
}

static void read_fact(compiler *c, fact_def *fact)
{
    const cw_node *fields[keys_of_fact];
    if (!read_fields(c, &shape_fact, fact->at->name, fact->at->key->span, fact->at->body, fields))
        return;
    fact->title = read_optional_text(c, fields[key_fact_title], "title");
    bool each = read_each(c, fields[key_fact_each], &fact->each);
    kind_nodes nodes = {.choices = fields[key_fact_choices],
                        .count = fields[key_fact_count],
                        .measure = fields[key_fact_measure],
                        .unit = fields[key_fact_unit],
                        .normal = fields[key_fact_normal],
                        .background = fields[key_fact_background]};
    bool proof = fields[key_fact_proof] != NULL;
    bool verdict = fields[key_fact_verdict_on] != NULL && !proof;
    if (verdict || proof)
        nodes.normal = nodes.background = NULL;
    fact->whole = read_kind(c, fact, &nodes) && each;
    if (verdict && fact->whole)
        fact->whole = read_verdict(c, fact, fields);
    if (proof && fact->whole)
        fact->whole = read_proof(c, fact, fields);
    if (!proof)
        refuse_without_proof(c, fact, fields);
}

static void read_check(compiler *c, fact_def *fact)
{
    check_def *check = take(c, 1, sizeof *check);
    if (check == NULL)
        return;
    fact->check = check;
    check->fact = fact;
    check->mentions = CW_VEC_INIT(c->allocator, fact_def *);
    if (!read_fields(c, &shape_check, fact->at->name, fact->at->key->span, fact->at->body, check->fields))
        return;
    const cw_node *const *fields = check->fields;
    fact->title = read_optional_text(c, fields[key_check_title], "title");
    if (fields[key_check_context] != NULL)
        read_yes(c, fields[key_check_context], "context", &fact->context);
    bool each = read_each(c, fields[key_check_each], &fact->each);
    kind_nodes nodes = {.choices = fields[key_check_choices],
                        .count = fields[key_check_count],
                        .measure = fields[key_check_measure],
                        .unit = fields[key_check_unit],
                        .range = fields[key_check_range],
                        .reading_error = fields[key_check_reading_error],
                        .text = fields[key_check_text],
                        .normal = fields[key_check_normal],
                        .background = fields[key_check_background]};
    fact->whole = read_kind(c, fact, &nodes) && each;
}

/* Facts that only rules speak of: yes or no if that is all they conclude, else the values in order of the
 * alphabet. */
static int by_text(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void settle_implicit(compiler *c, fact_def *fact)
{
    size_t count = fact->seen_values.count;
    const char **seen = fact->seen_values.items;
    bool yes_or_no = true;
    for (size_t i = 0; i < count; i++)
        yes_or_no &= strcmp(seen[i], "yes") == 0 || strcmp(seen[i], "no") == 0;
    if (count > MOST_CHOICES) {
        help(c,
             complain(c, TOO_MANY, fact->at->key->span,
                      "rules conclude %zu values of '%s'; at most %d are allowed", count, fact->at->name,
                      MOST_CHOICES),
             "let the rules conclude fewer");
        return;
    }
    if (count > 0)
        qsort(seen, count, sizeof *seen, by_text);
    if (yes_or_no)
        count = 2;
    cw_value_spec *values = take(c, count, sizeof *values);
    if (values == NULL)
        return;
    for (size_t i = 0; i < count; i++)
        values[i].name = yes_or_no ? (i == 0 ? "no" : "yes") : seen[i];
    fact->kind = yes_or_no ? CW_YES_OR_NO : CW_CHOICE;
    fact->values = values;
    fact->value_count = (uint32_t)count;
    fact->whole = !fact->spoilt;
}

void read_facts(compiler *c)
{
    uint32_t number = 0;
    for (size_t i = 0; i < c->facts.count && !c->no_memory; i++) {
        fact_def *fact = fact_at(c, i);
        if (is_which_unit(fact->at->name))
            make_which_unit(c, fact);
        else if (fact->implicit)
            settle_implicit(c, fact);
        else if (fact->at->is_check)
            read_check(c, fact);
        else
            read_fact(c, fact);
        fact->number = number;
        number += fact->each.ground;
    }
    learn_backgrounds(c);
}

static void emit_fact(compiler *c, fact_def *fact)
{
    for (uint32_t i = 0; i < fact->each.ground && !c->no_memory; i++) {
        cw_fact made = {.name = ground_name(c, fact->at->name, &fact->each, i),
                        .title = ground_text(c, fact->title, &fact->each, i),
                        .kind = fact->kind,
                        .unit = fact->unit,
                        .dimension = fact->dimension,
                        .context = fact->context,
                        .verdict_on = fact->verdict_on,
                        .proof = fact->proof,
                        .optional = fact->optional,
                        .span = fact->at->key->span};
        if (c->no_memory)
            return;
        cw_fact_id id = cw_builder_fact(c->builder, &made, fact->values, fact->value_count, fact->background);
        if (i == 0)
            fact->first = id;
        c->no_memory |= id == 0;
    }
}

void emit_facts(compiler *c)
{
    for (size_t i = 0; i < c->facts.count; i++)
        if (fact_at(c, i)->whole)
            emit_fact(c, fact_at(c, i));
}
