/* Quantities as packs and cases write them. Base units are those of the SI; turning speed in rpm, angle in
 * degrees. */
#include "checker/inside.h"

#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct unit {
    const char *symbol;
    double factor, offset;
} unit;

/* Factors by definition: the international inch, pound and pound-force; absolute zero at -273.15 degC. */
static const unit units[] = {
    {"%", 0.01, 0},
    {"mm", 0.001, 0},
    {"cm", 0.01, 0},
    {"m", 1, 0},
    {"um", 1e-6, 0},
    {"in", 0.0254, 0},
    {"\"", 0.0254, 0},
    {"ft", 0.3048, 0},
    {"mi", 1609.344, 0},
    {"km", 1000, 0},
    {"g", 0.001, 0},
    {"kg", 1, 0},
    {"lb", 0.45359237, 0},
    {"oz", 0.028349523125, 0},
    {"s", 1, 0},
    {"ms", 0.001, 0},
    {"us", 1e-6, 0},
    {"min", 60, 0},
    {"h", 3600, 0},
    {"d", 86400, 0},
    {"A", 1, 0},
    {"mA", 0.001, 0},
    {"uA", 1e-6, 0},
    {"V", 1, 0},
    {"VAC", 1, 0},
    {"VDC", 1, 0},
    {"mV", 0.001, 0},
    {"kV", 1000, 0},
    {"ohm", 1, 0},
    {"mohm", 0.001, 0},
    {"kohm", 1000, 0},
    {"Mohm", 1e6, 0},
    {"W", 1, 0},
    {"kW", 1000, 0},
    {"degC", 1, 273.15},
    {"\302\260C", 1, 273.15},
    {"degF", 5.0 / 9, 459.67 * 5 / 9},
    {"K", 1, 0},
    {"Hz", 1, 0},
    {"kHz", 1000, 0},
    {"rpm", 1, 0},
    {"N", 1, 0},
    {"kN", 1000, 0},
    {"lbf", 4.4482216152605, 0},
    {"N m", 1, 0},
    {"lbf ft", 1.3558179483314004, 0},
    {"lbf in", 0.1129848290276167, 0},
    {"Pa", 1, 0},
    {"kPa", 1000, 0},
    {"bar", 1e5, 0},
    {"psi", 6894.757293168361, 0},
    {"mm2", 1e-6, 0},
    {"cm2", 1e-4, 0},
    {"m2", 1, 0},
    {"deg", 1, 0},
    {"Ah", 3600, 0},
    {"mAh", 3.6, 0},
    {"C", 1, 0},
    {"uF", 1e-6, 0},
    {"nF", 1e-9, 0},
    {"F", 1, 0},
};

static const unit *find_unit(const char *symbol)
{
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (strcmp(units[i].symbol, symbol) == 0)
            return &units[i];
    return NULL;
}

/* "4", "13.3", "13,3", ".45" */
static bool read_decimal(const char **text, double *out)
{
    char digits[40];
    size_t count = 0;
    const char *at = *text;
    if (*at == '-' || *at == '+')
        digits[count++] = *at++;
    while ((isdigit((unsigned char)*at) || *at == '.' || *at == ',') && count < sizeof digits - 1)
        digits[count++] = *at == ',' ? '.' : *at, at++;
    digits[count] = '\0';
    char *end;
    *out = strtod(digits, &end);
    if (end == digits || *end != '\0')
        return false;
    *text = at;
    return true;
}

/* " 3/8" or "-3/8" behind a whole number, or "/8" behind its numerator. */
static void read_fraction(const char **text, double *number)
{
    const char *at = *text;
    double top, bottom;
    if (*at == '/' && isdigit((unsigned char)at[1])) {
        at++;
        if (read_decimal(&at, &bottom)) {
            *number /= bottom;
            *text = at;
        }
        return;
    }
    if ((*at != ' ' && *at != '-') || !isdigit((unsigned char)at[1]))
        return;
    at++;
    if (!read_decimal(&at, &top) || *at++ != '/' || !read_decimal(&at, &bottom))
        return;
    *number += top / bottom;
    *text = at;
}

bool ck_quantity_read(const char *text, const char *bare, double *number)
{
    const char *at = text + strspn(text, " ");
    if (!read_decimal(&at, number))
        return false;
    read_fraction(&at, number);
    at += strspn(at, " ");
    size_t length = strlen(at);
    while (length > 0 && at[length - 1] == ' ')
        length--;
    char symbol[32];
    if (length >= sizeof symbol)
        return false;
    memcpy(symbol, at, length);
    symbol[length] = '\0';
    const unit *in = length > 0 ? find_unit(symbol) : bare != NULL ? find_unit(bare) : NULL;
    if (length > 0 && in == NULL)
        return false;
    if (in != NULL)
        *number = *number * in->factor + in->offset;
    return true;
}

bool ck_quantity_range(const char *text, const char *bare, double *low, double *high)
{
    const char *to = strstr(text, " to ");
    if (to == NULL)
        return false;
    char *first = ck_copy_text(text, (size_t)(to - text));
    bool ok = ck_quantity_read(first, bare, low) && ck_quantity_read(to + 4, bare, high);
    free(first);
    return ok;
}

bool ck_quantity_tolerance(const char *text, const char *bare, double *middle, double *tolerance)
{
    char half[80], none[80];
    const char *sign = strstr(text, "+/-");
    double zero = 0;
    if (sign == NULL || strlen(text) >= sizeof half)
        return false;
    snprintf(half, sizeof half, "%.*s", (int)(sign - text), text);
    if (!ck_quantity_read(half, bare, middle))
        return false;
    /* A difference: what the same unit makes of nothing is taken off. */
    const char *figure = sign + 3 + strspn(sign + 3, " ");
    snprintf(none, sizeof none, "0%s", figure + strspn(figure, "0123456789.,"));
    if (!ck_quantity_read(figure, bare, tolerance) || !ck_quantity_read(none, bare, &zero))
        return false;
    *tolerance -= zero;
    return true;
}
