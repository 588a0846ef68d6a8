#include "quantity/inside.h"
#include <math.h>
#include <string.h>

cw_digits cw_digits_cut(const cw_digits *digits, int count)
{
    if (count >= digits->count)
        return *digits;
    cw_digits out = *digits;
    out.more = false;
    bool up = count >= 0 && digits->digit[count] >= '5';
    out.count = count > 0 ? count : 0;
    while (up && out.count > 0 && out.digit[out.count - 1] == '9')
        out.count--;
    if (up && out.count > 0) {
        out.digit[out.count - 1]++;
    } else if (up) {
        out.digit[out.count++] = '1';
        out.point++;
    }
    while (out.count > 0 && out.digit[out.count - 1] == '0')
        out.count--;
    return out;
}

static void add_zeros(cw_text *out, int count)
{
    for (; count > 0; count--)
        cw_text_add(out, "0");
}

static void add_scientific(cw_text *out, const cw_digits *d)
{
    cw_text_add_bytes(out, d->digit, 1);
    if (d->count > 1) {
        cw_text_add(out, ".");
        cw_text_add_bytes(out, d->digit + 1, (size_t)d->count - 1);
    }
    cw_text_format(out, "e%d", d->point - 1);
}

void cw_print_digits(cw_text *out, bool negative, const cw_digits *d)
{
    if (negative)
        cw_text_add(out, "-");
    if (d->count == 0) {
        cw_text_add(out, "0");
    } else if (d->point < -4 || d->point > 17) {
        add_scientific(out, d);
    } else if (d->point <= 0) {
        cw_text_add(out, "0.");
        add_zeros(out, -d->point);
        cw_text_add_bytes(out, d->digit, (size_t)d->count);
    } else {
        int whole = d->count < d->point ? d->count : d->point;
        cw_text_add_bytes(out, d->digit, (size_t)whole);
        add_zeros(out, d->point - whole);
        if (d->count > whole) {
            cw_text_add(out, ".");
            cw_text_add_bytes(out, d->digit + whole, (size_t)(d->count - whole));
        }
    }
}

static void print_bare(cw_text *out, double x)
{
    cw_digits digits = cw_ratio_digits(cw_double_shortest(x));
    cw_print_digits(out, signbit(x) != 0, &digits);
}

static cw_ratio ratio_of(const cw_digits *digits, bool negative)
{
    cw_ratio out = {0, 1, digits->point - digits->count, negative};
    for (int i = 0; i < digits->count; i++)
        out.n = out.n * 10 + (unsigned)(digits->digit[i] - '0');
    return out;
}

/* The shortest decimal in the unit whose conversion is exactly base. Places are tried from coarse to fine, so
 * that a value beside zero on a scale with an offset comes out as zero rather than as a tiny remainder. */
static bool shortest_in_unit(double base, const cw_unit_info *unit, cw_digits *found, bool *negative)
{
    cw_ratio exact;
    if (!cw_ratio_from_base(unit, cw_double_twenty(base), &exact))
        return false;
    cw_digits all = cw_ratio_digits(exact);
    *negative = exact.negative;
    int top = unit->offset != 0 && all.point < 4 ? 4 : all.point;
    for (int places = 0; places <= 21; places++) {
        int count = all.point - top + places;
        *found = cw_digits_cut(&all, count);
        if (found->count > 19)
            return false;
        if (!isfinite(cw_ratio_round(ratio_of(found, *negative))))
            return false;
        if (cw_ratio_base_value(unit, ratio_of(found, *negative)) == base) {
            *negative = *negative && (found->count > 0 || unit->offset == 0); /* -0 is no point on a scale */
            return true;
        }
    }
    return false;
}

static const cw_unit_info *base_unit(cw_dimension dimension)
{
    const cw_unit_info *unit;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++)
        if (unit->factor == 1 && unit->offset == 0 && cw_dimension_equal(unit->dimension, dimension))
            break;
    return unit;
}

void cw_quantity_print(cw_text *out, double base, const cw_unit_info *unit)
{
    cw_digits digits;
    bool negative;
    if (!isfinite(base)) {
        cw_text_add(out, isnan(base) ? "undefined" : base > 0 ? "infinite" : "-infinite");
        return;
    }
    if (unit == NULL) {
        print_bare(out, base);
        return;
    }
    if (shortest_in_unit(base, unit, &digits, &negative)) {
        cw_print_digits(out, negative, &digits);
        cw_text_format(out, " %s", unit->symbol);
        return;
    }
    print_bare(out, base);
    const cw_unit_info *plain = base_unit(unit->dimension);
    if (plain != NULL) /* a plain number has none */
        cw_text_format(out, " %s", plain->symbol);
}

/* Digits that are worth showing of a value whose error, in the same unit, is given. */
static int worth(const cw_digits *value, double error)
{
    if (!(error > 0) || !isfinite(error))
        return 4;
    cw_digits e = cw_ratio_digits(cw_double_shortest(error));
    return value->point - (e.point - 2);
}

void cw_quantity_show(cw_text *out, double base, double error, const cw_unit_info *unit)
{
    if (!isfinite(base)) {
        cw_quantity_print(out, base, unit);
        return;
    }
    double value = unit != NULL ? cw_from_base(unit, base) : base;
    cw_digits digits = cw_ratio_digits(cw_double_shortest(value));
    digits = cw_digits_cut(&digits, worth(&digits, unit != NULL ? error / unit->factor : error));
    cw_print_digits(out, signbit(value) != 0 && digits.count > 0, &digits);
    if (unit != NULL)
        cw_text_format(out, " %s", unit->symbol);
}
