#include "quantity/formula.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Names as the tests use them: the first letter tells the dimension. Ids are any number; here 100 + place in
 * the list. */
static const char *const names[] = {"volts", "volts_b", "ohms",    "amps",      "hot",  "cold",
                                    "rise",  "plain",   "plain_b", "volts[d1]", "size", "seconds"};
enum { NAME_COUNT = sizeof names / sizeof *names };
static const char *const kinds[] = {"voltage",     "voltage",     "resistance",       "current",
                                    "temperature", "temperature", "temperature_step", "number",
                                    "number",      "voltage",     "length",           "time"};

static bool look_up(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    (void)context;
    for (uint32_t i = 0; i < NAME_COUNT; i++)
        if (strlen(names[i]) == size && memcmp(names[i], name, size) == 0) {
            *id = 100 + i;
            return cw_dimension_find(kinds[i], dimension);
        }
    return false;
}

static cw_formula *parse(cw_arena *arena, const char *text, cw_formula_problem *problem)
{
    return cw_formula_parse(arena, text, strlen(text), NULL, look_up, NULL, problem);
}

/* The formula's value with volts 12, ohms 4, ... by the list. */
static const double standard[] = {12, 10, 4, 3, 303.15, 293.15, 5, 7, 2, 0.5, 0.25, 8};

static void gives(const char *text, double expected, const char *kind)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cw_formula *formula = parse(arena, text, &problem);
    cr_assert_not_null(formula, "%s: %s", text, problem.message);
    cr_assert_eq(problem.error, CW_FORMULA_OK);
    const uint32_t *ids;
    size_t count = cw_formula_inputs(formula, &ids);
    double values[NAME_COUNT];
    for (size_t i = 0; i < count; i++)
        values[i] = standard[ids[i] - 100];
    double value;
    double error = -1;
    cr_assert(cw_formula_value(formula, values, NULL, &value, &error), "%s", text);
    cr_assert_eq(value, expected, "%s is %.17g", text, value);
    cr_assert_eq(error, 0);
    char buffer[64];
    cr_assert_str_eq(cw_dimension_name(cw_formula_dimension(formula), buffer, sizeof buffer), kind, "%s",
                     text);
    cw_arena_free(arena);
}

Test(formula, arithmetic)
{
    gives("1 + 2 * 3", 7, "number");
    gives("(1 + 2) * 3", 9, "number");
    gives("10 - 4 - 3", 3, "number");
    gives("24 / 4 / 2", 3, "number");
    gives("24 / (4 / 2)", 12, "number");
    gives("2 ^ 3", 8, "number");
    gives("2 ^ -2", 0.25, "number");
    gives("plain ^ 0", 1, "number");
    gives("-2 ^ 2", -4, "number");
    gives("(-2) ^ 2", 4, "number");
    gives("2 * -3", -6, "number");
    gives("2 - -3", 5, "number");
    gives("--3", 3, "number");
    gives("min(3, 2) + max(3, 2) * 10", 32, "number");
    gives("abs(2 - 5)", 3, "number");
    gives("sqrt(2 + 7)", 3, "number");
    gives(" 1+2 ", 3, "number");
    gives(".5 + 1e3 + 2E-1", 1000.7, "number");
    gives("min(max(1, 2), abs(-sqrt(9)))", 2, "number");
}

Test(formula, quantities)
{
    gives("volts - volts_b", 2, "voltage");
    gives("volts / ohms", 3, "current");
    gives("volts * amps", 36, "power");
    gives("amps ^ 2 * ohms", 36, "power");
    gives("volts + 500 mV", 12.5, "voltage");
    gives("volts[d1] * 2", 1, "voltage");
    gives("sqrt(volts * volts)", 12, "voltage");
    gives("volts * amps / volts_b", 3.6, "current");
    gives("size * 4 - 5 in", 0.873, "length");
    gives("max(volts, 14 V)", 14, "voltage");
    gives("50 %", 0.5, "number");
    gives("2 N m * 3", 6, "torque");
    gives("10 lbf ft", 13.558179483314004, "torque");
    gives("5 \xC2\xB0"
          "C",
          278.15, "temperature");
    gives("3 \xCE\xA9", 3, "resistance");
    gives("amps * seconds", 24, "charge");
    gives("1 Ah / 1 h", 1, "current");
    gives("size * size * size", 0.015625, "m^3");
    gives("min(5 min, 400 s)", 300, "time");
    gives("5\" - 3 in", 0.127 - 0.0762, "length");
}

