/* Calls in formulas: min, max, abs and sqrt, and the functions of the caller's table. */
#include "base/nearest.h"
#include "quantity/formula_inside.h"
#include <stdio.h>
#include <string.h>

static bool dimension_root(cw_dimension a, cw_dimension *out)
{
    const int odd = (a.length | a.mass | a.time | a.current | a.temperature | a.turn | a.angle) & 1;
    *out = (cw_dimension){
        (int8_t)(a.length / 2),      (int8_t)(a.mass / 2), (int8_t)(a.time / 2),  (int8_t)(a.current / 2),
        (int8_t)(a.temperature / 2), (int8_t)(a.turn / 2), (int8_t)(a.angle / 2), 0};
    return odd == 0;
}

/* min and max of two or more, behind their opening parenthesis. */
static bool parse_several(formula_reader *in, size_t at, bool least, cw_dimension *out)
{
    const char *word = least ? "min" : "max";
    if (!formula_sum(in, out))
        return false;
    do {
        cw_dimension next;
        if (!formula_expect(in, ',', least ? "between the two of min" : "between the two of max") ||
            !formula_sum(in, &next))
            return false;
        if (!cw_dimension_equal(*out, next))
            return formula_unlike(in, at, "and", word, *out, next);
        if (!formula_add_step(in, (cw_step){.kind = least ? STEP_MIN : STEP_MAX}))
            return false;
    } while (formula_peek(in) == ',');
    return true;
}

/* abs and sqrt, behind their opening parenthesis. */
static bool parse_one(formula_reader *in, size_t at, bool root, cw_dimension *out)
{
    cw_dimension inner;
    if (!formula_sum(in, &inner) ||
        !formula_no_point(in, at, root ? 4 : 3, root ? "the root of" : "the size of", inner))
        return false;
    *out = inner;
    char words[64];
    if (root && !dimension_root(inner, out))
        return formula_fail(in, CW_FORMULA_DIMENSION, at, 4, "the root of %s is no kind of quantity",
                            cw_dimension_words(inner, words, sizeof words));
    return formula_add_step(in, (cw_step){.kind = root ? STEP_ROOT : STEP_ABS});
}

static const char *const plain[] = {"min", "max", "abs", "sqrt"};
enum { PLAIN = sizeof plain / sizeof *plain };

bool formula_is_plain_function(const char *name, size_t size)
{
    for (size_t i = 0; i < PLAIN; i++)
        if (strlen(plain[i]) == size && memcmp(plain[i], name, size) == 0)
            return true;
    return false;
}

/* The next of "ohms: resistance, at: temperature"; false at the end. */
static bool next_argument(const char **takes, cw_dimension *wanted)
{
    const char *colon = strchr(*takes, ':');
    if (colon == NULL)
        return false;
    char name[32];
    size_t size = strcspn(colon + 2, ",");
    snprintf(name, sizeof name, "%.*s", (int)size, colon + 2);
    *takes = colon + 2 + size;
    return cw_dimension_find(name, wanted);
}

static bool wrong_count(formula_reader *in, const cw_function *function, size_t at, size_t length)
{
    snprintf(in->problem->help, sizeof in->problem->help, "write %s(%s)", function->name, function->takes);
    const char *takes = function->takes;
    cw_dimension wanted;
    unsigned count = 0;
    while (next_argument(&takes, &wanted))
        count++;
    return formula_fail(in, CW_FORMULA_SYNTAX, at, length, "'%s' takes %u value%s", function->name, count,
                        count == 1 ? "" : "s");
}

static bool fits(formula_reader *in, const cw_function *function, size_t at, cw_dimension have,
                 cw_dimension wanted)
{
    if (cw_dimension_equal(have, wanted))
        return true;
    size_t end = in->at;
    while (end > at && in->text[end - 1] == ' ')
        end--;
    char have_name[64], wanted_name[64];
    snprintf(in->problem->help, sizeof in->problem->help, "write %s(%s)", function->name, function->takes);
    return formula_fail(in, CW_FORMULA_DIMENSION, at, end - at, "this is %s, but '%s' wants %s here",
                        cw_dimension_name(have, have_name, sizeof have_name), function->name,
                        cw_dimension_name(wanted, wanted_name, sizeof wanted_name));
}

/* The arguments, behind the opening parenthesis; the name stands from at to end. */
static bool parse_arguments(formula_reader *in, const cw_function *function, size_t at, size_t end,
                            cw_dimension *out)
{
    const char *takes = function->takes;
    cw_dimension wanted, have;
    uint32_t count = 0;
    while (next_argument(&takes, &wanted)) {
        if (formula_peek(in) == ')' || (count > 0 && formula_peek(in) != ','))
            return wrong_count(in, function, at, end - at);
        if (count++ > 0)
            formula_skip(in, in->at + 1);
        size_t start = in->at;
        if (!formula_sum(in, &have) || !fits(in, function, start, have, wanted))
            return false;
    }
    if (formula_peek(in) == ',')
        return wrong_count(in, function, at, end - at);
    in->stepped |= function->stepped;
    return cw_dimension_find(function->gives, out) &&
           formula_add_step(in, (cw_step){.kind = STEP_CALL, .count = count, .function = function});
}

static void unknown_function(formula_reader *in, size_t at, size_t length)
{
    char name[80];
    snprintf(name, sizeof name, "%.*s", (int)(length < 79 ? length : 79), in->text + at);
    cw_nearest nearest = cw_nearest_start(name);
    for (const cw_function *f = in->functions; f != NULL && f->name != NULL; f++)
        cw_nearest_try(&nearest, f->name);
    for (size_t i = 0; i < PLAIN; i++)
        cw_nearest_try(&nearest, plain[i]);
    if (nearest.best != NULL)
        snprintf(in->problem->help, sizeof in->problem->help, "did you mean '%s'?", nearest.best);
    formula_fail(in, CW_FORMULA_UNKNOWN_FUNCTION, at, length, "'%s' is no function", name);
}

/* The table's function of this name, or NULL with the problem filled. */
static const cw_function *find_function(formula_reader *in, size_t at, size_t length)
{
    for (const cw_function *f = in->functions; f != NULL && f->name != NULL; f++)
        if (strlen(f->name) == length && memcmp(f->name, in->text + at, length) == 0)
            return f;
    unknown_function(in, at, length);
    return NULL;
}

bool formula_call(formula_reader *in, size_t at, size_t end, cw_dimension *out)
{
    const char *name = in->text + at;
    const bool is_plain = formula_is_plain_function(name, end - at);
    const cw_function *function = is_plain ? NULL : find_function(in, at, end - at);
    if (!is_plain && function == NULL)
        return false;
    formula_skip(in, end);
    if (!formula_expect(in, '(', "behind the name of a function") || !formula_enter(in))
        return false;
    bool ok = function != NULL ? parse_arguments(in, function, at, end, out)
              : name[0] == 'm' ? parse_several(in, at, name[1] == 'i', out)
                               : parse_one(in, at, name[0] == 's', out);
    in->depth--;
    return ok && formula_expect(in, ')', "at the end");
}
