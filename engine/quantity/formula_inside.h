/* How a parsed formula lies in memory; for the reader and the evaluator of formulas alone. */
#ifndef CW_QUANTITY_FORMULA_INSIDE_H
#define CW_QUANTITY_FORMULA_INSIDE_H

#include "quantity/formula.h"

typedef enum cw_step_kind {
    STEP_CONSTANT,
    STEP_INPUT,
    STEP_ADD,
    STEP_SUBTRACT,
    STEP_MULTIPLY,
    STEP_DIVIDE,
    STEP_MIN,
    STEP_MAX,
    STEP_NEGATE,
    STEP_ABS,
    STEP_ROOT,
    STEP_POWER
} cw_step_kind;

/* Operands before their operator, so that evaluation is one walk with a stack. */
typedef struct cw_step {
    cw_step_kind kind;
    int32_t power;  /* of STEP_POWER */
    uint32_t input; /* index into the inputs */
    double constant;
} cw_step;

struct cw_formula {
    const cw_step *steps;
    size_t step_count;
    const uint32_t *inputs;
    size_t input_count;
    cw_dimension dimension;
};

#endif
