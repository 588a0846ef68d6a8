/* The published rules for poisonous mushrooms over the 8124 rows of the data set (Duch, Adamczak &
 * Grabczewski 1996, printed in its notes): poisonous ones missed by the first one, two, three, four rules:
 * 120, 48, 8, 0; no false alarm.
 *
 * One chain takes all rows one after the other, each answer changed in place, so the rows check retraction as
 * well. */
#include "outside/asp/engine.h"
#include "outside/outside.h"

enum { RULES = 4, FEATURES = 22 };

/* "cap-shape" in the table is cap_shape in the pack. */
static cw_fact_id fact_of_column(const cw_model *model, const char *column)
{
    char name[64] = {0};
    for (size_t i = 0; column[i] != '\0'; i++)
        name[i] = column[i] == '-' ? '_' : column[i];
    return cw_model_fact(model, name);
}

static void answer(cw_chain *chain, cw_fact_id fact, const char *letter)
{
    cw_answer given = {.fact = fact, .cant_tell = strcmp(letter, "?") == 0};
    if (!given.cant_tell)
        given.value = cw_fact_value(cw_chain_model(chain), fact, letter);
    cr_assert_eq(cw_chain_answer(chain, &given), CW_OK, "%s", letter);
}

Test(mushroom, as_many_are_missed_as_printed)
{
    table rows = table_read("mushroom/mushroom.csv");
    cw_model *model = engine_load(CW_SOURCE_DIR "/tests/outside/mushroom/pack");
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    cr_assert_eq(rows.rows, 8125u);
    cr_assert_eq(rows.columns, 1u + FEATURES);
    cw_fact_id facts[FEATURES], found[RULES];
    for (size_t f = 0; f < FEATURES; f++)
        cr_assert_neq(facts[f] = fact_of_column(model, table_cell(&rows, 0, f + 1)), 0u);
    for (unsigned r = 0; r < RULES; r++) {
        char name[32];
        snprintf(name, sizeof name, "poisonous_%u", r + 1);
        cr_assert_neq(found[r] = cw_model_fact(model, name), 0u);
    }
    unsigned missed[RULES] = {0}, alarms[RULES] = {0};
    for (size_t row = 1; row < rows.rows; row++) {
        for (size_t f = 0; f < FEATURES; f++)
            answer(chain, facts[f], table_cell(&rows, row, f + 1));
        bool poisonous = strcmp(table_cell(&rows, row, 0), "p") == 0;
        for (unsigned r = 0; r < RULES; r++) {
            bool caught =
                cw_chain_truth(chain, cw_fact_value_atom(model, found[r],
                                                         cw_fact_value(model, found[r], "yes"))) == CW_YES;
            missed[r] += poisonous && !caught;
            alarms[r] += !poisonous && caught;
        }
    }
    static const unsigned printed[RULES] = {120, 48, 8, 0};
    for (unsigned r = 0; r < RULES; r++) {
        cr_expect_eq(missed[r], printed[r], "%u rules miss %u, not %u", r + 1, missed[r], printed[r]);
        cr_expect_eq(alarms[r], 0u, "%u rules: %u false alarms", r + 1, alarms[r]);
    }
    cw_chain_free(chain);
    cw_model_free(model);
    table_free(&rows);
}
