#include "quantity/quantity.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const cw_unit_info *find(const char *symbol)
{
    return cw_unit_find(symbol, strlen(symbol));
}

static void means(const char *spelling, const char *symbol)
{
    const cw_unit_info *unit = find(spelling);
    cr_assert_not_null(unit, "'%s'", spelling);
    cr_assert_str_eq(unit->symbol, symbol, "'%s' is %s", spelling, unit->symbol);
}

/* The table of the language reference. */
Test(unit, the_units_of_the_language_reference)
{
    static const char *const table[][2] = {
        {"number", "%"},
        {"length", "mm|cm|m|um|in|ft|mi|km"},
        {"mass", "g|kg|lb|oz"},
        {"time", "s|ms|us|min|h|d"},
        {"current", "A|mA|uA"},
        {"voltage", "V|mV|kV"},
        {"resistance", "ohm|mohm|kohm|Mohm"},
        {"power", "W|kW|hp"},
        {"temperature", "degC|degF|K"},
        {"temperature_step", "K"},
        {"frequency", "Hz|kHz"},
        {"speed", "rpm"},
        {"force", "N|kN|lbf"},
        {"torque", "N m|lbf ft|lbf in"},
        {"pressure", "Pa|kPa|bar|psi"},
        {"area", "mm2|cm2|m2"},
        {"angle", "deg"},
        {"charge", "Ah|mAh|C"},
        {"capacitance", "uF|nF|F"},
    };
    size_t count = 0;
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        cw_dimension dimension;
        cr_assert(cw_dimension_find(table[i][0], &dimension));
        for (const char *at = table[i][1]; *at != '\0'; count++) {
            size_t length = strcspn(at, "|");
            const cw_unit_info *unit = cw_unit_find_as(at, length, dimension);
            cr_assert_not_null(unit, "%.*s", (int)length, at);
            cr_assert_eq(strlen(unit->symbol), length);
            cr_assert_eq(memcmp(unit->symbol, at, length), 0);
            cr_assert(cw_dimension_equal(unit->dimension, dimension), "%s", unit->symbol);
            at += length + (at[length] == '|');
        }
    }
    size_t listed = 0;
    while (cw_unit_at(listed) != NULL)
        listed++;
    cr_assert_eq(listed, count, "units that the language reference does not list, or the other way round");
}

Test(unit, every_dimension_has_a_plain_base_unit)
{
    for (size_t d = 1; cw_dimension_at(d) != NULL; d++) {
        cw_dimension dimension;
        cw_dimension_find(cw_dimension_at(d), &dimension);
        size_t plain = 0;
        const cw_unit_info *unit;
        for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++)
            plain += cw_dimension_equal(unit->dimension, dimension) && unit->factor == 1 && unit->offset == 0;
        cr_assert_eq(plain, 1, "%s", cw_dimension_at(d));
    }
}

Test(unit, spellings_of_every_day)
{
    means("MM", "mm");
    means("millimetres", "mm");
    means("Inches", "in");
    means("in.", "in");
    means("\"", "in");
    means("''", "in");
    means("'", "ft");
    means("microns", "um");
    means("\xC2\xB5m", "um");
    means("\xCE\xBCm", "um");
    means("lbs", "lb");
    means("secs.", "s");
    means("hrs", "h");
    means("amps", "A");
    means("a", "A");
    means("ADC", "A");
    means("ma", "mA");
    means("VDC", "V");
    means("Vac", "V");
    means("V AC", "V");
    means("volts DC", "V");
    means("V  rms", "V");
    means("mVAC", "mV");
    means("KV", "kV");
    means("\xCE\xA9", "ohm");
    means("\xE2\x84\xA6", "ohm");
    means("k\xCE\xA9", "kohm");
    means("M\xCE\xA9", "Mohm");
    means("m\xCE\xA9", "mohm");
    means("MOHM", "Mohm");
    means("mOhm", "mohm");
    means("Megohms", "Mohm");
    means("KOHM", "kohm");
    means("kw", "kW");
    means("horsepower", "hp");
    means("\xC2\xB0"
          "C",
          "degC");
    means("\xC2\xB0 C", "degC");
    means("\xC2\xBA"
          "C",
          "degC");
    means("\xE2\x84\x83", "degC");
    means("\xE2\x84\x89", "degF");
    means("degrees Fahrenheit", "degF");
    means("deg. C", "degC");
    means("\xC2\xB0", "deg");
    means("HZ", "Hz");
    means("hz.", "Hz");
    means("RPM", "rpm");
    means("r/min", "rpm");
    means("Nm", "N m");
    means("N\xC2\xB7m", "N m");
    means("N-m", "N m");
    means("newton metres", "N m");
    means("ft-lb", "lbf ft");
    means("ft. lbs.", "lbf ft");
    means("inch-pounds", "lbf in");
    means("PSI", "psi");
    means("lbf/in2", "psi");
    means("mm\xC2\xB2", "mm2");
    means("mm^2", "mm2");
    means("sq mm", "mm2");
    means("amp-hours", "Ah");
    means("AH", "Ah");
    means("\xC2\xB5"
          "F",
          "uF");
    means("mfd", "uF");
    means("percent", "%");
    means("  mm  ", "mm");
}

