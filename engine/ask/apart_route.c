/* From which checks a conclusion follows, at least cost: each atom costs what its cheapest rule costs, a rule
 * the sum of its premises, a check its minutes and the way (the shortest hyperpath of Knuth 1977; sums, so
 * that checks which several premises share count for each). Gone over until nothing gets cheaper. */
#include "ask/apart_inside.h"

#include <math.h>
#include <stdlib.h>

bool apart_check_at(const cw_model *model, cw_check_id check, uint32_t places, cw_where *where)
{
    cw_proposal p;
    if (!ask_place(model, check, places, CW_AT_COUNTER, &p))
        return false;
    *where = p.place;
    return true;
}

static double check_cost(const apart_route *r, cw_check_id id)
{
    const cw_model *model = r->of->model;
    const cw_check *check = &model->checks[id];
    cw_proposal p;
    if (id == 0 || model->facts[check->fact].kind == CW_WHICH_UNIT || (check->stages & r->of->stages) == 0 ||
        !ask_place(model, id, r->places, CW_AT_COUNTER, &p))
        return INFINITY;
    return p.minutes + (check->only_if != 0 ? r->cost[check->only_if] : 0);
}

static double premise_cost(const apart_route *r, const cw_premise *premise)
{
    return premise->absent ? 0 : r->cost[premise->atom];
}

/* The dearest premise that is still among the `need` cheapest; of equal ones the first count. */
static double dearest_needed(const apart_route *r, const cw_rule *rule)
{
    const cw_premise *premises = &r->of->model->premises[rule->premises.first];
    double limit = -1;
    uint32_t within = 0;
    while (within < rule->need) {
        double next = INFINITY;
        within = 0;
        for (uint32_t i = 0; i < rule->premises.count; i++) {
            const double cost = premise_cost(r, &premises[i]);
            next = cost > limit ? fmin(next, cost) : next;
        }
        limit = next;
        for (uint32_t i = 0; i < rule->premises.count; i++)
            within += premise_cost(r, &premises[i]) <= limit ? 1 : 0;
        if (limit == INFINITY)
            break;
    }
    return limit;
}

typedef struct walk {
    apart_route *route;
    uint32_t stacked; /* atoms as they are, facts behind all atoms */
    cw_check_id *checks;
    uint32_t *count;
    bool fits;
} walk;

static void go_to_atom(walk *w, cw_atom_id atom)
{
    apart_route *r = w->route;
    if (atom == 0 || r->seen[atom] == r->round)
        return;
    r->seen[atom] = r->round;
    r->stack[w->stacked++] = atom;
}

/* Sums up the cheapest premises, as many as are needed, and goes to each of them where there is a walk. */
static double needed_premises(const apart_route *r, const cw_rule *rule, walk *w)
{
    const bool all = rule->need >= rule->premises.count;
    const double limit = all ? INFINITY : dearest_needed(r, rule);
    uint32_t left = rule->need;
    double sum = 0;
    for (int pass = 0; pass < 2; pass++) /* those below the limit, then as many of those at it */
        for (uint32_t i = 0; i < rule->premises.count && left > 0; i++) {
            const cw_premise *premise = &r->of->model->premises[rule->premises.first + i];
            const double cost = premise_cost(r, premise);
            if (pass == 0 ? !(cost < limit) : cost != limit)
                continue;
            sum += cost;
            left--;
            if (w != NULL && !premise->absent)
                go_to_atom(w, premise->atom);
        }
    return left > 0 ? INFINITY : sum;
}

/* A count that rules conclude has a number, too. */
static double number_cost(const apart_route *r, cw_fact_id fact)
{
    const cw_model *model = r->of->model;
    double least = r->fact_cost[fact];
    for (uint32_t i = 0; i < model->facts[fact].atoms.count; i++) {
        const cw_atom_id atom = model->fact_atoms[model->facts[fact].atoms.first + i];
        if (model->atoms[atom].kind == CW_ATOM_VALUE)
            least = fmin(least, r->cost[atom]);
    }
    return least;
}

static bool cheaper(double *cost, double now)
{
    if (!(now < *cost))
        return false;
    *cost = now;
    return true;
}

/* What holds once the fact is known: its values, bands, patterns, that it is known. */
static bool spread(apart_route *r, cw_fact_id fact)
{
    const cw_model *model = r->of->model;
    const double known = number_cost(r, fact), own = r->fact_cost[fact];
    bool more = false;
    for (uint32_t i = 0; i < model->facts[fact].atoms.count; i++) {
        const cw_atom_id id = model->fact_atoms[model->facts[fact].atoms.first + i];
        const cw_atom_kind kind = model->atoms[id].kind;
        if (kind == CW_ATOM_UNIT || kind == CW_ATOM_DATUM)
            continue;
        if (cheaper(&r->cost[id], kind == CW_ATOM_VALUE ? own : known)) {
            r->by[id] = 0;
            more = true;
        }
    }
    return more;
}

static bool fire(apart_route *r, cw_rule_id id)
{
    const cw_rule *rule = &r->of->model->rules[id];
    double cost = needed_premises(r, rule, NULL);
    if (rule->measure != 0) {
        const uint32_t *inputs = NULL;
        const size_t count = cw_formula_inputs(rule->formula, &inputs);
        for (size_t i = 0; i < count; i++)
            cost += number_cost(r, inputs[i]);
        if (!cheaper(&r->fact_cost[rule->measure], cost))
            return false;
        r->fact_by[rule->measure] = id;
        return true;
    }
    if (rule->head == 0 || !cheaper(&r->cost[rule->head], cost))
        return false;
    r->by[rule->head] = id;
    return true;
}

