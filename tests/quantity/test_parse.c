#include "quantity/quantity.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <locale.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cw_parsed parse(const char *text)
{
    return cw_quantity_parse(text, strlen(text));
}

static void reads(const char *text, double number, const char *symbol)
{
    cw_parsed got = parse(text);
    cr_assert_eq(got.error, CW_READING_OK, "'%s': error %d at %zu", text, got.error, got.at);
    cr_assert_eq(got.number, number, "'%s' is %.17g", text, got.number);
    if (symbol == NULL) {
        cr_assert_null(got.unit, "'%s' has %s", text, got.unit != NULL ? got.unit->symbol : "");
        cr_assert_eq(got.base, number);
    } else {
        cr_assert_not_null(got.unit, "'%s' has no unit", text);
        cr_assert_str_eq(got.unit->symbol, symbol, "'%s' is in %s", text, got.unit->symbol);
    }
}

Test(parse, what_the_trade_writes)
{
    reads("5 1/4\"", 5.25, "in");
    reads("5-1/4 in", 5.25, "in");
    reads("5.25in", 5.25, "in");
    reads("133mm", 133, "mm");
    reads("13,3 cm", 13.3, "cm");
    reads("12.4", 12.4, NULL);
    reads("450 mV", 450, "mV");
    reads(".45 VAC", 0.45, "V");
    reads("14V4", 14.4, "V");
    reads("1 500 rpm", 1500, "rpm");
    reads("1.5k rpm", 1500, "rpm");
    reads("70 degF", 70, "degF");
    reads("3/8 in", 0.375, "in");
    reads("-12 \xC2\xB0"
          "C",
          -12, "degC");
    reads("5' 3\"", 63, "in");
    reads("\xC2\xBD in", 0.5, "in");
    reads("1e3 ohm", 1000, "ohm");
    reads("4k7 ohm", 4700, "ohm");
    reads("4k7", 4700, NULL);
    reads("14,4 V", 14.4, "V");
    reads("13.35 cm", 13.35, "cm");
    reads("0.45 VAC", 0.45, "V");
}

Test(parse, signs_and_blanks)
{
    reads("  12  ", 12, NULL);
    reads("+5 V", 5, "V");
    reads("- 5 V", -5, "V");
    reads("\xE2\x88\x92"
          "5 V",
          -5, "V"); /* minus sign */
    reads("\xE2\x80\x93"
          "5 V",
          -5, "V");                    /* the dash a keyboard makes of it */
    reads("12\xC2\xA0V", 12, "V");     /* no-break blank */
    reads("12\xE2\x80\x89V", 12, "V"); /* thin blank */
    reads("1\xE2\x80\xAF"
          "500 rpm",
          1500, "rpm"); /* narrow no-break blank */
    reads("\t12\tV\n", 12, "V");
    reads("-1/2 in", -0.5, "in");
    reads("-5 1/2 in", -5.5, "in");
}

Test(parse, decimal_marks_and_groups)
{
    reads("5.", 5, NULL);
    reads("5. V", 5, "V");
    reads(",5", 0.5, NULL);
    reads("007", 7, NULL);
    reads("0,500 V", 0.5, "V");
    reads("1,500,000 ohm", 1500000, "ohm");
    reads("1.500.000 ohm", 1500000, "ohm");
    reads("1,500.5 rpm", 1500.5, "rpm");
    reads("1.500,5 rpm", 1500.5, "rpm");
    reads("150.000,5 ohm", 150000.5, "ohm");
    reads("150 000 ohm", 150000, "ohm");
    reads("12 345 678,25", 12345678.25, NULL);
    reads("12 345.5 ohm", 12345.5, "ohm");
    reads("1,500 rpm", 1.5, "rpm");
    cr_assert_eq(parse("1,500 rpm").grouped, 1500);
    cr_assert_eq(parse("-12,345 rpm").grouped, -12345);
    cr_assert_eq(parse("1,500e2").grouped, 150000);
    cr_assert(isnan(parse("1.500 rpm").grouped));
    cr_assert(isnan(parse("0,500 V").grouped));
    cr_assert(isnan(parse("1500,250 V").grouped));
    cr_assert(isnan(parse("1,50 V").grouped));
    cr_assert(isnan(parse("1,500,000 V").grouped));
}

