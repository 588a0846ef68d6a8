/* The short way for what packs are full of: "112 mm", "0.8 V", "15". Digits, at most one point between them,
 * a blank, a unit's own symbol. Whatever is written otherwise goes the long way (parse.c), which would read
 * these the same. */
#include "quantity/inside.h"
#include <math.h>

enum { MOST_DIGITS = 15 };        /* so many are exact in a double, and so is the power of ten below them */
#define EXACT ((uint64_t)1 << 53) /* doubles hold every whole number up to here */

/* digits / power */
typedef struct decimal {
    uint64_t digits, power;
    size_t end;
} decimal;

static bool is_digit(const char *text, size_t size, size_t at)
{
    return at < size && text[at] >= '0' && text[at] <= '9';
}

static bool read_decimal(const char *text, size_t size, size_t from, decimal *out)
{
    size_t at = from, point = 0;
    *out = (decimal){0, 1, 0};
    for (;; at++) {
        if (is_digit(text, size, at)) {
            out->digits = out->digits * 10 + (uint64_t)(text[at] - '0');
            out->power *= point > 0 ? 10 : 1;
        } else if (at < size && text[at] == '.' && point == 0 && at > from && is_digit(text, size, at + 1)) {
            point = at;
        } else {
            break;
        }
        if (at - from > MOST_DIGITS)
            return false;
    }
    out->end = at;
    return at > from && at - from - (point > 0) <= MOST_DIGITS;
}

/* Numerator and denominator are exact, so the division rounds once. */
static double base_of(const decimal *number, const cw_unit_info *info)
{
    const cw_unit *unit = (const cw_unit *)info;
    uint64_t n, d;
    if (unit->hundredths == 0 && !__builtin_mul_overflow(number->digits, unit->n, &n) &&
        !__builtin_mul_overflow(number->power, unit->d, &d) && n <= EXACT && d <= EXACT)
        return (double)n / (double)d;
    cw_ratio ratio = {number->digits, number->power, 0, false};
    return cw_ratio_base_value(info, ratio);
}

bool cw_short_read(const char *text, size_t size, const cw_dimension *wanted, cw_parsed *out)
{
    size_t from = 0;
    decimal number;
    while (size > 0 && text[size - 1] == ' ')
        size--;
    while (from < size && text[from] == ' ')
        from++;
    if (!read_decimal(text, size, from, &number))
        return false;
    const double value = (double)number.digits / (double)number.power;
    *out = (cw_parsed){.number = value, .base = value, .grouped = NAN};
    if (number.end == size)
        return true;
    const size_t at = number.end + (text[number.end] == ' ');
    out->unit = cw_symbol_find(text + at, size - at);
    if (out->unit == NULL || (wanted != NULL && !cw_dimension_equal(out->unit->dimension, *wanted)))
        return false;
    out->base = base_of(&number, out->unit);
    return true;
}
