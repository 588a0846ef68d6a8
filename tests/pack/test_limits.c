/* Each limit of the reference: at it all is well, beyond it an error with the limit's own code. */
#include "help.h"
#include "pack/yaml.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void expect(const char *body, cw_code code)
{
    compiled made = compile_body(body);
    char *told = messages(&made);
    if (code == 0) {
        cr_expect_eq(cw_diags_errors(made.diags), 0u, "%s", told);
        cr_expect_eq(made.status, CW_OK);
    } else {
        cr_expect_geq(cw_diags_errors(made.diags), 1u);
        cr_expect(cw_diags_count(made.diags) > 0 && cw_diags_at(made.diags, 0)->code == code, "%.2000s",
                  told);
        cr_expect_eq(made.status, CW_BAD_INPUT);
    }
    free(told);
    compiled_free(&made);
}

#define TAIL ", place: counter, minutes: 1}\n"

Test(limits, names_have_64_characters)
{
    char name[70], text[400];
    for (int size = 64; size <= 65; size++) {
        memset(name, 'n', 70);
        name[size] = '\0';
        snprintf(text, sizeof text, "cautions:\n  %s: {say: Hot., source: invented}\n", name);
        expect(text, size == 64 ? 0 : CW_DIAG_BAD_NAME);
    }
}

Test(limits, a_check_has_64_choices)
{
    for (int count = 64; count <= 65; count++) {
        cw_text text = CW_TEXT_INIT(&cw_system_allocator);
        cw_text_add(&text, "checks:\n  many: {title: M, ask: M, choices: [c0");
        for (int i = 1; i < count; i++)
            cw_text_format(&text, ", c%d", i);
        cw_text_add(&text, "]" TAIL);
        expect(cw_text_get(&text), count == 64 ? 0 : CW_DIAG_TOO_MANY);
        cw_text_dispose(&text);
    }
}

Test(limits, a_count_has_200_values)
{
    expect("checks:\n  many: {title: M, ask: M, count: 1 to 200" TAIL, 0);
    expect("checks:\n  many: {title: M, ask: M, count: 0 to 200" TAIL, CW_DIAG_TOO_MANY);
}

Test(limits, there_are_1000_things_of_one_kind)
{
    for (int count = 1000; count <= 1001; count++) {
        cw_text text = CW_TEXT_INIT(&cw_system_allocator);
        cw_text_add(&text, "things:\n  bar: [b0");
        for (int i = 1; i < count; i++)
            cw_text_format(&text, ", b%d", i);
        cw_text_add(&text, "]\n");
        expect(cw_text_get(&text), count == 1000 ? 0 : CW_DIAG_TOO_MANY);
        cw_text_dispose(&text);
    }
}

Test(limits, a_pattern_has_1000_characters)
{
    char pattern[1002];
    for (int size = 1000; size <= 1001; size++) {
        memset(pattern, 'x', sizeof pattern);
        pattern[size] = '\0';
        cw_text text = CW_TEXT_INIT(&cw_system_allocator);
        cw_text_format(&text, "words:\n  w: {like: %s, say: x, suggests: {lamp: on}}\n", pattern);
        expect(cw_text_get(&text), size == 1000 ? 0 : CW_DIAG_TOO_MANY);
        cw_text_dispose(&text);
    }
}

static void expect_pattern(const char *pattern, cw_code code)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_format(&text, "words:\n  w: {like: '%s', say: x, suggests: {lamp: on}}\n", pattern);
    expect(cw_text_get(&text), code);
    cw_text_dispose(&text);
}

/* Each of the first takes more than the steps allowed on one letter 40 times and a '!', wherever what repeats
 * is hidden; the others are their harmless neighbours. */
Test(limits, a_pattern_takes_20000_steps)
{
    const char *slow[] = {"^(l+)+$",
                          "x*x*x*x*x*y",
                          "(x*|q)(x*|r)(x*|s)(x*|t)(x*|u)y",
                          "(q|(r|x*))x*x*x*x*y",
                          "x{0,39}x{0,39}x{0,39}x{0,39}x{0,39}y",
                          "(?:(?:x|x)*)*y",
                          "(?i)(x+)+y",
                          "\\w+\\w+\\w+\\w+\\w+-"};
    const char *quick[] = {
        "^l+$",          "x*x*y",  "x*q|x*r|x*s|x*t|x*u", "(x*|q|r)(s|t|u*)y", "x{2}x{2}x{2}x{2}x{2}y",
        "\\(x\\)*\\[x*", "[(*+)]x"};
    for (size_t i = 0; i < sizeof slow / sizeof *slow; i++)
        expect_pattern(slow[i], CW_DIAG_SLOW_PATTERN);
    for (size_t i = 0; i < sizeof quick / sizeof *quick; i++)
        expect_pattern(quick[i], 0);
}

