/* Readings behind a conclusion and rules on the way to it. */
#include "chain/inside.h"
#include "chain/lab.h"

#include <criterion/criterion.h>

static const char *readings(chain_lab *lab, const char *name)
{
    static char text[128];
    return lab_readings(lab, name, text, sizeof text);
}

static uint32_t depth(chain_lab *lab, const char *name)
{
    return cw_chain_depth(lab->chain, lab_find(lab, name));
}

Test(trace, readings_are_the_answers_below_and_absences_are_left_out)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_check(&lab, "volts", "measure");
    lab_check(&lab, "noise", "no yes");
    lab_check(&lab, "lamp", "off glow on");
    lab_fact(&lab, "low", "no yes");
    lab_fact(&lab, "end", "no yes");
    lab_rule(&lab, "low=yes", "volts<12, in=yes");
    lab_rule(&lab, "end=yes", "low=yes, in=yes, ~noise=yes");
    lab_start(&lab);
    cr_expect_str_eq(readings(&lab, "end"), "");
    lab_answer(&lab, "in=yes");
    lab_answer(&lab, "volts=11");
    lab_answer(&lab, "noise=no");
    lab_answer(&lab, "lamp=on");
    cr_expect_str_eq(readings(&lab, "end"), "in volts");
    cr_expect_str_eq(readings(&lab, "low"), "in volts");
    cr_expect_str_eq(readings(&lab, "volts"), "volts");
    cr_expect_str_eq(readings(&lab, "lamp"), "lamp", "a value without an atom");
    cr_expect_eq(depth(&lab, "end"), 2u);
    cr_expect_eq(depth(&lab, "low"), 1u);
    cr_expect_eq(depth(&lab, "volts"), 0u);
    cr_expect_eq(depth(&lab, "lamp"), 0u);
    cw_fact_id one[1];
    cr_expect_eq(cw_chain_readings(lab.chain, lab_find(&lab, "end"), one, 1), 2u, "as many as there are");
    cr_expect_eq(one[0], lab_find(&lab, "in"));
    cr_expect_eq(cw_chain_readings(lab.chain, 0, one, 1), 0u);
    cr_expect_eq(cw_chain_depth(lab.chain, 99), 0u);
    lab_end(&lab);
}

Test(trace, the_first_reason_alone_is_followed)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_check(&lab, "direct", "no yes");
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "end", "no yes");
    lab_rule(&lab, "a=yes", "in=yes");
    lab_rule(&lab, "end=yes", "a=yes");
    lab_rule(&lab, "end=yes", "direct=yes");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    lab_answer(&lab, "direct=yes");
    cr_expect_str_eq(readings(&lab, "end"), "direct");
    cr_expect_eq(depth(&lab, "end"), 1u);
    lab_withdraw(&lab, "direct");
    cr_expect_str_eq(readings(&lab, "end"), "in");
    cr_expect_eq(depth(&lab, "end"), 2u);
    lab_end(&lab);
}

Test(trace, at_least_rests_on_the_nearest_that_suffice)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "p", "no yes");
    lab_check(&lab, "q", "no yes");
    lab_check(&lab, "r", "no yes");
    lab_fact(&lab, "far", "no yes");
    lab_fact(&lab, "two", "no yes");
    lab_rule(&lab, "far=yes", "p=yes");
    lab_fact(&lab, "one", "no yes");
    lab_at_least(&lab, 2, "two=yes", "far=yes, q=yes, r=yes");
    lab_at_least(&lab, 1, "one=yes", "far=yes, q=yes, r=yes");
    lab_start(&lab);
    lab_answer(&lab, "p=yes");
    lab_answer(&lab, "q=yes");
    cr_expect_str_eq(readings(&lab, "two"), "p q");
    lab_answer(&lab, "r=yes");
    cr_expect_str_eq(readings(&lab, "two"), "q r");
    cr_expect_eq(depth(&lab, "two"), 1u);
    cr_expect_str_eq(readings(&lab, "one"), "q", "the first of two that are equally near");
    lab_end(&lab);
}

