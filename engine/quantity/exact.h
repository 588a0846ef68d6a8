/* Exact arithmetic for conversions, inside this room only. A value on its way from one unit to another is a
 * fraction times a power of ten; it is rounded once, at the end. */
#ifndef CW_QUANTITY_EXACT_H
#define CW_QUANTITY_EXACT_H

#include "quantity/quantity.h"

typedef unsigned __int128 cw_wide;

/* +-n/d * 10^exponent, d > 0. */
typedef struct cw_ratio {
    cw_wide n, d;
    int exponent;
    bool negative;
} cw_ratio;

/* A decimal: 0.d1 d2 d3 ... * 10^point; count 0 is zero. No zero first or last. */
typedef struct cw_digits {
    char digit[48]; /* '0' ... '9' */
    int count;
    int point;
    bool more; /* cut: something other than zero follows */
} cw_digits;

/* The nearest double, ties to even. */
double cw_ratio_round(cw_ratio x);
/* At least 38 digits of n/d; d below 2^120. */
cw_digits cw_ratio_digits(cw_ratio x);

/* 1 to CW_DECIMAL_MAX digits with an exponent ("525e-2") as a double, correctly rounded. strtod looks up the
 * locale only for the decimal mark, and there is none in what it is given here: so the host program's locale
 * cannot change the outcome. No point midway between two doubles has more than 767 significant digits, so
 * whoever has more to say can put a 1 in place of all that follows the 800th. */
#define CW_DECIMAL_MAX 801
double cw_decimal_round(const char *digits, size_t count, long exponent);

/* The shortest decimal that reads back as x (at most 17 digits); x finite. */
cw_ratio cw_double_shortest(double x);
/* x to 20 digits. */
cw_ratio cw_double_twenty(double x);

/* Exact conversions; false where the numbers would not fit (a temperature with an offset, very large or
 * small). */
bool cw_ratio_to_base(const cw_unit_info *unit, cw_ratio value, cw_ratio *base);
bool cw_ratio_from_base(const cw_unit_info *unit, cw_ratio base, cw_ratio *value);
/* Through these, else by ordinary arithmetic. */
double cw_ratio_base_value(const cw_unit_info *unit, cw_ratio value);

#endif