static void add_things(cw_text *text, const char *kind, int count)
{
    cw_text_format(text, "  %s: [t0", kind);
    for (int i = 1; i < count; i++)
        cw_text_format(text, ", t%d", i);
    cw_text_add(text, "]\n");
}

Test(limits, each_names_four_kinds)
{
    expect("things: {a: [x], b: [x], c: [x], d: [x], e: [x]}\n"
           "rules:\n  r: {each: [a, b, c, d], if: {lamp: on}, then: {warm: yes}, because: So., source: "
           "invented}\n",
           0);
    expect("things: {a: [x], b: [x], c: [x], d: [x], e: [x]}\n"
           "rules:\n  r: {each: [a, b, c, d, e], if: {lamp: on}, then: {warm: yes}, because: So., source: "
           "invented}\n",
           CW_DIAG_TOO_MANY);
}

Test(limits, one_each_beyond_four_million_is_refused_before_it_is_made)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_add(&text, "things:\n");
    add_things(&text, "a", 1000);
    add_things(&text, "b", 1000);
    add_things(&text, "c", 5);
    cw_text_add(&text, "rules:\n  r: {each: [a, b, c], if: {lamp: on}, then: {warm: yes}, because: So., "
                       "source: invented}\n");
    expect(cw_text_get(&text), CW_DIAG_TOO_MANY);
    cw_text_dispose(&text);
}

Test(limits, all_rules_together_are_four_million)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_add(&text, "facts: {warm: {title: Warm}}\nthings:\n");
    add_things(&text, "a", 1000);
    add_things(&text, "b", 1000);
    cw_text_add(&text, "rules:\n");
    for (int i = 0; i < 5; i++)
        cw_text_format(
            &text,
            "  r%d: {each: [a, b], if: {lamp: on}, then: {warm: yes}, because: So., source: invented}\n", i);
    expect(cw_text_get(&text), CW_DIAG_TOO_MANY);
    cw_text_dispose(&text);
}

Test(limits, a_file_has_64_mebibytes)
{
    size_t size = ((size_t)64 << 20) + 1;
    char *text = malloc(size + 1);
    memset(text, ' ', size);
    memcpy(text, "words: {} #", 11);
    text[size] = '\0';
    cw_pack_file files[] = {{"large.yaml", text, size},
                            {"pack.yaml", "pack: {name: a, title: A, version: 1}\n", 38}};
    compiled made = compile_files(&cw_system_allocator, files, 2);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_assert_eq(cw_diags_count(made.diags), 1u);
    cr_expect_eq(cw_diags_at(made.diags, 0)->code, CW_DIAG_FILE_TOO_LARGE);
    cr_expect_str_eq(cw_diags_at(made.diags, 0)->message, "'large.yaml' is larger than 64 MiB");
    compiled_free(&made);
    free(text);
}

Test(limits, aliases_blow_a_file_up_ten_times_at_most)
{
    /* One list of 18, written once and repeated. */
    for (int copies = 20; copies <= 30; copies++) {
        cw_text text = CW_TEXT_INIT(&cw_system_allocator);
        cw_text_add(&text, "- &a [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18]\n");
        for (int i = 0; i < copies; i++)
            cw_text_add(&text, "- *a\n");
        cw_sources *sources = cw_sources_new(&cw_system_allocator);
        cw_diags *diags = cw_diags_new(&cw_system_allocator);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        uint32_t source;
        const cw_node *root;
        cw_sources_add(sources, "a.yaml", cw_text_get(&text), text.size, &source);
        int written = 1 + 19 + copies, followed = 1 + 19 + 19 * copies;
        cr_expect_eq(cw_yaml_read(arena, sources, source, diags, &root),
                     followed > 10 * written ? CW_BAD_INPUT : CW_OK, "%d copies", copies);
        cw_arena_free(arena);
        cw_diags_free(diags);
        cw_sources_free(sources);
        cw_text_dispose(&text);
    }
}

Test(limits, a_file_has_eight_million_nodes_aliases_followed)
{
    /* 900,000 written ones, most of them repeats of ten: more than 8 million, less than ten times. */
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_add(&text, "- &a [1, 2, 3, 4, 5, 6, 7, 8]\n");
    for (int i = 0; i < 900000; i++)
        cw_text_add(&text, "- *a\n");
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    cw_diags *diags = cw_diags_new(&cw_system_allocator);
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    uint32_t source;
    const cw_node *root;
    cw_sources_add(sources, "a.yaml", cw_text_get(&text), text.size, &source);
    cr_expect_eq(cw_yaml_read(arena, sources, source, diags, &root), CW_BAD_INPUT);
    cr_expect_eq(cw_diags_at(diags, 0)->code, CW_DIAG_ALIAS_BOMB);
    cw_arena_free(arena);
    cw_diags_free(diags);
    cw_sources_free(sources);
    cw_text_dispose(&text);
}