Test(formula, temperatures)
{
    gives("hot - cold", 10, "temperature_step");
    gives("cold + rise", 298.15, "temperature");
    gives("rise + cold", 298.15, "temperature");
    gives("hot - rise", 298.15, "temperature");
    gives("cold + 5 K", 298.15, "temperature");
    gives("hot - 20 degC", 303.15 - 293.15, "temperature_step");
    gives("-5 degC", 268.15, "temperature");
    gives("hot - -5 degC", 303.15 - 268.15, "temperature_step");
    gives("- 40 degF", 233.15, "temperature");
    gives("max(hot, 70 degF)", 303.15, "temperature");
    gives("(hot - cold) / rise", 2, "number");
    gives("2 * (hot - cold)", 20, "temperature_step");
    gives("-rise", -5, "temperature_step");
    gives("cold + (hot - cold) / 2", 298.15, "temperature");
}

static void fails(const char *text, cw_formula_error error, size_t at, size_t length, const char *message)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cr_assert_null(parse(arena, text, &problem), "%s", text);
    cr_assert_eq(problem.error, error, "%s: %d", text, problem.error);
    cr_assert_eq(problem.at, at, "%s: at %zu", text, problem.at);
    cr_assert_eq(problem.length, length, "%s: length %zu", text, problem.length);
    cr_assert_str_eq(problem.message, message, "%s: %s", text, problem.message);
    cw_arena_free(arena);
}

Test(formula, what_does_not_fit)
{
    fails("volts + ohms", CW_FORMULA_DIMENSION, 6, 1,
          "volts plus ohms: both sides of + must be the same kind of quantity");
    fails("volts * 2 - 3", CW_FORMULA_DIMENSION, 10, 1,
          "volts minus plain numbers: both sides of - must be the same kind of quantity");
    fails("max(volts, amps)", CW_FORMULA_DIMENSION, 0, 3,
          "volts and amps: both sides of max must be the same kind of quantity");
    fails("1 + min(amps, 3 mm)", CW_FORMULA_DIMENSION, 4, 3,
          "amps and lengths: both sides of min must be the same kind of quantity");
    fails("size * size * size + 1", CW_FORMULA_DIMENSION, 19, 1,
          "m^3 plus plain numbers: both sides of + must be the same kind of quantity");
    fails("sqrt(volts)", CW_FORMULA_DIMENSION, 0, 4, "the root of volts is no kind of quantity");
    fails("(size ^ 12) ^ 12", CW_FORMULA_DIMENSION, 12, 1, "this power is no kind of quantity");
    fails("size ^ 12 * (size ^ 12 * size ^ 12 * (size ^ 12) ^ 8)", CW_FORMULA_DIMENSION, 10, 1,
          "this is no kind of quantity any more");
}

Test(formula, temperatures_that_mean_nothing)
{
    fails("hot + cold", CW_FORMULA_DIMENSION, 4, 1,
          "two temperatures on the scale cannot be added: one must be a difference, in K");
    fails("rise - cold", CW_FORMULA_DIMENSION, 5, 1,
          "a temperature on the scale cannot be taken from a difference of temperatures");
    fails("2 * hot", CW_FORMULA_DIMENSION, 2, 1,
          "multiplying a temperature on the scale means nothing: take the difference of two first");
    fails("hot / 2", CW_FORMULA_DIMENSION, 4, 1,
          "dividing with a temperature on the scale means nothing: take the difference of two first");
    fails("hot ^ 2", CW_FORMULA_DIMENSION, 4, 1,
          "a power of a temperature on the scale means nothing: take the difference of two first");
    fails("abs(hot)", CW_FORMULA_DIMENSION, 0, 3,
          "the size of a temperature on the scale means nothing: take the difference of two first");
    fails("sqrt(hot)", CW_FORMULA_DIMENSION, 0, 4,
          "the root of a temperature on the scale means nothing: take the difference of two first");
    fails("-hot", CW_FORMULA_DIMENSION, 0, 1,
          "the negative of a temperature on the scale means nothing: take the difference of two first");
    fails("-(5 degC)", CW_FORMULA_DIMENSION, 0, 1,
          "the negative of a temperature on the scale means nothing: take the difference of two first");
    fails("--5 degC", CW_FORMULA_DIMENSION, 0, 1,
          "the negative of a temperature on the scale means nothing: take the difference of two first");
    fails("hot - rise + cold", CW_FORMULA_DIMENSION, 11, 1,
          "two temperatures on the scale cannot be added: one must be a difference, in K");
    fails("max(hot, rise)", CW_FORMULA_DIMENSION, 0, 3,
          "temperatures and temperature differences: both sides of max must be the same kind of quantity");
}

