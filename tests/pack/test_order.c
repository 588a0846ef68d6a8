/* Neither the order of files nor that of entries means anything: the shipped packs, cut into entries,
 * shuffled and dealt to files at random, make the same model. */
#include "help.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_ENTRIES = 2000, MOST_FILES = 64, MOST_TEXTS = 100 };

typedef struct piece {
    char section[20];
    const char *text; /* an entry with its line ends */
    size_t size;
} piece;

typedef struct pieces {
    char *texts[MOST_TEXTS];
    size_t text_count;
    piece items[MOST_ENTRIES];
    size_t count;
    char *header; /* everything about `pack:` */
} pieces;

/* Lines that begin in column 0 open a section, those set in by two an entry. */
static void cut(pieces *all, char *text)
{
    char section[20] = "";
    piece *open = NULL;
    for (char *line = text, *end; *line != '\0'; line = end) {
        end = strchr(line, '\n');
        end = end == NULL ? line + strlen(line) : end + 1;
        if (line[0] != ' ' && line[0] != '#' && line[0] != '\n') {
            size_t size = strcspn(line, ":");
            cr_assert_lt(size, sizeof section);
            memcpy(section, line, size);
            section[size] = '\0';
            open = NULL;
            if (strcmp(section, "pack") != 0)
                continue;
        }
        bool entry = line[0] == ' ' && line[1] == ' ' && line[2] != ' ' && line[2] != '#' && line[2] != '\n';
        if (strcmp(section, "pack") == 0 ? open == NULL : entry) {
            cr_assert_lt(all->count, (size_t)MOST_ENTRIES);
            open = &all->items[all->count++];
            strcpy(open->section, section);
            open->text = line;
            open->size = 0;
        }
        if (open != NULL)
            open->size += (size_t)(end - line);
    }
}

static void cut_folder(pieces *all, const char *folder, bool with_header)
{
    DIR *listing = opendir(folder);
    cr_assert_not_null(listing);
    for (struct dirent *at; (at = readdir(listing)) != NULL;) {
        if (strstr(at->d_name, ".yaml") == NULL)
            continue;
        char path[4096];
        size_t size, before = all->count;
        snprintf(path, sizeof path, "%s/%s", folder, at->d_name);
        char *text = read_file(path, &size);
        all->texts[all->text_count++] = text;
        cut(all, text);
        for (size_t i = before; i < all->count && !with_header; i++)
            if (strcmp(all->items[i].section, "pack") == 0)
                all->items[i--] = all->items[--all->count];
    }
    closedir(listing);
}

static char *model_of_deal(const pieces *all, random_state *state)
{
    cw_text texts[MOST_FILES];
    char names[MOST_FILES][20];
    cw_pack_file files[MOST_FILES];
    size_t order[MOST_ENTRIES];
    for (int i = 0; i < MOST_FILES; i++)
        texts[i] = CW_TEXT_INIT(&cw_system_allocator);
    for (size_t i = 0; i < all->count; i++) {
        size_t other = random_below(state, (uint32_t)i + 1);
        order[i] = order[other];
        order[other] = i;
    }
    /* A section stands once in a file, so each section has some files of its own. */
    static const char *const sections[] = {
        "pack",
#define SECTION(key, what) #key,
#include "pack/section.def"
#undef SECTION
    };
    enum { SECTIONS = sizeof sections / sizeof sections[0] };
    _Static_assert(4 * SECTIONS <= MOST_FILES, "room for four files of each");
    for (size_t i = 0; i < all->count; i++) {
        const piece *one = &all->items[order[i]];
        uint32_t section = 0;
        while (strcmp(sections[section], one->section) != 0)
            cr_assert_lt(++section, SECTIONS);
        uint32_t to = section * 4 + random_below(state, 4);
        if (texts[to].size == 0 && section != 0)
            cw_text_format(&texts[to], "%s:\n", one->section);
        cw_text_add_bytes(&texts[to], one->text, one->size);
        cw_text_add(&texts[to], "\n");
    }
    size_t count = 0;
    for (int i = 0; i < MOST_FILES; i++) {
        if (texts[i].size == 0)
            continue;
        snprintf(names[i], sizeof names[i], "f%u.yaml", random_below(state, 1000) * 100 + (uint32_t)i);
        files[count++] = (cw_pack_file){names[i], cw_text_get(&texts[i]), texts[i].size};
    }
    compiled made = compile_files(&cw_system_allocator, files, count);
    char *told = messages(&made);
    cr_assert_eq(made.status, CW_OK, "%.3000s", told);
    char *lines = dump(made.model);
    free(told);
    compiled_free(&made);
    for (int i = 0; i < MOST_FILES; i++)
        cw_text_dispose(&texts[i]);
    return lines;
}

static void same_in_any_order(const char *first, const char *second)
{
    static pieces all;
    random_state state = random_start(3);
    cut_folder(&all, first, true);
    if (second != NULL)
        cut_folder(&all, second, false);
    cr_assert_gt(all.count, 10u);
    for (size_t i = 0; i < all.count; i++) /* one pack holds all: it needs no other */
        if (strcmp(all.items[i].section, "pack") == 0) {
            char *needs = strstr(all.items[i].text, "  needs:");
            if (needs != NULL)
                memcpy(needs, "  #", 3);
        }
    char *model = model_of_deal(&all, &state);
    for (int round = 0; round < 6; round++) {
        char *other = model_of_deal(&all, &state);
        cr_assert(strcmp(model, other) == 0, "round %d differs", round);
        free(other);
    }
    cr_assert_gt(strlen(model), 1000u);
    free(model);
    for (size_t i = 0; i < all.text_count; i++)
        free(all.texts[i]);
}

Test(order, of_the_shipped_packs_means_nothing)
{
    same_in_any_order(CW_SOURCE_DIR "/rules/harbour-lane", CW_SOURCE_DIR "/rules/charging-basics");
}

Test(order, of_the_box_of_five_means_nothing)
{
    same_in_any_order(CW_SOURCE_DIR "/tests/outside/polybox/pack", NULL);
}

/* Ids too: facts, rules, units and causes are numbered by name. */
Test(order, ids_follow_names)
{
    compiled made = compile_text(
        "pack: {name: a, title: A, version: 1}\n"
        "checks:\n  z: {title: Z, ask: Z, place: counter, minutes: 1}\n  b: {title: B, ask: B, place: "
        "counter, minutes: 1}\n"
        "facts: {m: {title: M}}\nrules:\n  y: {if: {z: yes}, then: {c: yes}, because: b, source: s}\n"
        "  a: {if: {b: yes}, then: {m: yes}, because: b, source: s}\n");
    cr_assert_eq(made.status, CW_OK);
    static const char *const facts[] = {"b", "c", "m", "unit", "z"};
    for (uint32_t i = 0; i < 5; i++)
        cr_expect_str_eq(made.model->facts[i + 1].name, facts[i]);
    cr_expect_str_eq(made.model->checks[1].name, "b");
    cr_expect_str_eq(made.model->origins[made.model->rules[1].origin].name, "a");
    compiled_free(&made);
}
