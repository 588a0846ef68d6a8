/* The search of policy.h. Beliefs are carried as joint shares that need not sum to 1: costs then come out
 * weighed by how probable the branch is, and nothing is divided.
 *
 *     policy_choose ─▶ value ─▶ value ─▶ ... ─▶ policy_shop_plan   acting now, at every turn
 *                        └────▶ gain                               the plain policy's pick */
#include "ask/policy.h"

#include <math.h>
#include <string.h>

enum { FINAL = 4 }; /* checks that are looked at a second time */

/* Branches less probable than this are not followed but estimated. */
static const double too_rare = 0.01;
/* What differs by less is rounding: the one listed first is taken. */
static const double more = 1 + 1e-9;

typedef struct search {
    const policy_problem *problem;
    uint64_t steps, enough; /* beyond `enough` branches are estimated, each first check having its share */
    policy_shop shop;       /* CURE */
} search;

/* Where one stands within a branch. */
typedef struct spot {
    const double *joint;
    double mass;
    uint32_t used; /* mask of checks */
    uint32_t done; /* mask of repairs */
    cw_where here;
    bool opened;
} spot;

double policy_minutes(const policy_problem *problem, uint32_t check, cw_where here, cw_where *place)
{
    const policy_check *c = &problem->checks[check];
    *place = here;
    if ((c->places & (1u << here)) != 0)
        return c->minutes;
    double least = INFINITY;
    for (cw_where w = 0; w < CW_WHERE_COUNT; w++)
        if ((c->places & (1u << w)) != 0 && problem->reach[w] < least) {
            least = problem->reach[w];
            *place = w;
        }
    return c->minutes + least;
}

/* -- The plain policy -- */

/* Joint shares with this answer. */
static double given(const search *s, const spot *at, uint32_t check, uint32_t value, double *joint)
{
    uint32_t count = s->problem->hypothesis_count;
    const double *chance = s->problem->checks[check].chance + (size_t)value * count;
    double mass = 0;
    for (uint32_t h = 0; h < count; h++)
        mass += joint[h] = at->joint[h] * chance[h];
    return mass;
}

/* Squares of the shares over their sum; two of each go side by side, so that none waits for the other. */
static double pureness(const double *joint, const double *chance, uint32_t count)
{
    double masses[2] = {0}, squares[2] = {0};
    uint32_t h = 0;
    for (; h + 2 <= count; h += 2)
        for (uint32_t k = 0; k < 2; k++) {
            const double share = joint[h + k] * chance[h + k];
            masses[k] += share;
            squares[k] += share * share;
        }
    for (; h < count; h++) {
        const double share = joint[h] * chance[h];
        masses[0] += share;
        squares[0] += share * share;
    }
    const double mass = masses[0] + masses[1];
    return mass > 0 ? (squares[0] + squares[1]) / mass : 0;
}

static double pureness_before(const search *s, const spot *at)
{
    double squares = 0;
    for (uint32_t h = 0; h < s->problem->hypothesis_count; h++)
        squares += at->joint[h] * at->joint[h];
    return squares / at->mass;
}

/* Fall of the Gini impurity, weighed by the branch. */
static double gain(search *s, const spot *at, double before, uint32_t check)
{
    const uint32_t count = s->problem->hypothesis_count, values = s->problem->checks[check].values;
    const double *chance = s->problem->checks[check].chance;
    double after = 0;
    for (uint32_t v = 0; v < values; v++, chance += count)
        after += pureness(at->joint, chance, count);
    s->steps += (uint64_t)count * values;
    return after - before;
}

typedef struct pick {
    uint32_t check; /* UINT32_MAX: none tells anything */
    double rate;    /* its gain per cost */
} pick;

static pick greedy(search *s, const spot *at)
{
    const double before = pureness_before(s, at);
    pick best = {UINT32_MAX, 0};
    cw_where place;
    for (uint32_t c = 0; c < s->problem->check_count; c++) {
        if ((at->used & (1u << c)) != 0)
            continue;
        double fall = gain(s, at, before, c);
        double rate = fall / policy_minutes(s->problem, c, at->here, &place);
        if (fall > s->problem->least_gain * at->mass && rate > best.rate * more)
            best = (pick){c, rate};
    }
    return best;
}

/* -- The search -- */

