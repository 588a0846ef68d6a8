/* What comes first, beside the best policy there is, found by dynamic programming: a state is what each check
 * has answered and which repairs were made. Checks answer yes or no. */
#include "ask/policy.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { HYPOTHESES = 8, CHECKS = 8, NOT_YET = 0 };

typedef struct world {
    policy_problem problem;
    double chance[HYPOTHESES], left[HYPOTHESES], tables[CHECKS][2 * HYPOTHESES];
    policy_check checks[CHECKS];
    policy_repair repairs[HYPOTHESES];
    double *known; /* by state; below 0: not yet */
    bool ours;     /* follow policy_choose instead of the best */
    unsigned answers[CHECKS];
    uint32_t made; /* repairs */
} world;

typedef enum noise { SURE, OFTEN, ANY } noise;

static double draw(random_state *random, noise kind)
{
    bool high = random_below(random, 2) == 1;
    if (kind == SURE)
        return high;
    if (kind == ANY)
        return random_between(random, 0, 1);
    double slip = random_between(random, 0.02, 0.22);
    return high ? 1 - slip : slip;
}

static void deal(world *w, random_state *random, policy_aim aim, uint32_t hypotheses, uint32_t checks,
                 noise kind, bool varied)
{
    double sum = 0;
    *w = (world){.problem = {.aim = aim,
                             .hypothesis_count = hypotheses,
                             .check_count = checks,
                             .chance = w->chance,
                             .checks = w->checks,
                             .per_minute = 1,
                             .reach = {1, 1, 1, 1},
                             .sure = kind == SURE ? 1 - 1e-9 : 0.9,
                             .least_gain = 1e-9,
                             .max_steps = 200000}};
    for (uint32_t h = 0; h < hypotheses; h++)
        sum += w->chance[h] = -log(random_between(random, 1e-6, 1));
    for (uint32_t h = 0; h < hypotheses; h++)
        w->chance[h] /= sum;
    for (uint32_t c = 0; c < checks; c++) {
        double minutes = varied ? exp(random_between(random, 0, 3)) : 1;
        w->checks[c] = (policy_check){minutes, 1u << CW_AT_COUNTER, 2, w->tables[c]};
        for (uint32_t h = 0; h < hypotheses; h++) {
            w->tables[c][h] = draw(random, kind);
            w->tables[c][hypotheses + h] = 1 - w->tables[c][h];
        }
    }
    if (aim == POLICY_FIND)
        return;
    w->problem.repair_count = hypotheses - 1; /* the first hypothesis: nothing is wrong */
    w->problem.repairs = w->repairs;
    w->problem.left = w->left;
    for (uint32_t r = 0; r + 1 < hypotheses; r++) {
        w->repairs[r] =
            (policy_repair){.cures = 2u << r, .cost = varied ? 5 * exp(random_between(random, 0, 3)) : 20};
        w->left[r + 1] = 40 + w->repairs[r].cost;
    }
}

static size_t state_of(const world *w)
{
    size_t state = 0;
    for (uint32_t c = 0; c < w->problem.check_count; c++)
        state = state * 3 + w->answers[c];
    return state << w->problem.repair_count | w->made;
}

static double joint_of(const world *w, double *joint)
{
    double mass = 0;
    for (uint32_t h = 0; h < w->problem.hypothesis_count; h++) {
        joint[h] = w->chance[h];
        for (uint32_t c = 0; c < w->problem.check_count; c++)
            if (w->answers[c] != NOT_YET)
                joint[h] *= w->tables[c][(w->answers[c] - 1) * w->problem.hypothesis_count + h];
        for (uint32_t r = 0; r < w->problem.repair_count; r++)
            if ((w->made >> r & 1) != 0 && (w->repairs[r].cures >> h & 1) != 0)
                joint[h] = 0;
        mass += joint[h];
    }
    return mass;
}

/* Tells anything: some answer is likelier under one hypothesis still possible than under another. */
static bool tells(const world *w, const double *joint, uint32_t check)
{
    double low = 2, high = -1;
    for (uint32_t h = 0; h < w->problem.hypothesis_count; h++)
        if (joint[h] > 1e-12) {
            low = fmin(low, w->tables[check][h]);
            high = fmax(high, w->tables[check][h]);
        }
    return high - low > 1e-6;
}