Test(parse, fractions)
{
    reads("1/8", 0.125, NULL);
    reads("12/3", 4, NULL);
    reads("5 1/4", 5.25, NULL);
    reads("5-1/4", 5.25, NULL);
    reads("5\xE2\x80\x93"
          "1/4\"",
          5.25, "in");
    reads("5\xE2\x80\x91"
          "1/4\"",
          5.25, "in");
    reads("5  1\xE2\x81\x84"
          "4\"",
          5.25, "in"); /* fraction slash */
    reads("5\xC2\xBD\"", 5.5, "in");
    reads("5 \xC2\xBE in", 5.75, "in");
    reads("\xE2\x85\x9D in", 0.625, "in");
    reads("4 3/4 in", 4.75, "in");
    reads("1 500/1000", 1.5, NULL);
    reads("123456789 1/2", 123456789.5, NULL);
    reads("1/3 ft", 1.0 / 3, "ft");
}

Test(parse, every_fraction_that_has_a_sign_of_its_own)
{
    static const struct {
        const char *sign;
        double value;
    } signs[] = {{"\xC2\xBC", 1.0 / 4},     {"\xC2\xBD", 1.0 / 2},     {"\xC2\xBE", 3.0 / 4},
                 {"\xE2\x85\x90", 1.0 / 7}, {"\xE2\x85\x91", 1.0 / 9}, {"\xE2\x85\x92", 1.0 / 10},
                 {"\xE2\x85\x93", 1.0 / 3}, {"\xE2\x85\x94", 2.0 / 3}, {"\xE2\x85\x95", 1.0 / 5},
                 {"\xE2\x85\x96", 2.0 / 5}, {"\xE2\x85\x97", 3.0 / 5}, {"\xE2\x85\x98", 4.0 / 5},
                 {"\xE2\x85\x99", 1.0 / 6}, {"\xE2\x85\x9A", 5.0 / 6}, {"\xE2\x85\x9B", 1.0 / 8},
                 {"\xE2\x85\x9C", 3.0 / 8}, {"\xE2\x85\x9D", 5.0 / 8}, {"\xE2\x85\x9E", 7.0 / 8}};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        reads(signs[i].sign, signs[i].value, NULL);
}

Test(parse, letters_in_place_of_the_mark)
{
    reads("13v8", 13.8, "V");
    reads("2A5", 2.5, "A");
    reads("4R7", 4.7, "ohm");
    reads("2M2 ohm", 2.2e6, "ohm");
    reads("4K7\xCE\xA9", 4700, "ohm");
    reads("12V", 12, "V");
}

Test(parse, powers_and_thousands)
{
    reads("1e-3", 0.001, NULL);
    reads("1E+3 V", 1000, "V");
    reads("2.5e2mm", 250, "mm");
    reads("1.5k", 1500, NULL);
    reads("10K ohm", 10000, "ohm");
    reads("10k ohm", 10000, "ohm");
    reads("10 kohm", 10, "kohm");
    reads("300K", 300, "K");
    reads("300 K", 300, "K");
    reads("1e-400", 0, NULL);
    reads("0e99999999999999999999", 0, NULL);
}

Test(parse, feet_and_inches)
{
    reads("5'", 5, "ft");
    reads("5'3", 63, "in");
    reads("5'3\"", 63, "in");
    reads("5'-3\"", 63, "in");
    reads("5' 3 1/2\"", 63.5, "in");
    reads("5 ft 3 in", 63, "in");
    reads("5ft3in", 63, "in");
    reads("5 feet 3 inches", 63, "in");
    reads("5\xE2\x80\xB2 3\xE2\x80\xB3", 63, "in"); /* primes */
    reads("5\xE2\x80\x99 3\xE2\x80\x9D", 63, "in"); /* curly quotes */
    reads("-5' 3\"", -63, "in");
    reads("5''", 5, "in");
    reads("5\xE2\x80\x99\xE2\x80\x99", 5, "in");
    reads("5\xE2\x80\x9D", 5, "in");
}

