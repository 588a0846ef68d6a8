/* Chaining: loops, counting, absence, doubt, and how much is touched. */
#include "chain/lab.h"
#include "support/random.h"

#include <criterion/criterion.h>
#include <stdio.h>

Test(fire, a_loop_falls_when_its_outside_support_goes)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_check(&lab, "also", "no yes");
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_fact(&lab, "c", "no yes");
    lab_rule(&lab, "a=yes", "in=yes");
    lab_rule(&lab, "b=yes", "a=yes");
    lab_rule(&lab, "c=yes", "b=yes");
    lab_rule(&lab, "a=yes", "c=yes");
    lab_rule(&lab, "c=yes", "also=yes");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    lab_answer(&lab, "also=yes");
    lab_withdraw(&lab, "in");
    char text[64];
    expect_truth(&lab, "b=yes", CW_YES);
    cr_expect_str_eq(lab_reasons(&lab, "a=yes", text, sizeof text), "4", "held from the other side now");
    lab_withdraw(&lab, "also");
    expect_truth(&lab, "a=yes", CW_NO);
    expect_truth(&lab, "b=yes", CW_NO);
    expect_truth(&lab, "c=yes", CW_NO);
    lab_end(&lab);
}

Test(fire, a_loop_through_known_falls_too)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_fact(&lab, "a", "no yes");
    lab_rule(&lab, "a=yes", "in=yes");
    lab_rule(&lab, "a=yes", "a?");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    expect_truth(&lab, "a?", CW_YES);
    lab_answer(&lab, "in=no");
    expect_truth(&lab, "a=yes", CW_NO);
    expect_truth(&lab, "a?", CW_NO);
    lab_end(&lab);
}

Test(fire, at_least_counts_and_weakest_of_the_strongest_decides)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "a", "measure");
    lab_check(&lab, "b", "measure");
    lab_check(&lab, "c", "measure");
    lab_fact(&lab, "two", "no yes");
    lab_at_least(&lab, 2, "two=yes", "a>5, b>5, c>5");
    lab_start(&lab);
    lab_answer(&lab, "a=9");
    expect_truth(&lab, "two=yes", CW_NO);
    lab_answer(&lab, "b=5.1+-0.5");
    expect_truth(&lab, "two=yes", CW_DOUBTFUL);
    lab_answer(&lab, "c=7");
    expect_truth(&lab, "two=yes", CW_YES);
    lab_answer(&lab, "a=1");
    expect_truth(&lab, "two=yes", CW_DOUBTFUL);
    lab_answer(&lab, "b=1");
    expect_truth(&lab, "two=yes", CW_NO);
    lab_end(&lab);
}

Test(fire, absence_turns_the_scale_round)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "volts", "measure");
    lab_fact(&lab, "high", "no yes");
    lab_fact(&lab, "calm", "no yes");
    lab_fact(&lab, "loud", "no yes");
    lab_rule(&lab, "high=yes", "volts>15");
    lab_rule(&lab, "calm=yes", "~high=yes");
    lab_rule(&lab, "loud=yes", "~calm=yes");
    lab_start(&lab);
    expect_truth(&lab, "calm=yes", CW_YES); /* before anything is answered */
    lab_answer(&lab, "volts=15.05+-0.1");
    expect_truth(&lab, "high=yes", CW_DOUBTFUL);
    expect_truth(&lab, "calm=yes", CW_DOUBTFUL);
    expect_truth(&lab, "loud=yes", CW_DOUBTFUL);
    lab_answer(&lab, "volts=16+-0.1");
    expect_truth(&lab, "calm=yes", CW_NO);
    expect_truth(&lab, "loud=yes", CW_YES);
    lab_withdraw(&lab, "volts");
    expect_truth(&lab, "calm=yes", CW_YES);
    expect_truth(&lab, "loud=yes", CW_NO);
    lab_end(&lab);
}

