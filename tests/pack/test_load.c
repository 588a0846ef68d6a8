/* Packs from folders: what is read, what is looked for beside, what cannot be read. */
#include "help.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char room[] = "/tmp/cw-pack-XXXXXX";

static void make_room(void)
{
    cr_assert_not_null(mkdtemp(room));
}

static void clear_room(void)
{
    char command[100];
    snprintf(command, sizeof command, "rm -rf '%s'", room);
    cr_assert_eq(system(command), 0);
}

TestSuite(load, .init = make_room, .fini = clear_room);

static void put(const char *folder, const char *name, const char *text)
{
    char path[200];
    snprintf(path, sizeof path, "%s/%s", room, folder);
    mkdir(path, 0777);
    snprintf(path, sizeof path, "%s/%s/%s", room, folder, name);
    FILE *file = fopen(path, "wb");
    cr_assert_not_null(file);
    fputs(text, file);
    fclose(file);
}

static compiled load(const char *first, const char *second)
{
    char paths[2][200];
    snprintf(paths[0], sizeof paths[0], "%s/%s", room, first);
    snprintf(paths[1], sizeof paths[1], "%s/%s", room, second == NULL ? "" : second);
    const char *folders[] = {paths[0], paths[1]};
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status = cw_pack_load(&cw_system_allocator, folders, second == NULL ? 1 : 2, made.sources,
                               made.diags, &made.model);
    return made;
}

/* The messages with the room's own name taken out. */
static void tells(compiled *made, cw_status status, const char *expected)
{
    char *told = messages(made), clean[4000] = "", *to = clean;
    for (const char *at = told; *at != '\0';) {
        if (strncmp(at, room, strlen(room)) == 0)
            at += strlen(room);
        else
            *to++ = *at++;
    }
    *to = '\0';
    cr_expect_str_eq(clean, expected, "told:\n%s", clean);
    cr_expect_eq(made->status, status);
    free(told);
    compiled_free(made);
}

/* One cause in a fifth of all; in half of the jobs nothing is wrong: 1/2 / 1/2 * 1/5 / 4/5. */
Test(load, the_share_of_jobs_without_a_fault_is_that_of_the_pack_named_first)
{
    put("first", "pack.yaml",
        "pack: {name: first, title: F, version: 1, needs: [second], no_fault: 1 of 2}\n");
    put("second", "pack.yaml",
        "pack: {name: second, title: S, version: 1, no_fault: 1 of 3}\n"
        "parts: {p: {title: P, where: unit}}\n"
        "causes: {c: {title: C, part: p, seen: 1 of 5, source: s}}\n");
    compiled made = load("first", NULL);
    cr_assert_eq(made.status, CW_OK);
    cr_expect_float_eq(made.model->idle, 0.25, 1e-12);
    tells(&made, CW_OK, "");
    put("second", "pack.yaml",
        "pack: {name: second, title: S, version: 1}\n"
        "parts: {p: {title: P, where: unit}}\n"
        "causes: {c: {title: C, part: p, seen: 1 of 5, source: s}}\n");
    made = load("second", NULL);
    cr_assert_eq(made.status, CW_OK);
    cr_expect_eq(made.model->idle, 1, "not said");
    tells(&made, CW_OK, "");
}

/* A whole block counts, not one key of this pack and one of that. */
Test(load, the_costs_of_a_pack_go_before_those_of_what_it_needs)
{
    put("first", "pack.yaml",
        "pack: {name: first, title: F, version: 1, needs: [second], costs: {hour: 72, reach: {teardown: 30}, "
        "comeback: {minutes: 90, money: 45.50}}}\n");
    put("second", "pack.yaml",
        "pack: {name: second, title: S, version: 1, costs: {hour: 10, exchange: {minutes: 40}}}\n"
        "parts: {p: {title: P, where: unit}}\n"
        "causes: {c: {title: C, part: p, seen: 1 of 5, plan: {replace: [p], minutes: 25}, source: s}}\n");
    compiled made = load("first", NULL);
    cr_assert_eq(made.status, CW_OK);
    const cw_costs *costs = &made.model->costs;
    cr_expect_eq(costs->hour, 72);
    cr_expect_eq(costs->reach[CW_AT_TEARDOWN], 30);
    cr_expect_eq(costs->reach[CW_AT_BENCH], 1, "not said");
    cr_expect_eq(costs->comeback.minutes, 90);
    cr_expect_eq(costs->comeback.money, 45.5);
    cr_expect_eq(costs->exchange.minutes, 0, "not said");
    cr_expect_eq(made.model->causes[1].minutes, 25);
    tells(&made, CW_OK, "");
    made = load("second", "first");
    cr_assert_eq(made.status, CW_OK);
    cr_expect_str_eq(made.model->packs[0].name, "second");
    cr_expect_eq(made.model->costs.hour, 72, "whichever is named first");
    tells(&made, CW_OK, "");
    put("first", "pack.yaml", "pack: {name: first, title: F, version: 1, needs: [second]}\n");
    made = load("first", NULL);
    cr_expect_eq(made.model->costs.hour, 10);
    cr_expect_eq(made.model->costs.exchange.minutes, 40);
    cr_expect_eq(made.model->costs.reach[CW_AT_COUNTER], 1);
    tells(&made, CW_OK, "");
    put("second", "pack.yaml",
        "pack: {name: second, title: S, version: 1}\n"
        "parts: {p: {title: P, where: unit}}\n"
        "causes: {c: {title: C, part: p, seen: 1 of 5, source: s}}\n");
    made = load("first", NULL);
    cr_expect_eq(made.model->costs.hour, 0);
    cr_expect_eq(made.model->costs.reach[CW_AT_TEARDOWN], 1);
    cr_expect_eq(made.model->causes[1].minutes, 0);
    tells(&made, CW_OK, "");
}

