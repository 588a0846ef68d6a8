/* The quick reader against libyaml, which judges: whatever the one reads, the other reads to the same tree,
 * to the byte; and of what the quick one gives up nothing remains but libyaml's answer. */
#include "fuzz/mutate.h"
#include "help.h"
#include "pack/quick.h"
#include "pack/yaml_inside.h"
#include <criterion/criterion.h>
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct reading {
    cw_diags *diags;
    cw_arena *arena;
    const cw_node *root;
    cw_status status;
} reading;

static reading read_source(const cw_sources *sources, uint32_t source, bool quickly)
{
    reading made = {.diags = cw_diags_new(&cw_system_allocator), .arena = cw_arena_new(&cw_system_allocator)};
    made.status = yaml_read(made.arena, sources, source, made.diags, quickly, &made.root);
    return made;
}

static void end(reading *made)
{
    cw_arena_free(made->arena);
    cw_diags_free(made->diags);
}

static bool same(const cw_node *a, const cw_node *b)
{
    if (a == NULL || b == NULL)
        return a == b;
    if (a->kind != b->kind || a->quoted != b->quoted || a->size != b->size ||
        memcmp(&a->span, &b->span, sizeof a->span) != 0)
        return false;
    if (a->kind == CW_NODE_SCALAR)
        return memcmp(a->text, b->text, a->size + 1u) == 0;
    for (size_t i = 0; i < a->size; i++)
        if (!same(cw_node_item(a, i), cw_node_item(b, i)) ||
            (a->kind == CW_NODE_MAP && !same(cw_node_key(a, i), cw_node_key(b, i))))
            return false;
    return true;
}

static bool same_messages(const cw_diags *a, const cw_diags *b)
{
    bool equal = cw_diags_count(a) == cw_diags_count(b);
    for (size_t i = 0; equal && i < cw_diags_count(a); i++)
        equal = cw_diags_at(a, i)->code == cw_diags_at(b, i)->code &&
                strcmp(cw_diags_at(a, i)->message, cw_diags_at(b, i)->message) == 0;
    return equal;
}

/* The quick reader alone; false when it gives up. */
static bool is_quick(const char *text, size_t size)
{
    bool ascii = true;
    for (size_t i = 0; i < size; i++)
        ascii &= (unsigned char)text[i] < 0x80;
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    const cw_node *root;
    bool quick = quick_read(arena, 1, text, ascii, &root) == CW_OK;
    cr_expect_eq(quick, root != NULL);
    cw_arena_free(arena);
    return quick;
}

/* Reads it both ways. True when the quick reader could. */
static bool compare(const char *text, size_t size)
{
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    uint32_t source;
    cr_assert_eq(cw_sources_add(sources, "t.yaml", text, size, &source), CW_OK);
    reading quick = read_source(sources, source, true), slow = read_source(sources, source, false);
    cr_assert(quick.status == slow.status && same(quick.root, slow.root) &&
                  same_messages(quick.diags, slow.diags),
              "status %d and %d for:\n%.*s", (int)quick.status, (int)slow.status, (int)size, text);
    /* What it reads is never wrong: no message may be lost. */
    const char *copy = cw_source_text(sources, source, &size);
    bool read = slow.root != NULL && is_quick(copy, size);
    cr_expect(!read || (slow.status == CW_OK && cw_diags_count(slow.diags) == 0));
    end(&quick);
    end(&slow);
    cw_sources_free(sources);
    return read;
}

/* -- Form by form -- */