static double follow(world *w);

static double after_check(world *w, uint32_t check, double mass)
{
    double cost = w->checks[check].minutes * mass;
    for (unsigned v = 1; v <= 2; v++) {
        w->answers[check] = v;
        cost += follow(w);
    }
    w->answers[check] = NOT_YET;
    return cost;
}

static double after_repair(world *w, uint32_t repair, double mass)
{
    w->made |= 1u << repair;
    double cost = w->repairs[repair].cost * mass + follow(w);
    w->made &= ~(1u << repair);
    return cost;
}

static double handed_back(const world *w, const double *joint)
{
    double cost = 0;
    for (uint32_t h = 0; h < w->problem.hypothesis_count; h++)
        cost += joint[h] * w->left[h];
    return cost;
}

static double best_of_all(world *w, const double *joint, double mass)
{
    bool cure = w->problem.aim == POLICY_CURE;
    double best = cure ? handed_back(w, joint) : INFINITY;
    for (uint32_t c = 0; c < w->problem.check_count; c++)
        if (w->answers[c] == NOT_YET && (cure || tells(w, joint, c)))
            best = fmin(best, after_check(w, c, mass));
    for (uint32_t r = 0; r < w->problem.repair_count; r++)
        if ((w->made >> r & 1) == 0)
            best = fmin(best, after_repair(w, r, mass));
    return best;
}

/* What is left of the problem is put to the policy anew, as after each answer in a session. */
static double as_chosen(world *w, const double *joint, double mass)
{
    policy_problem now = w->problem;
    policy_check checks[CHECKS];
    policy_repair repairs[HYPOTHESES];
    uint32_t check_of[CHECKS], repair_of[HYPOTHESES];
    double chance[HYPOTHESES];
    now.check_count = now.repair_count = 0;
    for (uint32_t h = 0; h < now.hypothesis_count; h++)
        chance[h] = joint[h] / mass;
    for (uint32_t c = 0; c < w->problem.check_count; c++)
        if (w->answers[c] == NOT_YET) {
            check_of[now.check_count] = c;
            checks[now.check_count++] = w->checks[c];
        }
    for (uint32_t r = 0; r < w->problem.repair_count; r++)
        if ((w->made >> r & 1) == 0) {
            repair_of[now.repair_count] = r;
            repairs[now.repair_count++] = w->repairs[r];
        }
    now.chance = chance;
    now.checks = checks;
    now.repairs = repairs;
    policy_choice choice;
    policy_choose(&now, &choice);
    cr_assert_leq(choice.steps, 2 * now.max_steps);
    double acts = now.aim == POLICY_CURE ? fmin(choice.repair_first, choice.act) : INFINITY;
    if (choice.best != UINT32_MAX && choice.by_check[choice.best] < acts)
        return after_check(w, check_of[choice.best], mass);
    cr_assert_eq(now.aim, POLICY_CURE);
    return choice.repair_first <= choice.act ? after_repair(w, repair_of[choice.repair], mass)
                                             : handed_back(w, joint);
}

static bool over(const world *w, const double *joint, double mass)
{
    double most = 0;
    bool any = w->problem.aim == POLICY_CURE;
    for (uint32_t h = 0; h < w->problem.hypothesis_count; h++)
        most = fmax(most, joint[h]);
    for (uint32_t c = 0; c < w->problem.check_count; c++)
        any |= w->answers[c] == NOT_YET && tells(w, joint, c);
    return !any || (w->problem.aim == POLICY_FIND && most >= w->problem.sure * mass);
}

static double follow(world *w)
{
    double joint[HYPOTHESES], *known = &w->known[state_of(w)], mass = joint_of(w, joint);
    if (*known < 0)
        *known = mass < 1e-12 || over(w, joint, mass) ? 0
                 : w->ours                            ? as_chosen(w, joint, mass)
                                                      : best_of_all(w, joint, mass);
    return *known;
}