Test(formula, what_is_misspelt)
{
    fails("", CW_FORMULA_SYNTAX, 0, 0, "the formula ends where a value should follow");
    fails("volts +", CW_FORMULA_SYNTAX, 7, 0, "the formula ends where a value should follow");
    fails("volts + * 3", CW_FORMULA_SYNTAX, 8, 1, "a value should stand here, not '*'");
    fails("(volts", CW_FORMULA_SYNTAX, 6, 0, "')' is missing at the end");
    fails("volts)", CW_FORMULA_SYNTAX, 5, 1, "an operator such as + or * should stand here, not ')'");
    fails("volts amps", CW_FORMULA_SYNTAX, 6, 4, "an operator such as + or * should stand here, not 'amps'");
    fails("1 2", CW_FORMULA_SYNTAX, 2, 1, "an operator such as + or * should stand here, not '2'");
    fails("5 foos", CW_FORMULA_SYNTAX, 2, 4, "'foos' is no unit");
    fails("5 V x", CW_FORMULA_SYNTAX, 4, 1, "an operator such as + or * should stand here, not 'x'");
    fails("1.2.3", CW_FORMULA_SYNTAX, 0, 5, "'1.2.3' is no number");
    fails(".", CW_FORMULA_SYNTAX, 0, 1, "'.' is no number");
    fails("1e999", CW_FORMULA_SYNTAX, 0, 5, "'1e999' is no number");
    fails("1e308 km", CW_FORMULA_SYNTAX, 0, 8, "this number is too large");
    fails("1,5 + 2", CW_FORMULA_SYNTAX, 1, 2, "an operator such as + or * should stand here, not ',5'");
    fails("min(1)", CW_FORMULA_SYNTAX, 5, 1, "',' is missing between the two of min");
    fails("max 3", CW_FORMULA_SYNTAX, 4, 1, "'(' is missing behind the name of a function");
    fails("abs(1, 2)", CW_FORMULA_SYNTAX, 5, 1, "')' is missing at the end");
    fails("volts ^ amps", CW_FORMULA_SYNTAX, 8, 1, "the power must be a whole number from -12 to 12");
    fails("volts ^ 1.5", CW_FORMULA_SYNTAX, 8, 1, "the power must be a whole number from -12 to 12");
    fails("volts ^ 13", CW_FORMULA_SYNTAX, 8, 2, "the power must be a whole number from -12 to 12");
    fails("volts ^", CW_FORMULA_SYNTAX, 7, 0, "the power must be a whole number from -12 to 12");
    fails("2 ^ 3 ^ 2", CW_FORMULA_SYNTAX, 6, 1, "an operator such as + or * should stand here, not '^'");
    fails("5 mm^2", CW_FORMULA_SYNTAX, 0, 5,
          "this can be read in two ways: put the number and its unit in parentheses");
    fails("volts[d1", CW_FORMULA_SYNTAX, 0, 8, "']' is missing behind the name of a thing");
    fails("volts \xC3\x97 2", CW_FORMULA_SYNTAX, 6, 2,
          "an operator such as + or * should stand here, not '\xC3\x97'");
    fails("\xC3\x97", CW_FORMULA_SYNTAX, 0, 2, "a value should stand here, not '\xC3\x97'");
}

Test(formula, names_that_nothing_declares)
{
    fails("volts - vlots_b", CW_FORMULA_UNKNOWN_NAME, 8, 7, "'vlots_b' is nothing that can be worked with");
    fails("volts[d2] * 2", CW_FORMULA_UNKNOWN_NAME, 0, 9, "'volts[d2]' is nothing that can be worked with");
    fails("pi", CW_FORMULA_UNKNOWN_NAME, 0, 2, "'pi' is nothing that can be worked with");
}

static void nest(const char *open, const char *close, size_t depth, bool good)
{
    char text[2000] = "";
    for (size_t i = 0; i < depth; i++)
        strcat(text, open);
    strcat(text, "1");
    for (size_t i = 0; i < depth; i++)
        strcat(text, close);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cw_formula *formula = parse(arena, text, &problem);
    cr_assert_eq(formula != NULL, good, "%zu of %s", depth, open);
    cr_assert_eq(problem.error, good ? CW_FORMULA_OK : CW_FORMULA_TOO_DEEP);
    double value;
    double error;
    if (good)
        cw_formula_value(formula, NULL, NULL, &value, &error);
    cw_arena_free(arena);
}