static double value(search *s, const spot *at, unsigned width);

/* The check, and the best that follows. */
static double with_check(search *s, const spot *at, uint32_t check, unsigned width)
{
    double joint[POLICY_HYPOTHESES];
    spot next = {.joint = joint, .used = at->used | 1u << check, .done = at->done};
    double minutes = policy_minutes(s->problem, check, at->here, &next.here);
    next.opened = at->opened || next.here == CW_AT_TEARDOWN;
    double cost = minutes * s->problem->per_minute * at->mass;
    for (uint32_t v = 0; v < s->problem->checks[check].values; v++) {
        next.mass = given(s, at, check, v, joint);
        if (next.mass > 0)
            cost += value(s, &next, width);
    }
    return cost;
}

/* What is left wrong after the repair, and how probably anything is. */
static double mend(const policy_problem *problem, uint32_t repair, const double *joint, double *left)
{
    const uint32_t cures = problem->repairs[repair].cures;
    double mass = 0;
    for (uint32_t h = 0; h < problem->hypothesis_count; h++)
        left[h] = (cures & (1u << h)) != 0 ? 0 : joint[h];
    for (uint32_t i = 0; i < problem->pair_count; i++) {
        const policy_pair *pair = &problem->pairs[i];
        const bool one = (cures & (1u << pair->one)) != 0, other = (cures & (1u << pair->other)) != 0;
        if (!one && !other)
            continue;
        if (one != other)
            left[one ? pair->other : pair->one] += left[pair->both];
        left[pair->both] = 0;
    }
    for (uint32_t h = 0; h < problem->hypothesis_count; h++)
        mass += left[h];
    return mass;
}

/* The repair, and the best that follows where it does not cure. */
static double with_repair(search *s, const spot *at, uint32_t repair, unsigned width)
{
    double joint[POLICY_HYPOTHESES];
    const policy_problem *problem = s->problem;
    spot next = *at;
    next.joint = joint;
    next.done |= 1u << repair;
    next.mass = mend(problem, repair, at->joint, joint);
    double cost = s->shop.cost[at->opened][repair] * at->mass;
    return next.mass > 0 ? cost + value(s, &next, width) : cost;
}

static bool found(const search *s, const spot *at)
{
    double most = 0;
    for (uint32_t h = 0; h < s->problem->hypothesis_count; h++)
        most = fmax(most, at->joint[h]);
    return most >= s->problem->sure * at->mass;
}

/* What finding still costs where a branch is not followed in all its answers: each time the likeliest. */
static double likeliest(search *s, const spot *from)
{
    double joint[POLICY_HYPOTHESES], trial[POLICY_HYPOTHESES], cost = 0;
    spot at = *from;
    memcpy(joint, from->joint, s->problem->hypothesis_count * sizeof *joint);
    at.joint = joint;
    while (!found(s, &at)) {
        pick next = greedy(s, &at);
        if (next.check == UINT32_MAX)
            break;
        cost += policy_minutes(s->problem, next.check, at.here, &at.here);
        at.used |= 1u << next.check;
        uint32_t likely = 0;
        double most = 0;
        for (uint32_t v = 0; v < s->problem->checks[next.check].values; v++) {
            double mass = given(s, &at, next.check, v, trial);
            if (mass > most * more) {
                most = mass;
                likely = v;
            }
        }
        at.mass = given(s, &at, next.check, likely, trial);
        memcpy(joint, trial, s->problem->hypothesis_count * sizeof *joint);
    }
    return cost * from->mass * s->problem->per_minute;
}

/* Acting at once, where that is an aim. */
static double act(search *s, const spot *at, policy_plan *plan)
{
    const policy_problem *problem = s->problem;
    s->steps += 4 * (uint64_t)problem->hypothesis_count;
    policy_shop_plan(&s->shop, at->joint, at->done, at->opened, plan);
    return plan->cost;
}