Test(unit, the_other_case_is_another_unit_or_none)
{
    cr_assert_null(find("MA"));
    cr_assert_null(find("MV"));
    cr_assert_null(find("Ma"));
    cr_assert_null(find("MAh"));
    cr_assert_null(find("k"));
    cr_assert_str_neq(find("mohm")->symbol, find("Mohm")->symbol);
}

Test(unit, what_is_none)
{
    static const char *const none[] = {
        "",
        " ",
        "x",
        "mmm",
        "m m",
        "mm mm",
        "N m x",
        "\xFF",
        "?",
        "|",
        "mm|cm",
        "N/m",
        "a unit with a name that is far longer than any unit that there is or will be"};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        cr_assert_null(find(none[i]), "'%s' is %s", none[i],
                       find(none[i]) != NULL ? find(none[i])->symbol : "");
    cr_assert_null(cw_unit_find("mm\0", 3));
}

Test(unit, known_points)
{
    cr_assert_eq(cw_to_base(find("degC"), 0), 273.15);
    cr_assert_eq(cw_to_base(find("degC"), 100), 373.15);
    cr_assert_eq(cw_to_base(find("degF"), 32), 273.15);
    cr_assert_eq(cw_to_base(find("degF"), 212), 373.15);
    cr_assert_eq(cw_to_base(find("degF"), -40), cw_to_base(find("degC"), -40));
    cr_assert_eq(cw_to_base(find("degC"), -273.15), 0);
    cr_assert_eq(cw_to_base(find("degF"), -459.67), 0);
    cr_assert_eq(cw_from_base(find("degF"), 273.15), 32);
    cr_assert_eq(cw_from_base(find("degC"), 300), 26.85);
    cr_assert_eq(cw_to_base(find("in"), 1), 0.0254);
    cr_assert_eq(cw_to_base(find("lbf"), 1), 4.4482216152605);
    cr_assert_eq(cw_to_base(find("hp"), 1), 745.69987158227022);
    cr_assert_eq(cw_to_base(find("%"), 12), 0.12);
    cr_assert_eq(cw_to_base(find("Ah"), 1), 3600);
    cr_assert_eq(cw_from_base(find("Ah"), 3600), 1);
    cr_assert_eq(cw_to_base(find("mm"), INFINITY), INFINITY);
    cr_assert_eq(cw_from_base(find("mm"), -INFINITY), -INFINITY);
    cr_assert(isnan(cw_to_base(find("mm"), NAN)));
}