static void fails(const char *text, cw_reading_error error, size_t at, size_t length)
{
    cw_parsed got = parse(text);
    cr_assert_eq(got.error, error, "'%s': error %d", text, got.error);
    cr_assert_eq(got.at, at, "'%s': at %zu", text, got.at);
    cr_assert_eq(got.length, length, "'%s': length %zu", text, got.length);
    cr_assert(isnan(got.number) && isnan(got.base) && got.unit == NULL);
}

Test(parse, what_is_wrong_and_where)
{
    fails("", CW_READING_EMPTY, 0, 0);
    fails("  \t", CW_READING_EMPTY, 0, 3);
    fails("abc", CW_READING_NOT_A_NUMBER, 0, 3);
    fails("  wide one", CW_READING_NOT_A_NUMBER, 2, 4);
    fails("-", CW_READING_NOT_A_NUMBER, 0, 1);
    fails("-mm", CW_READING_NOT_A_NUMBER, 0, 3);
    fails(".", CW_READING_NOT_A_NUMBER, 0, 1);
    fails("nan", CW_READING_NOT_A_NUMBER, 0, 3);
    fails("inf", CW_READING_NOT_A_NUMBER, 0, 3);
    fails("1,50,000", CW_READING_NOT_A_NUMBER, 1, 1);
    fails("1.5.2", CW_READING_NOT_A_NUMBER, 1, 1);
    fails("1,500.250,5", CW_READING_NOT_A_NUMBER, 5, 1);
    fails("1,500,25", CW_READING_NOT_A_NUMBER, 5, 1);
    fails("0,500,000", CW_READING_NOT_A_NUMBER, 1, 1);
    fails("1234,567,890", CW_READING_NOT_A_NUMBER, 4, 1);
    fails("12 MV", CW_READING_UNKNOWN_UNIT, 3, 2);
    fails("12 mmm", CW_READING_UNKNOWN_UNIT, 3, 3);
    fails("12 furlongs long", CW_READING_UNKNOWN_UNIT, 3, 8);
    fails("12\xC3\xA4", CW_READING_UNKNOWN_UNIT, 2, 2);
    fails("12 \xFF", CW_READING_UNKNOWN_UNIT, 3, 1);
    fails("0x10", CW_READING_UNKNOWN_UNIT, 1, 3);
    fails("12 mm wide", CW_READING_TRAILING, 6, 4);
    fails("12 mm -  3", CW_READING_TRAILING, 6, 4);
    fails("12 34", CW_READING_TRAILING, 3, 2);
    fails("12 0000", CW_READING_TRAILING, 3, 4);
    fails("5.5/2", CW_READING_TRAILING, 3, 2);
    fails("5 -1/4", CW_READING_TRAILING, 2, 4);
    fails("5,", CW_READING_TRAILING, 1, 1);
    fails("14V4 x", CW_READING_TRAILING, 5, 1);
    fails("14V4V", CW_READING_TRAILING, 4, 1);
    fails("5' 3 mm", CW_READING_TRAILING, 5, 2);
    fails("5' 3 foos", CW_READING_UNKNOWN_UNIT, 5, 4);
    fails("5' 3\" 2", CW_READING_TRAILING, 6, 1);
    fails("5' 1/0\"", CW_READING_ZERO_DIVIDE, 5, 1);
    fails("3/0 in", CW_READING_ZERO_DIVIDE, 2, 1);
    fails("5 1/000 in", CW_READING_ZERO_DIVIDE, 4, 3);
    fails("1e400 V", CW_READING_TOO_LARGE, 0, 5);
    fails(" -1e99999999999999999999", CW_READING_TOO_LARGE, 1, 23);
    fails("1e308 km", CW_READING_TOO_LARGE, 0, 8);
    fails("1/1234567890", CW_READING_TOO_LARGE, 2, 10);
    fails("1234567890 1/2", CW_READING_TOO_LARGE, 0, 10);
}