Test(formula, depth_has_a_limit)
{
    nest("(", ")", 64, true);
    nest("(", ")", 65, false);
    nest("-", "", 64, true);
    nest("-", "", 65, false);
    nest("abs(", ")", 64, true);
    nest("abs(", ")", 65, false);
    nest("1+(", ")", 63, true);   /* 64 operands wait */
    nest("1+1*(", ")", 31, true); /* 63 operands wait */
    nest("1+1*(", ")", 32, false);
    char chain[2000] = "1";
    for (int i = 0; i < 600; i++)
        strcat(chain, "+1");
    gives(chain, 601, "number"); /* long is not deep */
}

Test(formula, inputs_are_listed_once_in_order_of_first_use)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cw_formula *formula = parse(arena, "volts_b + volts * amps / amps - volts_b", &problem);
    const uint32_t *ids;
    cr_assert_eq(cw_formula_inputs(formula, &ids), 3);
    cr_assert_eq(ids[0], 101);
    cr_assert_eq(ids[1], 100);
    cr_assert_eq(ids[2], 103);
    cr_assert_eq(cw_formula_inputs(parse(arena, "1 + 2", &problem), &ids), 0);
    cw_arena_free(arena);
}

/* value and error of a formula over volts, ohms ... in order of first use */
static bool work_out(const char *text, const double *values, const double *errors, double *value,
                     double *error)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_formula_problem problem;
    cw_formula *formula = parse(arena, text, &problem);
    cr_assert_not_null(formula, "%s: %s", text, problem.message);
    bool ok = cw_formula_value(formula, values, errors, value, error);
    cw_arena_free(arena);
    return ok;
}

static void near(double got, double expected)
{
    cr_assert_leq(fabs(got - expected), 1e-12 * fabs(expected), "%.17g, not %.17g", got, expected);
}

/* By the law of propagation, worked out by hand. */
Test(formula, errors_are_carried_along)
{
    double value;
    double error;
    cr_assert(work_out("volts - volts_b", (double[]){14.4, 14.1}, (double[]){0.03, 0.04}, &value, &error));
    near(error, 0.05);
    cr_assert(work_out("3 * plain - 4 * plain_b + 100", (double[]){1, 1}, (double[]){1, 1}, &value, &error));
    near(error, 5);
    /* product: u = sqrt((y ux)^2 + (x uy)^2) = sqrt((4 * 0.3)^2 + (10 * 0.05)^2) = 1.3 */
    cr_assert(work_out("volts * amps", (double[]){10, 4}, (double[]){0.3, 0.05}, &value, &error));
    near(value, 40);
    near(error, 1.3);
    /* one and the same input twice: fully dependent, 2 u and 0 */
    cr_assert(work_out("volts + volts", (double[]){12}, (double[]){0.1}, &value, &error));
    near(error, 0.2);
    cr_assert(work_out("volts - volts", (double[]){12}, (double[]){0.1}, &value, &error));
    cr_assert_eq(error, 0);
    /* square: central difference ((x+u)^2 - (x-u)^2) / 2 = 2 x u, exactly */
    cr_assert(work_out("plain ^ 2", (double[]){3}, (double[]){0.5}, &value, &error));
    near(error, 3);
    /* at the bottom of a parabola the central difference says 0 */
    cr_assert(work_out("plain ^ 2", (double[]){0}, (double[]){0.5}, &value, &error));
    cr_assert_eq(error, 0);
    cr_assert(work_out("max(plain, plain_b)", (double[]){5, 1}, (double[]){0.5, 0.5}, &value, &error));
    near(error, 0.5);
    cr_assert(work_out("volts / ohms", (double[]){12, 4}, (double[]){0, 0}, &value, &error));
    cr_assert_eq(error, 0);
    near(value, 3);
}

/* JCGM 100:2008, 5.1.2: two of the input's errors side by side, for a nearly straight formula. */
Test(formula, quotients_to_first_order)
{
    double value;
    double error;
    cr_assert(work_out("volts / ohms", (double[]){12, 4}, (double[]){0.012, 0.004}, &value, &error));
    /* relative errors 1/1000 each: 3 * sqrt(2) / 1000, up to the square of the relative error */
    cr_assert_lt(fabs(error - 3 * sqrt(2) / 1000), 1e-8);
}

