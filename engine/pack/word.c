/* People's own words: patterns that suggest answers. */
#include "pack/inside.h"

#include <string.h>

/* The suggested answer is one the check could take. */
static bool read_answer(compiler *c, const cw_node *node, const fact_def *fact)
{
    double number;
    if (read_text(c, node, "suggests") == NULL)
        return false;
    if (fact->kind == CW_STAMPED)
        return true;
    if (fact->kind == CW_WHICH_UNIT)
        return read_unit_name(c, node, 0, node->size) != UINT32_MAX;
    if (fact->kind == CW_MEASURE)
        return read_quantity(c, node, 0, node->size, fact->dimension, fact->at->name, &number);
    return read_value(c, fact, node, 0, node->size) != UINT32_MAX;
}

static void read_suggestions(compiler *c, const cw_node *node, word_def *word)
{
    static const scope_def nothing_bound;
    if (node->kind != CW_NODE_MAP || node->size == 0) {
        help(c, complain(c, WRONG_SHAPE, node->span, "'suggests' is a map of check to answer"),
             "write '{lamp: glow}'");
        return;
    }
    word->refs = take(c, node->size, sizeof *word->refs);
    word->answers = take(c, node->size, sizeof *word->answers);
    for (size_t i = 0; i < node->size && !c->no_memory; i++) {
        fact_ref *ref = &word->refs[word->count];
        if (!read_reference(c, &nothing_bound, cw_node_key(node, i), ref))
            continue;
        if (ref->fact->check == NULL) {
            cw_diag *diag = complain(c, WRONG_TEST, cw_node_key(node, i)->span,
                                     "'%s' is concluded, not answered", ref->fact->at->name);
            help(c, diag, "words suggest answers to checks");
            continue;
        }
        word->answers[word->count] = cw_node_item(node, i)->text;
        word->count += read_answer(c, cw_node_item(node, i), ref->fact);
    }
}

/* An entry with `before` denies the words of all others. */
static void read_denial(compiler *c, const entry *at, word_def *word)
{
    const cw_node *fields[keys_of_denial];
    if (read_fields(c, &shape_denial, at->name, at->key->span, at->body, fields) &&
        fields[key_denial_before] != NULL)
        word->hint.before = read_words_pattern(c, fields[key_denial_before]);
}

void read_words(compiler *c)
{
    for (size_t i = 0; i < c->entries[SECTION_words].count && !c->no_memory; i++) {
        const entry *at = CW_VEC_AT(&c->entries[SECTION_words], entry, i);
        const cw_node *fields[keys_of_word];
        word_def *word = append(c, &c->words);
        if (word == NULL)
            return;
        word->hint = (cw_hint){.name = at->name, .span = at->key->span};
        if (at->body->kind == CW_NODE_MAP && cw_node_get(at->body, "before") != NULL) {
            read_denial(c, at, word);
            continue;
        }
        if (!read_fields(c, &shape_word, at->name, at->key->span, at->body, fields))
            continue;
        word->hint.say = read_optional_text(c, fields[key_word_say], "say");
        if (fields[key_word_like] != NULL)
            word->hint.like = read_words_pattern(c, fields[key_word_like]);
        if (fields[key_word_not_like] != NULL)
            word->hint.not_like = read_words_pattern(c, fields[key_word_not_like]);
        if (fields[key_word_even_denied] != NULL)
            read_yes(c, fields[key_word_even_denied], "even_denied", &word->hint.even_denied);
        if (fields[key_word_suggests] != NULL)
            read_suggestions(c, fields[key_word_suggests], word);
    }
}

/* Checks have their ids by now; the check of a fact has the same place among checks as the builder gave it.
 */
void emit_words(compiler *c)
{
    for (size_t i = 0; i < c->words.count && !c->no_memory; i++) {
        const word_def *word = CW_VEC_AT(&c->words, word_def, i);
        cw_suggestion *suggestions = take(c, word->count, sizeof *suggestions);
        for (uint32_t k = 0; k < word->count && suggestions != NULL; k++) {
            const fact_ref *ref = &word->refs[k];
            cw_fact_id fact = ref->fact->first + ground_of(c, ref, NULL);
            suggestions[k] = (cw_suggestion){cw_builder_fact_at(c->builder, fact)->check, word->answers[k]};
        }
        if (suggestions != NULL)
            cw_builder_hint(c->builder, &word->hint, suggestions, word->count);
    }
}
