/* Two values of one fact: both hold, and the fact is in conflict until one goes. */
#include "chain/lab.h"

#include <criterion/criterion.h>

static size_t conflicts(const chain_lab *lab, cw_fact_id *facts)
{
    return cw_chain_conflicts(lab->chain, facts, 8);
}

Test(conflict, rules_and_answers_that_differ)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off glow on");
    lab_check(&lab, "hot", "no yes");
    lab_fact(&lab, "a", "no yes");
    lab_rule(&lab, "lamp=on", "hot=yes");
    lab_rule(&lab, "a=yes", "lamp=on");
    lab_rule(&lab, "a=no", "lamp=off");
    lab_start(&lab);
    cw_fact_id lamp = lab_find(&lab, "lamp"), a = lab_find(&lab, "a"), found[8];
    uint32_t value;
    lab_answer(&lab, "hot=yes");
    cr_expect_eq(cw_chain_value(lab.chain, lamp, &value), CW_KNOWN);
    lab_answer(&lab, "lamp=off");
    cr_expect_eq(cw_chain_value(lab.chain, lamp, &value), CW_CONFLICT);
    expect_truth(&lab, "lamp=on", CW_YES);
    expect_truth(&lab, "lamp=off", CW_YES);
    cr_assert_eq(conflicts(&lab, found), 2u, "and what follows from both is one as well");
    cr_expect(found[0] == lamp && found[1] == a && lamp < a, "in order of id");
    cr_expect_eq(cw_chain_conflicts(lab.chain, found, 1), 2u, "no more than there is room for");
    lab_answer(&lab, "lamp=on");
    cr_expect_eq(conflicts(&lab, found), 0u);
    cr_expect_eq(cw_chain_value(lab.chain, lamp, &value), CW_KNOWN);
    lab_end(&lab);
}

Test(conflict, an_answer_without_an_atom_can_be_in_conflict)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "lamp", "off glow on");
    lab_check(&lab, "hot", "no yes");
    lab_rule(&lab, "lamp=on", "hot=yes");
    lab_start(&lab);
    cw_fact_id found[8];
    lab_answer(&lab, "lamp=glow");
    lab_answer(&lab, "hot=yes");
    cr_expect_eq(conflicts(&lab, found), 1u);
    lab_answer(&lab, "hot=no");
    cr_expect_eq(conflicts(&lab, found), 0u);
    lab_end(&lab);
}

Test(conflict, doubt_is_no_conflict)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "volts", "measure");
    lab_check(&lab, "state", "low high");
    lab_rule(&lab, "state=low", "volts<12");
    lab_rule(&lab, "state=high", "volts>12");
    lab_start(&lab);
    cw_fact_id found[8], state = lab_find(&lab, "state");
    uint32_t value;
    lab_answer(&lab, "volts=12+-0.5");
    cr_expect_eq(cw_chain_value(lab.chain, state, &value), CW_DOUBTFUL_FACT);
    lab_answer(&lab, "state=high");
    cr_expect_eq(cw_chain_value(lab.chain, state, &value), CW_KNOWN, "a sure value beside a doubtful one");
    cr_expect_eq(value, 1u);
    cr_expect_eq(conflicts(&lab, found), 0u);
    lab_answer(&lab, "volts=11+-0.5");
    cr_expect_eq(conflicts(&lab, found), 1u);
    lab_end(&lab);
}

Test(conflict, numbers_conflict_beyond_twice_their_joint_error)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "loss", "measure");
    lab_check(&lab, "stud", "measure");
    lab_fact(&lab, "more", "measure");
    lab_rule(&lab, "loss = stud - 10", "");
    lab_rule(&lab, "more = 2 * loss", "");
    lab_start(&lab);
    cw_fact_id found[8];
    double value, error;
    lab_answer(&lab, "stud=12+-0.3");
    const struct {
        const char *answer;
        size_t conflicts;
    } rows[] = {
        {"loss=3+-0.4", 0}, /* joint error 0.5: 1 apart is just within */
        {"loss=3.1+-0.4", 1}, {"loss=1+-0.4", 0}, {"loss=0.9+-0.4", 1}, {"loss=0.9+-4", 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        lab_answer(&lab, rows[i].answer);
        cr_expect_eq(conflicts(&lab, found), rows[i].conflicts, "%s", rows[i].answer);
        cr_expect_eq(cw_chain_number(lab.chain, lab_find(&lab, "more"), &value, &error),
                     rows[i].conflicts > 0 ? CW_UNKNOWN : CW_KNOWN, "nothing is worked out from a conflict");
    }
    lab_answer(&lab, "stud=10.2");
    lab_answer(&lab, "loss=0.2"); /* 10.2 - 10 is not 0.2 in binary: no conflict of that */
    cr_expect_eq(conflicts(&lab, found), 0u);
    lab_answer(&lab, "loss=0.2000001");
    cr_expect_eq(conflicts(&lab, found), 1u);
    lab_end(&lab);
}

Test(conflict, the_list_stays_sorted)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "x", "no yes");
    lab_check(&lab, "y", "no yes");
    lab_check(&lab, "z", "no yes");
    lab_rule(&lab, "x=no", "");
    lab_rule(&lab, "y=no", "");
    lab_rule(&lab, "z=no", "");
    lab_start(&lab);
    cw_fact_id x = lab_find(&lab, "x"), y = lab_find(&lab, "y"), z = lab_find(&lab, "z"), found[8];
    lab_answer(&lab, "z=yes");
    lab_answer(&lab, "x=yes");
    lab_answer(&lab, "y=yes");
    cr_assert_eq(conflicts(&lab, found), 3u);
    cr_expect(found[0] == x && found[1] == y && found[2] == z);
    lab_withdraw(&lab, "y");
    cr_assert_eq(conflicts(&lab, found), 2u);
    cr_expect(found[0] == x && found[1] == z);
    lab_withdraw(&lab, "z");
    lab_withdraw(&lab, "x");
    cr_expect_eq(conflicts(&lab, found), 0u);
    lab_end(&lab);
}