/* The same length in four units is the same double; factor and offset tell the same story to rounding. */
Test(unit, one_length_one_double)
{
    cr_assert_eq(cw_to_base(find("in"), 5.25), 0.13335);
    cr_assert_eq(cw_to_base(find("mm"), 133.35), 0.13335);
    cr_assert_eq(cw_to_base(find("cm"), 13.335), 0.13335);
    cr_assert_eq(cw_to_base(find("ft"), 0.4375), 0.13335);
    cr_assert_eq(cw_from_base(find("mm"), 0.13335), 133.35);
    cr_assert_eq(cw_from_base(find("in"), 0.13335), 5.25);
    const cw_unit_info *unit;
    random_state random = random_start(13);
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++)
        for (int k = 0; k < 200; k++) {
            double x = random_between(&random, -1000, 1000);
            double base = cw_to_base(unit, x);
            double plain = x * unit->factor + unit->offset;
            cr_assert_lt(fabs(base - plain), 1e-14 * (fabs(base) + unit->offset), "%g %s", x, unit->symbol);
            cr_assert_lt(fabs(cw_from_base(unit, base) - x), 1e-13 * (fabs(x) + unit->offset / unit->factor));
        }
}

/* Decimals as people learn to multiply them at school: value = 0.d1 d2 ... * 10^point, no limits. */
typedef struct decimal {
    int digit[80]; /* units first */
    int count;
    int exponent; /* of the first */
} decimal;

static decimal read_decimal(const char *text)
{
    decimal out = {.count = 0};
    bool behind = false;
    for (const char *at = text; *at != '\0'; at++) {
        if (*at == '.') {
            behind = true;
            continue;
        }
        out.count++;
        out.exponent -= behind;
    }
    int place = out.count;
    for (const char *at = text; *at != '\0'; at++)
        if (*at != '.')
            out.digit[--place] = *at - '0';
    return out;
}

static decimal multiply(decimal a, decimal b)
{
    decimal out = {.count = a.count + b.count, .exponent = a.exponent + b.exponent};
    for (int i = 0; i < a.count; i++)
        for (int k = 0; k < b.count; k++)
            out.digit[i + k] += a.digit[i] * b.digit[k];
    for (int i = 0; i + 1 < out.count; i++) {
        out.digit[i + 1] += out.digit[i] / 10;
        out.digit[i] %= 10;
    }
    return out;
}

static decimal add(decimal a, decimal b)
{
    int low = a.exponent < b.exponent ? a.exponent : b.exponent;
    decimal out = {.count = 60, .exponent = low};
    for (int i = 0; i < a.count; i++)
        out.digit[i + a.exponent - low] += a.digit[i];
    for (int i = 0; i < b.count; i++)
        out.digit[i + b.exponent - low] += b.digit[i];
    for (int i = 0; i + 1 < out.count; i++) {
        out.digit[i + 1] += out.digit[i] / 10;
        out.digit[i] %= 10;
    }
    return out;
}

static double round_decimal(decimal x)
{
    char text[120];
    int size = 0;
    for (int i = x.count - 1; i >= 0; i--)
        text[size++] = (char)('0' + x.digit[i]);
    snprintf(text + size, sizeof text - (size_t)size, "e%d", x.exponent);
    return strtod(text, NULL);
}

