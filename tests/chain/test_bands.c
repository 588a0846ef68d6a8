/* Atoms that test a fact: bands, patterns, known. */
#include "chain/lab.h"

#include <criterion/criterion.h>

Test(bands, the_reading_error_makes_doubt_near_a_limit)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "gap", "measure");
    lab_fact(&lab, "out", "no yes");
    lab_rule(&lab, "out=yes", "gap>2");
    lab_rule(&lab, "out=yes", "gap>=3, gap<=1");
    lab_start(&lab);
    const struct {
        const char *answer;
        cw_truth above, at_least, at_most;
    } rows[] = {
        {"gap=2", CW_NO, CW_NO, CW_NO},
        {"gap=2.25", CW_YES, CW_NO, CW_NO},
        {"gap=3", CW_YES, CW_YES, CW_NO},
        {"gap=1", CW_NO, CW_NO, CW_YES},
        {"gap=2.25+-0.5", CW_DOUBTFUL, CW_NO, CW_NO},
        {"gap=2.25+-0.25", CW_YES, CW_NO, CW_NO}, /* just outside the error */
        {"gap=2.5+-0.75", CW_DOUBTFUL, CW_DOUBTFUL, CW_NO},
        {"gap=2+-1.5", CW_DOUBTFUL, CW_DOUBTFUL, CW_DOUBTFUL},
        {"gap=9+-1.5", CW_YES, CW_YES, CW_NO},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        lab_answer(&lab, rows[i].answer);
        cr_expect_eq(lab_truth(&lab, "gap>2"), rows[i].above, "%s above 2", rows[i].answer);
        cr_expect_eq(lab_truth(&lab, "gap>=3"), rows[i].at_least, "%s at least 3", rows[i].answer);
        cr_expect_eq(lab_truth(&lab, "gap<=1"), rows[i].at_most, "%s at most 1", rows[i].answer);
    }
    lab_withdraw(&lab, "gap");
    expect_truth(&lab, "gap>2", CW_NO);
    lab_end(&lab);
}

Test(bands, a_worked_out_number_is_tested_with_its_error)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "stud", "measure");
    lab_check(&lab, "battery", "measure");
    lab_fact(&lab, "loss", "measure");
    lab_fact(&lab, "bad", "no yes");
    lab_rule(&lab, "loss = stud - battery", "");
    lab_rule(&lab, "bad=yes", "loss>0.5");
    lab_start(&lab);
    lab_answer(&lab, "stud=14.5+-0.3");
    expect_truth(&lab, "bad=yes", CW_NO);
    lab_answer(&lab, "battery=13.75+-0.4"); /* 0.75 +- 0.5 */
    expect_truth(&lab, "bad=yes", CW_DOUBTFUL);
    lab_answer(&lab, "battery=13.75");
    lab_answer(&lab, "stud=14.5+-0.2"); /* 0.75 +- 0.2 */
    expect_truth(&lab, "bad=yes", CW_YES);
    lab_end(&lab);
}

Test(bands, a_doubtful_number_is_in_no_band_for_sure)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "load", "measure");
    lab_check(&lab, "drop", "measure");
    lab_fact(&lab, "loss", "measure");
    lab_fact(&lab, "bad", "no yes");
    lab_fact(&lab, "open", "no yes");
    lab_rule(&lab, "loss = 2 * drop", "load>10");
    lab_rule(&lab, "bad=yes", "loss>1");
    lab_rule(&lab, "open=yes", "~loss?");
    lab_start(&lab);
    lab_answer(&lab, "drop=3");
    lab_answer(&lab, "load=10.5+-1");
    expect_truth(&lab, "bad=yes", CW_DOUBTFUL);
    expect_truth(&lab, "loss?", CW_DOUBTFUL);
    expect_truth(&lab, "open=yes", CW_DOUBTFUL);
    double number, error;
    cr_expect_eq(cw_chain_number(lab.chain, lab_find(&lab, "loss"), &number, &error), CW_DOUBTFUL_FACT);
    cr_expect_eq(number, 6);
    lab_answer(&lab, "drop=0.25");
    expect_truth(&lab, "bad=yes", CW_NO); /* whether or not it is worked out */
    lab_end(&lab);
}

Test(bands, known_is_any_value)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off glow on");
    lab_check(&lab, "label", "text");
    lab_check(&lab, "volts", "measure");
    lab_fact(&lab, "all", "no yes");
    lab_fact(&lab, "weak", "no yes");
    lab_rule(&lab, "all=yes", "lamp?, label?, volts?");
    lab_rule(&lab, "weak=yes", "lamp=glow");
    lab_rule(&lab, "lamp=off", "volts>20");
    lab_start(&lab);
    lab_answer(&lab, "label=");
    lab_answer(&lab, "volts=25");
    expect_truth(&lab, "all=yes", CW_YES); /* the lamp's value by a rule */
    lab_answer(&lab, "volts=5");
    expect_truth(&lab, "all=yes", CW_NO);
    lab_answer(&lab, "lamp=on"); /* a value without an atom */
    expect_truth(&lab, "all=yes", CW_YES);
    lab_answer(&lab, "label=?");
    expect_truth(&lab, "all=yes", CW_NO);
    lab_end(&lab);
}

Test(bands, a_pattern_is_looked_for_in_the_text)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "label", "text");
    lab_fact(&lab, "tern", "no yes");
    lab_fact(&lab, "late", "no yes");
    lab_rule(&lab, "tern=yes", "label~^T9[0-4]");
    lab_rule(&lab, "late=yes", "label~B$");
    lab_start(&lab);
    lab_answer(&lab, "label=t93 b");
    expect_truth(&lab, "tern=yes", CW_YES);
    expect_truth(&lab, "late=yes", CW_YES);
    lab_answer(&lab, "label=T95 A");
    expect_truth(&lab, "tern=yes", CW_NO);
    expect_truth(&lab, "late=yes", CW_NO);
    lab_end(&lab);
}
