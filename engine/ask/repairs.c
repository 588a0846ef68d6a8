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
        for (uint8_t h = 0; h < problem->hypothesis_count; h++)
            if ((cures & 1u << h) != 0)
                out->cured[a][out->cured_count[a]++] = h;
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
    const double *cost, *joint;
    double cures[POLICY_REPAIRS], owes[POLICY_REPAIRS]; /* of single faults: joint share; what handing that
                                                           back costs */
    bool pairs;                                         /* two faults at once are possible */
    uint32_t in_pairs;                                  /* mask of the faults that are part of one */
    double remains, owed;                               /* of all */
    uint32_t order[POLICY_REPAIRS];                     /* those that cover no other, by ratio */
    uint32_t count;
} sums;

static void add_up(const policy_shop *shop, const double *joint, bool opened, sums *out)
{
    const policy_problem *problem = shop->problem;
    double owes[POLICY_HYPOTHESES] = {0};
    out->shop = shop;
    out->cost = shop->cost[opened];
    out->joint = joint;
    out->pairs = false;
    out->in_pairs = 0;
    for (uint32_t i = 0; i < problem->pair_count; i++) {
        const policy_pair *pair = &problem->pairs[i];
        out->pairs |= joint[pair->both] > 0;
        out->in_pairs |= joint[pair->both] > 0 ? 1u << pair->one | 1u << pair->other : 0;
    }
    out->remains = out->owed = 0;
    out->count = 0;
    for (uint32_t h = 0; h < problem->hypothesis_count; h++) {
        owes[h] = problem->left != NULL ? joint[h] * problem->left[h] : 0;
        out->remains += joint[h];
        out->owed += owes[h];
    }
    for (uint32_t r = 0; r < problem->repair_count; r++) {
        double cures = 0, owed = 0;
        for (uint32_t i = 0; i < shop->cured_count[r]; i++) {
            cures += joint[shop->cured[r][i]];
            owed += owes[shop->cured[r][i]];
        }
        out->cures[r] = cures;
        out->owes[r] = owed;
    }
}

/* -- Two faults at once -- */

/* What handing back costs with these faults of the pair. */
static double debt_of(const policy_problem *problem, const policy_pair *pair, uint32_t wrong)
{
    if (problem->left == NULL || wrong == 0)
        return 0;
    const bool one = (wrong & (1u << pair->one)) != 0, other = (wrong & (1u << pair->other)) != 0;
    return problem->left[one && other ? pair->both : one ? pair->one : pair->other];
}

/* What the repair cures of pairs, where these faults have been mended before, and what is then no longer owed
 * is added to *owes. */
static double cures_of_pairs(const sums *s, uint32_t mended, uint32_t repair, double *owes)
{
    const policy_problem *problem = s->shop->problem;
    double cured = 0;
    if ((problem->repairs[repair].cures & s->in_pairs & ~mended) == 0)
        return 0;
    for (uint32_t i = 0; i < problem->pair_count; i++) {
        const policy_pair *pair = &problem->pairs[i];
        const uint32_t before = (1u << pair->one | 1u << pair->other) & ~mended,
                       after = before & ~problem->repairs[repair].cures;
        const double share = s->joint[pair->both];
        if (before == after)
            continue;
        *owes += share * (debt_of(problem, pair, before) - debt_of(problem, pair, after));
        cured += after == 0 ? share : 0;
    }
    return cured;
}

/* Single faults that the repair cures have not been mended before. */
static double cures_in_turn(const sums *s, uint32_t mended, uint32_t repair)
{
    double owes = 0;
    return s->cures[repair] + cures_of_pairs(s, mended, repair, &owes);
}

static uint32_t first_that_cures(const policy_problem *problem, uint32_t left, uint32_t fault)
{
    for (uint32_t r = 0; r < problem->repair_count; r++)
        if ((left & (1u << r)) != 0 && (problem->repairs[r].cures & (1u << fault)) != 0)
            return r;
    return UINT32_MAX;
}

typedef struct pick {
    uint32_t repair; /* UINT32_MAX: none cures anything */
    double ratio;
} pick;

/* The two repairs of a pair, one after the other, where that cures more for its cost than any so far. */
static void pick_two(const sums *s, uint32_t left, uint32_t mended, const policy_pair *pair, pick *best)
{
    const policy_problem *problem = s->shop->problem;
    const uint32_t a = first_that_cures(problem, left, pair->one),
                   b = first_that_cures(problem, left, pair->other);
    if (a == UINT32_MAX || b == UINT32_MAX || a == b)
        return;
    const double first = cures_in_turn(s, mended, a), second = cures_in_turn(s, mended, b),
                 both = first + cures_in_turn(s, mended | problem->repairs[a].cures, b),
                 ratio = both / (s->cost[a] + s->cost[b]);
    if (ratio > best->ratio * more)
        *best = (pick){second * s->cost[a] > first * s->cost[b] * more ? b : a, ratio};
}

