/* Formulas of rules: parsed once, dimension checked at load, evaluated with errors carried along.
 *
 *   sum  -> term (('+' | '-') term)*      term -> power (('*' | '/') power)*
 *   power -> unary ('^' integer)?         unary -> '-' unary | atom
 *   atom -> number unit? | name | 'min' '(' sum ',' sum ')' | 'max' … | 'abs' '(' sum ')' | 'sqrt' '(' sum ')' | '(' sum ')'
 *
 * A number with its unit is one atom (0.2 V, 20 degC). A name is letters, digits, '_', with an optional [thing]. */
#ifndef CW_QUANTITY_FORMULA_H
#define CW_QUANTITY_FORMULA_H

#include "base/arena.h"
#include "quantity/quantity.h"

typedef struct cw_formula cw_formula;

/* What a name stands for: its number (any the caller likes) and dimension; false if unknown. */
typedef bool (*cw_formula_lookup)(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension);

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

/* Built in the arena. NULL with *problem filled when it is wrong. Adding a temperature on the scale and a
 * step gives one on the scale; the difference of two on the scale is a step; all else needs steps. */
cw_formula *cw_formula_parse(cw_arena *arena, const char *text, size_t size, cw_formula_lookup lookup, void *context,
                             cw_formula_problem *problem);
cw_dimension cw_formula_dimension(const cw_formula *formula);
/* The names it uses, each once, in order of first use. */
size_t cw_formula_inputs(const cw_formula *formula, const uint32_t **ids);

/* values[i], errors[i] belong to input i. *error: combined standard uncertainty by central differences over each input
 * (JCGM 100:2008 5.1.2, inputs independent). False when the outcome is not finite (division by zero, root of a
 * negative number). Allocates nothing. */
bool cw_formula_value(const cw_formula *formula, const double *values, const double *errors, double *value,
                      double *error);

#endif