Test(formula, where_there_is_no_outcome)
{
    double value;
    double error;
    cr_assert_not(work_out("1 / 0", NULL, NULL, &value, &error));
    cr_assert_not(work_out("sqrt(plain)", (double[]){-1}, (double[]){0}, &value, &error));
    cr_assert_not(work_out("1 / (plain - 7)", (double[]){7}, NULL, &value, &error));
    cr_assert_not(work_out("plain ^ -1", (double[]){0}, NULL, &value, &error));
    cr_assert_not(work_out("1 / (1 / plain)", (double[]){0}, NULL, &value, &error),
                  "no step hides an infinity");
    cr_assert_not(work_out("max(sqrt(plain), 3)", (double[]){-1}, NULL, &value, &error));
    cr_assert_not(work_out("plain ^ 12", (double[]){1e300}, NULL, &value, &error));
    /* Beside the edge: the outcome is there, and its error from the side where there is one. */
    cr_assert(work_out("sqrt(plain)", (double[]){1}, (double[]){3}, &value, &error));
    near(value, 1);
    near(error, 1); /* sqrt(4) - sqrt(1) */
    cr_assert(work_out("1 / (5 - plain)", (double[]){4}, (double[]){1}, &value, &error));
    near(error, 0.5); /* 1/1 - 1/2 */
    /* To neither side: sqrt(1 - x^2) at 0 with an error of 2. */
    cr_assert_not(work_out("sqrt(1 - plain ^ 2)", (double[]){0}, (double[]){2}, &value, &error));
}

Test(formula, evaluation_asks_for_no_memory)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_arena *arena = cw_arena_new(&memory.allocator);
    cw_formula_problem problem;
    cw_formula *formula = parse(arena, "sqrt(volts * volts_b) - 3 V", &problem);
    size_t before = memory.requests;
    memory.allowed = 0;
    double value;
    double error;
    cr_assert(cw_formula_value(formula, (double[]){9, 4}, (double[]){1, 1}, &value, &error));
    cr_assert_eq(value, 3);
    cr_assert_eq(memory.requests, before);
    cw_arena_free(arena);
}

Test(formula, every_request_fails_once)
{
    failing memory;
    for (size_t allowed = 0;; allowed++) {
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        if (arena != NULL) {
            cw_formula_problem problem;
            cw_formula *formula =
                parse(arena,
                      "volts + volts_b * (plain + 1 + 2 + 3 + 4 + 5 + 6) - volts[d1] + (amps + 1 A) * (ohms "
                      "+ 2 ohm) "
                      "+ 0 * (volts * (seconds / 1 s) * (size / 1 m) * ((hot - cold) / rise) * plain_b)",
                      &problem);
            cr_assert_eq(formula == NULL, memory.refused);
            cr_assert_eq(problem.error, memory.refused ? CW_FORMULA_NO_MEMORY : CW_FORMULA_OK);
        }
        cw_arena_free(arena);
        cr_assert_eq(failing_bytes(&memory), 0);
        if (!memory.refused)
            break;
    }
    cr_assert_gt(memory.requests, 6);
}

/* A random formula is written and worked out in the same breath. */
typedef struct writer {
    random_state random;
    char text[4000];
    size_t size;
    double values[2]; /* of plain and plain_b */
    bool broken;      /* a step was not finite */
} writer;

static void put(writer *w, const char *text)
{
    strcpy(w->text + w->size, text);
    w->size += strlen(text);
}

static double note(writer *w, double x)
{
    w->broken = w->broken || !isfinite(x);
    return x;
}

static double write_sum(writer *w, int depth);

static double write_atom(writer *w, int depth)
{
    char number[40];
    uint32_t pick = random_below(&w->random, depth > 0 ? 9 : 3);
    double x;
    double y;
    switch (pick) {
    case 0:
        x = random_below(&w->random, 1000) / 8.0;
        snprintf(number, sizeof number, "%.17g", x);
        put(w, number);
        return x;
    case 1:
    case 2:
        put(w, pick == 1 ? "plain" : "plain_b");
        return w->values[pick - 1];
    case 3:
    case 4:
        put(w, pick == 3 ? "min(" : "max(");
        x = write_sum(w, depth - 1);
        put(w, ", ");
        y = write_sum(w, depth - 1);
        put(w, ")");
        return note(w, (pick == 3) == (x < y) ? x : y);
    case 5:
        put(w, "abs(");
        x = fabs(write_sum(w, depth - 1));
        put(w, ")");
        return x;
    case 6:
        put(w, "sqrt(");
        x = note(w, sqrt(write_sum(w, depth - 1)));
        put(w, ")");
        return x;
    default:
        put(w, "(");
        x = write_sum(w, depth - 1);
        put(w, ")");
        return x;
    }
}

