/* Values that rules read of stamped texts: a number, or one of a few words. What is caught is what stands in
 * the pattern's first parentheses. */
#include "pack/inside.h"

#include <ctype.h>
#include <math.h>
#include <string.h>

static bool read_source(compiler *c, rule_def *rule, const cw_node *node, fact_ref *text)
{
    const scope_def scope = scope_of(&rule->each);
    if (read_text(c, node, "read") == NULL || !read_reference(c, &scope, node, text))
        return false;
    fact_def **slot = append(c, &rule->mentions);
    if (slot != NULL)
        *slot = text->fact;
    if (text->fact->kind == CW_STAMPED)
        return true;
    cw_diag *diag = complain(c, WRONG_TEST, node->span, "'%s' is no text to read from", text->fact->at->name);
    help(c, diag, "only a check with 'text: yes' is one");
    return false;
}

static uint32_t read_catching(compiler *c, const cw_node *node)
{
    const uint32_t number = read_pattern(c, node);
    const cw_pattern *pattern = number == 0 ? NULL : cw_builder_pattern_at(c->builder, number);
    if (pattern != NULL && cw_pattern_ready(pattern) != CW_OK)
        c->no_memory = true;
    if (pattern == NULL || c->no_memory || cw_pattern_groups(pattern) > 0)
        return number;
    cw_diag *diag = complain(c, BAD_PATTERN, node->span, "nothing in this pattern says what is to be read");
    help(c, diag, "put parentheses round it: '(\\d+) A'");
    return 0;
}

/* A key that does not go with what is concluded. */
static bool out_of_place(compiler *c, const fact_def *fact, const cw_node *node, const char *key,
                         const char *why)
{
    if (node == NULL)
        return false;
    help(c, complain(c, WRONG_TEST, node->span, "'%s' says nothing here: '%s' %s", key, fact->at->name, why),
         "take it out");
    return true;
}

static bool read_number_of(compiler *c, const fact_def *fact, const cw_node *node,
                           const cw_node *const *fields, cw_reading *out)
{
    const cw_node *unit = fields[key_reading_unit], *range = fields[key_reading_range];
    out->dimension = fact->dimension;
    out->range = (cw_interval){-INFINITY, INFINITY, false, false};
    if (fact->at->is_check)
        out->range = fact->range;
    if (out_of_place(c, fact, fields[key_reading_means], "means", "is measured"))
        return false;
    if (unit == NULL && !cw_dimension_equal(fact->dimension, (cw_dimension){0})) {
        help(c,
             complain(c, MISSING_KEY, node->span,
                      "'%s' is measured, so what is read for it needs the key 'unit'", fact->at->name),
             "say what a bare number is taken for, as 'unit: A'");
        return false;
    }
    if (unit != NULL && (out->unit = read_symbol(c, fact, unit)) == NULL)
        return false;
    return range == NULL || read_range(c, range, fact->dimension, fact->at->name, &out->range);
}

/* Letters and digits as they stand, all else not to be taken for an operator of patterns; a blank for '_'. */
static void add_word(cw_text *out, const char *word, bool plain)
{
    cw_text_add(out, out->size > 0 ? "|" : "");
    for (const char *at = word; *at != '\0'; at++) {
        const unsigned char letter = (unsigned char)*at;
        if (plain && letter == '_')
            cw_text_add(out, "[ _-]?");
        else
            cw_text_format(out, "%s%c", letter < 0x80 && !isalnum(letter) ? "\\" : "", *at);
    }
}

/* The words that people use for the value. */
static void add_usual_words(const fact_def *fact, uint32_t value, cw_text *words)
{
    const cw_value_spec *of = &fact->values[value];
    if (fact->kind == CW_COUNT) {
        cw_text_format(words, "0*%s", of->name);
        return;
    }
    add_word(words, of->name, true);
    if (of->title != NULL)
        add_word(words, of->title, false);
    for (uint32_t i = 0; i < of->also_count; i++)
        add_word(words, of->also[i], false);
}

/* The pattern as written, where its parentheses catch one of the words and nothing else; 0 if it cannot be
 * made. */
static uint32_t narrowed(compiler *c, const cw_node *like, const cw_text *words)
{
    cw_pattern *wanted = NULL, *pattern = NULL;
    const char *whole = cw_arena_format(c->arena, "^\\s*(?:%s)\\s*$", cw_text_get(words));
    cw_status status = words->status;
    if (status == CW_OK && whole != NULL)
        status = take_pattern(c, whole, strlen(whole), &wanted);
    if (status == CW_LIMIT)
        help(c,
             complain(c, TOO_MANY, like->span,
                      "the words that may be read here are longer than %d characters", CW_PATTERN_MAX_SIZE),
             "name fewer in 'means'");
    if (status == CW_OK && wanted != NULL)
        status = take_pattern(c, like->text, like->size, &pattern);
    if (pattern == NULL) {
        cw_pattern_free(wanted);
        c->no_memory |= status != CW_LIMIT;
        return 0;
    }
    cw_pattern_narrow(pattern, wanted);
    const uint32_t number = cw_builder_pattern(c->builder, pattern);
    c->no_memory |= number == 0;
    return number;
}

