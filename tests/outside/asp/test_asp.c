/* Forward chaining with absence against an answer-set solver (Debian's gringo and clasp). */
#include "outside/asp/engine.h"
#include "outside/asp/rules.h"
#include "outside/asp/solver.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void answer(cw_chain *chain, const char *name, const char *value)
{
    const cw_model *model = cw_chain_model(chain);
    cw_answer given = {.fact = cw_model_fact(model, name)};
    cr_assert_neq(given.fact, 0u, "%s", name);
    given.value = cw_fact_value(model, given.fact, value);
    cr_assert_eq(cw_chain_answer(chain, &given), CW_OK, "%s = %s", name, value);
}

/* "f3(d1,u,yes)" becomes "f3[d1,u]=yes". */
static void rewrite(char *atom)
{
    char *open = strchr(atom, '('), *comma = strrchr(atom, ','), line[64];
    atom[strlen(atom) - 1] = '\0';
    if (comma == NULL)
        snprintf(line, sizeof line, "%.*s=%s", (int)(open - atom), atom, open + 1);
    else
        snprintf(line, sizeof line, "%.*s[%.*s]=%s", (int)(open - atom), atom, (int)(comma - open - 1),
                 open + 1, comma + 1);
    memcpy(atom, line, strlen(line) + 1); /* one sign shorter or equal: "(", ",", ")" against "[", "]", "=" */
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static size_t compare(rule_set *set, random_state *random, const char *path, int round)
{
    cw_model *model = engine_compile(set->yaml);
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    for (unsigned p = 0; p < set->count; p++)
        for (unsigned i = 0; i < MAX_THINGS; i++)
            for (unsigned j = 0; j < MAX_THINGS; j++) {
                char name[48];
                const char *value;
                if (rules_answer(set, random, p, i, j, name, &value))
                    answer(chain, name, value);
            }
    solver_answer solved = solver_run(path, set->program);
    for (size_t i = 0; i < solved.count; i++)
        rewrite(solved.atoms[i]);
    if (solved.count > 0)
        qsort(solved.atoms, solved.count, sizeof *solved.atoms, by_text);
    size_t count;
    const char *first = NULL;
    char **facts = engine_facts(chain, &count);
    cr_assert(solver_same(facts, count, solved.atoms, solved.count, &first),
              "round %d: %zu facts, the solver has %zu; they part at %s\n%s\n%s", round, count, solved.count,
              first, set->yaml, set->program);
    engine_forget(facts, count);
    solver_forget(&solved);
    cw_chain_free(chain);
    cw_model_free(model);
    return count;
}

Test(asp, random_stratified_rules_over_repeated_things)
{
    solver_needed();
    static rule_set set;
    random_state random = random_start(190);
    size_t facts = 0, rules = 0;
    for (int round = 0; round < 400; round++) {
        rules_random(&set, &random, false);
        facts += compare(&set, &random, CW_BINARY_DIR "/asp-random.lp", round);
        rules += set.rules;
    }
    cr_expect_gt(facts, 2000u);
    cr_expect_gt(rules, 4000u);
}

static char *read_text(const char *path)
{
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s", path);
    char *text = calloc(1, 20000);
    size_t size = fread(text, 1, 19999, file);
    cr_assert_lt(size, 19999u);
    fclose(file);
    return text;
}

/* The printed program: its only answer set is { bridge_suspect, charging_fault }. */
Test(asp, the_four_horn_rules)
{
    cw_model *model = engine_load(CW_SOURCE_DIR "/tests/outside/asp/horn");
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    answer(chain, "ripple", "high");
    answer(chain, "lamp", "on");
    static char *const want[] = {"bridge_suspect=yes", "charging_fault=yes", "lamp=on", "ripple=high"};
    size_t count;
    const char *first = NULL;
    char **facts = engine_facts(chain, &count);
    cr_expect(solver_same(facts, count, want, 4, &first), "they part at %s", first);
    engine_forget(facts, count);
    cw_chain_free(chain);
    cw_model_free(model);
    solver_needed();
    char *program = read_text(CW_SOURCE_DIR "/tests/outside/asp/horn/horn.lp");
    solver_answer solved = solver_run(CW_BINARY_DIR "/asp-horn.lp", program);
    static char *const shown[] = {"bridge_suspect", "charging_fault"};
    cr_expect(solver_same(solved.atoms, solved.count, shown, 2, &first), "they part at %s", first);
    solver_forget(&solved);
    free(program);
}