static const char *const quick_texts[] = {
    "a: 1",
    "a: 1\n",
    "# begin\n\na: 1 # end\n# end\n",
    "  a: 1\n  b: 2\n",
    "a:\nb:\n  c:\n\nd:",
    "a: b:c d#e - f, [g] {h} 'i' \"j\" ? &k *l !m |n >o %p @q `r\n",
    "a: -1\nb: -.5 V\nc: --x\n",
    "a: one\n  two\n\n\n  three # four\nb: x\n",
    "a: one\n   - two\n  ? three\n  'four\nb: x\n",
    "a:\n  one\n  two\nb: x",
    "a: 'it''s'\nb: \"it's\"\nc: ''\nd: ''''\ne: '''x'''\n",
    "'a b': 1\n\"c\": 2\nd e f : 3\n",
    "- a\n- b: c\n  d: e\n-   - f\n    - g\n-\n- h\n",
    "-\n  a: b\n-\n",
    "- ",
    "- a\n - b\n- c\n",
    "a:\n- b\n- c:\n  - d\n  e: f\n-\ng: h\n",
    "a:\n  - b\n\n  # between\n  - c\nd:\n- x\n",
    "a: []\nb: {}\nc: [ ]\nd: [a, b c, 'd', \"e\", [f], {g: h}]\n",
    "a: {b: c, d e: [f, g], 'h': \"i\", j : k}\n",
    "a: [b,\n  c, # d\n\n  e f\n  g\n]\nh: {i:\n  j, k: l\nm}\n",
    "[a, {b: c}]\n",
    "{a: b}",
    "a: x,y\nb: [x:y, http://z]\n",
    "a: >-\n  one\n  two\n\n  three\nb: >\n  one\n",
    "c: |\n  one # no comment\n  - two\n\n\n  three\nd: |-\n   x\n",
    "a:\n  - >-\n    one\n    two\n  - b\n",
    "\xc3\xbc: \xe2\x82\xac 5\nb: [\xf0\x9f\x94\xa7, \xc2\xb0]\n",
};

Test(quick, reads_these)
{
    for (size_t i = 0; i < sizeof quick_texts / sizeof quick_texts[0]; i++)
        cr_expect(compare(quick_texts[i], strlen(quick_texts[i])), "given up:\n%s", quick_texts[i]);
}

static const char *const other_texts[] = {
    "",
    "a",
    "a: 1\na: 2\n",
    "{a: 1, a: 2}",
    "a: &x 1\nb: *x\n",
    "a: !t 1\n",
    "%YAML 1.1\n---\na: 1\n",
    "---\na: 1\n",
    "a: 1\n...\n",
    "a: 1\n---\nb: 2\n",
    "a: one\n---\n",
    "? a\n: b\n",
    "a: b: c\n",
    "a: - b\n",
    "a: 'b\n  c'\n",
    "a: \"b\\n\"\n",
    "a: b\n# c\rd: e\n",
    "a:\tb\n",
    "a: b\tc\n",
    "a: b\r\nc: d\r\n",
    "a: |+\n  b\n",
    "a: |2\n   b\n",
    "a: >-\n\n  b\n",
    "a: >-\n  b\n    c\n",
    "a: >-\n  b\n     \n  c\n",
    "a: >-\n  b",
    "a: >-\nb: c\n",
    "a: [b: c]\n",
    "a: {b}\n",
    "a: {b: }\n",
    "a: [b, ]\n",
    "a: [b,, c]\n",
    "a: [b\n",
    "a: [b]]\n",
    "a: [b] c\n",
    "a: {b\n: c}\n",
    "a: {b:,}\n",
    "[a]: b\n",
    "a: 1\n b: 2\n",
    "  a: 1\n b: 2\n",
    "a:\n  b: 1\n c: 2\n",
    "- a\nb: c\n",
    "a: b\nc\n",
    "a: b\n  c: d\n",
    "a: 'b' c\n",
    "a: 'b'#c\n",
    "a: [b,#c\n]\n",
    "a: ?b\n",
    "a: @b\n",
    "a: `b\n",
    "\xef\xbb\xbf# begin\na: 1\n",
    "a: b\xc2\x85 c\n",
    "a: b\xe2\x80\xa8 c\n",
    "a: b\xc2\x80\n",
    "a: b\xff\n",
    "a: b\x01\n",
};

Test(quick, leaves_these_to_libyaml)
{
    for (size_t i = 0; i < sizeof other_texts / sizeof other_texts[0]; i++)
        cr_expect_not(compare(other_texts[i], strlen(other_texts[i])), "read:\n%s", other_texts[i]);
}