static double value(search *s, const spot *at, unsigned width)
{
    const policy_problem *problem = s->problem;
    bool cure = problem->aim == POLICY_CURE;
    bool rare = at->mass < too_rare || s->steps > s->enough;
    policy_plan plan = {.count = 0};
    double best = cure ? act(s, at, &plan) : INFINITY;
    if (cure ? rare : found(s, at))
        return cure ? best : 0;
    if (rare)
        return likeliest(s, at);
    pick plain = greedy(s, at);
    if (plain.check == UINT32_MAX)
        return cure ? best : 0;
    for (uint32_t c = 0; c < problem->check_count; c++)
        if (c == plain.check || (width > 0 && (at->used & (1u << c)) == 0))
            best = fmin(best, with_check(s, at, c, width > 0 ? width - 1 : 0));
    if (cure && width > 0 && plan.count > 0)
        best = fmin(best, with_repair(s, at, plan.order[0], width - 1));
    return best;
}

/* -- What comes first -- */

static spot start(const policy_problem *problem)
{
    return (spot){.joint = problem->chance,
                  .mass = 1,
                  .here = problem->here,
                  .opened = problem->here == CW_AT_TEARDOWN};
}

static void try_check(search *s, uint32_t check, unsigned width, uint64_t share, policy_choice *out)
{
    spot root = start(s->problem);
    s->enough = s->steps + share;
    out->by_check[check] = gain(s, &root, pureness_before(s, &root), check) > s->problem->least_gain
                               ? with_check(s, &root, check, width)
                               : INFINITY;
}

static void try_repair(search *s, unsigned width, uint64_t share, policy_choice *out)
{
    spot root = start(s->problem);
    s->enough = s->steps + share;
    if (out->repair != UINT32_MAX)
        out->repair_first = with_repair(s, &root, out->repair, width);
}

/* Each with the same share of the steps. */
static void try_all(search *s, unsigned width, uint64_t steps, policy_choice *out)
{
    uint64_t share = steps / (s->problem->check_count + 1);
    for (uint32_t c = 0; c < s->problem->check_count; c++)
        try_check(s, c, width, share, out);
    try_repair(s, width, share, out);
    out->depth = width + 1;
}

static uint32_t best_of(const policy_problem *problem, const policy_choice *choice, uint32_t left)
{
    uint32_t best = UINT32_MAX;
    for (uint32_t c = 0; c < problem->check_count; c++)
        if ((left & (1u << c)) != 0 && choice->by_check[c] < INFINITY &&
            (best == UINT32_MAX || choice->by_check[c] * more < choice->by_check[best]))
            best = c;
    return best;
}

/* The few that seem best once more, with what is left of the steps: farther into their branches. Returns
 * which. */
static uint32_t try_best(search *s, policy_choice *out)
{
    uint64_t share = (s->problem->max_steps - s->steps) / (FINAL + 1);
    uint32_t left = UINT32_MAX;
    for (int i = 0; i < FINAL; i++) {
        uint32_t c = best_of(s->problem, out, left);
        if (c == UINT32_MAX)
            break;
        left &= ~(1u << c);
        try_check(s, c, 0, share, out);
    }
    try_repair(s, 0, share, out);
    return ~left;
}

double policy_glance(const policy_problem *problem, const policy_check *check)
{
    policy_problem one = *problem;
    one.checks = check;
    one.check_count = 1;
    search s = {.problem = &one, .enough = UINT64_MAX};
    spot root = start(problem);
    policy_shop_open(&one, &s.shop);
    return with_check(&s, &root, 0, 0);
}

void policy_choose(const policy_problem *problem, policy_choice *out)
{
    search s = {.problem = problem};
    spot root = start(problem);
    policy_plan plan = {.best = UINT32_MAX};
    if (problem->aim == POLICY_CURE) {
        policy_shop_open(problem, &s.shop);
        act(&s, &root, &plan);
    }
    *out = (policy_choice){.act = plan.cost, .repair_first = INFINITY, .repair = plan.best};
    try_all(&s, 0, problem->max_steps / 4, out);
    uint64_t before = 0;
    uint32_t tried = UINT32_MAX;
    for (unsigned width = 1; width < problem->check_count; width++) {
        uint64_t last = s.steps - before; /* each level costs about as many times more as there are checks */
        if (s.steps + last * problem->check_count > problem->max_steps)
            break;
        before = s.steps;
        try_all(&s, width, problem->max_steps, out);
    }
    if (out->depth == 1 && problem->check_count > 1 && s.steps < problem->max_steps)
        tried = try_best(&s, out);
    if (plan.count > 0)
        out->repair_first = fmin(out->repair_first, out->act);
    out->best = best_of(problem, out, tried);
    out->steps = s.steps;
}
