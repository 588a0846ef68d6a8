/* One mistake in each file of bad/, and beside it every word that people must then be told. */
#include "help.h"
#include <criterion/criterion.h>
#include <criterion/parameterized.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BAD CW_SOURCE_DIR "/tests/pack/bad/"
enum { MOST = 400 };
#define PACK_CODES 300 /* codes below are of packs */

typedef struct mistake {
    char name[80];
} mistake;

ParameterizedTestParameters(bad, every_mistake_is_told_in_these_words)
{
    static char names[MOST][80];
    size_t count = bad_names(".yaml", names, MOST);
    mistake *mistakes = cr_malloc(count * sizeof *mistakes);
    for (size_t i = 0; i < count; i++)
        strcpy(mistakes[i].name, names[i]);
    return cr_make_param_array(mistake, mistakes, count);
}

ParameterizedTest(mistake *given, bad, every_mistake_is_told_in_these_words)
{
    char path[4096];
    size_t size, expected_size;
    snprintf(path, sizeof path, BAD "%s", given->name);
    char *text = read_file(path, &size);
    snprintf(path, sizeof path, BAD "%.*s.txt", (int)strlen(given->name) - 5, given->name);
    char *expected = read_file(path, &expected_size);
    cr_assert_not_null(text);
    cr_assert_not_null(expected, "%s has no expected words beside it", given->name);
    compiled made = compile_mistake(&cw_system_allocator, given->name, text, size);
    char *told = messages(&made);
    cr_expect_str_eq(told, expected, "%s\n--- told:\n%s--- expected:\n%s", given->name, told, expected);
    cr_expect_eq(made.status, cw_diags_errors(made.diags) > 0 ? CW_BAD_INPUT : CW_OK);
    free(told);
    free(text);
    free(expected);
    compiled_free(&made);
}

Test(bad, there_are_at_least_sixty_and_no_words_without_a_mistake)
{
    static char names[MOST][80], words[MOST][80];
    size_t count = bad_names(".yaml", names, MOST), word_count = bad_names(".txt", words, MOST);
    cr_expect_geq(count, 60u);
    cr_expect_eq(count, word_count);
}

Test(bad, the_header_alone_is_good)
{
    compiled made = compile_body("words: {}\n");
    char *told = messages(&made);
    cr_expect_str_eq(told, "");
    cr_expect_eq(made.status, CW_OK);
    free(told);
    compiled_free(&made);
}

/* Provoked elsewhere: a file would be too large (test_limits.c), or the pack is looked through
 * (tests/review). */
static bool is_generated(int code)
{
    return code == CW_DIAG_FILE_TOO_LARGE || (code >= CW_DIAG_SHADOWED && code <= CW_DIAG_EITHER_WAY) ||
           (code >= CW_DIAG_SAME_TITLE && code <= CW_DIAG_TOO_WIDE);
}

static const int codes[] = {
#define CW_DIAG(code, name, severity, summary) code,
#include "base/diag.def"
#undef CW_DIAG
};
enum { CODES = sizeof codes / sizeof codes[0] };

Test(bad, every_code_of_packs_is_provoked_by_some_mistake)
{
    static char names[MOST][80];
    bool seen[PACK_CODES] = {false};
    size_t count = bad_names(".yaml", names, MOST);
    for (size_t i = 0; i < count; i++) {
        char path[4096];
        size_t size;
        snprintf(path, sizeof path, BAD "%s", names[i]);
        char *text = read_file(path, &size);
        compiled made = compile_mistake(&cw_system_allocator, names[i], text, size);
        for (size_t k = 0; k < cw_diags_count(made.diags); k++)
            if (cw_diags_at(made.diags, k)->code < PACK_CODES)
                seen[cw_diags_at(made.diags, k)->code] = true;
        compiled_free(&made);
        free(text);
    }
    for (int i = 0; i < CODES; i++)
        if (codes[i] < PACK_CODES && !is_generated(codes[i]))
            cr_expect(seen[codes[i]], "no mistake provokes %s", cw_code_name((cw_code)codes[i]));
}

Test(bad, every_code_of_packs_is_listed_in_the_reference)
{
    size_t size;
    char *text = read_file(CW_SOURCE_DIR "/rules/README.md", &size);
    cr_assert_not_null(text);
    const char *list = strstr(text, "\n## Messages");
    cr_assert_not_null(list);
    for (int i = 0; i < CODES; i++) {
        if (codes[i] >= PACK_CODES)
            continue;
        char line[160];
        snprintf(line, sizeof line, "| %s | %s |", cw_code_name((cw_code)codes[i]),
                 cw_code_summary((cw_code)codes[i]));
        cr_expect_not_null(strstr(list, line), "not in rules/README.md: %s", line);
    }
    free(text);
}
