#include "base/vec.h"
#include "quantity/formula_inside.h"
#include "quantity/inside.h"
#include <limits.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bool formula_fail(formula_reader *in, cw_formula_error error, size_t at, size_t length, const char *format,
                  ...)
{
    cw_formula_problem *problem = in->problem;
    problem->error = error;
    problem->at = at;
    problem->length = length;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(problem->message, sizeof problem->message, format, arguments);
    va_end(arguments);
    return false;
}

void formula_skip(formula_reader *in, size_t to)
{
    in->at = cw_skip_blanks(in->text, in->size, to);
}

char formula_peek(const formula_reader *in)
{
    if (in->at >= in->size)
        return '\0';
    return in->text[in->at];
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

bool formula_add_step(formula_reader *in, cw_step step)
{
    cw_step *added = cw_vec_add(&in->steps);
    if (added == NULL)
        return formula_fail(in, CW_FORMULA_NO_MEMORY, 0, 0, "out of memory");
    *added = step;
    if (step.kind == STEP_CALL)
        in->waiting -= (int)step.count - 1;
    else if (step.kind <= STEP_INPUT)
        in->waiting++;
    else if (step.kind < STEP_NEGATE)
        in->waiting--;
    if (in->waiting > CW_FORMULA_DEPTH)
        return formula_fail(in, CW_FORMULA_TOO_DEEP, 0, in->size, "the formula is nested too deeply");
    return true;
}

bool formula_enter(formula_reader *in)
{
    if (++in->depth > CW_FORMULA_DEPTH)
        return formula_fail(in, CW_FORMULA_TOO_DEEP, in->at, 1, "the formula is nested too deeply");
    return true;
}

static bool wants_value(formula_reader *in)
{
    if (in->at >= in->size)
        return formula_fail(in, CW_FORMULA_SYNTAX, in->size, 0,
                            "the formula ends where a value should follow");
    size_t length = cw_utf8_length(in->text + in->at, in->size - in->at);
    return formula_fail(in, CW_FORMULA_SYNTAX, in->at, length, "a value should stand here, not '%.*s'",
                        (int)length, in->text + in->at);
}

bool formula_expect(formula_reader *in, char sign, const char *why)
{
    if (formula_peek(in) == sign) {
        formula_skip(in, in->at + 1);
        return true;
    }
    return formula_fail(in, CW_FORMULA_SYNTAX, in->at, in->at < in->size ? 1 : 0, "'%c' is missing %s", sign,
                        why);
}

/* The end of a number as formulas have it: digits with a point, and an exponent. */
static size_t number_end(const formula_reader *in)
{
    size_t at = in->at;
    while (at < in->size && (is_digit(in->text[at]) || in->text[at] == '.'))
        at++;
    if (at < in->size && (in->text[at] == 'e' || in->text[at] == 'E')) {
        size_t from = at + 1;
        if (from < in->size && (in->text[from] == '-' || in->text[from] == '+'))
            from++;
        if (from < in->size && is_digit(in->text[from]))
            for (at = from; at < in->size && is_digit(in->text[at]);)
                at++;
    }
    return at;
}

/* The end of what can be a unit: words and the signs that stand in units, up to an operator. */
static size_t unit_end(const formula_reader *in, size_t at)
{
    size_t end = at;
    if (at < in->size && is_digit(in->text[at]))
        return at;
    while (at < in->size) {
        char c = in->text[at];
        if (!is_letter(c) && !is_digit(c) && c != '%' && c != '"' && c != '\'' && c != '_' &&
            (unsigned char)c < 0x80 && c != ' ')
            break;
        size_t length = cw_utf8_length(in->text + at, in->size - at);
        at += length;
        if (cw_blank_length(in->text + at - length, length) == 0)
            end = at;
    }
    return end;
}

static bool parse_number(formula_reader *in, cw_dimension *out)
{
    size_t start = in->at;
    size_t end = number_end(in);
    cw_number number = cw_number_read(in->text + start, end - start);
    if (number.error != CW_READING_OK || number.end != end - start)
        return formula_fail(in, CW_FORMULA_SYNTAX, start, end - start, "'%.*s' is no number",
                            (int)(end - start < 80 ? end - start : 80), in->text + start);
    size_t unit_start = cw_skip_blanks(in->text, in->size, end);
    size_t stop = unit_end(in, unit_start);
    *out = (cw_dimension){0};
    double value = number.value;
    bool minus = in->minus_before;
    if (stop > unit_start) {
        cw_plain plain = cw_plain_read(in->text + unit_start, stop - unit_start);
        size_t used;
        const cw_unit_info *unit = cw_plain_unit(&plain, NULL, &used);
        if (unit == NULL) {
            size_t word = cw_word_end(in->text, stop, unit_start) - unit_start;
            return formula_fail(in, CW_FORMULA_SYNTAX, unit_start, word, "'%.*s' is no unit",
                                (int)(word < 80 ? word : 80), in->text + unit_start);
        }
        *out = unit->dimension;
        if (minus && unit->dimension.on_scale) {
            number.ratio.negative = true;
            value = -value;
            in->minus_taken = true;
        }
        value = number.exact ? cw_ratio_base_value(unit, number.ratio) : cw_to_base(unit, value);
        end = unit_start + plain.start[used];
    }
    if (!isfinite(value))
        return formula_fail(in, CW_FORMULA_SYNTAX, start, end - start, "this number is too large");
    formula_skip(in, end);
    if (stop > unit_start && formula_peek(in) == '^')
        return formula_fail(in, CW_FORMULA_SYNTAX, start, in->at + 1 - start,
                            "this can be read in two ways: put the number and its unit in parentheses");
    return formula_add_step(in, (cw_step){.kind = STEP_CONSTANT, .constant = value});
}

/* The end of a name with its [thing]; 0 if the bracket is not closed. */
static size_t name_end(const formula_reader *in)
{
    size_t at = in->at;
    while (at < in->size && (is_letter(in->text[at]) || is_digit(in->text[at]) || in->text[at] == '_'))
        at++;
    if (at >= in->size || in->text[at] != '[')
        return at;
    const char *close = memchr(in->text + at, ']', in->size - at);
    return close != NULL ? (size_t)(close - in->text) + 1 : 0;
}

static bool add_input(formula_reader *in, uint32_t id)
{
    uint32_t index = 0;
    while (index < in->inputs.count && *CW_VEC_AT(&in->inputs, uint32_t, index) != id)
        index++;
    if (index == in->inputs.count) {
        uint32_t *added = cw_vec_add(&in->inputs);
        if (added == NULL)
            return formula_fail(in, CW_FORMULA_NO_MEMORY, 0, 0, "out of memory");
        *added = id;
    }
    return formula_add_step(in, (cw_step){.kind = STEP_INPUT, .input = index});
}

static bool parse_name(formula_reader *in, cw_dimension *out)
{
    size_t start = in->at;
    size_t end = name_end(in);
    if (end == 0)
        return formula_fail(in, CW_FORMULA_SYNTAX, start, in->size - start,
                            "']' is missing behind the name of a thing");
    uint32_t id;
    if (!in->lookup(in->context, in->text + start, end - start, &id, out))
        return formula_fail(in, CW_FORMULA_UNKNOWN_NAME, start, end - start,
                            "'%.*s' is nothing that can be worked with",
                            (int)(end - start < 80 ? end - start : 80), in->text + start);
    formula_skip(in, end);
    return add_input(in, id);
}

/* "volts plus ohms: both sides of + must be the same kind of quantity" */
bool formula_unlike(formula_reader *in, size_t at, const char *word, const char *sign, cw_dimension a,
                    cw_dimension b)
{
    char x[64];
    char y[64];
    return formula_fail(in, CW_FORMULA_DIMENSION, at, strlen(sign),
                        "%s %s %s: both sides of %s must be the same kind of quantity",
                        cw_dimension_words(a, x, sizeof x), word, cw_dimension_words(b, y, sizeof y), sign);
}

bool formula_no_point(formula_reader *in, size_t at, size_t length, const char *what, cw_dimension dimension)
{
    if (!dimension.on_scale)
        return true;
    return formula_fail(in, CW_FORMULA_DIMENSION, at, length,
                        "%s a temperature on the scale means nothing: take the difference of two first",
                        what);
}

static bool combine_sum(formula_reader *in, size_t at, bool minus, cw_dimension *a, cw_dimension b)
{
    cw_dimension x = *a;
    cw_dimension y = b;
    x.on_scale = y.on_scale = 0;
    if (!cw_dimension_equal(x, y))
        return formula_unlike(in, at, minus ? "minus" : "plus", minus ? "-" : "+", *a, b);
    if (!minus && a->on_scale && b.on_scale)
        return formula_fail(in, CW_FORMULA_DIMENSION, at, 1,
                            "two temperatures on the scale cannot be added: one must be a difference, in K");
    if (minus && !a->on_scale && b.on_scale)
        return formula_fail(in, CW_FORMULA_DIMENSION, at, 1,
                            "a temperature on the scale cannot be taken from a difference of temperatures");
    x.on_scale = (int8_t)(minus ? a->on_scale - b.on_scale : a->on_scale + b.on_scale);
    *a = x;
    return true;
}

static bool fits(int exponent, int8_t *out)
{
    *out = (int8_t)exponent;
    return exponent >= INT8_MIN && exponent <= INT8_MAX;
}

/* a * b^times, exponent by exponent; false if one does not fit. */
static bool dimension_times(cw_dimension a, cw_dimension b, int times, cw_dimension *out)
{
    *out = (cw_dimension){0};
    return fits(a.length + times * b.length, &out->length) && fits(a.mass + times * b.mass, &out->mass) &&
           fits(a.time + times * b.time, &out->time) && fits(a.current + times * b.current, &out->current) &&
           fits(a.temperature + times * b.temperature, &out->temperature) &&
           fits(a.turn + times * b.turn, &out->turn) && fits(a.angle + times * b.angle, &out->angle);
}

static bool parse_atom(formula_reader *in, cw_dimension *out)
{
    char c = formula_peek(in);
    if (is_digit(c) || c == '.')
        return parse_number(in, out);
    in->minus_before = false;
    if (c == '(') {
        if (!formula_enter(in))
            return false;
        formula_skip(in, in->at + 1);
        bool ok = formula_sum(in, out);
        in->depth--;
        return ok && formula_expect(in, ')', "at the end");
    }
    if (!is_letter(c))
        return wants_value(in);
    size_t at = in->at;
    size_t end = name_end(in);
    size_t next = end > at ? cw_skip_blanks(in->text, in->size, end) : in->size;
    if (next < in->size && in->text[next] == '(')
        return formula_call(in, at, end, out);
    if (end > at && formula_is_plain_function(in->text + at, end - at)) {
        formula_skip(in, end);
        return formula_expect(in, '(', "behind the name of a function");
    }
    return parse_name(in, out);
}

static bool parse_exponent(formula_reader *in, int32_t *power)
{
    size_t start = in->at;
    size_t at = start;
    bool negative = formula_peek(in) == '-';
    if (negative)
        at++;
    int32_t value = 0;
    size_t digits = at;
    for (; at < in->size && is_digit(in->text[at]) && value < 1000; at++)
        value = value * 10 + (in->text[at] - '0');
    if (at == digits || value > 12 || (at < in->size && in->text[at] == '.'))
        return formula_fail(in, CW_FORMULA_SYNTAX, start, at > start ? at - start : start < in->size,
                            "the power must be a whole number from -12 to 12");
    *power = negative ? -value : value;
    formula_skip(in, at);
    return true;
}

static bool parse_power(formula_reader *in, cw_dimension *out)
{
    if (!parse_atom(in, out))
        return false;
    in->minus_before = false;
    if (formula_peek(in) != '^')
        return true;
    size_t at = in->at;
    int32_t power = 0;
    cw_dimension base = *out;
    formula_skip(in, in->at + 1);
    if (!formula_no_point(in, at, 1, "a power of", base) || !parse_exponent(in, &power))
        return false;
    if (!dimension_times((cw_dimension){0}, base, power, out))
        return formula_fail(in, CW_FORMULA_DIMENSION, at, 1, "this power is no kind of quantity");
    return formula_add_step(in, (cw_step){.kind = STEP_POWER, .power = power});
}

static bool parse_minus(formula_reader *in, cw_dimension *out)
{
    if (formula_peek(in) != '-')
        return parse_power(in, out);
    size_t at = in->at;
    if (!formula_enter(in))
        return false;
    formula_skip(in, in->at + 1);
    in->minus_before = true;
    in->minus_taken = false;
    bool ok = parse_minus(in, out);
    bool taken = in->minus_taken;
    in->minus_before = in->minus_taken = false;
    in->depth--;
    if (!ok || taken)
        return ok;
    return formula_no_point(in, at, 1, "the negative of", *out) &&
           formula_add_step(in, (cw_step){.kind = STEP_NEGATE});
}

static bool parse_term(formula_reader *in, cw_dimension *out)
{
    if (!parse_minus(in, out))
        return false;
    while (formula_peek(in) == '*' || formula_peek(in) == '/') {
        bool divide = formula_peek(in) == '/';
        size_t at = in->at;
        cw_dimension right;
        formula_skip(in, at + 1);
        if (!parse_minus(in, &right))
            return false;
        const char *what = divide ? "dividing with" : "multiplying";
        if (!formula_no_point(in, at, 1, what, *out) || !formula_no_point(in, at, 1, what, right))
            return false;
        if (!dimension_times(*out, right, divide ? -1 : 1, out))
            return formula_fail(in, CW_FORMULA_DIMENSION, at, 1, "this is no kind of quantity any more");
        if (!formula_add_step(in, (cw_step){.kind = divide ? STEP_DIVIDE : STEP_MULTIPLY}))
            return false;
    }
    return true;
}

bool formula_sum(formula_reader *in, cw_dimension *out)
{
    if (!parse_term(in, out))
        return false;
    while (formula_peek(in) == '+' || formula_peek(in) == '-') {
        bool minus = formula_peek(in) == '-';
        size_t at = in->at;
        cw_dimension right;
        formula_skip(in, at + 1);
        if (!parse_term(in, &right) || !combine_sum(in, at, minus, out, right) ||
            !formula_add_step(in, (cw_step){.kind = minus ? STEP_SUBTRACT : STEP_ADD}))
            return false;
    }
    return true;
}

static bool parse_all(formula_reader *in, cw_dimension *out)
{
    formula_skip(in, 0);
    if (!formula_sum(in, out))
        return false;
    if (in->at == in->size)
        return true;
    size_t length = cw_word_end(in->text, in->size, in->at) - in->at;
    return formula_fail(in, CW_FORMULA_SYNTAX, in->at, length,
                        "an operator such as + or * should stand here, not '%.*s'",
                        (int)(length < 80 ? length : 80), in->text + in->at);
}

/* Copies what was read into the arena for good. */
static cw_formula *keep(const formula_reader *in, cw_arena *arena, cw_dimension dimension)
{
    cw_formula *formula = CW_NEW(arena, cw_formula);
    cw_step *steps = CW_NEW_ARRAY(arena, cw_step, in->steps.count);
    uint32_t *inputs = CW_NEW_ARRAY(arena, uint32_t, in->inputs.count);
    if (formula == NULL || steps == NULL || inputs == NULL)
        return NULL;
    memcpy(steps, in->steps.items, in->steps.count * sizeof *steps);
    if (in->inputs.count > 0)
        memcpy(inputs, in->inputs.items, in->inputs.count * sizeof *inputs);
    *formula = (cw_formula){.steps = steps,
                            .step_count = in->steps.count,
                            .inputs = inputs,
                            .input_count = in->inputs.count,
                            .dimension = dimension,
                            .stepped = in->stepped};
    return formula;
}

cw_formula *cw_formula_parse(cw_arena *arena, const char *text, size_t size, const cw_function *functions,
                             cw_formula_lookup lookup, void *context, cw_formula_problem *problem)
{
    const cw_allocator *allocator = cw_arena_allocator(arena);
    formula_reader in = {.text = text,
                         .size = size,
                         .functions = functions,
                         .lookup = lookup,
                         .context = context,
                         .problem = problem};
    in.steps = CW_VEC_INIT(allocator, cw_step);
    in.inputs = CW_VEC_INIT(allocator, uint32_t);
    *problem = (cw_formula_problem){.error = CW_FORMULA_OK};
    cw_formula *formula = NULL;
    cw_dimension dimension;
    if (parse_all(&in, &dimension)) {
        formula = keep(&in, arena, dimension);
        if (formula == NULL)
            formula_fail(&in, CW_FORMULA_NO_MEMORY, 0, 0, "out of memory");
    }
    cw_vec_dispose(&in.inputs);
    cw_vec_dispose(&in.steps);
    return formula;
}

cw_formula *cw_formula_figure(cw_arena *arena, double value, double error, cw_dimension dimension)
{
    cw_formula *formula = CW_NEW(arena, cw_formula);
    cw_step *step = CW_NEW(arena, cw_step);
    if (formula == NULL || step == NULL)
        return NULL;
    *step = (cw_step){.kind = STEP_CONSTANT, .constant = value};
    *formula = (cw_formula){.steps = step, .step_count = 1, .dimension = dimension, .error = error};
    return formula;
}

cw_formula *cw_formula_input(cw_arena *arena, uint32_t id, cw_dimension dimension)
{
    cw_formula *formula = CW_NEW(arena, cw_formula);
    cw_step *step = CW_NEW(arena, cw_step);
    uint32_t *input = CW_NEW(arena, uint32_t);
    if (formula == NULL || step == NULL || input == NULL)
        return NULL;
    *step = (cw_step){.kind = STEP_INPUT, .input = 0};
    *input = id;
    *formula = (cw_formula){
        .steps = step, .step_count = 1, .inputs = input, .input_count = 1, .dimension = dimension};
    return formula;
}

void cw_formula_places(const cw_formula *formula, cw_places *places)
{
    places->visit(places, &formula->steps, CW_INTO_ARENA);
    places->visit(places, &formula->inputs, CW_INTO_ARENA);
    for (size_t i = 0; i < formula->step_count; i++)
        if (formula->steps[i].kind == STEP_CALL)
            places->visit(places, &formula->steps[i].function, CW_TO_FUNCTION);
}

cw_dimension cw_formula_dimension(const cw_formula *formula)
{
    return formula->dimension;
}

size_t cw_formula_inputs(const cw_formula *formula, const uint32_t **ids)
{
    *ids = formula->inputs;
    return formula->input_count;
}
