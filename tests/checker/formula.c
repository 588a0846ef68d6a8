/* Formulas, read and worked out in one go by recursive descent, with the inputs moved one after the other for
 * the error. */
#include "checker/inside.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct reader {
    const checker *c;
    const bound *scope;
    const char *at;
    const fact *moved; /* the input that is moved by `by` */
    double by;
    bool missing;
    checker_truth truth;
    void (*visit)(void *context, fact *fact); /* when only the names are wanted */
    void *context;
} reader;

static double sum(reader *r);

static void blanks(reader *r)
{
    while (*r->at == ' ')
        r->at++;
}

static bool take(reader *r, char sign)
{
    blanks(r);
    if (*r->at != sign)
        return false;
    r->at++;
    return true;
}

static double input(reader *r, fact *f)
{
    double number = 0, error = 0;
    checker_truth truth = CHECKER_YES;
    checker_known known = CHECKER_UNKNOWN;
    if (r->visit != NULL) {
        r->visit(r->context, f);
        return 1;
    }
    if (f->kind == FACT_MEASURE) {
        known = ck_settle_number(f, &number, &error, &truth);
    } else {
        size_t sure = 0, maybe = 0;
        for (size_t v = 0; v < f->value_count; v++) {
            sure += f->truths[v] == CHECKER_YES;
            maybe += f->truths[v] == CHECKER_DOUBTFUL;
        }
        truth = sure == 1 ? CHECKER_YES : CHECKER_DOUBTFUL;
        known = sure == 1 || (sure == 0 && maybe == 1) ? CHECKER_KNOWN : CHECKER_UNKNOWN;
        for (size_t v = 0; v < f->value_count; v++)
            if (f->truths[v] == truth)
                number = f->first + (double)v;
    }
    r->missing |= known != CHECKER_KNOWN && known != CHECKER_MAYBE;
    r->truth = truth < r->truth ? truth : r->truth;
    return f == r->moved ? number + r->by : number;
}

static double call(reader *r, const char *name)
{
    double a = sum(r), b = 0;
    bool two = strcmp(name, "min") == 0 || strcmp(name, "max") == 0;
    if (two && !take(r, ','))
        ck_die("a comma is missing in %s()", name);
    if (two)
        b = sum(r);
    if (!take(r, ')'))
        ck_die("a parenthesis is missing in %s()", name);
    if (two)
        return name[1] == 'i' ? fmin(a, b) : fmax(a, b);
    return strcmp(name, "abs") == 0 ? fabs(a) : sqrt(a);
}

static double named(reader *r)
{
    char name[128];
    size_t length = strspn(r->at, "abcdefghijklmnopqrstuvwxyz0123456789_");
    if (r->at[length] == '[')
        length = (size_t)(strchr(r->at, ']') - r->at) + 1;
    memcpy(name, r->at, length);
    name[length] = '\0';
    r->at += length;
    if (take(r, '('))
        return call(r, name);
    return input(r, ck_resolve(r->c, name, r->scope));
}

/* A number and the unit behind it, the longest that is one. */
static double number(reader *r)
{
    size_t digits = strspn(r->at, "0123456789.");
    double value;
    for (size_t length = digits + 8; length > digits; length--) {
        if (memchr(r->at, '\0', length) != NULL)
            continue;
        char *text = ck_copy_text(r->at, length);
        bool ok = !isspace((unsigned char)text[length - 1]) && !isdigit((unsigned char)text[length - 1]) &&
                  !isalnum((unsigned char)r->at[length]) && ck_quantity_read(text, NULL, &value);
        free(text);
        if (ok) {
            r->at += length;
            return value;
        }
    }
    char *text = ck_copy_text(r->at, digits);
    value = strtod(text, NULL);
    free(text);
    r->at += digits;
    return value;
}

static double unary(reader *r)
{
    if (take(r, '-'))
        return -unary(r);
    if (take(r, '(')) {
        double value = sum(r);
        if (!take(r, ')'))
            ck_die("a parenthesis is missing");
        return value;
    }
    blanks(r);
    return isdigit((unsigned char)*r->at) || *r->at == '.' ? number(r) : named(r);
}

static double power(reader *r)
{
    double base = unary(r);
    if (!take(r, '^'))
        return base;
    bool below = take(r, '-');
    blanks(r);
    char *end;
    double exponent = strtod(r->at, &end);
    r->at = end;
    return pow(base, below ? -exponent : exponent);
}

static double term(reader *r)
{
    double value = power(r);
    for (;;) {
        if (take(r, '*'))
            value *= power(r);
        else if (take(r, '/'))
            value /= power(r);
        else
            return value;
    }
}

static double sum(reader *r)
{
    double value = term(r);
    for (;;) {
        if (take(r, '+'))
            value += term(r);
        else if (take(r, '-'))
            value -= term(r);
        else
            return value;
    }
}

void ck_formula_names(const checker *c, const char *text, const bound *scope, void (*visit)(void *, fact *),
                      void *context)
{
    reader r = {.c = c, .scope = scope, .at = text, .visit = visit, .context = context};
    sum(&r);
}

typedef struct inputs {
    fact *facts[32];
    size_t count;
} inputs;

static void note_input(void *context, fact *f)
{
    inputs *list = context;
    for (size_t i = 0; i < list->count; i++)
        if (list->facts[i] == f)
            return;
    if (list->count == 32)
        ck_die("too many names in a formula");
    list->facts[list->count++] = f;
}

static double worked_out(const checker *c, const char *text, const bound *scope, const fact *moved, double by,
                         bool *missing, checker_truth *truth)
{
    reader r = {.c = c, .scope = scope, .at = text, .moved = moved, .by = by, .truth = CHECKER_YES};
    double value = sum(&r);
    blanks(&r);
    if (*r.at != '\0')
        ck_die("left over in a formula: %s", r.at);
    *missing = r.missing;
    *truth = r.truth;
    return value;
}

bool ck_formula_value(const checker *c, const char *text, const bound *scope, double *out, double *error,
                      checker_truth *truth)
{
    inputs list = {.count = 0};
    bool missing;
    ck_formula_names(c, text, scope, note_input, &list);
    *out = worked_out(c, text, scope, NULL, 0, &missing, truth);
    double squares = 0;
    for (size_t i = 0; i < list.count && !missing; i++) {
        double value, own = 0;
        checker_truth ignored;
        bool gone;
        if (list.facts[i]->kind != FACT_MEASURE ||
            ck_settle_number(list.facts[i], &value, &own, &ignored) == CHECKER_UNKNOWN)
            continue;
        double up = worked_out(c, text, scope, list.facts[i], own, &gone, &ignored);
        double down = worked_out(c, text, scope, list.facts[i], -own, &gone, &ignored);
        double half = isfinite(up) && isfinite(down) ? (up - down) / 2
                      : isfinite(up)                 ? up - *out
                                                     : *out - down;
        squares += own > 0 ? half * half : 0;
    }
    *error = sqrt(squares);
    return !missing && isfinite(*out) && isfinite(*error);
}
