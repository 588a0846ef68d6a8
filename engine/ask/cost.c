/* What the ways to go on come to, in money or minutes, from the table of what was tried. */
#include "ask/inside.h"

#include <math.h>
#include <string.h>

enum { STEPS = 500000 };               /* numbers touched for one decision */
static const double likely = 0.05;     /* a repair of a cause this probable must say what it takes */
static const double few_faults = 1.25; /* to be expected; with more this is too simple to stop by */
static const double often = 0.1;       /* two repairs this probable are spoken of */
static const double enough_held = 0.8; /* of what may be wrong; below it a costing says nothing */

/* A decision, and which of the model's things it is about. */
typedef struct decision {
    policy_problem problem;
    policy_check checks[POLICY_CHECKS];
    size_t listed[POLICY_CHECKS]; /* beside checks: where in the list */
    policy_repair repairs[POLICY_REPAIRS];
    double left[POLICY_HYPOTHESES];
    cw_repair told[POLICY_REPAIRS]; /* beside repairs */
} decision;

static const ask_row *row_of(const ask_table *table, cw_check_id check)
{
    for (uint32_t i = 0; i < table->row_count; i++)
        if (table->rows[i].check == check)
            return &table->rows[i];
    return NULL;
}

/* Checks to decide between: some of those that cost least if one acts at once on their answer, which are
 * worth it by themselves; some that tell most in a minute, and some that tell most whatever they take, which
 * may be with what follows. */
enum { BY_GLANCE, BY_WORTH, BY_BITS, BY_COUNT };
static const uint32_t room_until[BY_COUNT] = {8, 12, POLICY_CHECKS};

typedef struct candidate {
    policy_check check;
    size_t listed;
    double key[BY_COUNT]; /* the least is taken */
    bool taken;
} candidate;

static void take_best(candidate *all, size_t count, int by, uint32_t *taken)
{
    for (; *taken < room_until[by]; (*taken)++) {
        candidate *best = NULL;
        for (size_t i = 0; i < count; i++)
            if (!all[i].taken &&
                (best == NULL || all[i].key[by] < best->key[by] - 1e-9 * fabs(best->key[by])))
                best = &all[i];
        if (best == NULL)
            return;
        best->taken = true;
    }
}

/* Those of the list that were weighed, in its order. */
static size_t find_candidates(const ask_call *call, const ask_table *table, const cw_proposal *list,
                              size_t count, const decision *d, candidate *out)
{
    size_t found = 0;
    for (size_t i = 0; i < count; i++) {
        const cw_check *check = &call->asker->model->checks[list[i].check];
        const ask_row *row = row_of(table, list[i].check);
        uint32_t places = call->limits->places == 0 ? check->places : check->places & call->limits->places;
        if (row == NULL || list[i].with != 0)
            continue;
        candidate *c = &out[found++];
        *c = (candidate){.check = {check->minutes, places, row->values, row->chance},
                         .listed = i,
                         .key = {[BY_WORTH] = (double)i, [BY_BITS] = -list[i].bits},
                         .taken = list[i].first};
        if (d->problem.aim == POLICY_CURE)
            c->key[BY_GLANCE] = policy_glance(&d->problem, &c->check);
    }
    return found;
}

static cw_status take_checks(const ask_call *call, const ask_table *table, const cw_proposal *list,
                             size_t count, decision *d)
{
    candidate *all = CW_NEW_ARRAY(call->asker->call, candidate, count);
    if (all == NULL)
        return CW_NO_MEMORY;
    size_t found = find_candidates(call, table, list, count, d, all);
    uint32_t taken = 0;
    for (size_t i = 0; i < found; i++) {
        all[i].taken &= taken < room_until[BY_GLANCE];
        taken += all[i].taken;
    }
    for (int by = d->problem.aim == POLICY_CURE ? BY_GLANCE : BY_WORTH; by < BY_COUNT; by++)
        take_best(all, found, by, &taken);
    for (size_t i = 0; i < found; i++)
        if (all[i].taken) {
            d->checks[d->problem.check_count] = all[i].check;
            d->listed[d->problem.check_count++] = all[i].listed;
        }
    d->problem.checks = d->checks;
    return CW_OK;
}