Test(fire, a_rule_without_premises_holds_and_one_that_wants_too_many_never)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "in", "no yes");
    lab_fact(&lab, "always", "no yes");
    lab_fact(&lab, "never", "no yes");
    lab_rule(&lab, "always=yes", "");
    lab_at_least(&lab, 3, "never=yes", "in=yes, always=yes");
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    expect_truth(&lab, "always=yes", CW_YES);
    expect_truth(&lab, "never=yes", CW_NO);
    lab_end(&lab);
}

/* A doubtful way and a sure one: the sure one counts, and the doubtful one stays when it goes. */
Test(fire, the_strongest_rule_counts)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "volts", "measure");
    lab_check(&lab, "seen", "no yes");
    lab_fact(&lab, "low", "no yes");
    lab_rule(&lab, "low=yes", "volts<12");
    lab_rule(&lab, "low=yes", "seen=yes");
    lab_start(&lab);
    lab_answer(&lab, "volts=12+-0.2");
    lab_answer(&lab, "seen=yes");
    char text[64];
    expect_truth(&lab, "low=yes", CW_YES);
    cr_expect_str_eq(lab_reasons(&lab, "low=yes", text, sizeof text), "2 1?");
    lab_withdraw(&lab, "seen");
    expect_truth(&lab, "low=yes", CW_DOUBTFUL);
    cr_expect_str_eq(lab_reasons(&lab, "low=yes", text, sizeof text), "1?");
    lab_end(&lab);
}

/* One chain of rules that is touched beside so many others that are not. */
static chain_lab crowd(uint32_t others)
{
    chain_lab lab = lab_new();
    char head[32], premises[64];
    lab_check(&lab, "in", "no yes");
    lab_check(&lab, "volts", "measure");
    lab_check(&lab, "other", "no yes");
    for (uint32_t i = 0; i <= 50; i++) {
        snprintf(head, sizeof head, "t%u", i);
        lab_fact(&lab, head, "no yes");
    }
    for (uint32_t i = 0; i < others; i++) {
        snprintf(head, sizeof head, "u%u", i);
        lab_fact(&lab, head, "no yes");
    }
    lab_rule(&lab, "t0=yes", "in=yes");
    lab_rule(&lab, "t0=no", "volts<5");
    for (uint32_t i = 0; i < 50; i++) {
        snprintf(head, sizeof head, "t%u=yes", i + 1);
        snprintf(premises, sizeof premises, "t%u=yes, ~t%u=no", i, i);
        lab_rule(&lab, head, premises);
    }
    for (uint32_t i = 0; i < others; i++) {
        snprintf(head, sizeof head, "u%u=yes", i);
        snprintf(premises, sizeof premises, "u%u=yes, other=yes", i == 0 ? 0 : i - 1);
        lab_rule(&lab, head, i % 2 ? premises : "other=yes");
    }
    lab_start(&lab);
    return lab;
}

static void steps_of_moves(chain_lab *lab, uint64_t steps[5])
{
    lab_answer(lab, "other=no");
    lab_answer(lab, "in=yes");
    steps[0] = cw_chain_steps(lab->chain);
    lab_answer(lab, "volts=5+-1");
    steps[1] = cw_chain_steps(lab->chain);
    lab_answer(lab, "volts=1+-1");
    steps[2] = cw_chain_steps(lab->chain);
    lab_withdraw(lab, "volts");
    steps[3] = cw_chain_steps(lab->chain);
    lab_withdraw(lab, "in");
    steps[4] = cw_chain_steps(lab->chain);
}

Test(fire, what_is_not_touched_costs_nothing)
{
    chain_lab few = crowd(30), many = crowd(3000);
    uint64_t a[5], b[5];
    steps_of_moves(&few, a);
    steps_of_moves(&many, b);
    for (int i = 0; i < 5; i++) {
        cr_expect_eq(a[i], b[i], "move %d: %llu steps, %llu with the crowd", i, (unsigned long long)a[i],
                     (unsigned long long)b[i]);
        cr_expect_gt(a[i], 0u);
    }
    cr_expect_gt(a[0], 50u, "the fifty rules are touched");
    lab_end(&few);
    lab_end(&many);
}

