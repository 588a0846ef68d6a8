#include "base/nearest.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <string.h>

static const char *best_of(const char *word, const char *const *candidates, size_t count)
{
    cw_nearest nearest = cw_nearest_start(word);
    for (size_t i = 0; i < count; i++)
        cw_nearest_try(&nearest, candidates[i]);
    return nearest.best;
}

Test(nearest, finds_the_slip_of_the_pen)
{
    static const char *const checks[] = {"bolt_spacing", "lead_style", "ripple", "rotor_current", "marking"};
    cr_assert_str_eq(best_of("riple", checks, 5), "ripple");
    cr_assert_str_eq(best_of("ripplee", checks, 5), "ripple");
    cr_assert_str_eq(best_of("irpple", checks, 5), "ripple");
    cr_assert_str_eq(best_of("Bolt-Spacing", checks, 5), "bolt_spacing");
    cr_assert_str_eq(best_of("lead style", checks, 5), "lead_style");
    cr_assert_str_eq(best_of("marking", checks, 5), "marking");
    cr_assert_null(best_of("pulley", checks, 5));
    cr_assert_null(best_of("", checks, 5));
}

/* Six letters bear two slips, five bear one. */
Test(nearest, a_third_of_the_word_may_be_wrong)
{
    static const char *const six[] = {"abcdef"};
    static const char *const five[] = {"abcde"};
    cr_assert_not_null(best_of("abxyef", six, 1));
    cr_assert_null(best_of("axyzef", six, 1));
    cr_assert_not_null(best_of("abxde", five, 1));
    cr_assert_null(best_of("abxye", five, 1));
    cr_assert_eq(cw_nearest_start("\xC3\xA4\xC3\xB6\xC3\xBC\xC3\x9F"
                                  "abcde")
                     .distance,
                 3, "of letters, not bytes");
    cr_assert_not_null(best_of("ab", (const char *const[]){"xb"}, 1), "one slip is always allowed");
}

Test(nearest, of_two_as_near_the_first_in_the_alphabet_whatever_the_order)
{
    static const char *const one[] = {"rotor", "motor"};
    static const char *const other[] = {"motor", "rotor"};
    cr_assert_str_eq(best_of("totor", one, 2), "motor");
    cr_assert_str_eq(best_of("totor", other, 2), "motor");
    static const char *const nearer[] = {"abcdex", "abcxyf", "abcdef"};
    cr_assert_str_eq(best_of("abcdef", nearer, 3), "abcdef");
}

Test(nearest, distances_by_hand)
{
    cr_assert_eq(cw_edit_distance("", "", 5), 0);
    cr_assert_eq(cw_edit_distance("", "abc", 5), 3);
    cr_assert_eq(cw_edit_distance("kitten", "sitting", 5), 3);
    cr_assert_eq(cw_edit_distance("ab", "ba", 5), 1);
    /* Optimal string alignment touches no place twice: 3 here, where the unrestricted distance would be 2. */
    cr_assert_eq(cw_edit_distance("ca", "abc", 5), 3);
    cr_assert_eq(cw_edit_distance("kitten", "sitting", 2), 3, "beyond the limit: limit + 1");
    cr_assert_eq(cw_edit_distance("abcdefgh", "12345678", 2), 3);
    cr_assert_eq(cw_edit_distance("w\xC3\xB6rn", "worn", 5), 1, "a letter of two bytes is one letter");
}

Test(nearest, words_beyond_measure_are_near_to_nothing)
{
    char a[200];
    memset(a, 'a', sizeof a);
    a[199] = '\0';
    cr_assert_eq(cw_edit_distance(a, a, 9), 10);
    a[128] = '\0';
    cr_assert_eq(cw_edit_distance(a, a, 9), 0);
    cr_assert_eq(cw_edit_distance("x", a, 200), 128);
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* The definition, without a table. */
static size_t slow_distance(const char *a, size_t i, const char *b, size_t j)
{
    if (i == 0 || j == 0)
        return i + j;
    size_t out = slow_distance(a, i - 1, b, j - 1) + (a[i - 1] != b[j - 1]);
    out = least(out, slow_distance(a, i - 1, b, j) + 1);
    out = least(out, slow_distance(a, i, b, j - 1) + 1);
    if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        out = least(out, slow_distance(a, i - 2, b, j - 2) + 1);
    return out;
}

Test(nearest, random_words_against_the_definition)
{
    random_state random = random_start(4);
    for (int round = 0; round < 3000; round++) {
        char words[2][8];
        for (int w = 0; w < 2; w++) {
            size_t length = random_below(&random, 7);
            for (size_t i = 0; i < length; i++)
                words[w][i] = (char)('a' + random_below(&random, 3));
            words[w][length] = '\0';
        }
        size_t expected = slow_distance(words[0], strlen(words[0]), words[1], strlen(words[1]));
        for (size_t limit = 0; limit < 8; limit++)
            cr_assert_eq(cw_edit_distance(words[0], words[1], limit), least(expected, limit + 1), "%s %s %zu",
                         words[0], words[1], limit);
    }
}