Test(load, a_needed_pack_is_found_beside_and_comes_after)
{
    put("shop", "pack.yaml",
        "pack: {name: shop, title: S, version: 1, needs: [wide, basic], not_listed: 1 of 4}\n");
    put("wide", "pack.yaml",
        "pack: {name: wide, title: W, version: 1, needs: [basic], not_listed: 1 of 3}\n");
    put("basic", "pack.yaml", "pack: {name: basic, title: B, version: 2}\n");
    put("basic", "checks.yaml", "checks: {unused: {title: U, ask: U, place: bench, minutes: 1}}\n");
    put("basic", ".hidden.yaml", "nonsense: [\n");
    put("basic", "notes.txt", "nonsense: [\n");
    compiled made = load("shop", NULL);
    cr_assert_eq(made.status, CW_OK);
    cr_assert_eq(made.model->packs_count, 3u);
    cr_expect_str_eq(made.model->packs[0].name, "shop");
    cr_expect_str_eq(made.model->packs[1].name, "basic");
    cr_expect_str_eq(made.model->packs[2].name, "wide");
    cr_expect_eq(made.model->not_listed, 0.25, "that of the pack named first");
    tells(&made, CW_OK, "");
    made = load("basic", "shop");
    cr_assert_eq(made.status, CW_OK);
    cr_expect_str_eq(made.model->packs[1].name, "shop");
    tells(&made, CW_OK,
          "/basic/checks.yaml:1:10: warning: nothing uses the check 'unused'\n"
          "    1 | checks: {unused: {title: U, ask: U, place: bench, minutes: 1}}\n"
          "      |          ^~~~~~\n"
          "help: let a rule, sign, condition or word go by it, for else it is never asked; or take it out\n");
}

Test(load, a_folder_named_twice_counts_once)
{
    put("shop", "pack.yaml", "pack: {name: shop, title: S, version: 1}\n");
    compiled made = load("shop", "shop");
    cr_assert_eq(made.status, CW_OK);
    cr_expect_eq(made.model->packs_count, 1u);
    compiled_free(&made);
}

Test(load, two_packs_of_one_name)
{
    put("a", "pack.yaml", "pack: {name: shop, title: S, version: 1}\n");
    put("b", "pack.yaml", "pack: {name: shop, title: S, version: 1}\n");
    compiled made = load("a", "b");
    tells(&made, CW_BAD_INPUT,
          "/b/pack.yaml:1:14: error: another pack is named 'shop' too\n"
          "    1 | pack: {name: shop, title: S, version: 1}\n"
          "      |              ^~~~\n"
          "/a/pack.yaml:1:14: note: first here\n"
          "    1 | pack: {name: shop, title: S, version: 1}\n"
          "      |              ^~~~\n"
          "help: give one of the two another name, or leave its folder out\n");
}

Test(load, packs_that_need_each_other)
{
    put("b", "pack.yaml", "pack: {name: b, title: B, version: 1, needs: [a]}\n");
    put("a", "pack.yaml", "pack: {name: a, title: A, version: 1, needs: [c]}\n");
    put("c", "pack.yaml", "pack: {name: c, title: C, version: 1, needs: [a]}\n");
    compiled made = load("b", NULL);
    tells(&made, CW_BAD_INPUT,
          "/a/pack.yaml:1:47: error: packs need each other in a circle: a -> c -> a\n"
          "    1 | pack: {name: a, title: A, version: 1, needs: [c]}\n"
          "      |                                               ^\n"
          "/c/pack.yaml:1:47: note: the next one of the circle\n"
          "    1 | pack: {name: c, title: C, version: 1, needs: [a]}\n"
          "      |                                               ^\n"
          "help: the most general pack needs no other\n");
}

