/* Patterns of packs: each text checked once, and tried out where it may run for ever. */
#include "pack/inside.h"
#include "pack/trial.h"

#include <string.h>

static uint32_t bad_pattern(compiler *c, const cw_node *node, size_t at, const char *words)
{
    cw_diag *diag = complain(c, BAD_PATTERN, spot(c, node, at, 1), "this pattern cannot be read: %s", words);
    if (strstr(words, "parenthes") != NULL)
        help(c, diag, "each '(' wants its ')'; write '\\(' where the sign itself is meant");
    else if (strchr(node->text, '\\') != NULL && node->quoted)
        help(c, diag, "in single quotes a backslash is a backslash");
    else if (node->text[0] == '*')
        help(c, diag,
             "leave the '*' at both ends out: a pattern is found anywhere in a text; between words write "
             "'.*'");
    else
        help(
            c, diag,
            "write '\\*' where the sign itself is meant: . * + ? ( [ { ^ $ | stand for more than themselves");
    return BAD_PATTERN_NUMBER;
}

/* Whoever matches it first compiles it; here it is only compiled where that tells more than its syntax. */
static cw_status take_up(const compiler *c, const char *text, size_t size, bool now, cw_pattern **out,
                         size_t *at, char *words, size_t words_size)
{
    return !now && cw_pattern_is_plain(text, size)
               ? cw_pattern_keep(c->allocator, text, size, out)
               : cw_pattern_new(c->allocator, text, size, out, at, words, words_size);
}

cw_status take_pattern(const compiler *c, const char *text, size_t size, cw_pattern **out)
{
    size_t at;
    return take_up(c, text, size, false, out, &at, NULL, 0);
}

static uint32_t make(compiler *c, const cw_node *node)
{
    cw_pattern *pattern = NULL;
    size_t at = 0;
    char words[160];
    bool slow = trial_needed(node->text, node->size);
    cw_status status = take_up(c, node->text, node->size, slow, &pattern, &at, words, sizeof words);
    if (status == CW_BAD_INPUT)
        return bad_pattern(c, node, at, words);
    if (status == CW_LIMIT) {
        help(c,
             complain(c, TOO_MANY, node->span, "this pattern is longer than %d characters",
                      CW_PATTERN_MAX_SIZE),
             "divide it among several");
        return BAD_PATTERN_NUMBER;
    }
    if (status == CW_OK && slow)
        status = trial_run(pattern, node->text, node->size);
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
                             CW_PATTERN_MATCH_STEPS, TRIAL_TIMES);
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

uint32_t read_words_pattern(compiler *c, const cw_node *node)
{
    uint32_t number = read_text(c, node, "like") == NULL ? 0 : make(c, node);
    return number == BAD_PATTERN_NUMBER ? 0 : number;
}
