/* Random packs with bands, reading errors and formulas: the engine (pack compiler and chain) against the
 * checker, after every answer and every withdrawal. */
#include "checker/against.h"
#include "outside/asp/engine.h"
#include "outside/asp/rules.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_GIVEN = MAX_PREDICATES * MAX_THINGS * MAX_THINGS };

static size_t look(const cw_chain *chain, checker *judge, const char *where)
{
    size_t count, doubtful = 0;
    checker_derive(judge);
    against_all(chain, judge, where);
    char **lines = checker_lines(judge, &count);
    for (size_t i = 0; i < count; i++) {
        doubtful += strchr(lines[i], '?') != NULL;
        free(lines[i]);
    }
    free(lines);
    return doubtful;
}

static size_t run(rule_set *set, random_state *random, int round)
{
    static const char *const tools[] = {"fine", "fair", "rough"};
    static char given[MOST_GIVEN][48];
    size_t count = 0, doubtful = 0;
    char where[80];
    cw_model *model = engine_compile(set->yaml);
    checker *judge = checker_open_text(set->yaml);
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    snprintf(where, sizeof where, "round %d", round);
    for (unsigned at = 0; at < set->count * MAX_THINGS * MAX_THINGS; at++) {
        const char *value;
        char *name = given[count];
        if (!rules_answer(set, random, at / (MAX_THINGS * MAX_THINGS), at / MAX_THINGS % MAX_THINGS,
                          at % MAX_THINGS, name, &value))
            continue;
        cr_assert(checker_answer(judge, name, value, tools[random_below(random, 3)]), "%s = %s", name, value);
        against_answer(chain, judge, name);
        count++;
        doubtful += look(chain, judge, where);
    }
    for (size_t i = 0; i < count; i += 2) {
        checker_withdraw(judge, given[i]);
        against_answer(chain, judge, given[i]);
        doubtful += look(chain, judge, where);
    }
    cw_chain_free(chain);
    checker_free(judge);
    cw_model_free(model);
    return doubtful;
}

Test(checker, random_packs_with_measures)
{
    static rule_set set;
    random_state random = random_start(7321);
    size_t doubtful = 0, formulas = 0;
    for (int round = 0; round < 300; round++) {
        rules_random(&set, &random, true);
        doubtful += run(&set, &random, round);
        for (unsigned i = 0; i < set.count; i++)
            formulas += set.predicates[i].worked_out;
    }
    cr_expect_gt(doubtful, 500u, "%zu doubtful facts", doubtful);
    cr_expect_gt(formulas, 50u, "%zu formulas", formulas);
}
