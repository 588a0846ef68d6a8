#include "quantity/exact.h"
#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define EXACT_INTEGER ((cw_wide)1 << 53) /* doubles hold every whole number up to here */

double cw_decimal_round(const char *digits, size_t count, long exponent)
{
    char text[CW_DECIMAL_MAX + 32];
    assert(count > 0 && count <= CW_DECIMAL_MAX);
    memcpy(text, digits, count);
    snprintf(text + count, sizeof text - count, "e%ld", exponent);
    return strtod(text, NULL);
}

cw_digits cw_ratio_digits(cw_ratio x)
{
    cw_digits out = {.count = 0};
    cw_wide whole = x.n / x.d;
    cw_wide rest = x.n % x.d;
    char reversed[40];
    int length = 0;
    for (; whole > 0; whole /= 10)
        reversed[length++] = (char)('0' + (int)(whole % 10));
    while (length > 0)
        out.digit[out.count++] = reversed[--length];
    out.point = out.count + x.exponent;
    while (rest > 0 && out.count < 40) {
        rest *= 10;
        char digit = (char)('0' + (int)(rest / x.d));
        rest %= x.d;
        if (out.count == 0 && digit == '0')
            out.point--;
        else
            out.digit[out.count++] = digit;
    }
    out.more = rest > 0;
    while (!out.more && out.count > 0 && out.digit[out.count - 1] == '0')
        out.count--;
    return out;
}

static bool times_ten(cw_wide *x, int power)
{
    for (; power > 0; power--) {
        if (*x > EXACT_INTEGER)
            return false;
        *x *= 10;
    }
    return *x <= EXACT_INTEGER;
}

double cw_ratio_round(cw_ratio x)
{
    double size;
    cw_wide n = x.n;
    cw_wide d = x.d;
    if (n == 0) {
        size = 0;
    } else if (times_ten(&n, x.exponent) && times_ten(&d, -x.exponent)) {
        size = (double)n / (double)d; /* both exact, so the division rounds once */
    } else {
        cw_digits digits = cw_ratio_digits(x);
        int exponent = digits.point - digits.count;
        if (digits.more) {
            digits.digit[digits.count++] = '1';
            exponent--;
        }
        size = cw_decimal_round(digits.digit, (size_t)digits.count, exponent);
    }
    return x.negative ? -size : size;
}

/* x > 0 printed with so many digits. printf writes the locale's decimal mark; only the digits are looked at.
 */
static cw_ratio printed(double x, int count)
{
    char text[64];
    snprintf(text, sizeof text, "%.*e", count - 1, x);
    cw_ratio out = {.d = 1};
    const char *at = text;
    int found = 0;
    for (; *at != 'e'; at++)
        if (*at >= '0' && *at <= '9') {
            out.n = out.n * 10 + (unsigned)(*at - '0');
            found++;
        }
    out.exponent = (int)strtol(at + 1, NULL, 10) - (found - 1);
    return out;
}

static cw_ratio strip_zeros(cw_ratio x)
{
    for (; x.n > 0 && x.n % 10 == 0; x.n /= 10)
        x.exponent++;
    return x;
}

cw_ratio cw_double_shortest(double x)
{
    assert(isfinite(x));
    double size = fabs(x);
    cw_ratio out = {0, 1, 0, signbit(x) != 0};
    if (size == 0)
        return out;
    /* Most numbers that people write are a small whole number over a small power of ten. */
    static const double powers[] = {1, 10, 100, 1000, 10000, 100000, 1000000};
    for (int places = 0; places <= 6; places++) {
        double whole = nearbyint(size * powers[places]);
        if (whole >= 1 && whole < 1e15 && whole / powers[places] == size) {
            out.n = (cw_wide)whole;
            out.exponent = -places;
            return out;
        }
    }
    /* Any decimal of up to 15 digits survives, but for the smallest doubles, which carry fewer; 17 always
     * tell a double from its neighbours. */
    for (int count = size < DBL_MIN ? 1 : 15; count <= 17; count++) {
        cw_ratio tried = strip_zeros(printed(size, count));
        tried.negative = out.negative;
        if (count == 17 || fabs(cw_ratio_round(tried)) == size)
            return tried;
    }
    return out;
}

cw_ratio cw_double_twenty(double x)
{
    assert(isfinite(x));
    if (x == 0)
        return (cw_ratio){0, 1, 0, signbit(x) != 0};
    cw_ratio out = strip_zeros(printed(fabs(x), 20));
    out.negative = signbit(x) != 0;
    return out;
}