/* Steps grow with the rules touched, no faster: a wide rule is not looked through again for each of its
 * premises, whether they come, go, or change how far they are from the answers. */
static uint64_t wide_steps(uint32_t width, uint32_t need)
{
    chain_lab lab = lab_new();
    char head[32];
    lab_check(&lab, "in", "no yes");
    lab_check(&lab, "near", "no yes");
    lab_fact(&lab, "far", "no yes");
    lab_fact(&lab, "wide", "no yes");
    lab_rule(&lab, "far=yes", "in=yes");
    for (uint32_t i = 0; i < width; i++) {
        snprintf(head, sizeof head, "p%u", i);
        lab_fact(&lab, head, "no yes");
        snprintf(head, sizeof head, "p%u=yes", i);
        lab_rule(&lab, head, "far=yes");
        lab_rule(&lab, head, "near=yes");
    }
    cw_premise premises[400];
    for (uint32_t i = 0; i < width; i++) {
        snprintf(head, sizeof head, "p%u=yes", i);
        premises[i] = (cw_premise){lab_atom(&lab, head), false};
    }
    cw_builder_rule(lab.builder, lab_atom(&lab, "wide=yes"), premises, width, need, 0);
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    uint64_t steps = cw_chain_steps(lab.chain);
    expect_truth(&lab, "wide=yes", CW_YES);
    lab_answer(&lab, "near=yes");
    steps += cw_chain_steps(lab.chain);
    cr_expect_eq(cw_chain_rank(lab.chain, lab_atom(&lab, "wide=yes")), 2);
    lab_withdraw(&lab, "near");
    steps += cw_chain_steps(lab.chain);
    cr_expect_eq(cw_chain_rank(lab.chain, lab_atom(&lab, "wide=yes")), 3);
    lab_withdraw(&lab, "in");
    steps += cw_chain_steps(lab.chain);
    expect_truth(&lab, "wide=yes", CW_NO);
    lab_end(&lab);
    return steps;
}

Test(fire, a_wide_rule_costs_its_width)
{
    const uint32_t needs[] = {1, 20, 40};
    for (int i = 0; i < 3; i++) {
        uint64_t narrow = wide_steps(40, needs[i]), wide = wide_steps(400, needs[i] == 40 ? 400 : needs[i]);
        cr_expect_leq(wide, 11 * narrow, "at least %u: %llu, then %llu", needs[i], (unsigned long long)narrow,
                      (unsigned long long)wide);
    }
}

/* A rule waits until the layer below is complete, though all that it wants is there before that. */
Test(fire, what_belongs_to_a_later_layer_waits_for_it)
{
    enum { FOLLOWERS = 100, WAY = 10 };
    chain_lab lab = lab_new();
    char head[32], premises[32];
    lab_check(&lab, "in", "no yes");
    lab_fact(&lab, "soon", "no yes");
    for (int i = 0; i <= WAY; i++) {
        snprintf(head, sizeof head, "way%d", i);
        lab_fact(&lab, head, "no yes");
        snprintf(head, sizeof head, "way%d=yes", i);
        snprintf(premises, sizeof premises, "way%d=yes", i - 1);
        lab_rule(&lab, head, i == 0 ? "in=yes" : premises);
    }
    lab_rule(&lab, "soon=yes", "in=yes, ~way10=yes");
    for (int i = 0; i < FOLLOWERS; i++) {
        snprintf(head, sizeof head, "u%d", i);
        lab_fact(&lab, head, "no yes");
        snprintf(head, sizeof head, "u%d=yes", i);
        lab_rule(&lab, head, "soon=yes");
    }
    lab_start(&lab);
    lab_answer(&lab, "in=yes");
    expect_truth(&lab, "way10=yes", CW_YES);
    expect_truth(&lab, "soon=yes", CW_NO);
    cr_expect_lt(cw_chain_steps(lab.chain), (uint64_t)FOLLOWERS, "none of the followers is touched");
    lab_end(&lab);
}

