#include "quantity/formula_inside.h"
#include <assert.h>
#include <math.h>

/* Whole powers by repeated multiplication: pow may differ in the last bit between C libraries. */
static double whole_power(double x, int32_t power)
{
    double out = 1;
    for (int32_t i = power < 0 ? -power : power; i > 0; i--)
        out *= x;
    return power < 0 ? 1 / out : out;
}

static double apply_one(const cw_step *step, double x)
{
    switch (step->kind) {
    case STEP_NEGATE:
        return -x;
    case STEP_ABS:
        return fabs(x);
    case STEP_ROOT:
        return sqrt(x);
    default:
        return whole_power(x, step->power);
    }
}

static double apply_two(const cw_step *step, double x, double y)
{
    switch (step->kind) {
    case STEP_ADD:
        return x + y;
    case STEP_SUBTRACT:
        return x - y;
    case STEP_MULTIPLY:
        return x * y;
    case STEP_DIVIDE:
        return x / y;
    case STEP_MIN:
        return x < y ? x : y;
    default:
        return x > y ? x : y;
    }
}

/* Where a formula is worked out: at the values, or off them. */
typedef struct spot {
    const double *values;
    size_t moved; /* this input by so much; SIZE_MAX: none */
    double by;
    const double *errors; /* not NULL: every inexact input by two errors, up or down by the bits of `up` */
    uint32_t up;
} spot;

static double input_at(const spot *at, uint32_t input)
{
    if (at->errors != NULL && at->errors[input] > 0) {
        uint32_t bit = 0;
        for (uint32_t i = 0; i < input; i++)
            bit += at->errors[i] > 0;
        return at->values[input] + (at->up >> bit & 1 ? 2 : -2) * at->errors[input];
    }
    return at->values[input] + (input == at->moved ? at->by : 0);
}

/* The outcome of the first `count` steps; not finite if any step on the way is not, so that no later step (1
 * / infinity, max with something undefined) can hide it. */
static double walk(const cw_formula *formula, size_t count, const spot *at)
{
    double stack[CW_FORMULA_DEPTH] = {0};
    size_t top = 0;
    for (size_t i = 0; i < count; i++) {
        const cw_step *step = &formula->steps[i];
        if (step->kind == STEP_CONSTANT) {
            stack[top++] = step->constant;
        } else if (step->kind == STEP_INPUT) {
            stack[top++] = input_at(at, step->input);
        } else if (step->kind == STEP_CALL) {
            top -= step->count - 1;
            stack[top - 1] = step->function->work(&stack[top - 1]);
        } else if (step->kind >= STEP_NEGATE) {
            stack[top - 1] = apply_one(step, stack[top - 1]);
        } else {
            top--;
            stack[top - 1] = apply_two(step, stack[top - 1], stack[top]);
        }
        if (!isfinite(stack[top - 1]))
            return NAN;
    }
    assert(top >= 1);
    return stack[top - 1];
}

/* Whether every stepped function gives at all corners what it gives at the values. */
static bool steady(const cw_formula *formula, const double *values, const double *errors)
{
    uint32_t inexact = 0;
    for (size_t i = 0; i < formula->input_count; i++)
        inexact += errors[i] > 0;
    if (inexact > CW_FORMULA_CORNERS)
        return false;
    for (size_t i = 0; i < formula->step_count; i++) {
        if (formula->steps[i].kind != STEP_CALL || !formula->steps[i].function->stepped)
            continue;
        const double here = walk(formula, i + 1, &(spot){.values = values, .moved = SIZE_MAX});
        for (uint32_t up = 0; up < 1u << inexact; up++) {
            const spot corner = {.values = values, .moved = SIZE_MAX, .errors = errors, .up = up};
            if (walk(formula, i + 1, &corner) != here)
                return false;
        }
    }
    return true;
}

/* How far the outcome moves when one input moves by its error; not finite if that cannot be said. */
static double share(const cw_formula *formula, const double *values, size_t input, double error,
                    double centre)
{
    const spot above = {.values = values, .moved = input, .by = error};
    const spot below = {.values = values, .moved = input, .by = -error};
    double up = walk(formula, formula->step_count, &above);
    double down = walk(formula, formula->step_count, &below);
    if (isfinite(up) && isfinite(down))
        return (up - down) / 2;
    return isfinite(up) ? up - centre : centre - down;
}

bool cw_formula_value(const cw_formula *formula, const double *values, const double *errors, double *value,
                      double *error)
{
    double centre = walk(formula, formula->step_count, &(spot){.values = values, .moved = SIZE_MAX});
    double sum = formula->error;
    for (size_t i = 0; errors != NULL && i < formula->input_count; i++)
        if (errors[i] > 0)
            sum = hypot(sum, share(formula, values, i, errors[i], centre));
    *value = centre;
    *error = sum;
    return isfinite(centre) && isfinite(sum) &&
           (!formula->stepped || errors == NULL || steady(formula, values, errors));
}