Test(parse, a_byte_of_zero_is_no_end)
{
    cw_parsed got = cw_quantity_parse("12\0V", 4);
    cr_assert_eq(got.error, CW_READING_UNKNOWN_UNIT);
    cr_assert_eq(got.at, 2);
    got = cw_quantity_parse("12 V\0", 5);
    cr_assert_neq(got.error, CW_READING_OK);
}

Test(parse, text_behind_the_end_is_not_looked_at)
{
    cr_assert_eq(cw_quantity_parse("125", 2).number, 12);
    cr_assert_eq(cw_quantity_parse("1/25", 3).number, 0.5);
    cr_assert_str_eq(cw_quantity_parse("12 mmm", 5).unit->symbol, "mm");
    cr_assert_null(cw_quantity_parse("12k7", 2).unit);
}

Test(parse, what_is_waited_for_decides_between_meanings)
{
    cw_dimension temperature;
    cw_dimension force;
    cw_dimension length;
    cw_dimension_find("temperature", &temperature);
    cw_dimension_find("force", &force);
    cw_dimension_find("length", &length);
    cr_assert_str_eq(cw_quantity_parse_as("70 F", 4, temperature).unit->symbol, "degF");
    cr_assert_str_eq(cw_quantity_parse_as("20C", 3, temperature).unit->symbol, "degC");
    cr_assert_eq(cw_quantity_parse_as("300K", 4, temperature).unit->dimension.on_scale, 1);
    cr_assert_str_eq(cw_quantity_parse_as("40 lb", 5, force).unit->symbol, "lbf");
    cr_assert_str_eq(cw_quantity_parse_as("40 lb", 5, length).unit->symbol, "lb");
    cr_assert_str_eq(parse("70 F").unit->symbol, "F");
    cr_assert_str_eq(parse("20 C").unit->symbol, "C");
    cr_assert_str_eq(parse("40 lb").unit->symbol, "lb");
    cr_assert_eq(parse("300 K").unit->dimension.on_scale, 0);

    cw_parsed again = cw_parsed_as(parse("212 F"), temperature);
    cr_assert_str_eq(again.unit->symbol, "degF");
    cr_assert_eq(again.base, 373.15);
    cr_assert_str_eq(cw_parsed_as(parse("5 mm"), temperature).unit->symbol, "mm");
    cr_assert_null(cw_parsed_as(parse("5"), temperature).unit);
    cr_assert_eq(cw_parsed_as(parse("x"), temperature).error, CW_READING_NOT_A_NUMBER);
}

Test(parse, ranges)
{
    const char *text = " 60 mm to 200 mm ";
    cw_parsed_pair pair = cw_quantity_parse_range(text, strlen(text));
    cr_assert(pair.ok);
    cr_assert_eq(pair.first.base, 0.06);
    cr_assert_eq(pair.second.base, 0.2);
    cr_assert_eq(pair.second.at, 0, "no spot where nothing is wrong");
    pair = cw_quantity_parse_range("0 to 12", 7);
    cr_assert(pair.ok);
    cr_assert_eq(pair.second.number, 12);
    pair = cw_quantity_parse_range("60 mm to 2x0 mm", 15);
    cr_assert(pair.ok);
    cr_assert_eq(pair.second.error, CW_READING_UNKNOWN_UNIT);
    cr_assert_eq(pair.second.at, 10, "spots count from the start of the whole text");
    pair = cw_quantity_parse_range("60 mm to", 8);
    cr_assert(pair.ok);
    cr_assert_eq(pair.second.error, CW_READING_EMPTY);
    cr_assert_eq(pair.second.at, 8);
    pair = cw_quantity_parse_range("to 5 mm", 7);
    cr_assert(pair.ok);
    cr_assert_eq(pair.first.error, CW_READING_EMPTY);
    pair = cw_quantity_parse_range("60 mm", 5);
    cr_assert_not(pair.ok);
    cr_assert_eq(pair.first.base, 0.06);
    cr_assert_not(cw_quantity_parse_range("60 mm total", 11).ok);
}

