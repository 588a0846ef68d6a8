/* Reasons: all of them, the grounded one first. */
#include "chain/lab.h"

#include <criterion/criterion.h>

static const char *reasons(chain_lab *lab, const char *atom)
{
    static char text[128];
    return lab_reasons(lab, atom, text, sizeof text);
}

Test(why, the_answer_comes_first_then_the_rules)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off on");
    lab_check(&lab, "hot", "no yes");
    lab_check(&lab, "dark", "no yes");
    lab_rule(&lab, "lamp=on", "dark=yes");
    lab_rule(&lab, "lamp=on", "hot=yes");
    lab_start(&lab);
    cr_expect_str_eq(reasons(&lab, "lamp=on"), "");
    lab_answer(&lab, "hot=yes");
    cr_expect_str_eq(reasons(&lab, "lamp=on"), "2");
    lab_answer(&lab, "dark=yes");
    cr_expect_str_eq(reasons(&lab, "lamp=on"), "1 2", "equally near: the rule with the lower number");
    lab_answer(&lab, "lamp=on");
    cr_expect_str_eq(reasons(&lab, "lamp=on"), "answer 1 2");
    cw_reason one;
    cr_expect_eq(cw_chain_reasons(lab.chain, lab_atom(&lab, "lamp=on"), &one, 1), 3u, "as many as there are");
    cr_expect_eq(one.rule, 0u);
    lab_end(&lab);
}

Test(why, the_shorter_way_is_the_first_reason_whatever_came_first)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_check(&lab, "direct", "no yes");
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_fact(&lab, "end", "no yes");
    lab_rule(&lab, "a=yes", "in=yes");
    lab_rule(&lab, "b=yes", "a=yes");
    lab_rule(&lab, "end=yes", "b=yes");
    lab_rule(&lab, "end=yes", "direct=yes");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    cr_expect_str_eq(reasons(&lab, "end=yes"), "3");
    lab_answer(&lab, "direct=yes");
    cr_expect_str_eq(reasons(&lab, "end=yes"), "4 3");
    lab_withdraw(&lab, "in");
    lab_answer(&lab, "in=yes");
    cr_expect_str_eq(reasons(&lab, "end=yes"), "4 3", "the order of answers has no say");
    lab_withdraw(&lab, "direct");
    cr_expect_str_eq(reasons(&lab, "end=yes"), "3");
    lab_end(&lab);
}

Test(why, a_member_of_a_loop_shows_the_way_in_first)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_rule(&lab, "a=yes", "b=yes");
    lab_rule(&lab, "b=yes", "a=yes");
    lab_rule(&lab, "b=yes", "in=yes");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    cr_expect_str_eq(reasons(&lab, "b=yes"), "3 2");
    cr_expect_str_eq(reasons(&lab, "a=yes"), "1");
    lab_end(&lab);
}

Test(why, bands_and_known_rest_on_what_gives_the_value)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "stud", "measure");
    lab_check(&lab, "loss", "measure");
    lab_fact(&lab, "state", "low high");
    lab_fact(&lab, "told", "no yes");
    uint32_t works_out = lab_rule(&lab, "loss = stud - 12", "");
    uint32_t high = lab_rule(&lab, "state=high", "loss>1");
    lab_rule(&lab, "told=yes", "state?, loss?");
    lab_start(&lab);
    cr_assert(works_out == 1 && high == 2);
    lab_answer(&lab, "stud=14");
    cr_expect_str_eq(reasons(&lab, "loss>1"), "1");
    cr_expect_str_eq(reasons(&lab, "loss?"), "1");
    cr_expect_str_eq(reasons(&lab, "state?"), "2");
    lab_answer(&lab, "loss=2+-1.5");
    cr_expect_str_eq(reasons(&lab, "loss>1"), "1 answer?", "the answer alone leaves a doubt");
    cr_expect_str_eq(reasons(&lab, "loss?"), "answer 1");
    lab_end(&lab);
}

Test(why, what_does_not_hold_has_no_reasons)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "volts", "measure");
    lab_fact(&lab, "low", "no yes");
    lab_rule(&lab, "low=yes", "volts<5");
    lab_start(&lab);
    cw_reason one;
    cr_expect_eq(cw_chain_reasons(lab.chain, 0, &one, 1), 0u);
    cr_expect_eq(cw_chain_reasons(lab.chain, 99, &one, 1), 0u);
    cr_expect_eq(cw_chain_number_reasons(lab.chain, lab_find(&lab, "volts"), &one, 1), 0u);
    cr_expect_eq(cw_chain_number_reasons(lab.chain, lab_find(&lab, "low"), &one, 1), 0u);
    lab_answer(&lab, "volts=7");
    cr_expect_str_eq(reasons(&lab, "volts<5"), "");
    cr_expect_eq(cw_chain_number_reasons(lab.chain, lab_find(&lab, "volts"), &one, 1), 1u);
    lab_end(&lab);
}

/* in -> a -> b; volts below 5, in doubt -> e. */
Test(why, rank_counts_rules_from_the_answers)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_check(&lab, "volts", "measure");
    for (const char *const *name = (const char *const[]){"a", "b", "e", NULL}; *name != NULL; name++)
        lab_fact(&lab, *name, "no yes");
    lab_rule(&lab, "a=yes", "in=yes");
    lab_rule(&lab, "b=yes", "a=yes");
    lab_rule(&lab, "e=yes", "volts<5");
    lab_start(&lab);
    const cw_fact_id volts = lab_find(&lab, "volts");
    cr_expect_eq(cw_chain_rank(lab.chain, 0), UINT32_MAX);
    cr_expect_eq(cw_chain_rank(lab.chain, lab.model->atoms_count + 1), UINT32_MAX);
    cr_expect_eq(cw_chain_rank(lab.chain, lab_atom(&lab, "in=yes")), UINT32_MAX);
    cr_expect_eq(cw_chain_number_rank(lab.chain, volts), UINT32_MAX);
    cr_expect_eq(cw_chain_number_rank(lab.chain, lab_find(&lab, "in")), UINT32_MAX);
    lab_answer(&lab, "in=yes");
    lab_answer(&lab, "volts=5+-1");
    const uint32_t in = cw_chain_rank(lab.chain, lab_atom(&lab, "in=yes"));
    const uint32_t a = cw_chain_rank(lab.chain, lab_atom(&lab, "a=yes"));
    const uint32_t b = cw_chain_rank(lab.chain, lab_atom(&lab, "b=yes"));
    const uint32_t e = cw_chain_rank(lab.chain, lab_atom(&lab, "e=yes"));
    cr_expect(in == 0 && in < a && a < b);
    cr_expect(b < e && e < UINT32_MAX, "what is doubtful lies farther");
    cr_expect_eq(cw_chain_number_rank(lab.chain, volts), 0u);
    lab_end(&lab);
}
