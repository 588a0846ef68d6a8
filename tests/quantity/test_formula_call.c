/* Functions in formulas: what is wrong with a call, what comes out, and what is not guessed at. */
#include "quantity/formula.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static double ohm(const double *x)
{
    return x[0] / x[1];
}

static double above_zero(const double *x)
{
    return x[0] > 0 ? x[0] : NAN;
}

static double later(const double *x)
{
    return x[0] + x[1];
}

/* 3 from 2.5 to 3.5, 4 from there to 4.5, else nothing. */
static double nearest(const double *x)
{
    const double whole = floor(x[0] + 0.5);
    return whole == 3 || whole == 4 ? whole : NAN;
}

static double nearest_sum(const double *x)
{
    return floor(x[0] + x[1] + 0.5);
}

static double four(const double *x)
{
    return x[0] + 10 * x[1] + 100 * x[2] + 1000 * x[3];
}

static const cw_function table[] = {
    {"ohm", "volts: voltage, ohms: resistance", "current", "amps", ohm, false},
    {"positive", "x: number", "number", "itself", above_zero, false},
    {"later", "at: temperature, by: temperature_step", "temperature", "warmer", later, false},
    {"whole", "x: number", "number", "3 or 4", nearest, true},
    {"whole_sum", "x: number, y: number", "number", "of the sum", nearest_sum, true},
    {"four", "a: number, b: number, c: number, d: number", "number", "digits", four, false},
    {0}};

static bool look_up(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    static const char *const kinds[] = {"number",     "number",      "voltage",
                                        "resistance", "temperature", "temperature_step"};
    static const char letters[] = "xyvrtd";
    (void)context;
    const char *letter = memchr(letters, name[0], sizeof letters - 1);
    if (letter == NULL)
        return false;
    *id = (uint32_t)(letter - letters) + 10 * (size > 1 ? (uint32_t)(name[1] - '0') + 1 : 0);
    return cw_dimension_find(kinds[letter - letters], dimension);
}

static cw_formula *parse(cw_arena *arena, const char *text, cw_formula_problem *problem)
{
    return cw_formula_parse(arena, text, strlen(text), table, look_up, NULL, problem);
}

/* The inputs in order of first use. */
static bool work_out(const char *text, const double *values, const double *errors, double *value,
                     double *error)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cw_formula *formula = parse(arena, text, &problem);
    cr_assert_not_null(formula, "%s: %s", text, problem.message);
    const bool ok = cw_formula_value(formula, values, errors, value, error);
    cw_arena_free(arena);
    return ok;
}

static void gives(const char *text, const double *values, double expected, const char *dimension)
{
    double value, error;
    cr_assert(work_out(text, values, NULL, &value, &error), "%s", text);
    cr_assert_eq(value, expected, "%s is %.17g", text, value);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    char name[64];
    cr_assert_str_eq(cw_dimension_name(cw_formula_dimension(parse(arena, text, &problem)), name, sizeof name),
                     dimension);
    cw_arena_free(arena);
}

Test(formula_call, values_in_their_order)
{
    gives("ohm(v, r)", (double[]){12, 4}, 3, "current");
    gives("ohm (v + 2 V, 2 * r)", (double[]){12, 3.5}, 2, "current");
    gives("four(x, 2, y, 4)", (double[]){1, 3}, 4321, "number");
    gives("four(four(1, 0, 0, 0), positive(2), max(3, 1, 2), min(9, 4, 7)) + 0.5", NULL, 4321.5, "number");
    gives("later(20 degC, 5 K)", NULL, 298.15, "temperature");
    gives("later(-20 degC, later(t, d) - t)", (double[]){300, 7}, 260.15, "temperature");
    gives("-positive(3) ^ 2", NULL, -9, "number");
    gives("4 * ohm(v, r) / 2 A", (double[]){12, 4}, 6, "number");
    gives("min(5, 3, 4) + 10 * max(1, 2, 7, 3)", NULL, 73, "number");
}

static bool look_nowhere(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    (void)context;
    if (size != 3 || memcmp(name, "ohm", 3) != 0)
        return false;
    *id = 1;
    return cw_dimension_find("number", dimension);
}

/* A fact may have a function's name: it is one only with '(' behind it. */
Test(formula_call, a_name_alone_is_no_function)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cr_assert_not_null(cw_formula_parse(arena, "2 * ohm", 7, table, look_nowhere, NULL, &problem));
    cr_assert_null(cw_formula_parse(arena, "2 * ohm", 7, table, look_up, NULL, &problem));
    cr_assert_eq(problem.error, CW_FORMULA_UNKNOWN_NAME);
    cw_arena_free(arena);
}