Test(parse, tolerances)
{
    static const char *const texts[] = {"112 mm +/- 0.8 mm", "112 mm \xC2\xB1 0.8 mm", "112mm+-0.8mm",
                                        "112 mm\xC2\xB1 0.8 mm"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        cw_parsed_pair pair = cw_quantity_parse_tolerance(texts[i], strlen(texts[i]));
        cr_assert(pair.ok);
        cr_assert_eq(pair.first.base, 0.112);
        cr_assert_eq(pair.second.base, 0.0008);
    }
    cw_parsed_pair pair = cw_quantity_parse_tolerance("112 mm", 6);
    cr_assert_not(pair.ok);
    cr_assert_eq(pair.first.base, 0.112);
    pair = cw_quantity_parse_tolerance("112 mm +/- x", 12);
    cr_assert(pair.ok);
    cr_assert_eq(pair.second.error, CW_READING_NOT_A_NUMBER);
    cr_assert_eq(pair.second.at, 11);
}

Test(parse, every_error_has_words)
{
    for (int i = 0; i <= CW_READING_ZERO_DIVIDE; i++)
        for (int k = 0; k < i; k++)
            cr_assert_str_neq(cw_reading_error_text((cw_reading_error)i),
                              cw_reading_error_text((cw_reading_error)k));
    cr_assert_str_eq(cw_reading_error_text(CW_READING_UNKNOWN_UNIT), "this unit is not known");
    cr_assert_str_eq(cw_reading_error_text((cw_reading_error)99), "unknown error");
}

/* The C library rounds correctly; it is our reference in the locale C, where the mark is the point. */
Test(parse, random_decimals_are_rounded_as_the_c_library_does)
{
    random_state random = random_start(11);
    for (int round = 0; round < 50000; round++) {
        char text[900];
        size_t size = 0;
        size_t most = random_below(&random, 50) == 0 ? 850 : 1 + random_below(&random, 30);
        size_t point = random_below(&random, 3) == 0 ? most : random_below(&random, (uint32_t)most);
        if (random_below(&random, 2) == 0)
            text[size++] = '-';
        for (size_t i = 0; i < most; i++) {
            if (i == point)
                text[size++] = '.';
            text[size++] = (char)('0' + random_below(&random, 10));
        }
        if (random_below(&random, 2) == 0)
            size += (size_t)snprintf(text + size, 8, "e%d", (int)random_below(&random, 640) - 330);
        text[size] = '\0';
        double expected = strtod(text, NULL);
        cw_parsed got = cw_quantity_parse(text, size);
        if (isfinite(expected))
            cr_assert_eq(got.number, expected, "%s: %.17g", text, got.number);
        else
            cr_assert_eq(got.error, CW_READING_TOO_LARGE, "%s", text);
    }
}

/* Midway between two doubles, to the 760th digit, and a hair beyond. */
Test(parse, the_hardest_roundings)
{
    char text[1200];
    int size = snprintf(text, sizeof text, "%.1100f", 0x1p-1074 * 1.0);
    cw_parsed exact = cw_quantity_parse(text, (size_t)size);
    cr_assert_eq(exact.number, 0x1p-1074);
    const char *half = "4.9406564584124654e-324";
    cr_assert_eq(cw_quantity_parse(half, strlen(half)).number, 0x1p-1074);
    /* 1 + 2^-53 lies midway between 1 and the next double: to the even one, 1. One more digit: up. */
    const char *midway = "1.00000000000000011102230246251565404236316680908203125";
    cr_assert_eq(cw_quantity_parse(midway, strlen(midway)).number, 1.0);
    memcpy(text, midway, strlen(midway));
    memset(text + strlen(midway), '0', 1000);
    text[strlen(midway) + 1000] = '1';
    cr_assert_eq(cw_quantity_parse(text, strlen(midway) + 1001).number, 1.0 + 0x1p-52);
    cr_assert_eq(cw_quantity_parse(text, strlen(midway) + 1000).number, 1.0);
}

