/* Giving, changing and withdrawing answers; what is refused leaves everything as it was. */
#include "chain/lab.h"
#include "support/failing.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static chain_lab small(void)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off glow on");
    lab_check(&lab, "volts", "measure");
    lab_check(&lab, "label", "text");
    lab_fact(&lab, "weak", "no yes");
    lab_fact(&lab, "fine", "no yes");
    lab_rule(&lab, "weak=yes", "lamp=glow");
    lab_rule(&lab, "weak=yes", "volts<13");
    lab_rule(&lab, "weak=yes", "label~^T9");
    lab_rule(&lab, "fine=yes", "~weak=yes, lamp?");
    return lab;
}

Test(answer, changing_withdraws_and_answers_in_one_step)
{
    chain_lab lab = small();
    lab_start(&lab);
    lab_answer(&lab, "lamp=glow");
    expect_truth(&lab, "weak=yes", CW_YES);
    expect_truth(&lab, "fine=yes", CW_NO);
    lab_answer(&lab, "lamp=off");
    expect_truth(&lab, "weak=yes", CW_NO);
    expect_truth(&lab, "fine=yes", CW_YES);
    lab_withdraw(&lab, "lamp");
    expect_truth(&lab, "fine=yes", CW_NO);
    cr_expect_null(cw_chain_answered(lab.chain, lab_find(&lab, "lamp")));
    lab_end(&lab);
}

Test(answer, cant_tell_is_recorded_and_gives_no_fact)
{
    chain_lab lab = small();
    lab_start(&lab);
    lab_answer(&lab, "lamp=glow");
    lab_answer(&lab, "lamp=?");
    expect_truth(&lab, "weak=yes", CW_NO);
    expect_truth(&lab, "fine=yes", CW_NO);
    const cw_answer *answer = cw_chain_answered(lab.chain, lab_find(&lab, "lamp"));
    cr_assert_not_null(answer);
    cr_expect(answer->cant_tell);
    uint32_t value;
    cr_expect_eq(cw_chain_value(lab.chain, lab_find(&lab, "lamp"), &value), CW_UNKNOWN);
    lab_end(&lab);
}

Test(answer, a_value_that_no_rule_speaks_of_is_known_all_the_same)
{
    chain_lab lab = small();
    lab_start(&lab);
    lab_answer(&lab, "lamp=on");
    uint32_t value = 9;
    cr_expect_eq(cw_chain_value(lab.chain, lab_find(&lab, "lamp"), &value), CW_KNOWN);
    cr_expect_eq(value, 2u);
    cr_expect_eq(cw_fact_value_atom(lab.model, lab_find(&lab, "lamp"), 2), 0u,
                 "the test is about such a value");
    expect_truth(&lab, "lamp?", CW_YES);
    expect_truth(&lab, "fine=yes", CW_YES);
    lab_end(&lab);
}

Test(answer, the_answer_can_be_read_back)
{
    chain_lab lab = small();
    lab_start(&lab);
    lab_answer(&lab, "volts=12.5+-0.1");
    lab_answer(&lab, "label=T94");
    const cw_answer *volts = cw_chain_answered(lab.chain, lab_find(&lab, "volts"));
    cr_expect(volts->number == 12.5 && volts->error == 0.1 && volts->text == NULL);
    cr_expect_str_eq(cw_chain_text(lab.chain, lab_find(&lab, "label")), "T94");
    cr_expect_null(cw_chain_text(lab.chain, lab_find(&lab, "lamp")));
    /* What was read back may be given again, pointer and all. */
    cw_answer again = *cw_chain_answered(lab.chain, lab_find(&lab, "label"));
    cr_expect_eq(cw_chain_answer(lab.chain, &again), CW_OK);
    cr_expect_str_eq(cw_chain_text(lab.chain, lab_find(&lab, "label")), "T94");
    lab_withdraw(&lab, "label");
    cr_expect_null(cw_chain_text(lab.chain, lab_find(&lab, "label")));
    lab_end(&lab);
}