static void fails(const char *text, cw_formula_error error, size_t at, size_t length, const char *message,
                  const char *help)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cr_assert_null(parse(arena, text, &problem), "%s", text);
    cr_assert_eq(problem.error, error, "%s: %d", text, problem.error);
    cr_assert_eq(problem.at, at, "%s: at %zu", text, problem.at);
    cr_assert_eq(problem.length, length, "%s: length %zu", text, problem.length);
    cr_assert_str_eq(problem.message, message, "%s: %s", text, problem.message);
    cr_assert_str_eq(problem.help, help, "%s: %s", text, problem.help);
    cw_arena_free(arena);
}

Test(formula_call, what_is_wrong_with_it)
{
    const char *const write_ohm = "write ohm(volts: voltage, ohms: resistance)";
    fails("1 + ohmm(v, r)", CW_FORMULA_UNKNOWN_FUNCTION, 4, 4, "'ohmm' is no function",
          "did you mean 'ohm'?");
    fails("squrt(x)", CW_FORMULA_UNKNOWN_FUNCTION, 0, 5, "'squrt' is no function", "did you mean 'sqrt'?");
    fails("x(3)", CW_FORMULA_UNKNOWN_FUNCTION, 0, 1, "'x' is no function", "");
    fails("ohm(v)", CW_FORMULA_SYNTAX, 0, 3, "'ohm' takes 2 values", write_ohm);
    fails("ohm()", CW_FORMULA_SYNTAX, 0, 3, "'ohm' takes 2 values", write_ohm);
    fails("2 A + ohm(v, r, r)", CW_FORMULA_SYNTAX, 6, 3, "'ohm' takes 2 values", write_ohm);
    fails("positive(1, 2)", CW_FORMULA_SYNTAX, 0, 8, "'positive' takes 1 value", "write positive(x: number)");
    fails("ohm(r, r)", CW_FORMULA_DIMENSION, 4, 1, "this is resistance, but 'ohm' wants voltage here",
          write_ohm);
    fails("ohm(v, v * 2 )", CW_FORMULA_DIMENSION, 7, 5, "this is voltage, but 'ohm' wants resistance here",
          write_ohm);
    fails("ohm(v, r) + v", CW_FORMULA_DIMENSION, 10, 1,
          "amps plus volts: both sides of + must be the same kind of quantity", "");
    fails("ohm(v, r", CW_FORMULA_SYNTAX, 8, 0, "')' is missing at the end", "");
    fails("ohm(v + , r)", CW_FORMULA_SYNTAX, 8, 1, "a value should stand here, not ','", "");
    fails("ohm", CW_FORMULA_UNKNOWN_NAME, 0, 3, "'ohm' is nothing that can be worked with", "");
    fails("sqrt", CW_FORMULA_SYNTAX, 4, 0, "'(' is missing behind the name of a function", "");
}

/* A point on the scale is no difference, nor the other way round. */
Test(formula_call, temperatures)
{
    const char *const help = "write later(at: temperature, by: temperature_step)";
    fails("later(5 K, d)", CW_FORMULA_DIMENSION, 6, 3,
          "this is temperature_step, but 'later' wants temperature here", help);
    fails("later(t, 20 degC)", CW_FORMULA_DIMENSION, 9, 7,
          "this is temperature, but 'later' wants temperature_step here", help);
    fails("later(t - 20 degC, d)", CW_FORMULA_DIMENSION, 6, 11,
          "this is temperature_step, but 'later' wants temperature here", help);
    fails("2 * later(t, d)", CW_FORMULA_DIMENSION, 2, 1,
          "multiplying a temperature on the scale means nothing: take the difference of two first", "");
}

/* JCGM 100:2008, 5.1.2, by hand: 12 V +/- 0.12 over 4 ohm exact: 0.03 A; both: the root of the squares. */
Test(formula_call, errors_are_carried_along)
{
    double value, error;
    cr_assert(work_out("ohm(v, r)", (double[]){12, 4}, (double[]){0.12, 0}, &value, &error));
    cr_assert_float_eq(error, 0.03, 1e-12);
    cr_assert(work_out("four(x, y, 0, 0)", (double[]){1, 1}, (double[]){3, 0.4}, &value, &error));
    cr_assert_float_eq(error, 5, 1e-12); /* 1 x 3 and 10 x 0.4 */
    cr_assert(work_out("ohm(v, r) * r / 1 V", (double[]){12, 4}, (double[]){0, 1}, &value, &error));
    cr_assert_float_eq(error, 0, 1e-12); /* ohms cancel */
}

Test(formula_call, no_value_is_no_outcome)
{
    double value, error;
    cr_assert_not(work_out("positive(x)", (double[]){-1}, NULL, &value, &error));
    cr_assert_not(work_out("max(positive(x), 3)", (double[]){-1}, NULL, &value, &error), "it is not hidden");
    cr_assert_not(work_out("ohm(v, r)", (double[]){12, 0}, NULL, &value, &error));
    /* Beside the edge the error is that of the side where there is something. */
    cr_assert(work_out("positive(x)", (double[]){1}, (double[]){2}, &value, &error));
    cr_assert_eq(error, 2);
}