static void sort_in_turn(sums *s, uint32_t left)
{
    const policy_problem *problem = s->shop->problem;
    for (uint32_t mended = 0;;) {
        pick best = {UINT32_MAX, 0};
        for (uint32_t r = 0; r < problem->repair_count; r++) {
            if ((left & (1u << r)) == 0)
                continue;
            const double ratio = cures_in_turn(s, mended, r) / s->cost[r];
            if (ratio > best.ratio * more)
                best = (pick){r, ratio};
        }
        for (uint32_t i = 0; i < problem->pair_count; i++)
            pick_two(s, left, mended, &problem->pairs[i], &best);
        if (best.repair == UINT32_MAX)
            return;
        s->order[s->count++] = best.repair;
        left &= ~(1u << best.repair);
        mended |= problem->repairs[best.repair].cures;
    }
}

/* -- In order -- */

/* By probability over cost; of equal ones the first. Those that cure nothing are left out. */
static void sort(sums *s, uint32_t left)
{
    if (s->pairs) {
        sort_in_turn(s, left & ~s->shop->wide);
        return;
    }
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

/* Some repairs made one after the other; what they come to, handing back at the best place so far. */
typedef struct walk {
    double spent, remains, owed, cost;
    uint32_t mended;      /* mask of faults */
    uint32_t made, count; /* of the repairs: all, those before handing back */
} walk;

/* cures, owes: of single faults. */
static void make(const sums *s, walk *w, uint32_t repair, double cures, double owes)
{
    if (s->pairs) {
        cures += cures_of_pairs(s, w->mended, repair, &owes);
        w->mended |= s->shop->problem->repairs[repair].cures;
    }
    w->spent += s->cost[repair] * w->remains;
    w->remains -= cures;
    w->owed -= owes;
    w->made++;
    if (s->shop->problem->left == NULL || w->spent + w->owed < w->cost) {
        w->cost = w->spent + fmax(w->owed, 0);
        w->count = w->made;
    }
}

/* Takes the walk where it costs less: the first `at` of the order, then `wide` (UINT32_MAX: none), then what
 * it does not cover. */
static void take_less(const sums *s, const walk *w, uint32_t wide, uint32_t at, policy_plan *best)
{
    uint32_t made = 0;
    if (!(w->cost * more < best->cost))
        return;
    best->cost = w->cost;
    best->count = w->count;
    for (uint32_t i = 0; i < at; i++)
        best->order[made++] = s->order[i];
    if (wide == UINT32_MAX)
        return;
    best->order[made++] = wide;
    for (uint32_t i = at; i < s->count; i++)
        if ((s->shop->covers[wide] & (1u << s->order[i])) == 0)
            best->order[made++] = s->order[i];
}

static walk start(const sums *s)
{
    return (walk){.remains = s->remains, .owed = s->owed, .cost = s->owed};
}

static void go_through(const sums *s, policy_plan *best)
{
    walk w = start(s);
    for (uint32_t i = 0; i < s->count; i++)
        make(s, &w, s->order[i], s->cures[s->order[i]], s->owes[s->order[i]]);
    take_less(s, &w, UINT32_MAX, s->count, best);
}

/* In that order, `wide` at every place of it, behind which what it covers is left out. What is spent only
 * grows: a walk that has spent more than the best comes to has no more to offer. */
static void go_through_with(const sums *s, uint32_t wide, policy_plan *best)
{
    const uint32_t covered = s->shop->covers[wide];
    double cures = s->cures[wide], owes = s->owes[wide];
    walk before = start(s);
    for (uint32_t at = 0; at <= s->count && before.spent < best->cost; at++) {
        walk w = before;
        make(s, &w, wide, cures, owes);
        for (uint32_t i = at; i < s->count && w.spent < best->cost; i++)
            if ((covered & (1u << s->order[i])) == 0)
                make(s, &w, s->order[i], s->cures[s->order[i]], s->owes[s->order[i]]);
        take_less(s, &w, wide, at, best);
        if (at == s->count)
            break;
        const uint32_t next = s->order[at];
        cures -= (covered & (1u << next)) != 0 ? s->cures[next] : 0;
        owes -= (covered & (1u << next)) != 0 ? s->owes[next] : 0;
        make(s, &before, next, s->cures[next], s->owes[next]);
    }
}

void policy_shop_plan(const policy_shop *shop, const double *joint, uint32_t done, bool opened,
                      policy_plan *out)
{
    uint32_t count = shop->problem->repair_count, left = count == 0 ? 0 : UINT32_MAX >> (32 - count) & ~done;
    sums s;
    add_up(shop, joint, opened, &s);
    sort(&s, left);
    out->cost = INFINITY;
    go_through(&s, out);
    for (uint32_t wide = 0; wide < count; wide++)
        if ((left & shop->wide & (1u << wide)) != 0 && (s.pairs || s.cures[wide] > 0))
            go_through_with(&s, wide, out);
    out->best = out->count > 0 ? out->order[0] : s.count > 0 ? s.order[0] : UINT32_MAX;
}