static void begin(const ask_call *call, const ask_table *table, decision *d)
{
    const cw_costs *costs = &call->asker->model->costs;
    const uint64_t left = call->max_steps > call->steps ? call->max_steps - call->steps : 0;
    *d = (decision){.problem = {.hypothesis_count = table->count,
                                .chance = table->chance,
                                .per_minute = 1,
                                .here = call->limits->here,
                                .sure = call->limits->sure,
                                .least_gain = fmax(call->limits->enough_bits / 5, 1e-9),
                                .max_steps = left < STEPS ? left : STEPS}};
    memcpy(d->problem.reach, costs->reach, sizeof costs->reach);
}

/* -- Repairs -- */

static bool same_parts(const cw_model *model, const cw_cause *a, const cw_cause *b)
{
    return a->part == b->part && a->replace.count > 0 && a->replace.count == b->replace.count &&
           memcmp(&model->part_lists[a->replace.first], &model->part_lists[b->replace.first],
                  a->replace.count * sizeof *model->part_lists) == 0;
}

/* What the plan's parts cost, each in its newest form. */
static void price(const cw_model *model, const cw_cause *cause, cw_repair *out)
{
    for (uint32_t i = 0; i < cause->replace.count; i++) {
        cw_part_id part = model->part_lists[cause->replace.first + i];
        while (model->parts[part].replaced_by != 0)
            part = model->parts[part].replaced_by;
        out->parts += model->parts[part].cost;
        if (model->parts[part].cost <= 0 && out->no_price == 0)
            out->no_price = part;
    }
}

static double in_measure(const cw_costs *costs, double minutes, double money)
{
    return costs->hour > 0 ? minutes * costs->hour / 60 + money : minutes;
}

/* Adds the cause to the repair that changes the same parts, or makes a new one. */
static void take_cause(const cw_model *model, const ask_table *table, uint32_t at, cw_cause_id *room,
                       decision *d)
{
    const cw_cause *cause = &model->causes[table->members[at]];
    uint32_t r = 0;
    while (r < d->problem.repair_count && !same_parts(model, cause, &model->causes[d->told[r].causes[0]]))
        r++;
    cw_repair *told = &d->told[r];
    if (r == d->problem.repair_count) {
        *told = (cw_repair){.causes = &room[(size_t)r * POLICY_HYPOTHESES]};
        price(model, cause, told);
        d->problem.repair_count++;
    }
    room[(size_t)r * POLICY_HYPOTHESES + told->cause_count++] = table->members[at];
    told->probability += table->chance[at];
    told->minutes = fmax(told->minutes, cause->minutes);
    told->cost = in_measure(&model->costs, told->minutes, told->parts);
    d->repairs[r].cures |= 1u << at;
    d->repairs[r].cost = told->cost;
    d->repairs[r].inside = model->parts[cause->part].where == CW_PART_UNIT;
}

/* Another unit cures all that is wrong inside this one. */
static void take_exchange(const cw_model *model, const ask_table *table, cw_cause_id *room, decision *d)
{
    const cw_spent *spent = &model->costs.exchange;
    uint32_t r = d->problem.repair_count;
    cw_repair told = {.causes = &room[(size_t)r * POLICY_HYPOTHESES],
                      .exchange = true,
                      .minutes = spent->minutes,
                      .parts = spent->money,
                      .cost = in_measure(&model->costs, spent->minutes, spent->money)};
    policy_repair repair = {.cost = told.cost};
    for (uint32_t i = 0; i < table->named; i++) {
        if (model->parts[model->causes[table->members[i]].part].where != CW_PART_UNIT)
            continue;
        repair.cures |= 1u << i;
        told.probability += table->chance[i];
        room[(size_t)r * POLICY_HYPOTHESES + told.cause_count++] = table->members[i];
    }
    if (spent->minutes <= 0 || told.cause_count == 0)
        return;
    d->told[r] = told;
    d->repairs[r] = repair;
    d->problem.repair_count++;
}

/* Where one repair cures both of a pair, it cures the pair. */
static void take_pairs(const ask_table *table, decision *d)
{
    d->problem.pairs = table->pairs;
    d->problem.pair_count = table->pair_count;
    for (uint32_t i = 0; i < table->pair_count; i++) {
        const policy_pair *pair = &table->pairs[i];
        const uint32_t faults = 1u << pair->one | 1u << pair->other;
        for (uint32_t r = 0; r < d->problem.repair_count; r++)
            d->told[r].probability +=
                (d->repairs[r].cures & faults) == faults ? table->chance[pair->both] : 0;
    }
}