Test(formula_call, what_jumps_is_not_guessed_at)
{
    double value, error;
    cr_assert(work_out("whole(x)", (double[]){3.3}, NULL, &value, &error));
    cr_assert_eq(value, 3);
    cr_assert(work_out("whole(x)", (double[]){3.3}, (double[]){0.09}, &value, &error)); /* to 3.48 */
    cr_assert_eq(value, 3);
    cr_assert_eq(error, 0);
    cr_assert_not(work_out("whole(x)", (double[]){3.3}, (double[]){0.11}, &value, &error)); /* to 3.52 */
    cr_assert_not(work_out("whole(x)", (double[]){4.3}, (double[]){0.11}, &value, &error), "none beyond");
    cr_assert_not(work_out("whole(x)", (double[]){5}, (double[]){0}, &value, &error));
    /* Either alone leaves it 5, both together do not: 2.2 + 0.2, 2.9 + 0.2. */
    cr_assert(work_out("whole_sum(x, y)", (double[]){2.2, 2.9}, (double[]){0.1, 0}, &value, &error));
    cr_assert(work_out("whole_sum(x, y)", (double[]){2.2, 2.9}, (double[]){0, 0.1}, &value, &error));
    cr_assert_not(work_out("whole_sum(x, y)", (double[]){2.2, 2.9}, (double[]){0.1, 0.1}, &value, &error));
    /* What stands around it is not concerned, nor is what cancels in it. */
    cr_assert(work_out("whole(3) + x", (double[]){1}, (double[]){9}, &value, &error));
    cr_assert_eq(error, 9);
    cr_assert(work_out("whole(3 + x - x)", (double[]){1}, (double[]){9}, &value, &error));
    /* A jump in the middle of what goes on smoothly. */
    cr_assert_not(work_out("x + 0 * whole(x)", (double[]){3.3}, (double[]){0.2}, &value, &error));
}

Test(formula_call, with_many_inexact_inputs_jumps_are_not_looked_into)
{
    double values[9], errors[9], value, error;
    for (int i = 0; i < 9; i++) {
        values[i] = 0;
        errors[i] = 1e-9;
    }
    values[0] = 3;
    cr_assert(work_out("whole(x0 + x1 + x2 + x3 + x4 + x5 + x6 + x7)", values, errors, &value, &error));
    cr_assert_not(
        work_out("whole(x0 + x1 + x2 + x3 + x4 + x5 + x6 + x7 + x8)", values, errors, &value, &error));
    cr_assert(
        work_out("positive(x0 + x1 + x2 + x3 + x4 + x5 + x6 + x7 + x8)", values, errors, &value, &error));
}

/* Against the obvious: all corners of the box, tried here. */
Test(formula_call, random_boxes)
{
    random_state r = random_start(31);
    size_t sure = 0, unsure = 0;
    for (int round = 0; round < 5000; round++) {
        const double x = random_between(&r, -3, 3), y = random_between(&r, -3, 3),
                     ux = random_between(&r, 0, 0.2), uy = random_between(&r, 0, 0.2);
        const double here = floor(x - 2 * y + 0.5);
        bool same = true;
        for (int i = -1; i <= 1; i += 2)
            for (int j = -1; j <= 1; j += 2)
                same = same && floor(x + i * 2 * ux - 2 * (y + j * 2 * uy) + 0.5) == here;
        double value, error;
        const bool ok =
            work_out("whole_sum(x, -2 * y)", (double[]){x, y}, (double[]){ux, uy}, &value, &error);
        cr_assert_eq(ok, same, "%g +/- %g, %g +/- %g", x, ux, y, uy);
        cr_assert(!ok || value == here);
        sure += same;
        unsure += !same;
    }
    cr_assert(sure > 500 && unsure > 500, "%zu and %zu", sure, unsure);
}

/* Nested calls need no more room than the reader allows. */
Test(formula_call, deep_ones_are_refused)
{
    char text[2000] = "";
    for (int i = 0; i < 70; i++)
        strcat(text, "positive(");
    strcat(text, "1");
    for (int i = 0; i < 70; i++)
        strcat(text, ")");
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cr_assert_null(parse(arena, text, &problem));
    cr_assert_eq(problem.error, CW_FORMULA_TOO_DEEP);
    text[0] = '\0';
    for (int i = 0; i < 22; i++)
        strcat(text, "four(1, 2, 3, ");
    strcat(text, "1");
    for (int i = 0; i < 22; i++)
        strcat(text, ")");
    cr_assert_null(parse(arena, text, &problem)); /* 66 values wait */
    cr_assert_eq(problem.error, CW_FORMULA_TOO_DEEP);
    cw_arena_free(arena);
}