/* {CW: clockwise}: adds the words of the value. */
static bool add_given_words(compiler *c, const fact_def *fact, const cw_node *means, uint32_t value,
                            cw_text *words)
{
    for (size_t i = 0; i < means->size; i++) {
        const cw_node *name = cw_node_item(means, i);
        const uint32_t meant = read_value(c, fact, name, 0, name->size);
        if (meant == UINT32_MAX)
            return false;
        if (meant == value)
            add_word(words, cw_node_key(means, i)->text, false);
    }
    return true;
}

static bool words_are_sound(compiler *c, const cw_node *means)
{
    if (means == NULL)
        return true;
    if (!read_map(c, means, "means"))
        return false;
    for (size_t i = 0; i < means->size; i++)
        if (read_text(c, cw_node_item(means, i), "means") == NULL)
            return false;
    return true;
}

static bool read_words_of(compiler *c, const fact_def *fact, const cw_node *const *fields, text_reading *out)
{
    const cw_node *means = fields[key_reading_means];
    if (out_of_place(c, fact, fields[key_reading_unit], "unit", "is not measured") ||
        out_of_place(c, fact, fields[key_reading_range], "range", "is not measured") ||
        !words_are_sound(c, means))
        return false;
    uint32_t *patterns = take(c, fact->value_count, sizeof *patterns);
    bool good = patterns != NULL;
    for (uint32_t v = 0; good && v < fact->value_count; v++) {
        cw_text words = CW_TEXT_INIT(c->allocator);
        if (means == NULL)
            add_usual_words(fact, v, &words);
        else
            good = add_given_words(c, fact, means, v, &words);
        if (good && (words.size > 0 || words.status != CW_OK)) {
            patterns[v] = narrowed(c, fields[key_reading_like], &words);
            good = patterns[v] != 0;
        }
        cw_text_dispose(&words);
    }
    out->patterns = patterns;
    return good;
}

bool read_reading(compiler *c, rule_def *rule, const cw_node *node, conclusion *then)
{
    const fact_def *fact = then->ref.fact;
    const cw_node *fields[keys_of_reading];
    text_reading *reading = take(c, 1, sizeof *reading);
    if (reading == NULL || !read_fields(c, &shape_reading, NULL, node->span, node, fields) ||
        fields[key_reading_read] == NULL || fields[key_reading_like] == NULL)
        return false;
    bool good = read_source(c, rule, fields[key_reading_read], &reading->text);
    reading->number.pattern = read_catching(c, fields[key_reading_like]);
    good = good && reading->number.pattern != 0;
    then->reading = reading;
    return (fact->kind == CW_MEASURE ? read_number_of(c, fact, node, fields, &reading->number)
                                     : read_words_of(c, fact, fields, reading)) &&
           good;
}

/* A rule for each value that can be read. */
static void emit_words_read(compiler *c, const conclusion *then, cw_fact_id fact, cw_fact_id text,
                            uint32_t origin)
{
    const size_t count = c->premises.count;
    for (uint32_t v = 0; v < then->ref.fact->value_count && !c->no_memory; v++) {
        if (then->reading->patterns[v] == 0)
            continue;
        cw_premise *caught = append(c, &c->premises);
        if (caught != NULL)
            *caught = (cw_premise){cw_builder_like_atom(c->builder, text, then->reading->patterns[v]), false};
        if (!c->no_memory)
            add_ground_rule(c, cw_builder_value_atom(c->builder, fact, v), 0, 0, origin);
        c->premises.count = count;
    }
}

void emit_reading(compiler *c, const conclusion *then, const uint32_t *bindings, uint32_t origin)
{
    const text_reading *reading = then->reading;
    const cw_fact_id fact = then->ref.fact->first + ground_of(c, &then->ref, bindings);
    const cw_fact_id text = reading->text.fact->first + ground_of(c, &reading->text, bindings);
    if (then->ref.fact->kind != CW_MEASURE) {
        emit_words_read(c, then, fact, text, origin);
        return;
    }
    c->ground_rules++;
    if (cw_builder_reading_rule(c->builder, fact, &reading->number, text, c->premises.items,
                                (uint32_t)c->premises.count, origin) == 0)
        c->no_memory = true;
}