/* Factors by definition (SI brochure; inch, pound, standard gravity), written as decimals; those that end. */
Test(unit, random_decimals_against_multiplication_by_hand)
{
    static const struct {
        const char *unit, *factor, *offset;
    } units[] = {
        {"mm", "0.001", NULL},
        {"cm", "0.01", NULL},
        {"m", "1", NULL},
        {"um", "0.000001", NULL},
        {"in", "0.0254", NULL},
        {"ft", "0.3048", NULL},
        {"mi", "1609.344", NULL},
        {"km", "1000", NULL},
        {"g", "0.001", NULL},
        {"kg", "1", NULL},
        {"lb", "0.45359237", NULL},
        {"oz", "0.028349523125", NULL},
        {"s", "1", NULL},
        {"ms", "0.001", NULL},
        {"us", "0.000001", NULL},
        {"min", "60", NULL},
        {"h", "3600", NULL},
        {"d", "86400", NULL},
        {"A", "1", NULL},
        {"mA", "0.001", NULL},
        {"uA", "0.000001", NULL},
        {"V", "1", NULL},
        {"mV", "0.001", NULL},
        {"kV", "1000", NULL},
        {"ohm", "1", NULL},
        {"mohm", "0.001", NULL},
        {"kohm", "1000", NULL},
        {"Mohm", "1000000", NULL},
        {"W", "1", NULL},
        {"kW", "1000", NULL},
        {"hp", "745.69987158227022", NULL},
        {"K", "1", NULL},
        {"degC", "1", "273.15"},
        {"Hz", "1", NULL},
        {"kHz", "1000", NULL},
        {"rpm", "1", NULL},
        {"N", "1", NULL},
        {"kN", "1000", NULL},
        {"lbf", "4.4482216152605", NULL},
        {"N m", "1", NULL},
        {"lbf ft", "1.3558179483314004", NULL},
        {"lbf in", "0.1129848290276167", NULL},
        {"Pa", "1", NULL},
        {"kPa", "1000", NULL},
        {"bar", "100000", NULL},
        {"mm2", "0.000001", NULL},
        {"cm2", "0.0001", NULL},
        {"m2", "1", NULL},
        {"deg", "1", NULL},
        {"Ah", "3600", NULL},
        {"mAh", "3.6", NULL},
        {"C", "1", NULL},
        {"uF", "0.000001", NULL},
        {"nF", "0.000000001", NULL},
        {"F", "1", NULL},
        {"%", "0.01", NULL},
    };
    random_state random = random_start(14);
    for (size_t u = 0; u < sizeof units / sizeof *units; u++) {
        const cw_unit_info *unit = find(units[u].unit);
        for (int round = 0; round < 400; round++) {
            char text[40];
            int size = 0;
            uint32_t digits = 1 + random_below(&random, round % 2 == 0 ? 15 : 19);
            uint32_t point = 1 + random_below(&random, digits);
            for (uint32_t i = 0; i < digits; i++) {
                if (i == point)
                    text[size++] = '.';
                text[size++] =
                    (char)('0' + (i == 0 ? 1 + random_below(&random, 9) : random_below(&random, 10)));
            }
            text[size] = '\0';
            decimal value = read_decimal(text);
            if (units[u].offset != NULL)
                value = add(value, read_decimal(units[u].offset));
            double expected = round_decimal(multiply(value, read_decimal(units[u].factor)));
            cr_assert(digits > 15 || cw_to_base(unit, strtod(text, NULL)) == expected, "%s %s", text,
                      units[u].unit);
            snprintf(text + size, sizeof text - (size_t)size, " %s", units[u].unit);
            cw_parsed got = cw_quantity_parse(text, strlen(text));
            cr_assert_eq(got.base, expected, "%s: %.17g, not %.17g", text, got.base, expected);
        }
    }
}

/* Is b the double nearest to n/d? In whole numbers: b = m * 2^e, and m +- 1 must not be nearer. */
static bool nearest(double b, __int128 n, __int128 d)
{
    int e;
    __int128 m = (__int128)(frexp(b, &e) * 0x1p53);
    e -= 53;
    __int128 scaled = n * ((__int128)1 << -e);
    __int128 off = m * d - scaled;
    if (off < 0)
        off = -off;
    return 2 * off <= d;
}

/* Fahrenheit and psi do not end as decimals. */
Test(unit, factors_that_never_end)
{
    random_state random = random_start(15);
    for (int round = 0; round < 20000; round++) {
        int hundredths = (int)random_below(&random, 100000) - 40000;
        double base = cw_to_base(find("degF"), hundredths / 100.0);
        cr_assert(nearest(base, hundredths + 45967, 180), "%d: %.17g", hundredths, base);
        int tenths = 1 + (int)random_below(&random, 30000);
        base = cw_to_base(find("psi"), tenths / 10.0);
        cr_assert(nearest(base, (__int128)tenths * 44482216152605, (__int128)10 * 6451600000), "%d: %.17g",
                  tenths, base);
    }
}

Test(unit, conversions_rise)
{
    random_state random = random_start(16);
    const cw_unit_info *unit;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++)
        for (int k = 0; k < 300; k++) {
            double x = random_between(&random, -2000, 2000);
            double y = k % 2 == 0 ? nextafter(x, INFINITY) : x + random_unit(&random);
            cr_assert_leq(cw_to_base(unit, x), cw_to_base(unit, y));
            cr_assert_leq(cw_from_base(unit, x), cw_from_base(unit, y));
        }
}