/* At least k of sixty, answered, changed and withdrawn at random: what holds is what counting says. */
Test(fire, counting_agrees_with_counting)
{
    enum { WIDTH = 70 };
    static const char *const answers[] = {"9", "5+-1", "1", "?"};
    random_state random = random_start(60);
    chain_lab lab = lab_new();
    char text[32];
    cw_premise premises[WIDTH];
    for (uint32_t i = 0; i < WIDTH; i++) {
        snprintf(text, sizeof text, "p%u", i);
        lab_check(&lab, text, "measure");
        snprintf(text, sizeof text, "p%u>5", i);
        premises[i] = (cw_premise){lab_atom(&lab, text), i % 5 == 4};
    }
    cw_atom_id heads[WIDTH + 1];
    for (uint32_t need = 1; need <= WIDTH; need++) {
        snprintf(text, sizeof text, "k%u", need);
        lab_fact(&lab, text, "no yes");
        snprintf(text, sizeof text, "k%u=yes", need);
        heads[need] = lab_atom(&lab, text);
        cw_builder_rule(lab.builder, heads[need], premises, WIDTH, need, 0);
    }
    lab_start(&lab);
    cw_truth truths[WIDTH] = {CW_NO};
    static const cw_truth says[] = {CW_YES, CW_DOUBTFUL, CW_NO, CW_NO};
    for (int move = 0; move < 600; move++) {
        uint32_t i = random_below(&random, WIDTH), a = random_below(&random, 4), sure = 0, maybe = 0;
        snprintf(text, sizeof text, "p%u=%s", i, answers[a]);
        lab_answer(&lab, text);
        truths[i] = says[a];
        for (uint32_t k = 0; k < WIDTH; k++) {
            cw_truth truth = k % 5 == 4 ? (cw_truth)(CW_YES - truths[k]) : truths[k];
            sure += truth == CW_YES;
            maybe += truth >= CW_DOUBTFUL;
        }
        for (uint32_t need = 1; need <= WIDTH; need++)
            cr_assert_eq(cw_chain_truth(lab.chain, heads[need]),
                         sure >= need    ? CW_YES
                         : maybe >= need ? CW_DOUBTFUL
                                         : CW_NO,
                         "move %d, at least %u", move, need);
    }
    lab_end(&lab);
}

/* Sixty odd is where how far a rule has come no longer fits into one number. What lies further from the
 * answers by a rule comes later, and what is doubtful makes the rule doubtful. */