/* 32 levels and a key of 1,000 bytes are the most that it reads. */
Test(quick, leaves_what_is_deep_or_long)
{
    char text[2100];
    for (int depth = 32; depth <= 33; depth++) {
        memset(text, '[', (size_t)depth);
        memset(text + depth, ']', (size_t)depth);
        cr_expect_eq(compare(text, 2 * (size_t)depth), depth == 32);
    }
    for (size_t size = 1000; size <= 1001; size++) {
        memset(text, 'k', size);
        strcpy(text + size, ": 1\n");
        cr_expect_eq(compare(text, strlen(text)), size == 1000);
    }
    memset(text, 'k', 2000);
    strcpy(text + 2000, ": 1\n");
    cr_expect_not(compare(text, strlen(text)));
}

/* -- Random -- */

/* Short texts of what means something in YAML, many of them well-formed by chance. */
static void random_texts(uint64_t seed, int rounds, int least)
{
    static const char *const pieces[] = {
        "a",   "b",         "a: ",    "b: ",   "c:",    ": ",       ":",        " ",
        "  ",  "\n",        "\n",     "\n  ",  "\n  ",  "\n    ",   "-",        ",",
        ", ",  "[",         "]",      "{",     "}",     "'",        "\"",       "#",
        " # ", "x y",       "'q'",    "\"r\"", ">-\n",  "|\n",      ">",        "|-",
        "''",  "\n- ",      "\n  - ", "\na: ", "\nb: ", "?",        "&",        "*",
        "!",   "%",         "\t",     "---",   "...",   "\xc3\xbc", "\xc2\x85", "\xe2\x80\xa8",
        "\\",  "e: [f, g]", "{h: i}", "0.5",   "\r\n",  "# c\r"};
    random_state state = random_start(seed);
    int quick = 0;
    for (int round = 0; round < rounds; round++) {
        char text[400] = "";
        uint32_t count = 1 + random_below(&state, 14);
        /* Half of them from the first few pieces, which go together more often. */
        uint32_t among = random_below(&state, 2) == 0 ? 40 : (uint32_t)(sizeof pieces / sizeof pieces[0]);
        for (uint32_t i = 0; i < count; i++)
            strcat(text, pieces[random_below(&state, among)]);
        quick += compare(text, strlen(text));
    }
    cr_expect_geq(quick, least, "only %d were read quickly", quick);
}

Test(quick, random_texts_1)
{
    random_texts(1, 40000, 1000);
}

Test(quick, random_texts_2)
{
    random_texts(2, 40000, 1000);
}

/* Pack and case files as they are and with a few bytes changed. `least`: so many of a hundred unchanged bytes
 * must be read quickly. */
static void files(const char *pattern, uint64_t seed, int rounds, unsigned least)
{
    glob_t found;
    cr_assert_eq(glob(pattern, 0, NULL, &found), 0);
    random_state state = random_start(seed);
    size_t bytes = 0, quick = 0;
    for (size_t i = 0; i < found.gl_pathc; i++) {
        size_t size, changed_size;
        char *text = read_file(found.gl_pathv[i], &size);
        bytes += size;
        quick += compare(text, size) ? size : 0;
        for (int round = 0; round < rounds; round++) {
            char *changed = mutate(&state, text, size, &changed_size);
            cr_assert_not_null(changed);
            compare(changed, changed_size);
            free(changed);
        }
        free(text);
    }
    globfree(&found);
    cr_expect_geq(quick * 100, bytes * least, "%zu of %zu bytes read quickly", quick, bytes);
}

Test(quick, generic_pack)
{
    files(CW_SOURCE_DIR "/rules/charging-basics/*.yaml", 3, 20, 90);
}

Test(quick, catalogue)
{
    files(CW_SOURCE_DIR "/rules/harbour-lane/*.yaml", 4, 60, 90);
}

Test(quick, cases)
{
    files(CW_SOURCE_DIR "/corpus/*/*.yaml", 5, 20, 90);
}

Test(quick, mistakes)
{
    files(CW_SOURCE_DIR "/tests/pack/bad/*.yaml", 6, 40, 0);
}
