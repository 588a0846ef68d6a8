/* What rests on a conflict counts neither way, unless there is a way around it. */
#include "chain/lab.h"

#include <criterion/criterion.h>

static bool contested(chain_lab *lab, const char *name)
{
    return cw_chain_contested(lab->chain, lab_find(lab, name));
}

static chain_lab in_conflict(void)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off on");
    lab_check(&lab, "hot", "no yes");
    lab_check(&lab, "other", "no yes");
    lab_rule(&lab, "lamp=on", "hot=yes");
    return lab;
}

Test(contest, what_follows_from_a_conflict_is_contested)
{
    chain_lab lab = in_conflict();
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_rule(&lab, "a=yes", "lamp=on");
    lab_rule(&lab, "b=yes", "a=yes, hot=yes");
    lab_start(&lab);
    lab_answer(&lab, "hot=yes");
    cr_expect_not(contested(&lab, "b"));
    lab_answer(&lab, "lamp=off");
    cr_expect(contested(&lab, "lamp"));
    cr_expect(contested(&lab, "a"));
    cr_expect(contested(&lab, "b"));
    cr_expect_not(contested(&lab, "hot"));
    lab_withdraw(&lab, "lamp");
    cr_expect_not(contested(&lab, "b"));
    lab_end(&lab);
}

Test(contest, another_way_clears_it)
{
    chain_lab lab = in_conflict();
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_rule(&lab, "a=yes", "lamp=on");
    lab_rule(&lab, "a=yes", "other=yes");
    lab_rule(&lab, "b=yes", "a=yes");
    lab_start(&lab);
    lab_answer(&lab, "hot=yes");
    lab_answer(&lab, "lamp=off");
    cr_expect(contested(&lab, "b"));
    lab_answer(&lab, "other=yes");
    cr_expect_not(contested(&lab, "a"));
    cr_expect_not(contested(&lab, "b"));
    cr_expect(contested(&lab, "lamp"));
    lab_end(&lab);
}

Test(contest, a_loop_does_not_clear_itself)
{
    chain_lab lab = in_conflict();
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_rule(&lab, "a=yes", "lamp=on");
    lab_rule(&lab, "b=yes", "a=yes");
    lab_rule(&lab, "a=yes", "b=yes");
    lab_start(&lab);
    lab_answer(&lab, "hot=yes");
    lab_answer(&lab, "lamp=off");
    cr_expect(contested(&lab, "a"));
    cr_expect(contested(&lab, "b"));
    lab_end(&lab);
}

Test(contest, at_least_two_of_three_may_do_without_the_contested_one)
{
    chain_lab lab = in_conflict();
    lab_check(&lab, "third", "no yes");
    lab_fact(&lab, "two", "no yes");
    lab_at_least(&lab, 2, "two=yes", "lamp=on, other=yes, third=yes");
    lab_start(&lab);
    lab_answer(&lab, "hot=yes");
    lab_answer(&lab, "lamp=off");
    lab_answer(&lab, "other=yes");
    cr_expect(contested(&lab, "two"));
    lab_answer(&lab, "third=yes");
    cr_expect_not(contested(&lab, "two"));
    lab_end(&lab);
}

Test(contest, numbers_and_bands_carry_it_on)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "loss", "measure");
    lab_check(&lab, "stud", "measure");
    lab_check(&lab, "lamp", "off on");
    lab_fact(&lab, "bad", "no yes");
    lab_fact(&lab, "more", "measure");
    lab_fact(&lab, "worse", "no yes");
    lab_rule(&lab, "loss = stud - 10", "");
    lab_rule(&lab, "bad=yes", "loss>1");
    lab_rule(&lab, "more = 2 * stud", "bad=yes");
    lab_rule(&lab, "worse=yes", "more>20");
    lab_start(&lab);
    lab_answer(&lab, "stud=12");
    cr_expect_not(contested(&lab, "worse"));
    lab_answer(&lab, "loss=5");
    cr_expect(contested(&lab, "bad"));
    cr_expect(contested(&lab, "more"), "its rule needs what is contested");
    cr_expect(contested(&lab, "worse"));
    lab_answer(&lab, "loss=2");
    cr_expect_not(contested(&lab, "worse"));
    lab_end(&lab);
}

/* a is doubtful and rests on the conflict; b is doubtful because a may be absent, which uses nothing the
 * conflict says. */
Test(contest, an_absence_is_clean)
{
    chain_lab lab = in_conflict();
    lab_check(&lab, "volts", "measure");
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_rule(&lab, "a=yes", "lamp=on, volts>12");
    lab_at_least(&lab, 2, "b=yes", "lamp=on, ~a=yes, volts>12");
    lab_start(&lab);
    lab_answer(&lab, "hot=yes");
    lab_answer(&lab, "lamp=off");
    lab_answer(&lab, "volts=12+-1");
    expect_truth(&lab, "b=yes", CW_DOUBTFUL);
    cr_expect(contested(&lab, "a"));
    cr_expect_not(contested(&lab, "b"));
    lab_end(&lab);
}

Test(contest, what_is_not_known_is_not_contested)
{
    chain_lab lab = in_conflict();
    lab_start(&lab);
    lab_answer(&lab, "hot=yes");
    lab_answer(&lab, "lamp=off");
    cr_expect_not(contested(&lab, "other"));
    cr_expect_not(cw_chain_contested(lab.chain, 0));
    cr_expect_not(cw_chain_contested(lab.chain, 99));
    lab_end(&lab);
}
