/* Which unit is in hand: the truth of each unit of a small tree for each answer, written as a table.
 *
 *     tern - small - ninety
 *                  \ other
 *     plover */
#include "chain/chain.h"
#include "model/build.h"
#include <criterion/criterion.h>

enum { NOT_LISTED = CW_NOT_LISTED, TERN, SMALL, NINETY, OTHER, PLOVER, UNITS = PLOVER };

static const char table[UNITS + 1][UNITS + 2] = {
    /* answered: not listed, tern, small, ninety, other, plover; asked in the same order; '?' doubtful */
    [NOT_LISTED] = "y.....", [TERN] = ".y???.",  [SMALL] = ".yy??.",
    [NINETY] = ".yyy..",     [OTHER] = ".yy.y.", [PLOVER] = ".....y",
};

typedef struct bench {
    cw_model *model;
    cw_chain *chain;
    cw_fact_id fact;
    cw_atom_id atoms[UNITS + 1], known;
} bench;

static bench start(void)
{
    bench b = {0};
    static const cw_unit_id above[UNITS + 1] = {0, 0, TERN, SMALL, SMALL, 0};
    static const char *const names[UNITS + 1] = {"", "tern", "small", "ninety", "other", "plover"};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    b.fact = cw_builder_fact(builder, &(cw_fact){.name = "unit", .kind = CW_WHICH_UNIT}, NULL, 0, NULL);
    for (cw_unit_id u = 0; u <= UNITS; u++)
        b.atoms[u] = cw_builder_unit_atom(builder, b.fact, u);
    b.known = cw_builder_known_atom(builder, b.fact);
    cr_assert_eq(cw_builder_unit_atom(builder, b.fact, SMALL), b.atoms[SMALL], "made once");
    cw_builder_check(builder, &(cw_check){.name = "unit", .title = "Unit", .ask = "?", .fact = b.fact}, NULL,
                     0, NULL, 0);
    for (cw_unit_id u = 1; u <= UNITS; u++)
        cw_builder_unit(builder, &(cw_unit){.name = names[u], .title = names[u], .parent = above[u]}, NULL,
                        0);
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &b.model, &circle), CW_OK);
    cw_builder_free(builder);
    cr_assert_eq(cw_chain_new(b.model, &cw_system_allocator, &b.chain), CW_OK);
    return b;
}

static void end(bench *b)
{
    cw_chain_free(b->chain);
    cw_model_free(b->model);
}

Test(unit, holds_upward_and_is_open_downward)
{
    bench b = start();
    for (cw_unit_id answered = 0; answered <= UNITS; answered++) {
        cr_assert_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = b.fact, .value = answered}), CW_OK);
        for (cw_unit_id asked = 0; asked <= UNITS; asked++) {
            char mark = table[answered][asked];
            cw_truth want = mark == 'y' ? CW_YES : mark == '?' ? CW_DOUBTFUL : CW_NO;
            cr_expect_eq(cw_chain_truth(b.chain, b.atoms[asked]), want, "%u in hand, is it %u?", answered,
                         asked);
        }
        cr_expect_eq(cw_chain_truth(b.chain, b.known), CW_YES);
    }
    cr_assert_eq(cw_chain_withdraw(b.chain, b.fact), CW_OK);
    for (cw_unit_id asked = 0; asked <= UNITS; asked++)
        cr_expect_eq(cw_chain_truth(b.chain, b.atoms[asked]), CW_NO);
    cr_expect_eq(cw_chain_truth(b.chain, b.known), CW_NO);
    end(&b);
}

Test(unit, there_is_no_other)
{
    bench b = start();
    cr_expect_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = b.fact, .value = UNITS + 1}), CW_BAD_CALL);
    cr_expect_null(cw_chain_answered(b.chain, b.fact));
    cr_expect_eq(cw_chain_answer(b.chain, &(cw_answer){.fact = b.fact, .cant_tell = true}), CW_OK);
    cr_expect_eq(cw_chain_truth(b.chain, b.known), CW_NO);
    uint32_t value;
    cr_expect_eq(cw_chain_value(b.chain, b.fact, &value), CW_UNKNOWN, "it is no value among others");
    end(&b);
}

Test(unit, stands_within_another)
{
    bench b = start();
    cr_expect(cw_unit_within(b.model, NINETY, TERN));
    cr_expect(cw_unit_within(b.model, TERN, TERN));
    cr_expect_not(cw_unit_within(b.model, TERN, NINETY));
    cr_expect_not(cw_unit_within(b.model, PLOVER, TERN));
    cr_expect(cw_unit_within(b.model, CW_NOT_LISTED, CW_NOT_LISTED));
    cr_expect_not(cw_unit_within(b.model, TERN, CW_NOT_LISTED));
    cr_expect_not(cw_unit_within(b.model, CW_NOT_LISTED, TERN));
    end(&b);
}
