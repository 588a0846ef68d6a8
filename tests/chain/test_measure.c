/* Numbers: formulas over answers and over each other, several sources, what cannot be worked out. */
#include "chain/lab.h"

#include <criterion/criterion.h>
#include <math.h>

static cw_known number(chain_lab *lab, const char *name, double *value, double *error)
{
    *value = *error = NAN;
    return cw_chain_number(lab->chain, lab_find(lab, name), value, error);
}

Test(measure, errors_are_carried_through_a_row_of_formulas)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "a", "measure");
    lab_check(&lab, "b", "measure");
    lab_fact(&lab, "sum", "measure");
    lab_fact(&lab, "twice", "measure");
    lab_rule(&lab, "twice = 2 * sum", "");
    lab_rule(&lab, "sum = a + b", "");
    lab_start(&lab);
    double value, error;
    lab_answer(&lab, "a=1+-0.3");
    cr_expect_eq(number(&lab, "twice", &value, &error), CW_UNKNOWN);
    lab_answer(&lab, "b=2+-0.4");
    cr_expect_eq(number(&lab, "twice", &value, &error), CW_KNOWN);
    cr_expect_float_eq(value, 6, 1e-12);
    cr_expect_float_eq(error, 1, 1e-12); /* 2 * hypot(0.3, 0.4) */
    lab_answer(&lab, "a=5");
    number(&lab, "twice", &value, &error);
    cr_expect_float_eq(value, 14, 1e-12);
    cr_expect_float_eq(error, 0.8, 1e-12);
    lab_withdraw(&lab, "b");
    cr_expect_eq(number(&lab, "twice", &value, &error), CW_UNKNOWN);
    lab_end(&lab);
}

Test(measure, counts_may_be_read)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "ribs", "count 6");
    lab_check(&lab, "wide", "no yes");
    lab_fact(&lab, "belt", "measure");
    lab_rule(&lab, "belt = 3.5 * ribs", "");
    lab_rule(&lab, "ribs=6", "wide=yes");
    lab_start(&lab);
    double value, error;
    lab_answer(&lab, "ribs=4");
    cr_expect_eq(number(&lab, "belt", &value, &error), CW_KNOWN);
    cr_expect(value == 14 && error == 0);
    lab_answer(&lab, "wide=yes"); /* 4 or 6: nothing is worked out from a conflict */
    cr_expect_eq(number(&lab, "belt", &value, &error), CW_UNKNOWN);
    lab_withdraw(&lab, "ribs");
    cr_expect_eq(number(&lab, "belt", &value, &error), CW_KNOWN);
    cr_expect_eq(value, 21);
    lab_end(&lab);
}

Test(measure, of_two_possible_counts_none_is_read)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "width", "measure");
    lab_fact(&lab, "ribs", "count 6");
    lab_fact(&lab, "belt", "measure");
    lab_rule(&lab, "ribs=5", "width<20");
    lab_rule(&lab, "ribs=6", "width>20");
    lab_rule(&lab, "belt = 2 * ribs", "");
    lab_start(&lab);
    double value, error;
    uint32_t ribs;
    lab_answer(&lab, "width=20+-1");
    cr_expect_eq(cw_chain_value(lab.chain, lab_find(&lab, "ribs"), &ribs), CW_DOUBTFUL_FACT);
    cr_expect_eq(number(&lab, "belt", &value, &error), CW_UNKNOWN);
    lab_answer(&lab, "width=30+-1");
    cr_expect_eq(number(&lab, "belt", &value, &error), CW_KNOWN);
    cr_expect_eq(value, 12);
    lab_end(&lab);
}

