/* Making and copying chains. */
#include "chain/lab.h"
#include "support/failing.h"

#include <criterion/criterion.h>

static chain_lab texts_and_numbers(void)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "label", "text");
    lab_check(&lab, "plate", "text");
    lab_check(&lab, "volts", "measure");
    lab_fact(&lab, "tern", "no yes");
    lab_fact(&lab, "twice", "measure");
    lab_rule(&lab, "tern=yes", "label~^T9");
    lab_rule(&lab, "twice = 2 * volts", "");
    return lab;
}

Test(chain, every_request_for_memory_may_fail)
{
    chain_lab lab = texts_and_numbers();
    lab_start(&lab);
    failing memory;
    size_t refusals = 0;
    for (size_t allowed = 0;; allowed++) {
        failing_start(&memory, allowed);
        cw_chain *chain = NULL;
        cw_status status = cw_chain_new(lab.model, &memory.allocator, &chain);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK);
        cr_assert_eq(chain == NULL, memory.refused);
        cw_chain_free(chain);
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
        refusals++;
    }
    cr_expect_gt(refusals, 0u);
    lab_end(&lab);
}

Test(chain, a_model_too_large_for_ranks_is_refused)
{
    const cw_model atoms = {.atoms_count = 0x40000000}, rules = {.rules_count = 0x40000000},
                   facts = {.facts_count = 0x40000000};
    const cw_model *const models[] = {&atoms, &rules, &facts};
    for (int i = 0; i < 3; i++) {
        cw_chain *chain;
        cr_expect_eq(cw_chain_new(models[i], &cw_system_allocator, &chain), CW_LIMIT);
        cr_expect_null(chain);
    }
}

Test(chain, an_empty_model_makes_a_chain)
{
    chain_lab lab = lab_new();
    lab_start(&lab);
    cr_expect_eq(cw_chain_truth(lab.chain, 0), CW_NO);
    cr_expect_eq(cw_chain_truth(lab.chain, 1), CW_NO);
    cr_expect_eq(cw_chain_conflicts(lab.chain, NULL, 0), 0u);
    cr_expect_eq(cw_chain_model(lab.chain), lab.model);
    lab_end(&lab);
    cw_chain_free(NULL);
}

Test(chain, a_copy_keeps_its_texts_when_the_original_changes_and_goes)
{
    chain_lab lab = texts_and_numbers();
    lab_start(&lab);
    cw_chain *copy;
    cr_assert_eq(cw_chain_new(lab.model, &cw_system_allocator, &copy), CW_OK);
    lab_answer(&lab, "label=T90");
    lab_answer(&lab, "plate=12 V");
    lab_answer(&lab, "volts=14");
    cw_chain_copy(copy, lab.chain);
    cw_chain_copy(copy, copy);
    cr_expect_eq(cw_chain_version(copy), 3u);
    lab_answer(&lab, "label=X");
    cw_chain_free(lab.chain);
    lab.chain = copy;
    cr_expect_str_eq(cw_chain_text(copy, lab_find(&lab, "label")), "T90");
    cr_expect_str_eq(cw_chain_text(copy, lab_find(&lab, "plate")), "12 V");
    expect_truth(&lab, "tern=yes", CW_YES);
    double number, error;
    cr_expect_eq(cw_chain_number(copy, lab_find(&lab, "twice"), &number, &error), CW_KNOWN);
    cr_expect_eq(number, 28);
    lab_end(&lab);
}

/* What is contested is worked out once per version; a copy with the same version number must not believe the
 * old picture. */
Test(chain, a_copy_forgets_what_it_had_worked_out)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off on");
    lab_check(&lab, "other", "off on");
    lab_rule(&lab, "lamp=on", "");
    lab_rule(&lab, "other=on", "");
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_rule(&lab, "a=yes", "lamp=on");
    lab_rule(&lab, "b=yes", "other=on");
    lab_start(&lab);
    cw_chain *copy;
    cr_assert_eq(cw_chain_new(lab.model, &cw_system_allocator, &copy), CW_OK);
    cw_answer other = lab_read_answer(&lab, "other=off");
    cr_assert_eq(cw_chain_answer(copy, &other), CW_OK);
    cr_expect(cw_chain_contested(copy, lab_find(&lab, "b")));
    lab_answer(&lab, "lamp=off");
    cr_assert_eq(cw_chain_version(copy), cw_chain_version(lab.chain));
    cw_chain_copy(copy, lab.chain);
    cr_expect(cw_chain_contested(copy, lab_find(&lab, "a")));
    cr_expect_not(cw_chain_contested(copy, lab_find(&lab, "b")));
    cw_chain_free(copy);
    lab_end(&lab);
}