Test(trace, formulas_rest_on_what_they_read)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "stud", "measure");
    lab_check(&lab, "battery", "measure");
    lab_check(&lab, "ribs", "count 6");
    lab_check(&lab, "ran", "no yes");
    lab_fact(&lab, "loss", "measure");
    lab_fact(&lab, "share", "measure");
    lab_fact(&lab, "bad", "no yes");
    lab_rule(&lab, "loss = stud - battery", "ran=yes");
    lab_rule(&lab, "share = loss / ribs", "");
    lab_rule(&lab, "bad=yes", "share>0.1");
    lab_start(&lab);
    lab_answer(&lab, "ribs=4");
    lab_answer(&lab, "stud=14");
    lab_answer(&lab, "battery=13");
    lab_answer(&lab, "ran=yes");
    cr_expect_str_eq(readings(&lab, "bad"), "stud battery ribs ran");
    cr_expect_str_eq(readings(&lab, "loss"), "stud battery ran");
    cr_expect_eq(depth(&lab, "bad"), 3u);
    cr_expect_eq(depth(&lab, "share"), 2u);
    cr_expect_eq(depth(&lab, "loss"), 1u);
    lab_end(&lab);
}

/* Inner steps of a nested condition are no rules that anybody has written. */
Test(trace, steps_are_not_counted)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "p", "no yes");
    lab_check(&lab, "q", "no yes");
    lab_fact(&lab, "end", "no yes");
    lab_rule(&lab, "#either", "p=yes");
    lab_rule(&lab, "#either", "q=yes");
    lab_rule(&lab, "end=yes", "#either");
    lab_start(&lab);
    lab_answer(&lab, "q=yes");
    cr_expect_eq(depth(&lab, "end"), 1u);
    cr_expect_str_eq(readings(&lab, "end"), "q");
    lab_end(&lab);
}

Test(trace, in_a_conflict_all_sides_are_followed)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off glow on");
    lab_check(&lab, "hot", "no yes");
    lab_check(&lab, "cold", "no yes");
    lab_check(&lab, "loss", "measure");
    lab_check(&lab, "stud", "measure");
    lab_rule(&lab, "lamp=on", "hot=yes");
    lab_rule(&lab, "lamp=off", "cold=yes");
    lab_check(&lab, "drop", "measure");
    lab_rule(&lab, "loss = 2 * stud", "hot=yes");
    lab_rule(&lab, "loss = 3 * drop", "drop>5");
    lab_start(&lab);
    lab_answer(&lab, "hot=yes");
    lab_answer(&lab, "cold=yes");
    cr_expect_str_eq(readings(&lab, "lamp"), "hot cold");
    lab_answer(&lab, "lamp=glow");
    cr_expect_str_eq(readings(&lab, "lamp"), "lamp hot cold");
    lab_answer(&lab, "stud=3");
    lab_answer(&lab, "loss=1");
    cr_expect_str_eq(readings(&lab, "loss"), "hot loss stud");
    lab_answer(&lab, "drop=5+-1"); /* a doubtful side is none */
    cr_expect_str_eq(readings(&lab, "loss"), "hot loss stud");
    lab_answer(&lab, "drop=7+-1");
    cr_expect_str_eq(readings(&lab, "loss"), "hot loss stud drop");
    lab_end(&lab);
}

Test(trace, doubtful_conclusions_have_readings_too)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "volts", "measure");
    lab_check(&lab, "in", "no yes");
    lab_fact(&lab, "low", "no yes");
    lab_rule(&lab, "low=yes", "volts<12, in=yes");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    lab_answer(&lab, "volts=12+-1");
    cr_expect_str_eq(readings(&lab, "low"), "volts in");
    cr_expect_eq(depth(&lab, "low"), 1u);
    lab_end(&lab);
}

/* Visited nodes carry the number of the round; when the numbers begin anew the old ones must not be taken for
 * it. */
Test(trace, rounds_may_run_over)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_fact(&lab, "end", "no yes");
    lab_rule(&lab, "end=yes", "in=yes");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    cr_expect_str_eq(readings(&lab, "end"), "in"); /* round 1 */
    lab.chain->scratch->round = UINT32_MAX;
    cr_expect_str_eq(readings(&lab, "end"), "in"); /* round 1 again */
    lab_end(&lab);
}