static double run(world *w, bool ours)
{
    size_t states = (size_t)1 << w->problem.repair_count;
    for (uint32_t c = 0; c < w->problem.check_count; c++)
        states *= 3;
    w->known = malloc(states * sizeof *w->known);
    for (size_t i = 0; i < states; i++)
        w->known[i] = -1;
    w->ours = ours;
    double cost = follow(w);
    free(w->known);
    return cost;
}

/* Mean cost of ours over that of the best. */
static void near_the_best(policy_aim aim, uint32_t hypotheses, uint32_t checks, noise kind, bool varied,
                          int rounds)
{
    random_state random = random_start(41);
    double ours = 0, best = 0;
    for (int i = 0; i < rounds; i++) {
        world w;
        deal(&w, &random, aim, hypotheses, checks, kind, varied);
        double exact = run(&w, false), found = run(&w, true);
        cr_assert_geq(found, exact - 1e-9, "nothing is better than the best");
        best += exact;
        ours += found;
    }
    cr_log_info("aim %d, %u x %u, noise %d, %s costs: %.3f %% above the best", (int)aim, hypotheses, checks,
                (int)kind, varied ? "varied" : "equal", 100 * (ours / best - 1));
    cr_expect_lt(ours, 1.03 * best, "%.2f %% above the best", 100 * (ours / best - 1));
}

Test(policy, finding_is_near_the_best_where_checks_are_sure)
{
    near_the_best(POLICY_FIND, 8, 8, SURE, false, 60);
    near_the_best(POLICY_FIND, 8, 8, SURE, true, 60);
}

Test(policy, finding_is_near_the_best_where_checks_are_not)
{
    near_the_best(POLICY_FIND, 8, 6, OFTEN, false, 6);
    near_the_best(POLICY_FIND, 8, 6, OFTEN, true, 6);
    near_the_best(POLICY_FIND, 6, 6, ANY, true, 6);
}

Test(policy, curing_is_near_the_best)
{
    near_the_best(POLICY_CURE, 6, 5, SURE, true, 10);
    near_the_best(POLICY_CURE, 6, 5, OFTEN, true, 5);
    near_the_best(POLICY_CURE, 6, 5, OFTEN, false, 5);
    near_the_best(POLICY_CURE, 5, 5, ANY, true, 5);
}

/* Neither of two checks changes what to do by itself; together they tell which of two repairs it is. */
Test(policy, two_checks_that_are_only_worth_something_together)
{
    static const double first[] = {1, 1, 0, 0, 0, 0, 1, 1}, second[] = {1, 0, 1, 0, 0, 1, 0, 1};
    const policy_check checks[] = {{1, 1u << CW_AT_COUNTER, 2, first}, {1, 1u << CW_AT_COUNTER, 2, second}};
    const policy_repair repairs[] = {{.cures = 0x9, .cost = 50}, {.cures = 0x6, .cost = 50}};
    const double chance[] = {.25, .25, .25, .25};
    const policy_problem problem = {.aim = POLICY_CURE,
                                    .hypothesis_count = 4,
                                    .check_count = 2,
                                    .repair_count = 2,
                                    .chance = chance,
                                    .checks = checks,
                                    .repairs = repairs,
                                    .per_minute = 1,
                                    .reach = {1, 1, 1, 1},
                                    .least_gain = 1e-9,
                                    .max_steps = 100000};
    policy_choice choice;
    policy_choose(&problem, &choice);
    cr_expect_float_eq(choice.act, 75, 1e-9);
    cr_expect_float_eq(policy_glance(&problem, &checks[0]), 76, 1e-9, "one step sees no gain");
    cr_assert_eq(choice.best, 0);
    cr_expect_float_eq(choice.by_check[0], 52, 1e-9, "two minutes and the right repair");
}

/* The way counts, and the nearest of several places is taken. */
Test(policy, the_way_to_a_place_counts)
{
    const policy_check check = {2, 1u << CW_AT_BENCH | 1u << CW_AT_TEARDOWN, 2, NULL};
    const policy_problem problem = {.check_count = 1, .checks = &check, .reach = {1, 3, 5, 25}};
    cw_where place;
    cr_expect_eq(policy_minutes(&problem, 0, CW_AT_COUNTER, &place), 7);
    cr_expect_eq(place, CW_AT_BENCH);
    cr_expect_eq(policy_minutes(&problem, 0, CW_AT_TEARDOWN, &place), 2);
    cr_expect_eq(place, CW_AT_TEARDOWN);
}

