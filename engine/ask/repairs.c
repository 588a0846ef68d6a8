/* Repairs alone: which order costs least, and when to hand the job back. Asked at every turn of a search, so
 * what does not depend on beliefs is worked out once (policy_shop). */
#include "ask/policy.h"

#include <math.h>
#include <string.h>

/* What differs by less is rounding: the one listed first is taken. */
static const double more = 1 + 1e-9;

/* Closing the unit is left, at the least, where it stands open. */
static double cost_of(const policy_problem *problem, uint32_t repair, bool opened)
{
    const policy_repair *r = &problem->repairs[repair];
    double saved = opened && r->inside ? problem->reach[CW_AT_TEARDOWN] * problem->per_minute : 0;
    return fmax(r->cost - saved, r->cost / 10);
}

void policy_shop_open(const policy_problem *problem, policy_shop *out)
{
    memset(out, 0, sizeof *out);
    out->problem = problem;
    for (uint32_t a = 0; a < problem->repair_count; a++) {
        uint32_t cures = problem->repairs[a].cures;
        for (int opened = 0; opened < 2; opened++)
            out->cost[opened][a] = cost_of(problem, a, opened == 1);
        for (uint32_t b = 0; b < problem->repair_count; b++) {
            uint32_t other = problem->repairs[b].cures;
            if (a != b && (cures & other) == other && (cures != other || a > b))
                out->covers[a] |= 1u << b;
        }
        out->wide |= out->covers[a] != 0 ? 1u << a : 0;
    }
}

/* One question: shares and debts by repair. */
typedef struct sums {
    const policy_shop *shop;
    const double *cost;
    double cures[POLICY_REPAIRS], owes[POLICY_REPAIRS]; /* joint share; what handing that back costs */
    double remains, owed;                               /* of all */
    uint32_t order[POLICY_REPAIRS];                     /* those that cover no other, by ratio */
    uint32_t count;
} sums;

static void add_up(const policy_shop *shop, const double *joint, bool opened, sums *out)
{
    const policy_problem *problem = shop->problem;
    double owes[POLICY_HYPOTHESES];
    out->shop = shop;
    out->cost = shop->cost[opened];
    out->remains = out->owed = 0;
    out->count = 0;
    for (uint32_t h = 0; h < problem->hypothesis_count; h++) {
        owes[h] = problem->left != NULL ? joint[h] * problem->left[h] : 0;
        out->remains += joint[h];
        out->owed += owes[h];
    }
    for (uint32_t r = 0; r < problem->repair_count; r++) {
        out->cures[r] = out->owes[r] = 0;
        for (uint32_t h = 0, left = problem->repairs[r].cures; left != 0; h++, left >>= 1)
            if ((left & 1) != 0) {
                out->cures[r] += joint[h];
                out->owes[r] += owes[h]; /* NOLINT: a repair cures hypotheses of the problem alone */
            }
    }
}

/* By probability over cost; of equal ones the first. Those that cure nothing are left out. */
static void sort(sums *s, uint32_t left)
{
    double ratio[POLICY_REPAIRS];
    for (uint32_t r = 0; r < s->shop->problem->repair_count; r++) {
        if ((left & ~s->shop->wide & (1u << r)) == 0 || s->cures[r] <= 0)
            continue;
        double own = s->cures[r] / s->cost[r];
        uint32_t at = s->count++;
        for (; at > 0 && own > ratio[at - 1] * more; at--) {
            ratio[at] = ratio[at - 1];
            s->order[at] = s->order[at - 1];
        }
        ratio[at] = own;
        s->order[at] = r;
    }
}

/* In that order, `wide` at the place `at` (UINT32_MAX: not at all), behind which what it covers is left out.
 */
static void go_through(const sums *s, uint32_t wide, uint32_t at, policy_plan *best)
{
    const bool has = wide != UINT32_MAX;
    policy_plan plan = {.cost = s->owed};
    double remains = s->remains, owed = s->owed, spent = 0;
    const uint32_t first = has ? wide : 0;
    double cures = has ? s->cures[first] : 0, owes = has ? s->owes[first] : 0;
    uint32_t covered = has ? s->shop->covers[first] : 0, made = 0;
    for (uint32_t i = 0; i < s->count + (has ? 1 : 0); i++) {
        bool is_wide = has && i == at;
        uint32_t r = is_wide ? wide : s->order[has && i > at ? i - 1 : i];
        bool within = (covered & (1u << r)) != 0;
        if (within && i > at)
            continue;
        double own = is_wide ? cures : s->cures[r], debt = is_wide ? owes : s->owes[r];
        spent += s->cost[r] * remains;
        remains -= own;
        owed -= debt;
        cures -= within ? own : 0;
        owes -= within ? debt : 0;
        plan.order[made++] = r;
        if (s->shop->problem->left == NULL || spent + owed < plan.cost) {
            plan.cost = spent + fmax(owed, 0);
            plan.count = made;
        }
    }
    if (plan.cost * more < best->cost)
        *best = plan;
}

void policy_shop_plan(const policy_shop *shop, const double *joint, uint32_t done, bool opened,
                      policy_plan *out)
{
    uint32_t count = shop->problem->repair_count, left = count == 0 ? 0 : UINT32_MAX >> (32 - count) & ~done;
    sums s;
    add_up(shop, joint, opened, &s);
    sort(&s, left);
    out->cost = INFINITY;
    go_through(&s, UINT32_MAX, UINT32_MAX, out);
    for (uint32_t wide = 0; wide < count; wide++)
        if ((left & shop->wide & (1u << wide)) != 0 && s.cures[wide] > 0)
            for (uint32_t at = 0; at <= s.count; at++)
                go_through(&s, wide, at, out);
    out->best = out->count > 0 ? out->order[0] : s.count > 0 ? s.order[0] : UINT32_MAX;
}