static double write_minus(writer *w, int depth)
{
    if (random_below(&w->random, 6) == 0) {
        put(w, "-");
        return -write_minus(w, depth);
    }
    double x = write_atom(w, depth);
    if (random_below(&w->random, 6) != 0)
        return x;
    int power = (int)random_below(&w->random, 5) - 2;
    char text[16];
    snprintf(text, sizeof text, "^%d", power);
    put(w, text);
    double product = 1;
    for (int i = 0; i < abs(power); i++)
        product *= x;
    return note(w, power < 0 ? 1 / product : product);
}

static double write_term(writer *w, int depth)
{
    double x = write_minus(w, depth);
    while (random_below(&w->random, 3) == 0) {
        bool divide = random_below(&w->random, 2) == 0;
        put(w, divide ? " / " : "*");
        double y = write_minus(w, depth);
        x = note(w, divide ? x / y : x * y);
    }
    return x;
}

static double write_sum(writer *w, int depth)
{
    double x = write_term(w, depth);
    while (random_below(&w->random, 3) == 0) {
        bool minus = random_below(&w->random, 2) == 0;
        put(w, minus ? " - " : "+");
        double y = write_term(w, depth);
        x = note(w, minus ? x - y : x + y);
    }
    return x;
}

Test(formula, random_ones_against_working_out_while_writing)
{
    writer w = {.random = random_start(21)};
    size_t finite = 0;
    for (int round = 0; round < 20000; round++) {
        w.size = 0;
        w.broken = false;
        w.values[0] = random_between(&w.random, -10, 10);
        w.values[1] = random_between(&w.random, 0, 100);
        double expected = write_sum(&w, 3);
        if (w.size > 3500)
            continue;
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_formula_problem problem;
        cw_formula *formula = parse(arena, w.text, &problem);
        cr_assert_not_null(formula, "%s: %s", w.text, problem.message);
        const uint32_t *ids;
        double inputs[2];
        size_t count = cw_formula_inputs(formula, &ids);
        for (size_t i = 0; i < count; i++)
            inputs[i] = w.values[ids[i] - 107];
        double value;
        double error;
        bool ok = cw_formula_value(formula, inputs, NULL, &value, &error);
        cr_assert_eq(ok, !w.broken, "%s", w.text);
        if (ok) {
            finite++;
            cr_assert_eq(value, expected, "%s: %.17g, not %.17g", w.text, value, expected);
        }
        cw_arena_free(arena);
    }
    cr_assert_gt(finite, 10000);
}

/* Any bytes: a formula or a problem whose spot lies in the text. */
Test(formula, random_bytes_are_read_or_refused_with_a_spot)
{
    static const char *const parts[] = {
        "volts", "ohms", "hot", "rise", "1",   "2.5", " ",     "+",     "-",        "*",    "/",
        "^",     "(",    ")",   ",",    "min", "abs", "sqrt(", "max(",  "\xC2\xB0", "degC", "V",
        "[",     "]",    "2",   "e",    "\"",  "%",   "\xFF",  "plain", "K",        "mm",   "12"};
    random_state random = random_start(22);
    size_t good = 0;
    for (int round = 0; round < 100000; round++) {
        char text[100];
        size_t size = 0;
        for (uint32_t i = random_below(&random, 10); i > 0; i--) {
            const char *part = parts[random_below(&random, sizeof parts / sizeof *parts)];
            memcpy(text + size, part, strlen(part));
            size += strlen(part);
        }
        char *copy = malloc(size + (size == 0));
        memcpy(copy, text, size);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_formula_problem problem;
        cw_formula *formula = cw_formula_parse(arena, copy, size, NULL, look_up, NULL, &problem);
        if (formula != NULL) {
            good++;
            double value;
            double error;
            cw_formula_value(formula, standard, standard, &value, &error);
        } else {
            cr_assert_neq(problem.error, CW_FORMULA_OK);
            cr_assert_leq(problem.at, size);
            cr_assert_leq(problem.length, size - problem.at);
            cr_assert_gt(strlen(problem.message), 5);
        }
        cw_arena_free(arena);
        free(copy);
    }
    cr_assert_gt(good, 2000);
}
