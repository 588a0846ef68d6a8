/* Formulas, read and worked out in one go by recursive descent, with the inputs moved one after the other for
 * the error. */
#include "checker/inside.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_INPUTS = 32, MOST_JUMPS = 16, MOST_ARGUMENTS = 6 };

typedef struct inputs {
    fact *facts[MOST_INPUTS];
    size_t count;
} inputs;

typedef struct reader {
    const checker *c;
    const bound *scope;
    const char *at;
    const fact *moved; /* the input that is moved by `by` */
    double by;
    const inputs *corner; /* all inputs are moved by two of their errors, up or down by the bits of `up` */
    unsigned up;
    double jumps[MOST_JUMPS]; /* what functions with jumps have given */
    size_t jump_count;
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
    for (size_t i = 0; r->corner != NULL && i < r->corner->count; i++)
        if (r->corner->facts[i] == f)
            return number + (r->up >> i & 1 ? 2 : -2) * error;
    return f == r->moved ? number + r->by : number;
}

static double bench(reader *r, const char *name, const double *arguments)
{
    double value;
    bool stepped;
    if (!ck_bench_value(name, arguments, &value, &stepped))
        ck_die("there is no %s()", name);
    if (stepped && r->jump_count == MOST_JUMPS)
        ck_die("too many functions with jumps in a formula");
    if (stepped)
        r->jumps[r->jump_count++] = value;
    r->missing |= r->visit == NULL && !isfinite(value);
    return value;
}

static double call(reader *r, const char *name)
{
    double x[MOST_ARGUMENTS] = {sum(r)};
    size_t count = 1;
    bool least = strcmp(name, "min") == 0, most = strcmp(name, "max") == 0;
    while (take(r, ',')) {
        double next = sum(r);
        if (least || most)
            x[0] = least ? fmin(x[0], next) : fmax(x[0], next);
        else if (count < MOST_ARGUMENTS)
            x[count++] = next;
        else
            ck_die("too many values for %s()", name);
    }
    if (!take(r, ')'))
        ck_die("a parenthesis is missing in %s()", name);
    if (least || most)
        return x[0];
    if (strcmp(name, "abs") == 0)
        return fabs(x[0]);
    return strcmp(name, "sqrt") == 0 ? sqrt(x[0]) : bench(r, name, x);
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
        if (memchr(r->at, '\0', length) != NULL || memchr(r->at, ',', length) != NULL)
            continue; /* a comma parts the values of a call */
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

static void note_input(void *context, fact *f)
{
    inputs *list = context;
    for (size_t i = 0; i < list->count; i++)
        if (list->facts[i] == f)
            return;
    if (list->count == MOST_INPUTS)
        ck_die("too many names in a formula");
    list->facts[list->count++] = f;
}

/* How the formula is read, and what came of it. */
static double worked_out(reader *r, const char *text)
{
    r->at = text;
    r->truth = CHECKER_YES;
    r->jump_count = 0;
    r->missing = false;
    double value = sum(r);
    blanks(r);
    if (*r->at != '\0')
        ck_die("left over in a formula: %s", r->at);
    return value;
}

/* Only measures have errors; those that have none, or are not known, are left out. */
static inputs inexact(const inputs *all)
{
    inputs list = {.count = 0};
    for (size_t i = 0; i < all->count; i++) {
        double value, error = 0;
        checker_truth truth;
        if (all->facts[i]->kind == FACT_MEASURE &&
            ck_settle_number(all->facts[i], &value, &error, &truth) != CHECKER_UNKNOWN && error > 0)
            list.facts[list.count++] = all->facts[i];
    }
    return list;
}

/* Functions with jumps give the same at every corner; with more than eight inexact inputs nobody looks. */
static bool steady(const reader *centre, const char *text, const inputs *moving)
{
    if (centre->jump_count == 0)
        return true;
    for (unsigned up = 0; moving->count <= 8 && up < 1u << moving->count; up++) {
        reader r = *centre;
        r.corner = moving;
        r.up = up;
        worked_out(&r, text);
        for (size_t i = 0; i < centre->jump_count; i++)
            if (r.jump_count != centre->jump_count || !(r.jumps[i] == centre->jumps[i]))
                return false;
    }
    return moving->count <= 8;
}

static double outcome(reader r, const char *text, const fact *moved, double by)
{
    r.moved = moved;
    r.by = by;
    double value = worked_out(&r, text);
    return r.missing ? NAN : value;
}

bool ck_formula_value(const checker *c, const char *text, const bound *scope, double *out, double *error,
                      checker_truth *truth)
{
    inputs list = {.count = 0};
    ck_formula_names(c, text, scope, note_input, &list);
    reader centre = {.c = c, .scope = scope};
    *out = worked_out(&centre, text);
    *truth = centre.truth;
    *error = 0;
    if (centre.missing)
        return false;
    inputs moving = inexact(&list);
    double squares = 0;
    for (size_t i = 0; i < moving.count; i++) {
        double value, own;
        checker_truth ignored;
        ck_settle_number(moving.facts[i], &value, &own, &ignored);
        double up = outcome(centre, text, moving.facts[i], own);
        double down = outcome(centre, text, moving.facts[i], -own);
        double half = isfinite(up) && isfinite(down) ? (up - down) / 2
                      : isfinite(up)                 ? up - *out
                                                     : *out - down;
        squares += half * half;
    }
    *error = sqrt(squares);
    return isfinite(*out) && isfinite(*error) && steady(&centre, text, &moving);
}