/* -- Two faults at once -- */

enum { FAULTS = 3, PAIRS = 2, STATES = FAULTS + 1 + PAIRS };

/* Of each hypothesis what is wrong, as a mask; the last but pairs is nothing. */
static const uint32_t wrong_of[STATES] = {1, 2, 4, 0, 3, 6};

static double best_with_pairs(const policy_problem *p, const double *joint, uint32_t used, uint32_t done);

static double check_with_pairs(const policy_problem *p, const double *joint, uint32_t check, uint32_t used,
                               uint32_t done)
{
    double cost = 0, left[STATES];
    for (uint32_t h = 0; h < STATES; h++)
        cost += joint[h] * p->checks[check].minutes;
    for (uint32_t v = 0; v < 2; v++) {
        for (uint32_t h = 0; h < STATES; h++)
            left[h] = joint[h] * p->checks[check].chance[v * STATES + h];
        cost += best_with_pairs(p, left, used | 1u << check, done);
    }
    return cost;
}

/* A repair is paid for; what it mends is no longer wrong, and a job with nothing wrong any more is done. */
static double repair_with_pairs(const policy_problem *p, const double *joint, uint32_t repair, uint32_t used,
                                uint32_t done)
{
    double cost = 0, left[STATES] = {0};
    for (uint32_t h = 0; h < STATES; h++) {
        const uint32_t wrong = wrong_of[h] & ~p->repairs[repair].cures;
        cost += joint[h] * p->repairs[repair].cost;
        for (uint32_t k = 0; k < STATES; k++)
            if (wrong_of[k] == wrong && (wrong != 0 || wrong_of[h] == 0))
                left[k] += joint[h];
    }
    return cost + best_with_pairs(p, left, used, done | 1u << repair);
}

static double best_with_pairs(const policy_problem *p, const double *joint, uint32_t used, uint32_t done)
{
    double best = 0;
    for (uint32_t h = 0; h < STATES; h++)
        best += joint[h] * p->left[h];
    for (uint32_t c = 0; c < p->check_count; c++)
        if ((used >> c & 1) == 0)
            best = fmin(best, check_with_pairs(p, joint, c, used, done));
    for (uint32_t r = 0; r < p->repair_count; r++)
        if ((done >> r & 1) == 0)
            best = fmin(best, repair_with_pairs(p, joint, r, used, done));
    return best;
}

/* What a way is said to cost is never less than the best of all ways, and on average within 1 % of it. */
Test(policy, curing_two_faults_at_once_is_near_the_best)
{
    random_state random = random_start(55);
    static const policy_pair pairs[PAIRS] = {{4, 0, 1}, {5, 1, 2}};
    double ours = 0, best = 0;
    for (int round = 0; round < 100; round++) {
        world w;
        deal(&w, &random, POLICY_CURE, STATES, 3, OFTEN, true);
        w.problem.repair_count = FAULTS;
        w.problem.pairs = pairs;
        w.problem.pair_count = PAIRS;
        for (uint32_t r = 0; r < FAULTS; r++)
            w.repairs[r].cures = 1u << r;
        for (uint32_t h = 0; h < STATES; h++) {
            w.left[h] = wrong_of[h] != 0 ? 40 : 0;
            for (uint32_t r = 0; r < FAULTS; r++)
                w.left[h] += (wrong_of[h] >> r & 1) != 0 ? w.repairs[r].cost : 0;
        }
        policy_choice choice;
        policy_choose(&w.problem, &choice);
        double least = fmin(choice.act, choice.repair_first);
        if (choice.best != UINT32_MAX)
            least = fmin(least, choice.by_check[choice.best]);
        const double exact = best_with_pairs(&w.problem, w.chance, 0, 0);
        cr_assert_geq(least, exact - 1e-9);
        ours += least;
        best += exact;
    }
    cr_expect_lt(ours, 1.01 * best, "%.4f times the best", ours / best);
}