/* The cheapest repair that cures all of these faults; INFINITY: none does. */
static double cheapest(const decision *d, uint32_t faults)
{
    double repair = INFINITY;
    for (uint32_t r = 0; r < d->problem.repair_count; r++)
        if ((d->repairs[r].cures & faults) == faults)
            repair = fmin(repair, d->repairs[r].cost);
    return repair;
}

/* Handed back, a job comes back: what that costs and the repair are still to be paid. */
static void take_comeback(const cw_costs *costs, const ask_table *table, decision *d)
{
    const cw_spent *comeback = &costs->comeback;
    const double back = in_measure(costs, comeback->minutes, comeback->money);
    if (comeback->minutes <= 0)
        return;
    for (uint32_t i = 0; i <= table->named; i++) {
        const double repair = cheapest(d, 1u << i);
        d->left[i] = back + (repair < INFINITY ? repair : 0);
    }
    for (uint32_t i = 0; i < table->pair_count; i++) {
        const policy_pair *pair = &table->pairs[i];
        const double both = cheapest(d, 1u << pair->one | 1u << pair->other);
        d->left[pair->both] = back + fmin(both, d->left[pair->one] + d->left[pair->other] - 2 * back);
    }
    d->problem.left = d->left;
}

/* False when memory fails. *lacks: a likely cause that does not say what its repair takes; 0 = none. */
static bool take_repairs(const ask_call *call, const ask_table *table, cw_arena *arena, decision *d,
                         cw_cause_id *lacks)
{
    const cw_model *model = call->asker->model;
    const cw_costs *costs = &model->costs;
    cw_cause_id *room = CW_NEW_ARRAY(arena, cw_cause_id, (size_t)POLICY_REPAIRS * POLICY_HYPOTHESES);
    if (room == NULL)
        return false;
    *lacks = 0;
    for (uint32_t i = 0; i < table->named; i++) {
        if (model->causes[table->members[i]].minutes > 0)
            take_cause(model, table, i, room, d);
        else if (table->chance[i] >= likely && *lacks == 0)
            *lacks = table->members[i];
    }
    take_exchange(model, table, room, d);
    take_pairs(table, d);
    take_comeback(costs, table, d);
    d->problem.aim = POLICY_CURE;
    d->problem.repairs = d->repairs;
    d->problem.per_minute = in_measure(costs, 1, 0);
    return true;
}

/* -- The ways -- */

/* All repairs: first those of the plan, or the one that would be made first, then the others as they are. */
static cw_status list_repairs(const decision *d, const policy_plan *plan, uint32_t first, cw_arena *arena,
                              cw_costing *out)
{
    cw_repair *list = CW_NEW_ARRAY(arena, cw_repair, POLICY_REPAIRS);
    uint32_t listed = 0;
    if (list == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < plan->count; i++) {
        list[out->repair_count++] = d->told[plan->order[i]];
        listed |= 1u << plan->order[i];
    }
    out->worth_count = plan->count;
    if (plan->count == 0 && first != UINT32_MAX) {
        list[out->repair_count++] = d->told[first];
        listed |= 1u << first;
    }
    for (uint32_t r = 0; r < d->problem.repair_count; r++)
        if ((listed & (1u << r)) == 0)
            list[out->repair_count++] = d->told[r];
    out->repairs = list;
    return CW_OK;
}

/* The likeliest pair of which the repair made first mends one and leaves the other. */
static void find_second(const decision *d, const ask_table *table, uint32_t first, cw_costing *out)
{
    for (uint32_t i = 0; i < table->pair_count && first != UINT32_MAX; i++) {
        const policy_pair *pair = &table->pairs[i];
        const uint32_t cures = d->repairs[first].cures;
        const bool one = (cures & (1u << pair->one)) != 0, other = (cures & (1u << pair->other)) != 0;
        if (one == other || table->chance[pair->both] < fmax(often, out->both))
            continue;
        out->both = table->chance[pair->both];
        out->mended = table->members[one ? pair->one : pair->other];
        out->behind = table->members[one ? pair->other : pair->one];
    }
}

