/* Patterns of packs: each text checked once, and held against texts that make careless ones run for ever. */
#include "pack/inside.h"

#include <math.h>
#include <string.h>

enum { LETTERS = 12, TIMES = 40, DEEP = 16 };

/* Ways through what has been read of one group. */
typedef struct group_ways {
    double before;          /* the pattern up to the group */
    double others;          /* the group's finished alternatives */
    double now;             /* the alternative being read */
    uint32_t apart, firsts; /* letters: that `now` must begin with, one at most, and that others must */
} group_ways;

/* The letter that an alternative must begin with, as one bit; 0 where it need not. */
static uint32_t first_letter(const char *text, size_t at, size_t size)
{
    int letter = at < size ? text[at] | 0x20 : '\0';
    bool must = at + 1 >= size || strchr("?*{", text[at + 1]) == NULL;
    return must && letter >= 'a' && letter <= 'z' ? (uint32_t)1 << (letter - 'a') : 0;
}

/* Alternatives that begin with different letters: a text goes through one of them at most. */
static void end_alternative(group_ways *in)
{
    bool apart = in->apart != 0 && (in->apart & in->firsts) == 0;
    in->others = apart ? fmax(in->others, in->now) : in->others + in->now;
    in->firsts |= in->apart != 0 ? in->apart : UINT32_MAX;
}

/* One past the class that opens at `at`; `size` where it is not a plain one. */
static size_t class_end(const char *text, size_t at, size_t size)
{
    at += at + 1 < size && text[at + 1] == '^' ? 2 : 1;
    for (size_t i = at; i < size && text[i] != '['; i++) {
        if (text[i] == '\\')
            i++;
        else if (text[i] == ']' && i > at)
            return i + 1;
    }
    return size;
}

/* What stands behind an open bracket: the plain groups, and looking ahead or behind. */
static bool plain_group(const char *text, size_t at, size_t size)
{
    if (at + 1 >= size || text[at + 1] == '*')
        return false;
    return text[at + 1] != '?' || (at + 2 < size && strchr(":=!<>", text[at + 2]) != NULL);
}

/* In how many places the repeat of one letter can end. */
static double repeat_ends(const char *text, size_t at, size_t size)
{
    double most = 0;
    if (text[at] != '{')
        return TIMES;
    while (++at < size && text[at] != ',' && text[at] != '}')
        ;
    while (++at < size && text[at] >= '0' && text[at] <= '9' && most < TIMES)
        most = most * 10 + (text[at] - '0');
    return most > 0 && most < TIMES ? most + 1 : TIMES;
}

/* An upper bound of the ways in which a match can be tried from one spot of a text of TIMES letters: what
 * repeats can end anywhere, alternatives add up, what follows each other multiplies. Infinite where a group
 * repeats or the syntax is not looked into. */
static double ways_through(const char *text, size_t size)
{
    group_ways groups[DEEP] = {{1, 0, 1, first_letter(text, 0, size), 0}};
    size_t depth = 0;
    for (size_t i = 0; i < size; i++) {
        group_ways *in = &groups[depth];
        const char at = text[i];
        const int last = i > 0 ? text[i - 1] : '\0';
        if (at == '\\') {
            if (++i < size && (text[i] == 'Q' || text[i] == 'g'))
                return INFINITY;
        } else if (at == '[') {
            i = class_end(text, i, size) - 1;
        } else if (at == '(') {
            if (!plain_group(text, i, size) || ++depth == DEEP)
                return INFINITY;
            i += text[i + 1] == '?' ? 2 : 0;
            groups[depth] = (group_ways){in->now, 0, 1, first_letter(text, i + 1, size), 0};
        } else if (at == '|') {
            end_alternative(in);
            in->now = 1;
            in->apart = first_letter(text, i + 1, size);
        } else if (at == ')' && depth > 0) {
            end_alternative(in);
            groups[--depth].now = in->before * in->others;
        } else if (at == '?') {
            in->now *= 2;
        } else if (at == '*' || at == '+' || at == '{') {
            in->now *= last == ')' ? INFINITY : repeat_ends(text, i, size);
        }
    }
    end_alternative(groups);
    return depth == 0 ? groups[0].others : INFINITY;
}

/* What three repeats in a row can take ends within the steps; what may take more is tried out. */
static bool may_be_slow(const char *text, size_t size)
{
    return ways_through(text, size) > (double)TIMES * TIMES * TIMES;
}

/* A letter or digit, as it may stand in a word of the pattern. */
static bool is_letter(const char *text, size_t size, size_t at)
{
    if (at >= size)
        return false;
    int small = text[at] | 0x20;
    return (small >= 'a' && small <= 'z') || (text[at] >= '0' && text[at] <= '9');
}

/* The letter must be there, once. */
static bool is_one(const char *text, size_t size, size_t at)
{
    return is_letter(text, size, at) && (at + 1 >= size || strchr("?*+{", text[at + 1]) == NULL);
}

/* A letter beside another one, both of which must be there: what repeats that letter alone cannot match it.
 * `before` is where the piece before it begins. */
static bool in_word(const char *text, size_t size, size_t before, size_t at)
{
    if (!is_one(text, size, at))
        return false;
    bool left = before + 1 == at && is_one(text, size, before) && (text[before] | 0x20) != (text[at] | 0x20);
    bool right = is_one(text, size, at + 1) && (text[at + 1] | 0x20) != (text[at] | 0x20);
    return left || right;
}

/* The letters and digits that can be matched by themselves, each once, and one of the usual classes. */
static size_t letters_of(const char *text, size_t size, char *letters)
{
    size_t count = 0, before = size, class_to = 0;
    for (const char *usual = "a0 "; *usual != '\0'; usual++)
        letters[count++] = *usual;
    for (size_t i = 0; i < size && count < LETTERS; i++) {
        unsigned char letter = (unsigned char)text[i];
        if (letter == '\\') {
            before = i++;
            continue;
        }
        if (letter == '[' && i >= class_to)
            class_to = class_end(text, i, size);
        bool word = i >= class_to && in_word(text, size, before, i);
        before = i;
        if (letter > ' ' && letter < 0x7f && !word && strchr("()[]{}*+?|^$.", letter) == NULL &&
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

/* `as_text`: whoever matches it compiles it then; here it is only compiled where that tells more than its
 * syntax. */
static uint32_t make(compiler *c, const cw_node *node, bool as_text)
{
    cw_pattern *pattern = NULL;
    size_t at = 0;
    char words[160];
    bool slow = may_be_slow(node->text, node->size);
    cw_status status =
        as_text && !slow && cw_pattern_is_plain(node->text, node->size)
            ? cw_pattern_keep(c->allocator, node->text, node->size, &pattern)
            : cw_pattern_new(c->allocator, node->text, node->size, &pattern, &at, words, sizeof words);
    if (status == CW_BAD_INPUT)
        return bad_pattern(c, node, at, words);
    if (status == CW_LIMIT) {
        complain(c, TOO_MANY, node->span, "this pattern is longer than %d characters", CW_PATTERN_MAX_SIZE);
        return BAD_PATTERN_NUMBER;
    }
    if (status == CW_OK && slow)
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
        number = make(c, node, false);
        *CW_VEC_AT(&c->patterns, uint32_t, name) = number;
    }
    return number == BAD_PATTERN_NUMBER ? 0 : number;
}

uint32_t read_words_pattern(compiler *c, const cw_node *node)
{
    uint32_t number = read_text(c, node, "like") == NULL ? 0 : make(c, node, true);
    return number == BAD_PATTERN_NUMBER ? 0 : number;
}