static void relax(apart_route *r)
{
    const cw_model *model = r->of->model;
    bool more = true;
    while (more) {
        more = false;
        for (cw_check_id id = 1; id <= model->checks_count; id++)
            if (cheaper(&r->fact_cost[model->checks[id].fact], check_cost(r, id))) {
                r->fact_by[model->checks[id].fact] = 0;
                more = true;
            }
        for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
            more |= spread(r, fact);
        for (cw_rule_id id = 1; id <= model->rules_count; id++)
            more |= fire(r, id);
    }
}

cw_status apart_route_new(const apart *p, uint32_t places, cw_arena *arena, apart_route *r)
{
    const size_t atoms = (size_t)p->model->atoms_count + 1, facts = (size_t)p->model->facts_count + 1;
    *r = (apart_route){.of = p, .places = places};
    r->cost = CW_NEW_ARRAY(arena, double, atoms);
    r->fact_cost = CW_NEW_ARRAY(arena, double, facts);
    r->by = CW_NEW_ARRAY(arena, cw_rule_id, atoms);
    r->fact_by = CW_NEW_ARRAY(arena, cw_rule_id, facts);
    r->seen = CW_NEW_ARRAY(arena, uint32_t, atoms);
    r->fact_seen = CW_NEW_ARRAY(arena, uint32_t, facts);
    r->stack = CW_NEW_ARRAY(arena, uint32_t, atoms + facts);
    if (r->cost == NULL || r->fact_cost == NULL || r->by == NULL || r->fact_by == NULL || r->seen == NULL ||
        r->fact_seen == NULL || r->stack == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < atoms; i++)
        r->cost[i] = INFINITY;
    for (size_t i = 0; i < facts; i++)
        r->fact_cost[i] = INFINITY;
    relax(r);
    return CW_OK;
}

/* -- The checks behind something -- */

static void go_to_fact(walk *w, cw_fact_id fact)
{
    apart_route *r = w->route;
    if (r->fact_seen[fact] == r->round)
        return;
    r->fact_seen[fact] = r->round;
    r->stack[w->stacked++] = r->of->model->atoms_count + fact;
}

static void add_check(walk *w, cw_check_id check)
{
    uint32_t at = *w->count;
    for (uint32_t i = 0; i < *w->count; i++)
        if (w->checks[i] == check)
            return;
    if (*w->count == APART_CHECKS) {
        w->fits = false;
        return;
    }
    for (; at > 0 && w->checks[at - 1] > check; at--)
        w->checks[at] = w->checks[at - 1];
    w->checks[at] = check;
    ++*w->count;
    go_to_atom(w, w->route->of->model->checks[check].only_if);
}

static void go_behind(walk *w, cw_rule_id id)
{
    const cw_rule *rule = &w->route->of->model->rules[id];
    needed_premises(w->route, rule, w);
    const uint32_t *inputs = NULL;
    const size_t count = rule->measure != 0 ? cw_formula_inputs(rule->formula, &inputs) : 0;
    for (size_t i = 0; i < count; i++)
        go_to_fact(w, inputs[i]);
}

/* The number of a fact: by its check, a rule, or the cheapest of its values. */
static void fact_behind(walk *w, cw_fact_id fact)
{
    apart_route *r = w->route;
    const cw_model *model = r->of->model;
    const double known = number_cost(r, fact);
    if (r->fact_cost[fact] <= known) {
        if (r->fact_by[fact] == 0)
            add_check(w, model->facts[fact].check);
        else
            go_behind(w, r->fact_by[fact]);
        return;
    }
    for (uint32_t i = 0; i < model->facts[fact].atoms.count; i++) {
        const cw_atom_id atom = model->fact_atoms[model->facts[fact].atoms.first + i];
        if (model->atoms[atom].kind == CW_ATOM_VALUE && r->cost[atom] <= known) {
            go_to_atom(w, atom);
            return;
        }
    }
}

static bool follow(walk *w)
{
    const cw_model *model = w->route->of->model;
    while (w->stacked > 0 && w->fits) {
        const uint32_t at = w->route->stack[--w->stacked];
        if (at > model->atoms_count)
            fact_behind(w, at - model->atoms_count);
        else if (w->route->by[at] != 0)
            go_behind(w, w->route->by[at]);
        else if (model->atoms[at].kind == CW_ATOM_VALUE)
            add_check(w, model->facts[model->atoms[at].fact].check);
        else if (model->atoms[at].fact != 0)
            go_to_fact(w, model->atoms[at].fact);
    }
    return w->fits;
}

bool apart_route_atom(apart_route *r, cw_atom_id atom, cw_check_id *checks, uint32_t *count)
{
    walk w = {r, 0, checks, count, true};
    if (r->cost[atom] == INFINITY)
        return false;
    r->round++;
    go_to_atom(&w, atom);
    return follow(&w);
}

bool apart_route_check(apart_route *r, cw_check_id check, cw_check_id *checks, uint32_t *count)
{
    walk w = {r, 0, checks, count, true};
    if (check_cost(r, check) == INFINITY)
        return false;
    r->round++;
    add_check(&w, check);
    return follow(&w);
}
