#include "quantity/quantity.h"
#include "support/failing.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const cw_unit_info *find(const char *symbol)
{
    return symbol != NULL ? cw_unit_find(symbol, strlen(symbol)) : NULL;
}

static void prints(double base, const char *symbol, const char *expected)
{
    cw_text out = CW_TEXT_INIT(&cw_system_allocator);
    cw_quantity_print(&out, base, find(symbol));
    cr_assert_str_eq(cw_text_get(&out), expected, "%.17g: %s, not %s", base, cw_text_get(&out), expected);
    cw_text_dispose(&out);
}

Test(print, by_hand)
{
    prints(0.13335, "in", "5.25 in");
    prints(0.13335, "mm", "133.35 mm");
    prints(0.1, NULL, "0.1");
    prints(0.1 + 0.2, NULL, "0.30000000000000004");
    prints(0, "mm", "0 mm");
    prints(-0.0, NULL, "-0");
    prints(-0.005, "mm", "-5 mm");
    prints(1500, "rpm", "1500 rpm");
    prints(273.15, "degC", "0 degC");
    prints(273.15, "degF", "32 degF");
    prints(255.15, "degC", "-18 degC");
    prints(0, "degC", "-273.15 degC");
    prints(0, "degF", "-459.67 degF");
    prints(1e-7, NULL, "1e-7");
    prints(0.00001, NULL, "0.00001");
    prints(0.000012, NULL, "0.000012");
    prints(1e16, NULL, "10000000000000000");
    prints(1e17, NULL, "1e17");
    prints(1e21, NULL, "1e21");
    prints(1.5e300, "m", "1.5e300 m");
    prints(5e-324, NULL, "5e-324");
    prints(1.7976931348623157e308, NULL, "1.7976931348623157e308");
    prints(4.7e-5, "uF", "47 uF");
    prints(4700, "kohm", "4.7 kohm");
    prints(INFINITY, "mm", "infinite");
    prints(-INFINITY, NULL, "-infinite");
    prints(NAN, NULL, "undefined");
}

Test(print, what_the_unit_cannot_say_is_said_in_the_base_unit)
{
    prints(1e307, "nF", "1e307 F");
    prints(1e307, "um", "1e307 m");
    prints(1e300, "degC", "1e300 K");
    prints(1e307, "%", "1e307");
}

static void there_and_back(double base, const cw_unit_info *unit)
{
    cw_text out = CW_TEXT_INIT(&cw_system_allocator);
    cw_quantity_print(&out, base, unit);
    cw_parsed got = cw_quantity_parse(cw_text_get(&out), out.size);
    cr_assert_eq(got.error, CW_READING_OK, "%s", cw_text_get(&out));
    cr_assert_eq(got.base, base, "%.17g printed as %s reads as %.17g", base, cw_text_get(&out), got.base);
    cr_assert_eq(signbit(got.base), signbit(base));
    cw_text_dispose(&out);
}

Test(print, then_parse_is_exact_in_every_unit)
{
    random_state random = random_start(17);
    const cw_unit_info *unit;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++) {
        for (int k = 0; k < 1000; k++) {
            there_and_back(cw_to_base(unit, random_between(&random, -5000, 5000)), unit);
            double base = random_between(&random, -1, 1) * pow(10, (int)random_below(&random, 24) - 12);
            there_and_back(base, unit);
            there_and_back(nextafter(cw_to_base(unit, random_below(&random, 400)), INFINITY), unit);
        }
        for (int k = 0; k < 300; k++)
            there_and_back(random_double(&random), unit);
        there_and_back(0, unit);
        there_and_back(unit->offset, unit);
        there_and_back(nextafter(unit->offset, 0), unit);
        there_and_back(nextafter(unit->offset, 1e9), unit);
    }
    for (int k = 0; k < 20000; k++)
        there_and_back(random_double(&random), NULL);
}

/* The digits of what was printed, and the text with the last digit taken off, rounded down or up. */
static bool shorten(const char *text, bool up, char *out)
{
    size_t last = strspn(text, "-0123456789.") - 1;
    size_t figures = 0;
    for (size_t i = 0; i <= last; i++)
        figures += text[i] >= '0' && text[i] <= '9' && (figures > 0 || text[i] != '0');
    if (figures < 2 || memchr(text, '.', last) == NULL)
        return false;
    strcpy(out, text);
    memmove(out + last, out + last + 1, strlen(out + last));
    if (!up)
        return true;
    for (size_t i = last; i-- > 0;) {
        if (out[i] == '.' || out[i] == '-')
            continue;
        if (out[i] != '9') {
            out[i]++;
            return true;
        }
        out[i] = '0';
    }
    return false;
}