/* Any bytes: an answer or an error whose spot lies in the text, never both, and the sanitizers keep quiet. */
Test(parse, random_bytes_are_read_or_refused_with_a_spot)
{
    static const char *const parts[] = {
        "1",  "23", "0",  "500", ".",  ",",    " ",        "-",        "/",        "e",   "k",
        "V",  "mm", "in", "\"",  "'",  "ft",   "\xC2\xBD", "\xC2\xB0", "\xCE\xA9", "K",   "+/-",
        "to", "%",  "N",  "m",   "\t", "\xFF", "\xE2\x80", "\xC2\xA0", "\0",       "lbf", "R"};
    random_state random = random_start(12);
    size_t good = 0;
    for (int round = 0; round < 100000; round++) {
        char text[64];
        size_t size = 0;
        for (uint32_t i = random_below(&random, 9); i > 0; i--) {
            const char *part = parts[random_below(&random, sizeof parts / sizeof *parts)];
            size_t length = *part == '\0' ? 1 : strlen(part);
            memcpy(text + size, part, length);
            size += length;
        }
        /* A copy of the exact size lets AddressSanitizer see every step beyond the end. */
        char *copy = malloc(size + (size == 0));
        memcpy(copy, text, size);
        cw_parsed got = cw_quantity_parse(copy, size);
        if (got.error == CW_READING_OK) {
            cr_assert(isfinite(got.number) && isfinite(got.base));
            good++;
        } else {
            cr_assert_leq(got.at, size);
            cr_assert_leq(got.length, size - got.at);
            cr_assert(got.error == CW_READING_EMPTY || got.length > 0);
        }
        cw_parsed_pair pair = cw_quantity_parse_range(copy, size);
        cr_assert(pair.second.error == CW_READING_OK || pair.second.at + pair.second.length <= size);
        pair = cw_quantity_parse_tolerance(copy, size);
        cr_assert(pair.second.error == CW_READING_OK || pair.second.at + pair.second.length <= size);
        free(copy);
    }
    cr_assert_gt(good, 3000);
}

/* A locale whose decimal mark is the comma, made for this test. */
Test(parse, the_locale_of_the_host_program_does_not_matter)
{
    const char *make =
        "localedef --no-archive -i de_DE -f UTF-8 '" CW_BINARY_DIR "/results/de_DE.UTF-8' >/dev/null 2>&1";
    int made = system(make);
    setenv("LOCPATH", CW_BINARY_DIR "/results", 1);
    cr_assert_not_null(setlocale(LC_ALL, "de_DE.UTF-8"),
                       "localedef (%d) could not make a locale; the Debian package 'locales' is needed",
                       made);
    cr_assert_str_eq(localeconv()->decimal_point, ",");
    reads("12.4", 12.4, NULL);
    reads("12,4 V", 12.4, "V");
    reads("1e-3 ohm", 0.001, "ohm");
    reads("0.12345678901234567 in", 0.12345678901234567, "in");
    cw_text out = CW_TEXT_INIT(&cw_system_allocator);
    cw_quantity_print(&out, 0.1 + 0.2, NULL);
    cw_text_add(&out, ", ");
    cw_quantity_print(&out, 0.13335, cw_unit_find("mm", 2));
    cw_text_add(&out, ", ");
    cw_quantity_show(&out, 0.133351234, 0, cw_unit_find("mm", 2));
    cr_assert_str_eq(cw_text_get(&out), "0.30000000000000004, 133.35 mm, 133.4 mm");
    cw_text_dispose(&out);
}
