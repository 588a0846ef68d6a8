/* Every fact after every step of every case: the engine against the checker, which works it out from the
 * packs' text and the answers alone. */
#include "checker/against.h"
#include "checker/inside.h"
#include "pack/pack.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct bench {
    cw_model *model;
    checker *checker;
    size_t cases, steps, looked_at, facts;
} bench;

static void fail_with(cw_diags *diags, cw_sources *sources)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    for (size_t i = 0; i < cw_diags_count(diags); i++)
        cw_diag_render(&text, sources, cw_diags_at(diags, i));
    cr_assert_fail("the pack does not load:\n%s", cw_text_get(&text));
}

static bench start(const char *pack)
{
    bench b = {0};
    cw_sources *sources = cw_sources_new(&cw_system_allocator);
    cw_diags *diags = cw_diags_new(&cw_system_allocator);
    if (cw_pack_load(&cw_system_allocator, &pack, 1, sources, diags, &b.model) != CW_OK)
        fail_with(diags, sources);
    cw_diags_free(diags);
    cw_sources_free(sources);
    b.checker = checker_open(&pack, 1);
    return b;
}

static void end(bench *b)
{
    checker_free(b->checker);
    cw_model_free(b->model);
}

static tree *read_case(const char *path)
{
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s", path);
    char text[20000];
    size_t size = fread(text, 1, sizeof text, file);
    cr_assert_lt(size, sizeof text);
    fclose(file);
    return ck_tree_read(text, size, path);
}

static void look(bench *b, const cw_chain *chain, const char *path, const char *step)
{
    char where[600];
    size_t lines;
    snprintf(where, sizeof where, "%s, %s", path, step);
    checker_derive(b->checker);
    b->looked_at += against_all(chain, b->checker, where);
    b->steps++;
    char **list = checker_lines(b->checker, &lines);
    b->facts += lines;
    for (size_t i = 0; i < lines; i++)
        free(list[i]);
    free(list);
}

static void give(bench *b, cw_chain *chain, const char *path, const char *name, const tree *node)
{
    const char *text = node->kind == TREE_MAP ? ck_tree_word(node, "value") : node->text;
    cr_assert(checker_answer(b->checker, name, text, ck_tree_word(node, "tool")),
              "%s: the checker cannot read %s: %s", path, name, text);
    against_answer(chain, b->checker, name);
    look(b, chain, path, name);
}

/* Gives the answers one by one, then takes them back from the first on. */
static void run_case(bench *b, const char *path)
{
    tree *root = read_case(path);
    const tree *answers = ck_tree_get(root, "answers");
    cw_chain *chain;
    if (b->cases > 0 &&
        (answers == NULL || answers->count == 0)) { /* words alone: as the start of any other */
        ck_tree_free(root);
        return;
    }
    cr_assert_eq(cw_chain_new(b->model, &cw_system_allocator, &chain), CW_OK);
    look(b, chain, path, "at the start");
    for (size_t i = 0; answers != NULL && i < answers->count; i++)
        give(b, chain, path, answers->keys[i]->text, answers->items[i]);
    for (size_t i = 0; answers != NULL && i < answers->count; i++) {
        checker_withdraw(b->checker, answers->keys[i]->text);
        against_answer(chain, b->checker, answers->keys[i]->text);
        look(b, chain, path, "taken back");
    }
    b->cases++;
    cw_chain_free(chain);
    ck_tree_free(root);
}

static void run_folder(bench *b, const char *folder)
{
    DIR *listing = opendir(folder);
    cr_assert_not_null(listing, "%s", folder);
    for (struct dirent *entry; (entry = readdir(listing)) != NULL;) {
        char path[1024];
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (strstr(entry->d_name, ".yaml") != NULL)
            run_case(b, path);
        else if (strchr(entry->d_name, '.') == NULL)
            run_folder(b, path);
    }
    closedir(listing);
}

Test(corpus_facts, every_fact_of_every_shipped_case)
{
    bench b = start(CW_SOURCE_DIR "/rules/harbour-lane");
    run_folder(&b, CW_SOURCE_DIR "/corpus");
    cr_expect_geq(b.cases, 40u);
    cr_expect_gt(b.facts, 2 * b.steps, "there is something to derive");
    end(&b);
}

Test(corpus_facts, the_trade_cases)
{
    bench b = start(CW_SOURCE_DIR "/tests/outside/trade/pack");
    run_folder(&b, CW_SOURCE_DIR "/tests/outside/trade/cases");
    cr_expect_geq(b.cases, 10u);
    end(&b);
}
