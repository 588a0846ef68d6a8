/* Numbers read of stamped texts: they come, change and go with the text. */
#include "chain/lab.h"
#include "support/failing.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

static chain_lab plates(const cw_allocator *allocator)
{
    chain_lab lab = lab_new();
    lab.allocator = allocator;
    lab_check(&lab, "plate", "text");
    lab_check(&lab, "seen", "no yes");
    lab_check(&lab, "measured", "measure");
    lab_fact(&lab, "rated", "measure");
    lab_fact(&lab, "low", "measure");
    lab_fact(&lab, "twice", "measure");
    lab_fact(&lab, "big", "no yes");
    lab_reading(&lab, "rated", "plate", "(\\d+) ?(?:A|AMP)\\b", 10, 300, "plate?");
    lab_reading(&lab, "rated", "plate", "rated (.*)", 10, 300, "plate?, ~seen=no");
    lab_reading(&lab, "low", "plate", "(\\d+)/", 10, 300, "seen=yes");
    lab_rule(&lab, "twice = rated + low", "plate?");
    lab_rule(&lab, "big=yes", "rated>=100");
    lab_start(&lab);
    return lab;
}

static void expect_number(const chain_lab *lab, const char *name, cw_known known, double wanted)
{
    double number = NAN, error = NAN;
    const cw_known is = cw_chain_number(lab->chain, lab_find(lab, name), &number, &error);
    cr_expect_eq(is, known, "%s is %d", name, (int)is);
    if (known != CW_UNKNOWN && is == known) {
        cr_expect_eq(number, wanted, "%s is %g", name, number);
        cr_expect_eq(error, 0);
    }
}

Test(reading, comes_changes_and_goes_with_its_text)
{
    chain_lab lab = plates(&cw_system_allocator);
    expect_number(&lab, "rated", CW_UNKNOWN, 0);
    lab_answer(&lab, "plate=14V 45/90A");
    expect_number(&lab, "rated", CW_KNOWN, 90);
    expect_number(&lab, "low", CW_UNKNOWN, 0);
    expect_truth(&lab, "big=yes", CW_NO);
    lab_answer(&lab, "seen=yes");
    expect_number(&lab, "low", CW_KNOWN, 45);
    expect_number(&lab, "twice", CW_KNOWN, 135);
    lab_answer(&lab, "plate=14V 50/120A");
    expect_number(&lab, "rated", CW_KNOWN, 120);
    expect_number(&lab, "twice", CW_KNOWN, 170);
    expect_truth(&lab, "big=yes", CW_YES);
    char text[64];
    cr_expect_str_eq(lab_reasons(&lab, "big=yes", text, sizeof text), "5");
    cr_expect_str_eq(lab_readings(&lab, "big", text, sizeof text), "plate");
    lab_answer(&lab, "plate=120");
    expect_number(&lab, "rated", CW_UNKNOWN, 0);
    expect_number(&lab, "twice", CW_UNKNOWN, 0);
    expect_truth(&lab, "big=yes", CW_NO);
    lab_answer(&lab, "plate=100 A");
    expect_truth(&lab, "big=yes", CW_YES);
    lab_answer(&lab, "plate=?"); /* can't tell */
    expect_number(&lab, "rated", CW_UNKNOWN, 0);
    lab_answer(&lab, "plate=100 A");
    lab_withdraw(&lab, "plate");
    expect_number(&lab, "rated", CW_UNKNOWN, 0);
    expect_truth(&lab, "big=yes", CW_NO);
    lab_end(&lab);
}

