/* The short way gives what the long way gives, to the last bit, wherever it gives anything. */
#include "quantity/inside.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static bool is_short(const char *text)
{
    cw_parsed out;
    return cw_short_read(text, strlen(text), NULL, &out);
}

Test(short, what_packs_are_full_of)
{
    static const char *const texts[] = {"112 mm", "0.8 V", "15",    "12.5",
                                        "400rpm", " 7 % ", "007 A", "123456789012345 N m"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        cr_expect(is_short(texts[i]), "%s", texts[i]);
    cw_parsed out;
    cr_assert(cw_short_read("2.5 in", 6, NULL, &out));
    cr_expect_eq(out.number, 2.5);
    cr_expect_eq(out.base, 0.0635);
    cr_expect_str_eq(out.unit->symbol, "in");
    cr_expect(isnan(out.grouped));
    cr_expect_eq(out.error, CW_READING_OK);
}

Test(short, all_else_goes_the_long_way)
{
    static const char *const texts[] = {"",
                                        " ",
                                        "-5 mm",
                                        "+5 mm",
                                        "5,2 mm",
                                        "1,500 rpm",
                                        "1 500 rpm",
                                        "5 1/4 in",
                                        "14V4",
                                        "1e3 V",
                                        "5.",
                                        ".5 V",
                                        "1.2.3",
                                        "5 volts",
                                        "5 \"",
                                        "5  mm",
                                        "5 mm x",
                                        "1.5k rpm",
                                        "5 mm\n",
                                        "\t5",
                                        "1234567890123456",
                                        "5 MM",
                                        "5 mmmmmmmmmmm"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        cr_expect_not(is_short(texts[i]), "%s", texts[i]);
    cw_parsed out;
    cr_expect_not(cw_short_read("5 mm\0", 5, NULL, &out));
    cr_expect_not(cw_short_read("5 \0", 3, NULL, &out));
}

static void expect_same(const char *text, size_t size, const cw_dimension *wanted, const cw_parsed *shortly)
{
    const cw_parsed at_length = cw_long_read(text, size, wanted);
    cr_assert_eq(at_length.error, CW_READING_OK, "'%s'", text);
    cr_assert_eq(at_length.unit, shortly->unit, "'%s'", text);
    cr_assert(memcmp(&at_length.number, &shortly->number, sizeof(double)) == 0, "'%s'", text);
    cr_assert(memcmp(&at_length.base, &shortly->base, sizeof(double)) == 0, "'%s': %.17g %.17g", text,
              at_length.base, shortly->base);
    cr_assert(isnan(at_length.grouped) && isnan(shortly->grouped), "'%s'", text);
    cr_assert(at_length.at == shortly->at && at_length.length == shortly->length, "'%s'", text);
}

static size_t random_digits(random_state *random, char *text)
{
    size_t size = random_below(random, 4) == 0 ? random_below(random, 18) : random_below(random, 5);
    for (size_t i = 0; i < size; i++)
        text[i] = (char)('0' + (random_below(random, 3) == 0 ? 0 : random_below(random, 10)));
    return size;
}

/* Numbers in front of symbols, words and letters that mean something behind a number. */
static size_t random_quantity(random_state *random, char text[80])
{
    static const char *const behind[] = {
        "",  " ",         "  ",       "e",     "E3",      "k",    "K",  "k rpm",   "k ohm", "V4",
        "A", "M",         "'",        "' 3\"", "ft 3 in", " 500", "/2", " 1/2 in", "mm x",  "volts",
        "-", "\xC2\xB5m", "\xC2\xB1", ".",     ",5",      ",500", "\t", "F",       "lb",    "C"};
    size_t size = 0, count = 0;
    while (cw_unit_at(count) != NULL)
        count++;
    for (uint32_t i = random_below(random, 3) == 0 ? 1 : 0; i > 0; i--)
        text[size++] = " -+"[random_below(random, 3)];
    size += random_digits(random, text + size);
    if (random_below(random, 2) == 0) {
        text[size++] = random_below(random, 5) == 0 ? ',' : '.';
        size += random_digits(random, text + size);
    }
    if (random_below(random, 3) > 0)
        text[size++] = ' ';
    const bool unit = random_below(random, 3) > 0;
    const char *word = unit ? cw_unit_at(random_below(random, (uint32_t)count))->symbol
                            : behind[random_below(random, sizeof behind / sizeof *behind)];
    return size + (size_t)sprintf(text + size, "%s%s", word, random_below(random, 8) == 0 ? " " : "");
}

Test(short, the_long_way_gives_the_same)
{
    random_state random = random_start(5);
    int shortly = 0;
    for (int round = 0; round < 150000; round++) {
        char text[80];
        const size_t size = random_quantity(&random, text);
        const cw_unit_info *other = cw_unit_at(random_below(&random, 40));
        const cw_dimension *wanted = random_below(&random, 2) == 0 ? &other->dimension : NULL;
        cw_parsed out;
        if (!cw_short_read(text, size, wanted, &out))
            continue;
        expect_same(text, size, wanted, &out);
        shortly++;
    }
    cr_expect_gt(shortly, 25000);
}
