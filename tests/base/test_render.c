#include "base/diag.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <string.h>

/* One message about one text, rendered. */
typedef struct scene {
    cw_sources *sources;
    cw_diags *diags;
    cw_text out;
    uint32_t source;
} scene;

static scene start(const char *text, size_t size)
{
    scene s = {cw_sources_new(&cw_system_allocator), cw_diags_new(&cw_system_allocator),
               CW_TEXT_INIT(&cw_system_allocator), 0};
    cr_assert_eq(cw_sources_add(s.sources, "units.yaml", text, size, &s.source), CW_OK);
    return s;
}

static void finish(scene *s)
{
    cw_text_dispose(&s->out);
    cw_diags_free(s->diags);
    cw_sources_free(s->sources);
}

static void expect(const char *text, uint32_t from, uint32_t to, const char *expected)
{
    scene s = start(text, strlen(text));
    cw_diag *diag = cw_diags_add(s.diags, CW_DIAG_UNKNOWN_KEY, (cw_span){s.source, from, to}, "wrong");
    cw_diag_render(&s.out, s.sources, diag);
    cr_assert_str_eq(cw_text_get(&s.out), expected, "got:\n%swanted:\n%s", cw_text_get(&s.out), expected);
    finish(&s);
}

Test(render, the_whole_message)
{
    const char *text = "rules:\n  ripple_high:\n    iff: {ripple: above 0.5 V}\n    if: {a: b}\n";
    scene s = start(text, strlen(text));
    cw_diag *diag =
        cw_diags_add(s.diags, CW_DIAG_UNKNOWN_KEY, (cw_span){s.source, 26, 29}, "a rule has no '%s'", "iff");
    cw_diag_help(s.diags, diag, "did you mean 'if'?");
    cw_diag_second(s.diags, diag, (cw_span){s.source, 57, 59}, "'if' stands here");
    cw_diag_render(&s.out, s.sources, diag);
    cr_assert_str_eq(cw_text_get(&s.out), "units.yaml:3:5: error: a rule has no 'iff'\n"
                                          "    3 |     iff: {ripple: above 0.5 V}\n"
                                          "      |     ^~~\n"
                                          "units.yaml:4:5: note: 'if' stands here\n"
                                          "    4 |     if: {a: b}\n"
                                          "      |     ^~\n"
                                          "help: did you mean 'if'?\n");
    finish(&s);
}

Test(render, without_a_place)
{
    scene s = start("", 0);
    cw_diag *diag = cw_diags_add(s.diags, CW_DIAG_NO_PACK, (cw_span){0}, "no pack was given");
    cw_diag_help(s.diags, diag, "name a folder");
    cw_diag_render(&s.out, s.sources, diag);
    diag = cw_diags_add(s.diags, CW_DIAG_UNUSED_FACT, (cw_span){0}, "unused");
    cw_diag_render(&s.out, s.sources, diag);
    cr_assert_str_eq(cw_text_get(&s.out), "error: no pack was given\nhelp: name a folder\nwarning: unused\n");
    finish(&s);
}

Test(render, spots_of_every_shape)
{
    expect("abc", 1, 2, "units.yaml:1:2: error: wrong\n    1 | abc\n      |  ^\n");
    expect("abc", 1, 1, "units.yaml:1:2: error: wrong\n    1 | abc\n      |  ^\n");
    expect("abc", 3, 3, "units.yaml:1:4: error: wrong\n    1 | abc\n      |    ^\n");
    expect("abc", 0, 3, "units.yaml:1:1: error: wrong\n    1 | abc\n      | ^~~\n");
    /* several lines: to the end of the first */
    expect("abc\ndef\n", 1, 6, "units.yaml:1:2: error: wrong\n    1 | abc\n      |  ^~\n");
    expect("abc\r\ndef\r\n", 1, 8, "units.yaml:1:2: error: wrong\n    1 | abc\n      |  ^~\n");
    /* on the end of the line, on an empty line, past the end */
    expect("abc\ndef", 3, 4, "units.yaml:1:4: error: wrong\n    1 | abc\n      |    ^\n");
    expect("\n\nx", 1, 1, "units.yaml:2:1: error: wrong\n    2 |\n      | ^\n");
    expect("", 0, 0, "units.yaml:1:1: error: wrong\n    1 |\n      | ^\n");
    expect("ab", 40, 50, "units.yaml:1:3: error: wrong\n    1 | ab\n      |   ^\n");
}

Test(render, columns_are_what_the_eye_counts)
{
    expect("\t\tkey: x", 2, 5, "units.yaml:1:3: error: wrong\n    1 |   key: x\n      |   ^~~\n");
    expect("\xC3\xA4\xC3\xB6: \xC3\xBC", 6, 8,
           "units.yaml:1:5: error: wrong\n    1 | \xC3\xA4\xC3\xB6: \xC3\xBC\n      |     ^\n");
    expect("\xE6\x95\xB4: \xE6\xB5\x81x", 5, 8,
           "units.yaml:1:5: error: wrong\n    1 | \xE6\x95\xB4: \xE6\xB5\x81x\n      |     ^~\n");
}