Test(measure, what_has_no_number_is_not_worked_out)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "a", "measure");
    lab_check(&lab, "b", "measure");
    lab_fact(&lab, "ratio", "measure");
    lab_fact(&lab, "some", "no yes");
    lab_rule(&lab, "ratio = a / b", "");
    lab_rule(&lab, "some=yes", "ratio?");
    lab_start(&lab);
    double value, error;
    lab_answer(&lab, "a=1");
    lab_answer(&lab, "b=0");
    cr_expect_eq(number(&lab, "ratio", &value, &error), CW_UNKNOWN);
    expect_truth(&lab, "some=yes", CW_NO);
    lab_answer(&lab, "b=4");
    cr_expect_eq(number(&lab, "ratio", &value, &error), CW_KNOWN);
    cr_expect_eq(value, 0.25);
    expect_truth(&lab, "some=yes", CW_YES);
    lab_end(&lab);
}

Test(measure, the_source_nearest_to_the_answers_gives_the_number)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "loss", "measure");
    lab_check(&lab, "stud", "measure");
    lab_check(&lab, "drop", "measure");
    lab_check(&lab, "ran", "no yes");
    lab_fact(&lab, "warm", "no yes");
    lab_rule(&lab, "warm=yes", "ran=yes");
    uint32_t far = lab_rule(&lab, "loss = 2 * drop", "warm=yes");
    uint32_t near = lab_rule(&lab, "loss = stud - 12", "");
    lab_start(&lab);
    double value, error;
    lab_answer(&lab, "ran=yes");
    lab_answer(&lab, "drop=0.5+-0.25");
    number(&lab, "loss", &value, &error);
    cr_expect(value == 1 && error == 0.5);
    lab_answer(&lab, "stud=13.25+-1");
    number(&lab, "loss", &value, &error);
    cr_expect(value == 1.25 && error == 1, "one rule is nearer than two, whatever the error");
    lab_answer(&lab, "loss=1.5+-3");
    cr_expect_eq(number(&lab, "loss", &value, &error), CW_KNOWN);
    cr_expect(value == 1.5 && error == 3, "the answer is nearest");
    cw_reason reasons[4];
    cr_assert_eq(cw_chain_number_reasons(lab.chain, lab_find(&lab, "loss"), reasons, 4), 3u);
    cr_expect_eq(reasons[0].rule, 0u);
    lab_withdraw(&lab, "loss");
    cr_assert_eq(cw_chain_number_reasons(lab.chain, lab_find(&lab, "loss"), reasons, 4), 2u);
    cr_expect_eq(lab.model->rules[reasons[0].rule].origin, near);
    cr_expect_eq(lab.model->rules[reasons[1].rule].origin, far);
    lab_end(&lab);
}

Test(measure, at_equal_distance_the_most_exact_source_counts)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "rough", "measure");
    lab_check(&lab, "fine", "measure");
    lab_fact(&lab, "size", "measure");
    lab_rule(&lab, "size = 1 * rough", "");
    lab_rule(&lab, "size = 1 * fine", "");
    lab_start(&lab);
    double value, error;
    lab_answer(&lab, "rough=10+-2");
    lab_answer(&lab, "fine=11+-0.5");
    cr_expect_eq(number(&lab, "size", &value, &error), CW_KNOWN);
    cr_expect_eq(value, 11);
    lab_answer(&lab, "rough=10+-0.25");
    number(&lab, "size", &value, &error);
    cr_expect_eq(value, 10);
    lab_end(&lab);
}

Test(measure, only_measured_facts_have_numbers)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "ribs", "count 6");
    lab_check(&lab, "volts", "measure");
    lab_start(&lab);
    double value, error;
    uint32_t ribs;
    lab_answer(&lab, "ribs=4");
    lab_answer(&lab, "volts=4");
    cr_expect_eq(number(&lab, "ribs", &value, &error), CW_UNKNOWN);
    cr_expect_eq(cw_chain_value(lab.chain, lab_find(&lab, "volts"), &ribs), CW_UNKNOWN);
    cr_expect_eq(cw_chain_number(lab.chain, 0, &value, &error), CW_UNKNOWN);
    cr_expect_eq(cw_chain_value(lab.chain, 99, &ribs), CW_UNKNOWN);
    lab_end(&lab);
}