Test(fire, a_rule_of_any_width_waits_for_the_last_of_its_premises)
{
    enum { WIDEST = 66 };
    random_state random = random_start(61);
    chain_lab lab = lab_new();
    char text[32], other[32];
    cw_premise premises[WIDEST];
    cw_atom_id heads[WIDEST + 1];
    for (uint32_t i = 0; i < WIDEST; i++) {
        snprintf(text, sizeof text, "p%u", i);
        lab_check(&lab, text, "measure");
        snprintf(text, sizeof text, "q%u", i);
        lab_fact(&lab, text, "no yes");
        snprintf(text, sizeof text, "q%u=yes", i);
        snprintf(other, sizeof other, "p%u>5", i);
        lab_rule(&lab, text, other);
        premises[i] = (cw_premise){lab_atom(&lab, i % 2 == 0 ? text : other), false};
    }
    for (uint32_t wide = 1; wide <= WIDEST; wide++) {
        snprintf(text, sizeof text, "k%u", wide);
        lab_fact(&lab, text, "no yes");
        snprintf(text, sizeof text, "k%u=yes", wide);
        heads[wide] = lab_atom(&lab, text);
        cw_builder_rule(lab.builder, heads[wide], premises, wide, wide, 0);
    }
    lab_start(&lab);
    for (int round = 0; round < 8; round++) {
        cw_truth truths[WIDEST] = {CW_NO};
        bool given[WIDEST] = {false};
        for (uint32_t move = 0; move < 4 * WIDEST; move++) {
            const uint32_t i = random_below(&random, WIDEST), sure = random_below(&random, 12);
            snprintf(text, sizeof text, "p%u=%s", i, sure > 1 ? "9" : sure > 0 ? "5+-1" : "1");
            lab_answer(&lab, text);
            given[i] = true;
            truths[i] = sure > 1 ? CW_YES : sure > 0 ? CW_DOUBTFUL : CW_NO;
            cw_truth least = CW_YES;
            for (uint32_t wide = 1; wide <= WIDEST; wide++) {
                least = truths[wide - 1] < least ? truths[wide - 1] : least;
                cr_assert_eq(cw_chain_truth(lab.chain, heads[wide]), least, "round %d, %u premises", round,
                             wide);
            }
        }
        for (uint32_t i = 0; i < WIDEST; i++) {
            snprintf(text, sizeof text, "p%u", i);
            if (given[i])
                lab_withdraw(&lab, text);
        }
    }
    lab_end(&lab);
}

Test(fire, without_doubt_nothing_is_spent_on_it)
{
    chain_lab lab = lab_new();
    lab_check(&lab, "volts", "measure");
    lab_fact(&lab, "low", "no yes");
    lab_fact(&lab, "flat", "no yes");
    lab_rule(&lab, "low=yes", "volts<12");
    lab_rule(&lab, "flat=yes", "low=yes");
    lab_start(&lab);
    lab_answer(&lab, "volts=11+-0.5");
    uint64_t sure = cw_chain_steps(lab.chain);
    lab_withdraw(&lab, "volts");
    lab_answer(&lab, "volts=11");
    cr_expect_eq(cw_chain_steps(lab.chain), sure, "an error that leaves no doubt costs nothing");
    lab_end(&lab);
}

/* Doubtful is neither there nor absent, and both half-way: a rule may want both of one atom. */
Test(fire, an_atom_wanted_there_and_absent_by_one_rule)
{
    static const char *const readings[] = {"m=1", "m=5+-1", "m=9", "other=1", "other=5+-1", "other=9"};
    chain_lab lab = lab_new();
    lab_check(&lab, "m", "measure");
    lab_check(&lab, "other", "measure");
    lab_fact(&lab, "a", "no yes");
    lab_fact(&lab, "b", "no yes");
    lab_fact(&lab, "both", "no yes");
    lab_fact(&lab, "turned", "no yes");
    lab_fact(&lab, "two", "no yes");
    lab_rule(&lab, "a=yes", "m>5");
    lab_rule(&lab, "b=yes", "other>5");
    lab_rule(&lab, "both=yes", "a=yes, b=yes, ~a=yes");
    lab_rule(&lab, "turned=yes", "~a=yes, b=yes, a=yes");
    lab_at_least(&lab, 2, "two=yes", "a=yes, b=yes, ~a=yes");
    lab_start(&lab);
    random_state random = random_start(611);
    for (int round = 0; round < 300; round++) {
        lab_answer(&lab, readings[random_below(&random, 6)]);
        const cw_truth a = lab_truth(&lab, "a=yes"), b = lab_truth(&lab, "b=yes");
        const cw_truth not_a = (cw_truth)(CW_YES - a);
        const cw_truth weaker = a < not_a ? a : not_a, stronger = a < not_a ? not_a : a;
        expect_truth(&lab, "both=yes", weaker < b ? weaker : b);
        expect_truth(&lab, "turned=yes", weaker < b ? weaker : b);
        const cw_truth second = b < weaker ? weaker : b < stronger ? b : stronger;
        expect_truth(&lab, "two=yes", second);
    }
    lab_end(&lab);
}
