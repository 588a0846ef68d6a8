/* Inside the room: a small decision in plain numbers. Of a few checks and repairs, what comes first so that
 * the job costs least on average? Nothing of chains and models here; table.c makes such a decision of what
 * was tried.
 *
 * One of the hypotheses is true: one fault, or two at once, or something that no repair cures. Given it,
 * checks answer independently of each other. Two aims:
 *
 * - FIND: checks until one hypothesis is `sure`, or none is left that tells anything. The cost is their
 *   minutes.
 *
 * - CURE: checks, then repairs one after the other until what is wrong is cured, or the job is handed back as
 *   it is. A repair costs what it costs whether it cures or not; handed back uncured the job comes back.
 *   Repairs alone go by probability over cost: with one fault, and repairs that each cure their own, no order
 *   costs less (Kadane & Simon 1977; as decision-theoretic troubleshooting with a service call: Heckerman,
 *   Breese & Rommelse 1995). A repair that covers what others cure (the whole unit exchanged) is tried at
 *   every place of their order, and not at all.
 *
 *   Each repair is proven: what is still wrong then shows, not what it is. Of two faults a repair may mend
 * one; the other is left, as if it had been the only one, for the next repair or to come back. The order then
 * goes by what one more repair, or two together, cure of what those before have left, over their cost;
 * whichever of both cures more by itself for its cost is made first. No theorem says that it is the best, but
 * for one fault it is the same.
 *
 * Which check first: each is followed by a plain policy (greatest fall of the Gini impurity per cost, or
 * acting, whichever costs less) to the end of every branch, and the one that comes out cheapest is taken
 * (rollout: Tesauro & Galperin 1996; Bertsekas, Tsitsiklis & Wu 1997). Where few enough branches open, the
 * first two answers, then three, are looked at in full width before the plain policy takes over. */
#ifndef CW_ASK_POLICY_H
#define CW_ASK_POLICY_H

#include "model/model.h"

enum { POLICY_HYPOTHESES = 19, POLICY_CHECKS = 16, POLICY_REPAIRS = 16 };

typedef enum policy_aim { POLICY_FIND, POLICY_CURE } policy_aim;

typedef struct policy_check {
    double minutes;  /* at its place */
    uint32_t places; /* mask: where it may be done; at least one */
    uint32_t values;
    const double
        *chance; /* values * hypotheses: P(value | hypothesis) at [value * hypotheses + hypothesis] */
} policy_check;

typedef struct policy_repair {
    uint32_t cures; /* mask of hypotheses that are one fault */
    double cost;    /* above 0 */
    bool inside;    /* it opens the unit: cheaper by the opening where that is open already */
} policy_repair;

/* A hypothesis of two faults: numbers of the hypotheses that are each of them alone. */
typedef struct policy_pair {
    uint32_t both, one, other;
} policy_pair;

typedef struct policy_problem {
    policy_aim aim;
    uint32_t hypothesis_count, check_count, repair_count;
    const double *chance; /* by hypothesis; sums to 1 */
    const policy_check *checks;
    const policy_repair *repairs; /* CURE */
    const policy_pair *pairs;     /* CURE */
    uint32_t pair_count;
    const double
        *left; /* CURE: by hypothesis, cost of a job handed back without a cure; NULL: that is not done */
    double per_minute;            /* cost of a minute */
    double reach[CW_WHERE_COUNT]; /* minutes to get to a place from another */
    cw_where here;
    double sure;        /* FIND */
    double least_gain;  /* FIND: a check that lowers the Gini impurity by less tells nothing */
    uint64_t max_steps; /* numbers touched */
} policy_problem;

/* Repairs of a problem, looked at once. The problem must outlive it. */
typedef struct policy_shop {
    const policy_problem *problem;
    double cost[2][POLICY_REPAIRS];  /* the unit closed, and open */
    uint32_t covers[POLICY_REPAIRS]; /* mask of repairs all of whose cures this one brings, too */
    uint32_t wide;                   /* mask of those that cover any */
    uint8_t cured[POLICY_REPAIRS][POLICY_HYPOTHESES], cured_count[POLICY_REPAIRS]; /* cures, one by one */
} policy_shop;
void policy_shop_open(const policy_problem *problem, policy_shop *out);

/* Repairs alone, in the order that costs least, and when to hand the job back. */
typedef struct policy_plan {
    double cost; /* expected */
    uint32_t count;
    uint32_t order[POLICY_REPAIRS]; /* behind the last the job is handed back, if anything is left */
    uint32_t best; /* the first, or what would be if handing back were out; UINT32_MAX: none */
} policy_plan;
/* joint: by hypothesis, any sum; cost is in the same measure. done: mask of repairs made already; opened: the
 * unit is open. */
void policy_shop_plan(const policy_shop *shop, const double *joint, uint32_t done, bool opened,
                      policy_plan *out);

typedef struct policy_choice {
    double act;                     /* CURE: expected cost with no check at all; FIND: 0 */
    double by_check[POLICY_CHECKS]; /* expected cost with this one first; INFINITY: it tells nothing */
    double repair_first;            /* CURE: `repair` now, then what is best; INFINITY: there is none */
    uint32_t repair;                /* the first of the plan, else that of the best ratio; UINT32_MAX: none */
    uint32_t best;                  /* the check that costs least; UINT32_MAX: none tells anything */
    uint32_t depth;                 /* answers looked at in full width */
    uint64_t steps;                 /* spent */
} policy_choice;
void policy_choose(const policy_problem *problem, policy_choice *out);
/* CURE: expected cost of this check and acting at once on its answer. */
double policy_glance(const policy_problem *problem, const policy_check *check);

/* Minutes of one check from `here`, with the way; *place: where it is done then. */
double policy_minutes(const policy_problem *problem, uint32_t check, cw_where here, cw_where *place);

#endif