Test(load, a_needed_pack_that_is_not_there)
{
    put("shop", "pack.yaml", "pack: {name: shop, title: S, version: 1, needs: [basics]}\n");
    put("shop", "rules.yaml", "rules: {r: {if: {lamp: on}, then: {x: yes}, because: b, source: s}}\n");
    compiled made = load("shop", NULL);
    tells(&made, CW_BAD_INPUT,
          "/shop/pack.yaml:1:50: error: the pack 'basics' is needed and not to be found\n"
          "    1 | pack: {name: shop, title: S, version: 1, needs: [basics]}\n"
          "      |                                                  ^~~~~~\n"
          "help: name its folder too, or put it beside this pack's folder\n");
}

Test(load, a_needed_pack_that_is_misspelt)
{
    put("shop", "pack.yaml", "pack: {name: shop, title: S, version: 1, needs: [general-basic]}\n");
    put("general-basics", "pack.yaml", "pack: {name: general-basics, title: G, version: 1}\n");
    put("genera-basix", "readme.txt", "");
    compiled made = load("shop", NULL);
    tells(&made, CW_BAD_INPUT,
          "/shop/pack.yaml:1:50: error: the pack 'general-basic' is needed and not to be found\n"
          "    1 | pack: {name: shop, title: S, version: 1, needs: [general-basic]}\n"
          "      |                                                  ^~~~~~~~~~~~~\n"
          "help: did you mean 'general-basics'?\n");
}

Test(load, a_folder_that_is_not_there)
{
    compiled made = load("nowhere", NULL);
    tells(&made, CW_CANNOT_READ, "error: '/nowhere' cannot be read: No such file or directory\n");
}

Test(load, a_folder_without_packs)
{
    put("empty", "readme.txt", "");
    compiled made = load("empty", NULL);
    tells(&made, CW_BAD_INPUT,
          "error: the pack '/empty' has no header: no file holds the key 'pack'\n"
          "help: begin one of its files with: pack: {name: my-shop, title: My shop, version: 1}\n");
}

Test(load, no_folder_at_all)
{
    compiled made = {.sources = cw_sources_new(&cw_system_allocator),
                     .diags = cw_diags_new(&cw_system_allocator)};
    made.status = cw_pack_load(&cw_system_allocator, NULL, 0, made.sources, made.diags, &made.model);
    tells(&made, CW_BAD_INPUT, "error: no pack is named\n");
}

Test(load, what_is_no_file_holds_nothing_up)
{
    put("shop", "pack.yaml", "pack: {name: shop, title: S, version: 1}\n");
    char path[200];
    snprintf(path, sizeof path, "%s/shop/pipe.yaml", room);
    cr_assert_eq(mkfifo(path, 0666), 0);
    snprintf(path, sizeof path, "%s/shop/folder.yaml", room);
    cr_assert_eq(mkdir(path, 0777), 0);
    compiled made = load("shop", NULL);
    tells(&made, CW_CANNOT_READ,
          "error: '/shop/folder.yaml' cannot be read: it is no plain file\n"
          "error: '/shop/pipe.yaml' cannot be read: it is no plain file\n");
}

Test(load, a_file_that_breaks_off_keeps_the_others_readable)
{
    put("shop", "pack.yaml", "pack: {name: shop, title: S, version: 1}\n");
    put("shop", "broken.yaml", "checks:\n  lamp: {title: L\n");
    put("shop", "rules.yaml", "rules: {r: {if: {lamp: on}, then: {x: yes}, because: b, sorce: s}}\n");
    compiled made = load("shop", NULL);
    tells(&made, CW_BAD_INPUT,
          "/shop/broken.yaml:3:1: error: a map in braces is not closed here\n"
          "    3 |\n"
          "      | ^\n"
          "/shop/broken.yaml:2:9: note: the brace opens here\n"
          "    2 |   lamp: {title: L\n"
          "      |         ^\n"
          "help: put ',' between its entries and '}' at its end; quote a text that holds ',' '[' or '{'\n"
          "/shop/rules.yaml:1:57: error: 'sorce' is not a key of a rule\n"
          "    1 | rules: {r: {if: {lamp: on}, then: {x: yes}, because: b, sorce: s}}\n"
          "      |                                                         ^~~~~\n"
          "help: did you mean 'source'?\n");
}
