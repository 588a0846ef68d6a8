/* The tree that libyaml's events become: shapes, texts, and where each node stands, to the byte. */
#include "pack/yaml.h"
#include "support/failing.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct reading {
    cw_sources *sources;
    cw_diags *diags;
    cw_arena *arena;
    const cw_node *root;
    const char *text;
    cw_status status;
} reading;

static reading read_yaml(const char *text)
{
    reading made = {.sources = cw_sources_new(&cw_system_allocator),
                    .diags = cw_diags_new(&cw_system_allocator),
                    .arena = cw_arena_new(&cw_system_allocator),
                    .text = text};
    uint32_t source;
    cr_assert_eq(cw_sources_add(made.sources, "t.yaml", text, strlen(text), &source), CW_OK);
    made.status = cw_yaml_read(made.arena, made.sources, source, made.diags, &made.root);
    return made;
}

static void end(reading *made)
{
    cw_arena_free(made->arena);
    cw_diags_free(made->diags);
    cw_sources_free(made->sources);
}

/* What the span covers is exactly this. */
static void covers(const reading *made, const cw_node *node, const char *expected)
{
    size_t size = node->span.end - node->span.start;
    cr_expect(size == strlen(expected) && memcmp(made->text + node->span.start, expected, size) == 0,
              "covers '%.*s', not '%s'", (int)size, made->text + node->span.start, expected);
}

Test(yaml, shapes_and_texts)
{
    reading made = read_yaml("a: 1\nb: [x, 'it''s', \"t\\u00e4b\\t\"]\nc:\n  d: yes\n  e:\n");
    cr_assert_eq(made.status, CW_OK);
    cr_assert_eq(made.root->kind, CW_NODE_MAP);
    cr_assert_eq(made.root->size, 3u);
    cr_expect_str_eq(cw_node_get(made.root, "a")->text, "1");
    const cw_node *list = cw_node_get(made.root, "b");
    cr_assert_eq(list->kind, CW_NODE_LIST);
    cr_expect_str_eq(cw_node_item(list, 1)->text, "it's");
    cr_expect(cw_node_item(list, 1)->quoted && !cw_node_item(list, 0)->quoted);
    cr_expect_str_eq(cw_node_item(list, 2)->text, "t\xc3\xa4"
                                                  "b\t");
    const cw_node *map = cw_node_get(made.root, "c");
    cr_expect_str_eq(cw_node_get(map, "d")->text, "yes");
    cr_expect_eq(cw_node_get(map, "e")->size, 0u);
    cr_expect_null(cw_node_get(map, "a"));
    cr_expect_null(cw_node_get(list, "a"));
    cr_expect_null(cw_node_get(NULL, "a"));
    end(&made);
}

/* libyaml counts code points; the text before, inside and behind each node is longer in bytes. */
Test(yaml, spans_count_bytes_whatever_the_letters)
{
    reading made = read_yaml("\xef\xbb\xbf# \xe2\x82\xac \xf0\x9f\x94\xa7\n"
                             "\xc3\xbcn\xc3\xbc: {\xc3\xb6: \"\xe2\x82\xac\", b: [1, \xf0\x9f\x94\xa7 ]}\r\n"
                             "x:\n  - \xc3\x9f: >-\n      two\n      lines\n  - last\n");
    cr_assert_eq(made.status, CW_OK);
    covers(&made, cw_node_key(made.root, 0), "\xc3\xbcn\xc3\xbc");
    const cw_node *braces = cw_node_item(made.root, 0);
    covers(&made, braces, "{\xc3\xb6: \"\xe2\x82\xac\", b: [1, \xf0\x9f\x94\xa7 ]}");
    covers(&made, cw_node_item(braces, 0), "\"\xe2\x82\xac\"");
    covers(&made, cw_node_item(braces, 1), "[1, \xf0\x9f\x94\xa7 ]");
    covers(&made, cw_node_item(cw_node_item(braces, 1), 1), "\xf0\x9f\x94\xa7");
    const cw_node *list = cw_node_get(made.root, "x");
    covers(&made, list, "- \xc3\x9f: >-\n      two\n      lines\n  - last");
    covers(&made, cw_node_item(cw_node_item(list, 0), 0), ">-\n      two\n      lines");
    covers(&made, cw_node_item(list, 1), "last");
    end(&made);
}

Test(yaml, an_alias_shares_what_is_in_the_node)
{
    reading made = read_yaml("a: &x {deep: [1, 2]}\nb: *x\nc: [*x, *x]\n");
    cr_assert_eq(made.status, CW_OK);
    const cw_node *a = cw_node_get(made.root, "a"), *c = cw_node_get(made.root, "c");
    const cw_node *same[] = {cw_node_get(made.root, "b"), cw_node_item(c, 0), cw_node_item(c, 1)};
    for (int i = 0; i < 3; i++) {
        cr_expect_eq(same[i]->entries, a->entries);
        covers(&made, same[i], "&x {deep: [1, 2]}");
    }
    end(&made);
}

