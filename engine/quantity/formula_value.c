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

/* The outcome with input number moved changed by so much; not finite if any step on the way is not, so that
 * no later step (1 / infinity, max with something undefined) can hide it. */
static double walk(const cw_formula *formula, const double *values, size_t moved, double by)
{
    double stack[CW_FORMULA_DEPTH] = {0};
    size_t top = 0;
    for (size_t i = 0; i < formula->step_count; i++) {
        const cw_step *step = &formula->steps[i];
        if (step->kind == STEP_CONSTANT) {
            stack[top++] = step->constant;
        } else if (step->kind == STEP_INPUT) {
            stack[top++] = values[step->input] + (step->input == moved ? by : 0);
        } else if (step->kind >= STEP_NEGATE) {
            stack[top - 1] = apply_one(step, stack[top - 1]);
        } else {
            top--;
            stack[top - 1] = apply_two(step, stack[top - 1], stack[top]);
        }
        if (!isfinite(stack[top - 1]))
            return NAN;
    }
    assert(top == 1);
    return stack[0];
}

/* How far the outcome moves when one input moves by its error; not finite if that cannot be said. */
static double share(const cw_formula *formula, const double *values, size_t input, double error,
                    double centre)
{
    double up = walk(formula, values, input, error);
    double down = walk(formula, values, input, -error);
    if (isfinite(up) && isfinite(down))
        return (up - down) / 2;
    return isfinite(up) ? up - centre : centre - down;
}

bool cw_formula_value(const cw_formula *formula, const double *values, const double *errors, double *value,
                      double *error)
{
    double centre = walk(formula, values, SIZE_MAX, 0);
    double sum = 0;
    for (size_t i = 0; errors != NULL && i < formula->input_count; i++)
        if (errors[i] > 0)
            sum = hypot(sum, share(formula, values, i, errors[i], centre));
    *value = centre;
    *error = sum;
    return isfinite(centre) && isfinite(sum);
}