Test(print, nothing_shorter_would_do)
{
    random_state random = random_start(18);
    const cw_unit_info *unit;
    size_t tried = 0;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++)
        for (int k = 0; k < 300; k++) {
            double x = k % 2 == 0 ? random_below(&random, 100000) / 1000.0 : random_between(&random, 0, 100);
            double base = cw_to_base(unit, x);
            cw_text out = CW_TEXT_INIT(&cw_system_allocator);
            cw_quantity_print(&out, base, unit);
            char shorter[64];
            for (int up = 0; up < 2; up++)
                if (shorten(cw_text_get(&out), up, shorter)) {
                    tried++;
                    cw_parsed got = cw_quantity_parse(shorter, strlen(shorter));
                    cr_assert_neq(got.base, base, "%s would do for %s", shorter, cw_text_get(&out));
                }
            cw_text_dispose(&out);
        }
    cr_assert_gt(tried, 20000);
}

/* What people write comes back as they wrote it. */
Test(print, decimals_of_up_to_15_figures_come_back_as_written)
{
    random_state random = random_start(19);
    const cw_unit_info *unit;
    for (size_t i = 0; (unit = cw_unit_at(i)) != NULL; i++)
        for (int k = 0; k < 300; k++) {
            char text[40];
            uint32_t whole = 1 + random_below(&random, 9999);
            uint32_t behind = random_below(&random, 1000) * 10 + 1 + random_below(&random, 9);
            snprintf(text, sizeof text, "%s%u.%04u %s", k % 3 == 0 ? "-" : "", whole, behind, unit->symbol);
            cw_text out = CW_TEXT_INIT(&cw_system_allocator);
            cw_quantity_print(&out, cw_quantity_parse(text, strlen(text)).base, unit);
            cr_assert_str_eq(cw_text_get(&out), text);
            cw_text_dispose(&out);
        }
}

static void shows(double base, double error, const char *symbol, const char *expected)
{
    cw_text out = CW_TEXT_INIT(&cw_system_allocator);
    cw_quantity_show(&out, base, error, find(symbol));
    cr_assert_str_eq(cw_text_get(&out), expected, "%s, not %s", cw_text_get(&out), expected);
    cw_text_dispose(&out);
}

Test(print, shown_to_what_the_error_bears)
{
    shows(0.1334567, 0.0015, "mm", "133.5 mm");
    shows(0.1334567, 0.0002, "mm", "133.46 mm");
    shows(0.1334567, 0.00015, "in", "5.2542 in");
    shows(0.1334567, 0.012, "mm", "133 mm");
    shows(0.1334567, 0.12, "mm", "130 mm");
    shows(0.1334567, 50, "mm", "0 mm");
    shows(14.399999999, 0.1, "V", "14.4 V");
    shows(0.9999, 0.01, "V", "1 V");
    shows(-0.9999, 0.01, "V", "-1 V");
    shows(-0.00001, 0.01, "V", "0 V");
    shows(1487, 150, "rpm", "1490 rpm");
    shows(293.15, 0.5, "degC", "20 degC");
    shows(294.2611111, 0.5, "degF", "70 degF");
}

Test(print, without_an_error_four_figures)
{
    shows(12.45678, 0, "V", "12.46 V");
    shows(12.4, 0, "V", "12.4 V");
    shows(123456, 0, NULL, "123500");
    shows(0.000123456, 0, NULL, "0.0001235");
    shows(0, 0, "V", "0 V");
    shows(9.9996, 0, "V", "10 V");
    shows(1.0 / 3, 0, NULL, "0.3333");
    shows(INFINITY, 0, "V", "infinite");
    shows(1, INFINITY, "V", "1 V");
}

Test(print, a_failing_text_is_left_alone)
{
    failing memory;
    failing_start(&memory, 0);
    cw_text out = CW_TEXT_INIT(&memory.allocator);
    cw_quantity_print(&out, 5, find("V"));
    cw_quantity_show(&out, 5, 1, find("V"));
    cr_assert_eq(out.status, CW_NO_MEMORY);
    cr_assert_str_eq(cw_text_get(&out), "");
    cw_text_dispose(&out);
    cr_assert_eq(failing_bytes(&memory), 0);
}
