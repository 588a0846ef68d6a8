#include "pack/frequency.h"
#include <criterion/criterion.h>
#include <string.h>

static double read(const char *text)
{
    double chance = -1;
    return cw_frequency_parse(text, strlen(text), &chance) ? chance : -1;
}

Test(frequency, the_scale_is_that_of_the_reference)
{
    static const struct {
        const char *word;
        double chance;
    } scale[] = {{"always", 0.98},    {"usually", 0.85}, {"often", 0.60},
                 {"sometimes", 0.30}, {"rarely", 0.08},  {"never", 0.01}};
    for (size_t i = 0; i < 6; i++) {
        cr_expect_eq(read(scale[i].word), scale[i].chance, "%s", scale[i].word);
        cr_expect_str_eq(cw_frequency_word_at(i), scale[i].word);
    }
    cr_expect_null(cw_frequency_word_at(6));
}

Test(frequency, counts_and_percentages)
{
    cr_expect_eq(read("17 of 20"), 17.0 / 20);
    cr_expect_eq(read("0 of 1"), 0.0);
    cr_expect_eq(read("20 of 20"), 1.0);
    cr_expect_eq(read("0.5 of 100"), 0.5 / 100);
    cr_expect_eq(read("85 %"), 85.0 / 100);
    cr_expect_eq(read("85%"), 85.0 / 100);
    cr_expect_eq(read("0.3 %"), 0.3 / 100);
    cr_expect_eq(read("100 %"), 1.0);
    cr_expect_eq(read("3  of  4"), 0.75);
}

Test(frequency, anything_else_is_refused)
{
    static const char *const wrong[] = {
        "",      "0.7",     "21 of 20", "5 of 0",  "101 %",
        "-1 %",  "85 % ",   "Often",    "often ",  "17of 20",
        "17 of", "of 20",   "1 of 2 3", "%",       "1e1 %",
        "nan %", "1. of 2", ".",        "1.2.3 %", "12345678901234567890 of 99999999999999999999"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        cr_expect_eq(read(wrong[i]), -1.0, "'%s'", wrong[i]);
}

Test(frequency, the_text_need_not_end_in_a_nul)
{
    double chance;
    cr_expect(cw_frequency_parse("85 %x", 4, &chance));
    cr_expect_eq(chance, 85.0 / 100);
}