Test(answer, what_is_no_answer_is_refused)
{
    chain_lab lab = small();
    lab_start(&lab);
    cw_fact_id lamp = lab_find(&lab, "lamp"), volts = lab_find(&lab, "volts"),
               label = lab_find(&lab, "label");
    char long_text[CW_ANSWER_MAX_TEXT + 2];
    memset(long_text, 'x', sizeof long_text - 1);
    long_text[CW_ANSWER_MAX_TEXT + 1] = '\0';
    const cw_answer wrong[] = {
        {.fact = 0},
        {.fact = lab.model->facts_count + 1},
        {.fact = lab_find(&lab, "weak")}, /* only rules conclude it */
        {.fact = lamp, .value = 3},
        {.fact = volts, .number = NAN},
        {.fact = volts, .number = INFINITY},
        {.fact = volts, .error = -0.1},
        {.fact = volts, .error = INFINITY},
        {.fact = label},
        {.fact = label, .text = long_text},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        cr_expect_eq(cw_chain_answer(lab.chain, &wrong[i]), CW_BAD_CALL, "answer %zu", i);
    cr_expect_eq(cw_chain_answer(lab.chain, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_chain_withdraw(lab.chain, lamp), CW_NOT_FOUND);
    cr_expect_eq(cw_chain_withdraw(lab.chain, 0), CW_BAD_CALL);
    cr_expect_eq(cw_chain_version(lab.chain), 0u);
    long_text[CW_ANSWER_MAX_TEXT] = '\0';
    cr_expect_eq(cw_chain_answer(lab.chain, &(cw_answer){.fact = label, .text = long_text}), CW_OK);
    cr_expect_eq(cw_chain_version(lab.chain), 1u);
    lab_end(&lab);
}

Test(answer, a_pattern_that_runs_out_of_steps_changes_nothing)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "label", "text");
    lab_fact(&lab, "old", "no yes");
    lab_fact(&lab, "trap", "no yes");
    lab_rule(&lab, "old=yes", "label~^a");
    lab_rule(&lab, "trap=yes", "label~^(a+)+$");
    lab_start(&lab);
    lab_answer(&lab, "label=b");
    cw_answer trap = lab_read_answer(&lab, "label=aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaab");
    cr_expect_eq(cw_chain_answer(lab.chain, &trap), CW_LIMIT);
    expect_truth(&lab, "old=yes", CW_NO);
    cr_expect_str_eq(cw_chain_text(lab.chain, lab_find(&lab, "label")), "b");
    cr_expect_eq(cw_chain_version(lab.chain), 1u);
    lab_end(&lab);
}

/* A match works on the stack until it has to remember many ways back: here one for each of 100 letters. */
#define TEN "XXXXXXXXXX"
#define FIFTY TEN TEN TEN TEN TEN
#define MANY FIFTY FIFTY "Z"
Test(answer, without_memory_a_text_changes_nothing)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    chain_lab lab = small();
    lab.allocator = &memory.allocator; /* of the chain, and of patterns made from here on */
    lab_rule(&lab, "weak=yes", "label~^(X|Y)*Z$");
    lab_start(&lab);
    lab_answer(&lab, "label=T94");
    size_t refusals = 0;
    for (size_t allowed = 0;; allowed++) {
        size_t before = failing_bytes(&memory);
        memory.allowed = allowed;
        memory.refused = false;
        cw_answer answer = lab_read_answer(&lab, "label=" MANY);
        cw_status status = cw_chain_answer(lab.chain, &answer);
        cr_assert_eq(failing_bytes(&memory), before, "answering keeps no memory");
        if (!memory.refused) {
            cr_assert_eq(status, CW_OK);
            break;
        }
        refusals++;
        cr_assert_eq(status, CW_NO_MEMORY);
        cr_assert_str_eq(cw_chain_text(lab.chain, lab_find(&lab, "label")), "T94");
        expect_truth(&lab, "weak=yes", CW_YES);
    }
    cr_expect_gt(refusals, 0u);
    memory.allowed = FAILING_NEVER;
    cr_expect_str_eq(cw_chain_text(lab.chain, lab_find(&lab, "label")), MANY);
    lab_end(&lab);
    cr_expect_eq(failing_bytes(&memory), 0u);
}

Test(answer, only_a_text_takes_memory)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    chain_lab lab = small();
    lab.allocator = &memory.allocator;
    lab_start(&lab);
    size_t requests = memory.requests;
    lab_answer(&lab, "lamp=glow");
    lab_answer(&lab, "volts=12+-0.5");
    lab_answer(&lab, "label=T90"); /* its pattern is not of this allocator */
    lab_withdraw(&lab, "volts");
    cr_expect_eq(memory.requests, requests);
    lab_end(&lab);
    cr_expect_eq(failing_bytes(&memory), 0u);
}
