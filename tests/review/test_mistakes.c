/* The corner shop with one slip of the pen in it, as a trainer makes them. Each file says in its first line
 * what the slip is and which codes it must give; beside it stands every word that people are then told. */
#include "review/help.h"
#include <criterion/criterion.h>
#include <criterion/parameterized.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MISTAKES CW_SOURCE_DIR "/tests/review/mistakes"
enum { MOST = 200, FEW_LINES = 6 };

typedef struct mistake {
    char name[80];
} mistake;

static char *read_in(const char *folder, const char *name, const char *ending, size_t *size)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%.*s%s", folder, (int)strcspn(name, "."), name, ending);
    char *text = read_file(path, size);
    cr_assert_not_null(text, "%s is missing", path);
    return text;
}

static compiled look_through(const char *name, const char *text, size_t size)
{
    const cw_pack_file file = {name, text, size};
    return review_files(&file, 1, (cw_review_limits){0});
}

ParameterizedTestParameters(mistakes, each_is_caught_in_these_words)
{
    static char names[MOST][80];
    size_t count = names_in(MISTAKES, ".yaml", names, MOST);
    mistake *all = cr_malloc(count * sizeof *all);
    for (size_t i = 0; i < count; i++)
        strcpy(all[i].name, names[i]);
    return cr_make_param_array(mistake, all, count);
}

ParameterizedTest(mistake *given, mistakes, each_is_caught_in_these_words)
{
    size_t size, expected_size;
    char *text = read_in(MISTAKES, given->name, ".yaml", &size);
    char *expected = read_in(MISTAKES, given->name, ".txt", &expected_size);
    compiled made = look_through(given->name, text, size);
    char *told = messages(&made), codes[80] = "";
    cr_expect_str_eq(told, expected, "%s\n--- told:\n%s--- expected:\n%s", given->name, told, expected);
    cr_expect_eq(sscanf(text, "# %*[^:]: %*[^(](%79[^)])", codes), 1, "%s names no codes", given->name);
    cr_expect_str_eq(codes_of(&made), codes);
    cr_expect_not_null(strstr(told, "help: "), "%s: no remedy", given->name);
    free(told);
    free(text);
    free(expected);
    compiled_free(&made);
}

Test(mistakes, there_are_at_least_sixty)
{
    static char names[MOST][80], words[MOST][80];
    size_t count = names_in(MISTAKES, ".yaml", names, MOST);
    cr_expect_geq(count, 60u);
    cr_expect_eq(count, names_in(MISTAKES, ".txt", words, MOST));
}

Test(mistakes, the_shop_itself_is_without_one)
{
    size_t size;
    char *text = read_file(CORNER_SHOP "/pack.yaml", &size);
    compiled made = look_through("pack.yaml", text, size);
    char *told = messages(&made);
    cr_expect_str_eq(told, "");
    cr_expect_eq(made.status, CW_OK);
    free(told);
    free(text);
    compiled_free(&made);
}

static bool has_line(const char *text, const char *line, size_t size)
{
    for (const char *at = text; *at != '\0'; at += strcspn(at, "\n") + 1) {
        if (strcspn(at, "\n") == size && memcmp(at, line, size) == 0)
            return true;
        if (at[strcspn(at, "\n")] == '\0')
            break;
    }
    return false;
}

/* Lines of `text` that the other has not. */
static size_t own_lines(const char *text, const char *other)
{
    size_t count = 0;
    for (const char *at = text; *at != '\0';) {
        size_t size = strcspn(at, "\n");
        count += !has_line(other, at, size);
        at += size + (at[size] == '\n');
    }
    return count;
}

/* One slip, not a pack of its own. */
Test(mistakes, each_differs_from_the_shop_by_a_few_lines)
{
    static char names[MOST][80];
    size_t size, shop_size, count = names_in(MISTAKES, ".yaml", names, MOST);
    char *shop = read_file(CORNER_SHOP "/pack.yaml", &shop_size);
    for (size_t i = 0; i < count; i++) {
        char *text = read_in(MISTAKES, names[i], ".yaml", &size);
        cr_expect_leq(own_lines(text, shop), (size_t)FEW_LINES, "%s", names[i]);
        cr_expect_leq(own_lines(shop, text), (size_t)FEW_LINES, "%s", names[i]);
        free(text);
    }
    free(shop);
}
