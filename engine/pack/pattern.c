/* Patterns of packs: each text checked once, and held against texts that make careless ones run for ever. */
#include "pack/inside.h"

#include <math.h>
#include <string.h>

enum { LETTERS = 12, TIMES = 40, DEEP = 16, ALTERNATIVES = 64 };

/* In how many ways something can be matched from one spot, and how many steps trying them all takes. */
typedef struct effort {
    double ways, steps;
} effort;

/* What has been read of one group. */
typedef struct group {
    effort before; /* what stands before it in the alternative around it */
    effort now;    /* its alternative being read, which begins at `from` */
    size_t from;
    double closed; /* ways through `now` where a word must end at `closed_at` */
    size_t closed_at;
    double ends; /* of the repeat before `ends_at` */
    size_t ends_at;
    double steps; /* of the finished alternatives, one for the try of each included */
    uint32_t count;
    struct {
        const char *word; /* the letters that it must begin with */
        size_t size;
        double ways, closed;
    } alternatives[ALTERNATIVES];
} group;

/* A letter, digit or blank, as it may stand in a word of the pattern. */
static bool is_letter(const char *text, size_t size, size_t at)
{
    if (at >= size)
        return false;
    int small = text[at] | 0x20;
    return (small >= 'a' && small <= 'z') || (text[at] >= '0' && text[at] <= '9') || text[at] == ' ';
}

static bool repeats(const char *text, size_t size, size_t at)
{
    return at < size && (text[at] == '?' || text[at] == '*' || text[at] == '+' || text[at] == '{');
}

/* The letter must be there, once. */
static bool is_one(const char *text, size_t size, size_t at)
{
    return is_letter(text, size, at) && !repeats(text, size, at + 1);
}

static bool same_letter(char a, char b)
{
    return (a | 0x20) == (b | 0x20);
}

static bool ends_word(const char *text, size_t size, size_t at)
{
    return at + 1 < size && text[at] == '\\' && text[at + 1] == 'b';
}

static void begin_alternative(group *in, size_t from)
{
    in->now = (effort){1, 0};
    in->from = from;
    in->closed_at = in->ends_at = 0;
}

/* False: more alternatives than are looked into. */
static bool end_alternative(group *in, const char *text, size_t size, size_t at)
{
    size_t word = 0;
    while (is_one(text, size, in->from + word))
        word++;
    if (in->count == ALTERNATIVES)
        return false;
    in->alternatives[in->count].word = text + in->from;
    in->alternatives[in->count].size = word;
    in->alternatives[in->count].ways = in->now.ways;
    in->alternatives[in->count++].closed = in->closed_at == at ? in->closed : in->now.ways;
    in->steps += 1 + in->now.steps;
    return true;
}

/* One text can begin with both: neither word, as far as the shorter goes, differs from the other. */
static bool go_together(const group *in, uint32_t a, uint32_t b)
{
    size_t size = in->alternatives[a].size < in->alternatives[b].size ? in->alternatives[a].size
                                                                      : in->alternatives[b].size;
    for (size_t i = 0; i < size; i++)
        if (!same_letter(in->alternatives[a].word[i], in->alternatives[b].word[i]))
            return false;
    return true;
}

/* All alternatives that fit one text go together with each of themselves, so the most that goes together with
 * any one alternative is not exceeded. `closed`: a word must end behind the group. */
static effort whole_group(const group *in, bool closed)
{
    effort whole = {0, in->steps};
    for (uint32_t a = 0; a < in->count; a++) {
        double together = 0;
        for (uint32_t b = 0; b < in->count; b++)
            if (go_together(in, a, b))
                together += closed ? in->alternatives[b].closed : in->alternatives[b].ways;
        whole.ways = fmax(whole.ways, together);
    }
    return whole;
}

