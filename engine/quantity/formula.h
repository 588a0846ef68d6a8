/* Formulas of rules: parsed once, dimension checked at load, evaluated with errors carried along.
 *
 *   sum   -> term (('+' | '-') term)*      term -> minus (('*' | '/') minus)*
 *   minus -> '-' minus | power             power -> atom ('^' integer)?
 *   atom  -> number unit? | name | '(' sum ')' | ('abs' | 'sqrt') '(' sum ')'
 *          | ('min' | 'max') '(' sum ',' sum ')'
 *
 * So -2^2 is -4, as in every book. A number with its unit is one atom (0.2 V, 20 degC, 1e-3 ohm); its decimal
 * mark is the point, because the comma parts arguments, and 1/4 in is a division. Integers of powers lie in
 * -12 ... 12. A name is letters, digits, '_', beginning with a letter, with an optional [thing]; min, max,
 * abs and sqrt are no names.
 *
 * Temperatures: 20 degC and 70 degF are points on the scale, and so is a fact of the dimension temperature. 5
 * K is a difference, as is a fact of the dimension temperature_step. Point + difference = point (in either
 * order), point - difference = point, point - point = difference; min and max take two points; everything
 * else wants differences, because twice 20 degC means nothing. */
#ifndef CW_QUANTITY_FORMULA_H
#define CW_QUANTITY_FORMULA_H

#include "base/arena.h"
#include "quantity/quantity.h"

typedef struct cw_formula cw_formula;

/* What a name stands for: its number (any the caller likes) and dimension; false if unknown. */
typedef bool (*cw_formula_lookup)(void *context, const char *name, size_t size, uint32_t *id,
                                  cw_dimension *dimension);

typedef enum cw_formula_error {
    CW_FORMULA_OK,
    CW_FORMULA_SYNTAX,
    CW_FORMULA_UNKNOWN_NAME,
    CW_FORMULA_DIMENSION,
    CW_FORMULA_TOO_DEEP,
    CW_FORMULA_NO_MEMORY
} cw_formula_error;

typedef struct cw_formula_problem {
    cw_formula_error error;
    size_t at, length; /* the spot (bytes) */
    char message[160]; /* for people: "volts plus ohms: ..." */
} cw_formula_problem;

/* Parentheses, functions and minus signs within each other, and operands waiting at once. */
#define CW_FORMULA_DEPTH 64

/* Built in the arena. NULL with *problem filled (problem must not be NULL) when it is wrong. */
cw_formula *cw_formula_parse(cw_arena *arena, const char *text, size_t size, cw_formula_lookup lookup,
                             void *context, cw_formula_problem *problem);
cw_dimension cw_formula_dimension(const cw_formula *formula);
/* The names it uses, each once, in order of first use. */
size_t cw_formula_inputs(const cw_formula *formula, const uint32_t **ids);

/* values[i], errors[i] belong to input i; errors NULL: all exact. *error: combined standard uncertainty by
 * central differences over each input (JCGM 100:2008 5.1.2 and the note of 5.1.3, inputs independent); where
 * the outcome is not finite to one side of an input, by the difference to the other side. False when the
 * outcome, or any step on the way to it, is not finite (division by zero, root of a negative number), or when
 * it is to neither side of an input. Allocates nothing. */
bool cw_formula_value(const cw_formula *formula, const double *values, const double *errors, double *value,
                      double *error);

#endif
