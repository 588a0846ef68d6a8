/* Every shipped case: the facts the engine concludes are the answer set of the exported packs. */
#include "checker/against.h"
#include "outside/asp/engine.h"
#include "outside/asp/export.h"
#include "outside/asp/solver.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct bench {
    cw_model *model;
    checker *judge;
    size_t cases, facts, doubtful;
    const char *scratch;
} bench;

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

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* y("a=b") and m("a=b") become a=b, m("a=b") alone becomes a=b?. The atoms are sorted: all of m come before
 * all of y. */
static size_t fold_grades(solver_answer *solved)
{
    size_t maybe = 0, kept = 0;
    while (maybe < solved->count && solved->atoms[maybe][0] == 'm')
        maybe++;
    for (size_t i = 0, y = maybe; i < maybe; i++) {
        char *atom = solved->atoms[i];
        bool sure = y < solved->count && strcmp(solved->atoms[y] + 1, atom + 1) == 0;
        y += sure;
        atom[strlen(atom) - 2] = '\0';
        if (!sure)
            strcat(atom, "?"); /* in place of the quotation mark */
        solved->atoms[kept++] = atom + 3;
    }
    if (kept > 0)
        qsort(solved->atoms, kept, sizeof *solved->atoms, by_text);
    return kept;
}

static void compare(bench *b, const cw_chain *chain, const char *path)
{
    size_t count;
    const char *first = NULL;
    char *program = export_program(b->judge), **facts = engine_facts(chain, &count);
    solver_answer solved = solver_run(b->scratch, program);
    size_t kept = fold_grades(&solved);
    cr_expect(solver_same(facts, count, solved.atoms, kept, &first),
              "%s: %zu facts, the solver has %zu; they part at %s", path, count, kept, first);
    for (size_t i = 0; i < count; i++)
        b->doubtful += strchr(facts[i], '?') != NULL;
    b->facts += count;
    solver_forget(&solved);
    engine_forget(facts, count);
    free(program);
}

static void run_case(bench *b, const char *path)
{
    tree *root = read_case(path);
    const tree *answers = ck_tree_get(root, "answers");
    cw_chain *chain;
    if (answers == NULL ||
        answers->count == 0) { /* words alone: nothing is derived that an empty case has not */
        ck_tree_free(root);
        return;
    }
    cr_assert_eq(cw_chain_new(b->model, &cw_system_allocator, &chain), CW_OK);
    for (size_t i = 0; i < answers->count; i++) {
        const tree *node = answers->items[i];
        const char *name = answers->keys[i]->text;
        const char *text = node->kind == TREE_MAP ? ck_tree_word(node, "value") : node->text;
        cr_assert(checker_answer(b->judge, name, text, ck_tree_word(node, "tool")), "%s: %s: %s", path, name,
                  text);
        against_answer(chain, b->judge, name);
    }
    checker_derive(b->judge);
    compare(b, chain, path);
    for (size_t i = 0; i < answers->count; i++)
        checker_withdraw(b->judge, answers->keys[i]->text);
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

static bench start(const char *pack, const char *scratch)
{
    return (bench){.model = engine_load(pack), .judge = checker_open(&pack, 1), .scratch = scratch};
}

static void end(bench *b)
{
    checker_free(b->judge);
    cw_model_free(b->model);
}

Test(asp_cases, shipped_cases)
{
    solver_needed();
    bench b = start(CW_SOURCE_DIR "/rules/harbour-lane", CW_BINARY_DIR "/asp-shipped.lp");
    run_folder(&b, CW_SOURCE_DIR "/corpus");
    cr_expect_geq(b.cases, 40u);
    cr_expect_gt(b.facts, 3 * b.cases);
    end(&b);
}

Test(asp_cases, trade_cases)
{
    solver_needed();
    bench b = start(CW_SOURCE_DIR "/tests/outside/trade/pack", CW_BINARY_DIR "/asp-trade.lp");
    run_folder(&b, CW_SOURCE_DIR "/tests/outside/trade/cases");
    cr_expect_geq(b.cases, 10u);
    end(&b);
}
