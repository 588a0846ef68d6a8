/* Formulas of rules: parsed once, dimension checked at load, evaluated with errors carried along.
 *
 *   sum   -> term (('+' | '-') term)*      term -> minus (('*' | '/') minus)*
 *   minus -> '-' minus | power             power -> atom ('^' integer)?
 *   atom  -> number unit? | name | '(' sum ')' | ('abs' | 'sqrt') '(' sum ')'
 *          | ('min' | 'max') '(' sum (',' sum)+ ')' | function '(' sum (',' sum)* ')'
 *
 * So -2^2 is -4, as in every book. A number with its unit is one atom (0.2 V, 20 degC, 1e-3 ohm); its decimal
 * mark is the point, because the comma parts arguments, and 1/4 in is a division. Integers of powers lie in
 * -12 ... 12. A name is letters, digits, '_', beginning with a letter, with an optional [thing]; min, max,
 * abs and sqrt are no names. A name with '(' behind it is a function, of the caller's table or one of these
 * four; without, it is never one, so that a fact may be called like a function of the table.
 *
 * Temperatures: 20 degC and 70 degF are points on the scale, and so is a fact of the dimension temperature. 5
 * K is a difference, as is a fact of the dimension temperature_step. Point + difference = point (in either
 * order), point - difference = point, point - point = difference; min and max take two points; everything
 * else wants differences, because twice 20 degC means nothing. */
#ifndef CW_QUANTITY_FORMULA_H
#define CW_QUANTITY_FORMULA_H

#include "base/arena.h"
#include "base/places.h"
#include "quantity/quantity.h"

typedef struct cw_formula cw_formula;

/* A function that formulas may call. It is pure: its outcome hangs on its arguments alone (base units, as
 * many as `takes` names), NAN where there is none. */
typedef struct cw_function {
    const char *name;  /* NULL ends a table */
    const char *takes; /* "ohms: resistance, at: temperature": what each is, and its dimension by name */
    const char *gives; /* its dimension by name */
    const char *means; /* for people */
    double (*work)(const double *arguments);
    /* It gives few values, each for a box of arguments (a convex one), and jumps between them: a bearing's
     * number from its measured size. */
    bool stepped;
} cw_function;

/* What a name stands for: its number (any the caller likes) and dimension; false if unknown. */
typedef bool (*cw_formula_lookup)(void *context, const char *name, size_t size, uint32_t *id,
                                  cw_dimension *dimension);

typedef enum cw_formula_error {
    CW_FORMULA_OK,
    CW_FORMULA_SYNTAX,
    CW_FORMULA_UNKNOWN_NAME,
    CW_FORMULA_UNKNOWN_FUNCTION,
    CW_FORMULA_DIMENSION,
    CW_FORMULA_TOO_DEEP,
    CW_FORMULA_NO_MEMORY
} cw_formula_error;

typedef struct cw_formula_problem {
    cw_formula_error error;
    size_t at, length; /* the spot (bytes) */
    char message[160]; /* for people: "volts plus ohms: ..." */
    char help[200];    /* "did you mean 'sqrt'?"; empty if there is none */
} cw_formula_problem;

/* Parentheses, functions and minus signs within each other, and operands waiting at once. */
#define CW_FORMULA_DEPTH 64
#define CW_FORMULA_CORNERS 8

/* Built in the arena; the table (NULL: none) must outlive it. NULL with *problem filled (problem must not be
 * NULL) when it is wrong. */
cw_formula *cw_formula_parse(cw_arena *arena, const char *text, size_t size, const cw_function *functions,
                             cw_formula_lookup lookup, void *context, cw_formula_problem *problem);
/* A figure by itself, in base units, with its standard uncertainty. NULL when memory fails. */
cw_formula *cw_formula_figure(cw_arena *arena, double value, double error, cw_dimension dimension);
/* "x": one input and nothing else. NULL without memory. */
cw_formula *cw_formula_input(cw_arena *arena, uint32_t id, cw_dimension dimension);
/* Every pointer within. */
void cw_formula_places(const cw_formula *formula, cw_places *places);
cw_dimension cw_formula_dimension(const cw_formula *formula);
/* The names it uses, each once, in order of first use. */
size_t cw_formula_inputs(const cw_formula *formula, const uint32_t **ids);

/* values[i], errors[i] belong to input i; errors NULL: all exact. *error: combined standard uncertainty by
 * central differences over each input (JCGM 100:2008 5.1.2 and the note of 5.1.3, inputs independent); where
 * the outcome is not finite to one side of an input, by the difference to the other side. False when the
 * outcome, or any step on the way to it, is not finite (division by zero, root of a negative number), or when
 * it is to neither side of an input. Also false when a stepped function gives another value, or none, at one
 * of the corners that lie two errors off, all inputs together: what may as well be its neighbour is not
 * guessed at. With more than CW_FORMULA_CORNERS inexact inputs that is not looked into and the outcome false.
 * Allocates nothing. */
bool cw_formula_value(const cw_formula *formula, const double *values, const double *errors, double *value,
                      double *error);

#endif
