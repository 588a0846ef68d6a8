/* How a parsed formula lies in memory; for the reader and the evaluator of formulas alone. */
#ifndef CW_QUANTITY_FORMULA_INSIDE_H
#define CW_QUANTITY_FORMULA_INSIDE_H

#include "base/vec.h"
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
    STEP_POWER,
    STEP_CALL
} cw_step_kind;

/* Operands before their operator, so that evaluation is one walk with a stack. */
typedef struct cw_step {
    cw_step_kind kind;
    int32_t power;  /* of STEP_POWER */
    uint32_t input; /* index into the inputs */
    uint32_t count; /* arguments of STEP_CALL */
    union {
        double constant;
        const cw_function *function; /* of STEP_CALL */
    };
} cw_step;

struct cw_formula {
    const cw_step *steps;
    size_t step_count;
    const uint32_t *inputs;
    size_t input_count;
    cw_dimension dimension;
    bool stepped; /* it calls a function that gives few values */
    double error; /* of a figure by itself: its own standard uncertainty; 0 otherwise */
};

/* --- The reader: formula.c, formula_call.c --- */

typedef struct formula_reader {
    const char *text;
    size_t size;
    size_t at; /* the next byte; never on a blank */
    const cw_function *functions;
    cw_formula_lookup lookup;
    void *context;
    cw_vec steps;  /* of cw_step */
    cw_vec inputs; /* of uint32_t */
    int depth;     /* of nesting, here */
    int waiting;   /* operands on the evaluator's stack, here */
    bool stepped;
    /* -5 degC is a point on the scale, not the negative of one, so a number has to know of the minus before
     * it. */
    bool minus_before, minus_taken;
    cw_formula_problem *problem;
} formula_reader;

/* All return false when something is wrong, with the problem filled. */
bool formula_fail(formula_reader *in, cw_formula_error error, size_t at, size_t length, const char *format,
                  ...) __attribute__((format(printf, 5, 6)));
bool formula_sum(formula_reader *in, cw_dimension *out);
bool formula_expect(formula_reader *in, char sign, const char *why);
bool formula_enter(formula_reader *in);
bool formula_add_step(formula_reader *in, cw_step step);
bool formula_unlike(formula_reader *in, size_t at, const char *word, const char *sign, cw_dimension a,
                    cw_dimension b);
bool formula_no_point(formula_reader *in, size_t at, size_t length, const char *what, cw_dimension dimension);
void formula_skip(formula_reader *in, size_t to);
char formula_peek(const formula_reader *in);
/* A function from its name on, which stands from `at` to `end`. */
bool formula_call(formula_reader *in, size_t at, size_t end, cw_dimension *out);
/* Whether that is the name of one of the four that are always there. */
bool formula_is_plain_function(const char *name, size_t size);

#endif
