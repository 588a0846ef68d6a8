/* Patterns of packs: each text compiled once, and held against texts that make careless ones run for ever. */
#include "pack/inside.h"

#include <string.h>

enum { LETTERS = 12, TIMES = 40 };

/* Only what repeats a group, or repeats four times over, can take more steps than the square of the text's
 * length. */
static bool may_be_slow(const char *text, size_t size)
{
    size_t repeats = 0;
    for (size_t i = 0; i < size; i++) {
        if (text[i] == '\\') {
            i++;
            continue;
        }
        bool repeat = text[i] == '*' || text[i] == '+' || text[i] == '{';
        repeats += repeat;
        if (repeat && i > 0 && text[i - 1] == ')')
            return true;
        if (text[i] == '(' && i + 2 < size && text[i + 1] == '?' &&
            strchr("R&P+-0123456789", text[i + 2]) != NULL)
            return true;
    }
    return repeats > 3;
}

/* The letters and digits that the pattern itself speaks of, each once, and one of the usual classes. */
static size_t letters_of(const char *text, size_t size, char *letters)
{
    size_t count = 0;
    for (const char *usual = "a0 "; *usual != '\0'; usual++)
        letters[count++] = *usual;
    for (size_t i = 0; i < size && count < LETTERS; i++) {
        unsigned char letter = (unsigned char)text[i];
        if (letter == '\\') {
            i++;
            continue;
        }
        if (letter > ' ' && letter < 0x7f && strchr("()[]{}*+?|^$.", letter) == NULL &&
            memchr(letters, letter, count) == NULL)
            letters[count++] = (char)letter;
    }
    return count;
}

/* One letter many times, then what breaks the match off, then all letters: a pattern may look ahead for one
 * of them. */
static cw_status probe(const cw_pattern *pattern, const char *text, size_t size)
{
    char letters[LETTERS], tried[TIMES + 1 + LETTERS];
    size_t count = letters_of(text, size, letters);
    for (size_t i = 0; i < count; i++) {
        memset(tried, letters[i], TIMES);
        tried[TIMES] = '!';
        memcpy(tried + TIMES + 1, letters, count);
        bool matched;
        cw_status status = cw_pattern_match(pattern, tried, TIMES + 1, &matched, NULL, NULL);
        if (status == CW_OK)
            status = cw_pattern_match(pattern, tried, TIMES + 1 + count, &matched, NULL, NULL);
        if (status != CW_OK)
            return status;
    }
    return CW_OK;
}

static uint32_t bad_pattern(compiler *c, const cw_node *node, size_t at, const char *words)
{
    cw_diag *diag = complain(c, BAD_PATTERN, spot(c, node, at, 1), "this pattern cannot be read: %s", words);
    if (strchr(node->text, '\\') != NULL && node->quoted)
        help(c, diag, "in single quotes a backslash is a backslash");
    return BAD_PATTERN_NUMBER;
}

static uint32_t make(compiler *c, const cw_node *node)
{
    cw_pattern *pattern = NULL;
    size_t at = 0;
    char words[160];
    cw_status status =
        cw_pattern_new(c->allocator, node->text, node->size, &pattern, &at, words, sizeof words);
    if (status == CW_BAD_INPUT)
        return bad_pattern(c, node, at, words);
    if (status == CW_LIMIT) {
        complain(c, TOO_MANY, node->span, "this pattern is longer than %d characters", CW_PATTERN_MAX_SIZE);
        return BAD_PATTERN_NUMBER;
    }
    if (status == CW_OK && may_be_slow(node->text, node->size))
        status = probe(pattern, node->text, node->size);
    if (status == CW_OK) {
        uint32_t number = cw_builder_pattern(c->builder, pattern);
        c->no_memory |= number == 0;
        return number;
    }
    cw_pattern_free(pattern);
    if (status != CW_LIMIT) {
        c->no_memory = true;
        return 0;
    }
    cw_diag *diag = complain(c, SLOW_PATTERN, node->span,
                             "this pattern takes more than %d steps on a text of %d characters",
                             CW_PATTERN_MATCH_STEPS, TIMES);
    help(c, diag, "do not repeat a group that repeats inside: '(a+)+' says no more than 'a+'");
    return BAD_PATTERN_NUMBER;
}

uint32_t read_pattern(compiler *c, const cw_node *node)
{
    if (read_text(c, node, "like") == NULL)
        return 0;
    uint32_t name = cw_names_add(c->names, node->text, node->size);
    while (name != 0 && c->patterns.count <= name)
        if (append(c, &c->patterns) == NULL)
            return 0;
    if (name == 0) {
        c->no_memory = true;
        return 0;
    }
    uint32_t number = *CW_VEC_AT(&c->patterns, uint32_t, name);
    if (number == 0) {
        number = make(c, node);
        *CW_VEC_AT(&c->patterns, uint32_t, name) = number;
    }
    return number == BAD_PATTERN_NUMBER ? 0 : number;
}
