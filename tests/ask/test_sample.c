/* Texts made up to match a pattern. */
#include "ask/inside.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

static bool sampled(const char *text)
{
    cw_pattern *pattern = NULL;
    size_t offset = 0;
    char message[120], out[CW_ANSWER_MAX_TEXT + 1];
    cr_assert_eq(
        cw_pattern_new(&cw_system_allocator, text, strlen(text), &pattern, &offset, message, sizeof message),
        CW_OK, "%s", text);
    bool found = false, matched = false;
    cr_assert_eq(ask_sample(pattern, out, sizeof out, &found), CW_OK);
    if (found) {
        cr_assert_eq(cw_pattern_match(pattern, out, strlen(out), &matched, NULL, NULL), CW_OK);
        cr_assert(matched, "%s made %s", text, out);
    }
    cw_pattern_free(pattern);
    return found;
}

Test(sample, what_people_write_in_packs)
{
    static const char *const texts[] = {"^T9[0-4]\\d{2}\\b",
                                        "\\b70 ?A\\b",
                                        "^(?=.*\\bL\\b)(?=.*\\bW\\b)",
                                        "^(?=.*\\bD\\+)(?=.*\\bS\\b)(?!.*\\bW\\b)",
                                        "^PR ?90(?! ?P)",
                                        "\\b55 ?A\\b.*2[478] ?V",
                                        "a|b",
                                        "(?:first|second) (third|fourth){2,3}",
                                        "[^a-y1AX0 ./-]+",
                                        "\\w+@\\w+\\.\\w{2,}",
                                        "x{3}y*z+?",
                                        "^\\(\\d{3}\\) ?\\d{3}-\\d{4}$",
                                        "\\D\\S\\W",
                                        "(?<=A)B|C",
                                        "[]x]y",
                                        "\xc3\xa4 ?\\d"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        cr_assert(sampled(texts[i]), "%s", texts[i]);
}

Test(sample, gives_up_without_harm)
{
    static const char *const texts[] = {
        "(a)\\1", "(?i)a(?-i)b\\x{41}", "a(?=b)c", "(a{99}){3}", "((((((()*)*)*)*)*)*)", "a{300}", "^$"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        cr_assert_not(sampled(texts[i]), "%s", texts[i]);
}

/* Every pattern of the shop's catalogue has its text; else the check would be thought to tell less than it
 * does. */
Test(sample, every_marking_of_the_catalogue)
{
    static const char *const folders[] = {"avocet", "dunlin", "redshank", "godwit", "bittern", "pratincole"};
    size_t count = 0;
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++) {
        char path[300], line[400];
        snprintf(path, sizeof path, "%s/rules/harbour-lane/%s.yaml", CW_SOURCE_DIR, folders[i]);
        FILE *file = fopen(path, "r");
        cr_assert_not_null(file, "%s", path);
        while (fgets(line, sizeof line, file) != NULL) {
            char *start = strstr(line, "like: '"), *end = start == NULL ? NULL : strchr(start + 7, '\'');
            if (end == NULL)
                continue;
            *end = '\0';
            cr_assert(sampled(start + 7), "%s: %s", folders[i], start + 7);
            count++;
        }
        fclose(file);
    }
    cr_assert_geq(count, 20);
}