Test(yaml, an_anchor_may_be_set_anew)
{
    reading made = read_yaml("a: &x one\nb: &x two\nc: *x\n");
    cr_assert_eq(made.status, CW_OK);
    cr_expect_str_eq(cw_node_get(made.root, "c")->text, "two");
    end(&made);
}

Test(yaml, aliases_that_make_it_deeper_than_32_are_refused)
{
    char text[400], *at = text;
    at += sprintf(at, "a: &x ");
    for (int i = 0; i < 20; i++)
        *at++ = '[';
    for (int i = 0; i < 20; i++)
        *at++ = ']';
    at += sprintf(at, "\nb: ");
    for (int i = 0; i < 12; i++)
        *at++ = '[';
    at += sprintf(at, "*x");
    for (int i = 0; i < 12; i++)
        *at++ = ']';
    *at = '\0';
    reading made = read_yaml(text);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect_eq(cw_diags_at(made.diags, 0)->code, CW_DIAG_TOO_DEEP);
    end(&made);
}

Test(yaml, thirty_two_levels_are_allowed_and_no_more)
{
    char text[70];
    for (int levels = 31; levels <= 33; levels++) {
        memset(text, '[', (size_t)levels);
        memset(text + levels, ']', (size_t)levels);
        text[2 * levels] = '\0';
        reading made = read_yaml(text);
        cr_expect_eq(made.status, levels <= 32 ? CW_OK : CW_BAD_INPUT, "%d levels", levels);
        end(&made);
    }
}

Test(yaml, deep_nesting_ends_at_once)
{
    size_t levels = 2000000;
    char *text = malloc(levels + 1);
    memset(text, '[', levels);
    text[levels] = '\0';
    reading made = read_yaml(text);
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect_eq(cw_diags_at(made.diags, 0)->code, CW_DIAG_TOO_DEEP);
    end(&made);
    free(text);
}

Test(yaml, keys_are_compared_in_large_maps_too)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    for (int i = 0; i < 1000; i++)
        cw_text_format(&text, "key%d: %d\n", i, i);
    cw_text_add(&text, "key500: again\n");
    reading made = read_yaml(cw_text_get(&text));
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_expect_eq(cw_diags_count(made.diags), 1u);
    cr_expect_eq(cw_diags_at(made.diags, 0)->code, CW_DIAG_DUPLICATE_KEY);
    cr_assert_not_null(made.root);
    cr_expect_eq(made.root->size, 1000u);
    cr_expect_str_eq(cw_node_get(made.root, "key500")->text, "500");
    end(&made);
    cw_text_dispose(&text);
}

Test(yaml, what_comes_behind_a_mistake_is_still_read)
{
    reading made = read_yaml("a: !x 1\na: 2\n? [b]\n: 3\nc: *nothing\nd: \"\\0\"\n");
    static const cw_code expected[] = {CW_DIAG_TAG, CW_DIAG_DUPLICATE_KEY, CW_DIAG_WRONG_SHAPE,
                                       CW_DIAG_ALIAS_UNKNOWN, CW_DIAG_NUL_BYTE};
    cr_expect_eq(made.status, CW_BAD_INPUT);
    cr_assert_eq(cw_diags_count(made.diags), 5u);
    cw_diags_sort(made.diags);
    for (size_t i = 0; i < 5; i++)
        cr_expect_eq(cw_diags_at(made.diags, i)->code, expected[i], "message %zu: %s", i,
                     cw_diags_at(made.diags, i)->message);
    end(&made);
}

Test(yaml, a_file_of_nothing_is_no_error)
{
    static const char *const empty[] = {"", "\n\n", "# only this\n", "---\n", "---\n...\n", "\xef\xbb\xbf"};
    for (size_t i = 0; i < sizeof empty / sizeof empty[0]; i++) {
        reading made = read_yaml(empty[i]);
        cr_expect_eq(made.status, CW_OK, "'%s'", empty[i]);
        cr_expect_null(made.root);
        cr_expect_eq(cw_diags_count(made.diags), 1u);
        cr_expect_eq(cw_diags_errors(made.diags), 0u);
        end(&made);
    }
}

Test(yaml, every_request_for_memory_may_fail)
{
    static const char text[] = "a: &x {b: [1, 2, \xc3\xa4], c: 'd'}\ne: *x\nf: *g\nh: 1\nh: 2\n";
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cw_sources *sources = cw_sources_new(&cw_system_allocator);
        cw_diags *diags = cw_diags_new(&cw_system_allocator);
        uint32_t source;
        cr_assert_eq(cw_sources_add(sources, "t.yaml", text, strlen(text), &source), CW_OK);
        const cw_node *root = NULL;
        cw_arena *arena = cw_arena_new(&memory.allocator);
        cw_status status = arena == NULL ? CW_NO_MEMORY : cw_yaml_read(arena, sources, source, diags, &root);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_BAD_INPUT, "with %zu granted", allowed);
        cr_assert(root == NULL || !memory.refused);
        cw_arena_free(arena);
        cw_diags_free(diags);
        cw_sources_free(sources);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
}