static void compare(const decision *d, const policy_choice *choice, const cw_proposal *list, cw_costing *out)
{
    out->repair = choice->repair != UINT32_MAX ? choice->repair_first : -1;
    out->hand_back = d->problem.left != NULL ? 0 : -1;
    for (uint32_t h = 0; h < d->problem.hypothesis_count && d->problem.left != NULL; h++)
        out->hand_back += d->problem.chance[h] * d->left[h];
    out->test =
        d->problem.check_count > 0 && d->listed[0] == 0 && list[0].expected >= 0 ? list[0].expected : -1;
    if (out->test >= 0)
        out->first = list[0];
    double best = out->repair >= 0 ? out->repair : INFINITY;
    out->best = CW_WAY_REPAIR;
    if (out->hand_back >= 0 && out->hand_back <= best) {
        best = out->hand_back;
        out->best = CW_WAY_HAND_BACK;
    }
    if (out->test >= 0 && out->test < best * (1 - 1e-9))
        out->best = CW_WAY_TEST;
}

/* Costs rest on guessed minutes: of those within half a percent of the best, that which tells most in a
 * minute, for the list is in that order. */
static uint32_t soonest_of_the_best(const decision *d, const policy_choice *choice)
{
    uint32_t at = choice->best;
    for (uint32_t c = 0; c < d->problem.check_count; c++)
        if (d->listed[c] < d->listed[at] && choice->by_check[c] <= choice->by_check[choice->best] * 1.005)
            at = c;
    return at;
}

/* Notes what each comes to, and moves the best to the front, behind what the pack wants first. */
static void put_first(const decision *d, const policy_choice *choice, cw_proposal *list)
{
    for (uint32_t c = 0; c < d->problem.check_count; c++)
        if (choice->by_check[c] < INFINITY)
            list[d->listed[c]].expected = choice->by_check[c];
    if (choice->best == UINT32_MAX || list[0].first)
        return;
    const size_t at = d->listed[soonest_of_the_best(d, choice)];
    cw_proposal best = list[at];
    memmove(&list[1], &list[0], at * sizeof *list);
    list[0] = best;
}

static cw_status time_to_find(ask_call *call, const ask_table *table, decision *d, cw_proposal *list,
                              size_t count)
{
    policy_choice choice;
    if (call->limits->sure >= 1)
        return CW_OK; /* no certainty will do: every order asks everything */
    cw_status status = take_checks(call, table, list, count, d);
    if (status != CW_OK || d->problem.check_count < 2)
        return status;
    policy_choose(&d->problem, &choice);
    call->steps += choice.steps;
    put_first(d, &choice, list);
    return CW_OK;
}

static cw_status cost_of_cure(ask_call *call, const ask_table *table, decision *d, cw_proposal *list,
                              size_t count, cw_arena *arena, cw_advice *advice)
{
    cw_costing *out = &advice->costing;
    policy_choice choice;
    policy_shop shop;
    policy_plan plan;
    if (!take_repairs(call, table, arena, d, &out->lacks))
        return CW_NO_MEMORY;
    out->money = call->asker->model->costs.hour > 0;
    out->state = out->lacks != 0             ? CW_COSTED_NO_MINUTES
                 : table->held < enough_held ? CW_COSTED_TOO_OPEN
                                             : CW_COSTED;
    if (out->state != CW_COSTED)
        return CW_OK;
    cw_status status = take_checks(call, table, list, count, d);
    if (status != CW_OK)
        return status;
    policy_choose(&d->problem, &choice);
    call->steps += choice.steps;
    policy_shop_open(&d->problem, &shop);
    policy_shop_plan(&shop, table->chance, 0, d->problem.here == CW_AT_TEARDOWN, &plan);
    put_first(d, &choice, list);
    d->listed[0] = 0;
    compare(d, &choice, list, out);
    find_second(d, table, choice.repair, out);
    bool wanted = d->problem.check_count > 0 && list[0].first;
    if (out->money && out->best != CW_WAY_TEST && !wanted && table->faults <= few_faults) {
        advice->stop = true;
        advice->why = CW_STOP_COSTS_MORE;
    }
    return list_repairs(d, &plan, choice.repair, arena, out);
}

cw_status ask_cost(ask_call *call, const ask_footing *f, const ask_table *table, cw_proposal *list,
                   size_t count, cw_arena *arena, cw_advice *advice)
{
    decision d;
    if (table->count == 0 || !f->possible)
        return CW_OK;
    begin(call, table, &d);
    if (call->limits->stage == CW_TRIAGE)
        return cost_of_cure(call, table, &d, list, count, arena, advice);
    return call->about == CW_ABOUT_UNITS ? time_to_find(call, table, &d, list, count) : CW_OK;
}