Test(reading, takes_what_is_a_number_in_the_right_unit_and_range)
{
    static const struct {
        const char *answer;
        double wanted; /* 0: nothing */
    } known[] = {{"plate=rated 90", 90},       {"plate=rated 90 amps", 90}, {"plate=rated 0.1 kA", 0},
                 {"plate=rated 95000 mA", 95}, {"plate=rated 90 V", 0},     {"plate=rated ninety", 0},
                 {"plate=rated ", 0},          {"plate=rated 9", 0},        {"plate=rated 10", 10},
                 {"plate=rated 300", 300},     {"plate=rated 301", 0},      {"plate=Rated 90,5", 90.5},
                 {"plate=rated 1e400", 0},     {"plate=rated -90", 0}};
    chain_lab lab = plates(&cw_system_allocator);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        lab_answer(&lab, known[i].answer);
        expect_number(&lab, "rated", known[i].wanted > 0 ? CW_KNOWN : CW_UNKNOWN, known[i].wanted);
    }
    lab_end(&lab);
}

Test(reading, two_that_disagree_are_a_conflict)
{
    chain_lab lab = plates(&cw_system_allocator);
    lab_answer(&lab, "plate=90A, rated 95");
    expect_number(&lab, "rated", CW_CONFLICT, 90);
    cr_expect_eq(cw_chain_conflicts(lab.chain, NULL, 0), 1u);
    double number, error;
    cr_expect(cw_chain_worked_out(lab.chain, 2, &number, &error) && number == 95 && error == 0);
    expect_number(&lab, "twice", CW_UNKNOWN, 0);
    lab_answer(&lab, "seen=no"); /* the second grammar is out */
    expect_number(&lab, "rated", CW_KNOWN, 90);
    lab_answer(&lab, "seen=yes");
    lab_answer(&lab, "plate=90A, rated 90");
    expect_number(&lab, "rated", CW_KNOWN, 90);
    cr_expect_eq(cw_chain_conflicts(lab.chain, NULL, 0), 0u);
    cr_expect_not(cw_chain_worked_out(lab.chain, 5, &number, &error), "it works no number out");
    cr_expect_not(cw_chain_worked_out(lab.chain, 0, &number, &error));
    cr_expect_not(cw_chain_worked_out(lab.chain, 99, &number, &error));
    lab_end(&lab);
}

Test(reading, copies_have_their_own)
{
    chain_lab lab = plates(&cw_system_allocator);
    cw_chain *other;
    cr_assert_eq(cw_chain_new(lab.model, lab.allocator, &other), CW_OK);
    lab_answer(&lab, "plate=90A");
    cw_chain_copy(other, lab.chain);
    lab_answer(&lab, "plate=120A");
    double number, error;
    cr_expect_eq(cw_chain_number(other, lab_find(&lab, "rated"), &number, &error), CW_KNOWN);
    cr_expect_eq(number, 90);
    cw_chain_free(other);
    lab_end(&lab);
}

Test(reading, without_memory_or_steps_nothing_has_changed)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    chain_lab lab = plates(&memory.allocator);
    lab_answer(&lab, "plate=90A");
    cw_answer answer = lab_read_answer(&lab, "plate=120A");
    for (size_t allowed = 0;; allowed++) {
        memory.allowed = allowed;
        memory.refused = false;
        const cw_status status = cw_chain_answer(lab.chain, &answer);
        if (status == CW_OK)
            break;
        cr_assert_eq(status, CW_NO_MEMORY);
        expect_number(&lab, "rated", CW_KNOWN, 90);
        cr_assert_str_eq(cw_chain_text(lab.chain, answer.fact), "90A");
    }
    memory.allowed = FAILING_NEVER;
    expect_number(&lab, "rated", CW_KNOWN, 120);
    lab_end(&lab);

    lab = lab_new();
    lab_check(&lab, "plate", "text");
    lab_fact(&lab, "rated", "measure");
    lab_reading(&lab, "rated", "plate", "((a+)+)$", 0, 9, "plate?");
    lab_start(&lab);
    answer = lab_read_answer(&lab, "plate=aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa!");
    cr_expect_eq(cw_chain_answer(lab.chain, &answer), CW_LIMIT);
    cr_expect_null(cw_chain_text(lab.chain, answer.fact));
    lab_end(&lab);
}