Test(render, nothing_in_a_file_or_a_message_reaches_the_terminal_as_a_command)
{
    expect("a\x1B[2Jb", 1, 2, "units.yaml:1:2: error: wrong\n    1 | a [2Jb\n      |  ^\n");
    expect("a\xFF"
           "b\xC2\x9B"
           "c",
           1, 2,
           "units.yaml:1:2: error: wrong\n    1 | a\xEF\xBF\xBD"
           "b c\n      |  ^\n");
    scene s = start("", 0);
    cw_diag *diag = cw_diags_add(s.diags, CW_DIAG_NO_PACK, (cw_span){0}, "two\nlines\x1B w\xC3\xB6rn, \xFF");
    cw_diag_help(s.diags, diag, "bell\x07");
    cw_diag_render(&s.out, s.sources, diag);
    cr_assert_str_eq(cw_text_get(&s.out), "error: two lines  w\xC3\xB6rn, \xEF\xBF\xBD\nhelp: bell \n");
    finish(&s);
}

#define TEN "0123456789"
#define FIFTY TEN TEN TEN TEN TEN

Test(render, a_long_line_is_cut_round_the_caret)
{
    /* 72 columns are shown whole. */
    expect(FIFTY TEN TEN "ab", 71, 72,
           "units.yaml:1:72: error: wrong\n"
           "    1 | " FIFTY TEN TEN "ab\n"
           "      | "
           "                                                  "
           "                     "
           "^\n");
    /* 73: the caret is near the start, so the end goes. 69 columns and the dots. */
    expect(FIFTY TEN TEN "abc", 2, 4,
           "units.yaml:1:3: error: wrong\n"
           "    1 | " FIFTY TEN "012345678...\n"
           "      |   ^~\n");
    /* Far right: dots, 24 columns before the caret, the rest. */
    expect(FIFTY FIFTY "xyz", 100, 103,
           "units.yaml:1:101: error: wrong\n"
           "    1 | ...6789" TEN TEN "xyz\n"
           "      | "
           "   "
           "                        "
           "^~~\n");
    /* In the middle of a very long one: dots on both sides, 66 columns between them; the underline ends with
     * them. */
    expect(FIFTY FIFTY FIFTY FIFTY, 100, 200,
           "units.yaml:1:101: error: wrong\n"
           "    1 | ...6789" TEN TEN TEN TEN TEN TEN "01...\n"
           "      | "
           "   "
           "                        "
           "^"
           "~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~\n");
}

Test(render, line_numbers_beyond_five_figures_move_the_margin)
{
    static char text[100003];
    memset(text, '\n', 99999);
    strcpy(text + 99999, "abc");
    expect(text, 99999, 100002, "units.yaml:100000:1: error: wrong\n100000 | abc\n       | ^~~\n");
}

/* Whatever the text and the spot: three lines, none too wide, and the caret under the sign it speaks of. */
Test(render, random_texts_keep_the_shape)
{
    static const char *const parts[] = {"a",         "b",    "\t",   " ", "\xC3\xB6", "\xE6\x95\xB4",
                                        "o\xCC\x88", "\xFF", "\x1B", "-"};
    random_state random = random_start(10);
    for (int round = 0; round < 3000; round++) {
        char text[700];
        size_t size = 0;
        size_t count = random_below(&random, 200);
        for (size_t i = 0; i < count; i++) {
            const char *part = parts[random_below(&random, 10)];
            memcpy(text + size, part, strlen(part));
            size += strlen(part);
        }
        size_t mark = size; /* a sign that stands nowhere else */
        text[size++] = '@';
        for (size_t i = random_below(&random, 100); i > 0; i--)
            text[size++] = 'c';
        scene s = start(text, size);
        cw_diag *diag = cw_diags_add(
            s.diags, CW_DIAG_BAD_NAME,
            (cw_span){s.source, (uint32_t)mark, (uint32_t)(mark + random_below(&random, 50))}, "x");
        cw_diag_render(&s.out, s.sources, diag);
        const char *first = strchr(cw_text_get(&s.out), '\n') + 1;
        const char *second = strchr(first, '\n') + 1;
        const char *caret = strchr(second, '^');
        const char *sign = memchr(first, '@', (size_t)(second - first));
        cr_assert_not_null(sign);
        cr_assert_not_null(caret);
        cr_assert_eq(cw_display_width(first, (size_t)(sign - first)),
                     cw_display_width(second, (size_t)(caret - second)));
        cr_assert_leq(cw_display_width(first, (size_t)(second - first - 1)), 80);
        cr_assert_leq(cw_display_width(second, strlen(second) - 1), 80);
        for (const char *at = first; *at != '\0'; at++)
            cr_assert(*at == '\n' || (unsigned char)*at >= ' ');
        finish(&s);
    }
}