/* First one, then from each of its ends the other. */
static effort after(effort first, effort second)
{
    return (effort){first.ways * second.ways, first.steps + first.ways * second.steps};
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

/* What stands before `at` is one letter or \\w or \\d. */
static bool is_of_word(const char *text, size_t size, size_t at)
{
    bool escaped = at > 1 && text[at - 2] == '\\';
    return at > 0 && text[at - 1] != ' ' && is_letter(text, size, at - 1) &&
           (!escaped || text[at - 1] == 'w' || text[at - 1] == 'd');
}

/* The repeat at `at`. Letters before the end of a word can only end where it does. */
static void repeat(group *in, const char *text, size_t size, size_t at, double ends)
{
    const double before = in->now.ways;
    size_t behind = at + 1;
    while (text[at] == '{' && behind < size && text[behind - 1] != '}')
        behind++;
    in->now = after(in->now, (effort){ends, ends});
    in->ends = ends;
    in->ends_at = behind;
    if (text[at] == '{' || !is_of_word(text, size, at))
        return;
    in->closed = before;
    in->closed_at = behind;
    if (ends_word(text, size, behind)) {
        in->now.ways = before;
        in->ends = 1;
    }
}

static bool begins_word(const char *text, size_t size, size_t at)
{
    bool escaped = at + 1 < size && text[at] == '\\' && (text[at + 1] == 'd' || text[at + 1] == 'w');
    return escaped ? !repeats(text, size, at + 2) : is_one(text, size, at) && text[at] != ' ';
}

/* A word begins with the group that opens at `at`, whichever alternative is taken. Nothing with a class in it
 * is looked into. */
static bool group_begins_word(const char *text, size_t size, size_t at)
{
    bool all = begins_word(text, size, at + 1);
    size_t i = at + 1;
    for (int depth = 1; i < size && depth > 0 && all; i++) {
        if (text[i] == '\\')
            i++;
        else if (text[i] == '|' && depth == 1)
            all = begins_word(text, size, i + 1);
        else
            depth += text[i] == '(' ? 1 : text[i] == ')' ? -1 : 0;
        all = all && (i >= size || text[i] != '[');
    }
    return all && i < size && !repeats(text, size, i);
}

/* The `\\b` at `at`: where a word must begin behind a repeat, that is at every second of its ends at most. */
static void boundary(group *in, const char *text, size_t size, size_t at)
{
    size_t next = at + 2;
    bool opens = next < size && text[next] == '(';
    if (in->ends_at == at && at > 0 &&
        (opens ? group_begins_word(text, size, next) : begins_word(text, size, next)))
        in->now.ways *= ceil(in->ends / 2) / in->ends;
}

/* Upper bounds for a match tried from one spot of a text of TIMES letters: what repeats can end anywhere,
 * alternatives add up, what follows each other multiplies. Infinite where a group repeats or the syntax is
 * not looked into. */
static effort effort_of(const char *text, size_t size)
{
    static const effort unknown = {INFINITY, INFINITY};
    group groups[DEEP];
    size_t depth = 0;
    groups[0] = (group){.now = {1, 0}};
    for (size_t i = 0; i < size; i++) {
        group *in = &groups[depth];
        const char at = text[i];
        if (is_letter(text, size, i))
            continue; /* most of the text */
        if (at == '\\') {
            if (ends_word(text, size, i))
                boundary(in, text, size, i);
            if (++i < size && (text[i] == 'Q' || text[i] == 'g'))
                return unknown;
        } else if (at == '[') {
            i = class_end(text, i, size) - 1;
        } else if (at == '(') {
            if (!plain_group(text, i, size) || ++depth == DEEP)
                return unknown;
            i += text[i + 1] == '?' ? 2 : 0;
            groups[depth].before = in->now;
            groups[depth].steps = groups[depth].count = 0;
            begin_alternative(&groups[depth], i + 1);
        } else if (at == '|' || at == ')') {
            if (!end_alternative(in, text, size, i))
                return unknown;
            begin_alternative(in, i + 1);
            if (at == ')' && depth > 0)
                groups[--depth].now = after(in->before, whole_group(in, ends_word(text, size, i + 1)));
        } else if (repeats(text, size, i)) {
            double ends = at == '?' ? 2 : repeat_ends(text, i, size);
            repeat(in, text, size, i, i > 0 && text[i - 1] == ')' && at != '?' ? INFINITY : ends);
        }
    }
    return depth == 0 && end_alternative(groups, text, size, size) ? whole_group(groups, false) : unknown;
}

/* What three repeats in a row take ends within the steps, because none can end before the one in front of it;
 * what may take more is tried out. */
static bool may_be_slow(const char *text, size_t size)
{
    const double three = TIMES + TIMES * TIMES + TIMES * TIMES * TIMES;
    return !(effort_of(text, size).steps <= three);
}

/* A letter beside another one, both of which must be there: what repeats that letter alone cannot match it.
 * `before` is where the piece before it begins. */
static bool in_word(const char *text, size_t size, size_t before, size_t at)
{
    if (!is_one(text, size, at))
        return false;
    bool left = before + 1 == at && is_one(text, size, before) && !same_letter(text[before], text[at]);
    return left || (is_one(text, size, at + 1) && !same_letter(text[at + 1], text[at]));
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
