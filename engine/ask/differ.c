/* Whether two suspects differ on what could still be brought to light. */
#include "ask/twins.h"

static bool patterns_differ(const cw_model *model, const cw_sign *a, const cw_sign *b)
{
    if (a->patterns.count != b->patterns.count)
        return true;
    for (uint32_t i = 0; i < a->patterns.count; i++)
        if (model->pattern_lists[a->patterns.first + i] != model->pattern_lists[b->patterns.first + i] ||
            fabs(a->chances[i] - b->chances[i]) > ASK_ALIKE)
            return true;
    return false;
}

/* One chance of a finite fact: what a cause without a sign shows is the normal value; a unit, the average. */
static double cause_chance(const cw_sign *sign, uint32_t value)
{
    if (sign == NULL)
        return value == 0 ? 1 : 0;
    return sign->chances[value];
}

/* A value that is held up already, or that nothing can bring, does not count. */
static bool value_counts(const cw_model *model, const cw_chain *chain, const ask_reach *reach,
                         cw_fact_id fact, uint32_t value)
{
    cw_check_id check = model->facts[fact].check;
    cw_atom_id atom = cw_fact_value_atom(model, fact, value);
    return (check != 0 && reach->checks[check]) ||
           (atom != 0 && reach->atoms[atom] && cw_chain_truth(chain, atom) != CW_YES);
}

/* False: none of its values does. */
static bool some_value_counts(const cw_model *model, const ask_reach *reach, cw_fact_id fact)
{
    const cw_check_id check = model->facts[fact].check;
    return (check != 0 && reach->checks[check]) || model->facts[fact].atoms.count > 0;
}

/* By how much, at the value on which they differ most. */
static double causes_differ(const ask_look *l, cw_fact_id fact, cw_cause_id a, cw_cause_id b)
{
    const cw_model *model = l->call->asker->model;
    const cw_sign *x = ask_sign(model, model->causes[a].signs, fact);
    const cw_sign *y = ask_sign(model, model->causes[b].signs, fact);
    double most = 0;
    for (uint32_t v = 0; v < model->facts[fact].values.count; v++) {
        const double apart = fabs(cause_chance(x, v) - cause_chance(y, v));
        if (apart > ASK_ALIKE && apart > most && value_counts(model, l->chain, &l->reach, fact, v))
            most = apart;
    }
    return most;
}

/* P(swapped | hypothesis, what has been seen) for what belongs to the fact. */
static double swapped(const ask_look *l, cw_fact_id fact, uint32_t h)
{
    const cw_asker *asker = l->call->asker;
    const double *known =
        l->footing->swapped[asker->model->checks[asker->model->facts[fact].check].swap_group];
    if (known != NULL)
        return known[h];
    return h == 0 ? 0 : cw_identity_swapped(asker->tables, fact);
}

/* By their signs, or because one is likelier to have been swapped: then it shows more of the average. */
static bool units_differ(const ask_look *l, cw_fact_id fact, uint32_t first, uint32_t second)
{
    const cw_asker *asker = l->call->asker;
    const cw_model *model = asker->model;
    const cw_unit_id a = asker->hypotheses[first], b = asker->hypotheses[second];
    const double of_a = swapped(l, fact, first), of_b = swapped(l, fact, second);
    const cw_sign *x = a == 0 ? NULL : ask_unit_sign(model, a, fact);
    const cw_sign *y = b == 0 ? NULL : ask_unit_sign(model, b, fact);
    if (model->facts[fact].kind == CW_STAMPED || model->facts[fact].kind == CW_MEASURE) {
        cw_check_id check = model->facts[fact].check;
        if (!l->reach.values[fact] && (check == 0 || !l->reach.checks[check]))
            return false;
        if (fabs(of_a - of_b) > ASK_ALIKE)
            return true;
        if (x == NULL || y == NULL || x->kind != y->kind)
            return x != y;
        return x->kind == CW_SIGN_NORMAL ? fabs(x->mean - y->mean) + fabs(x->sd - y->sd) > 0
                                         : patterns_differ(model, x, y);
    }
    cw_identity_chances(asker->tables, fact, a, of_a, l->chances[0]);
    cw_identity_chances(asker->tables, fact, b, of_b, l->chances[1]);
    for (uint32_t v = 0; v < model->facts[fact].values.count; v++)
        if (value_counts(model, l->chain, &l->reach, fact, v) &&
            fabs(l->chances[0][v] - l->chances[1][v]) > ASK_ALIKE * l->chances[0][v])
            return true;
    return false;
}

/* Causes that hang together with others, or that circumstances shift, are alike only when they do so alike:
 * what is learnt of the others would part them. */
static bool links_differ(const cw_model *model, cw_cause_id a, cw_cause_id b)
{
    for (uint32_t id = 1; id <= model->causes_count; id++) {
        double led[2] = {0}, leads[2] = {0};
        const cw_cause *pair[2] = {&model->causes[a], &model->causes[b]}, *other = &model->causes[id];
        for (uint32_t i = 0; i < other->leads_to.count; i++) {
            const cw_link *link = &model->links[other->leads_to.first + i];
            led[0] += link->to == a ? link->chance : 0;
            led[1] += link->to == b ? link->chance : 0;
        }
        for (int k = 0; k < 2; k++)
            for (uint32_t i = 0; i < pair[k]->leads_to.count; i++)
                leads[k] += model->links[pair[k]->leads_to.first + i].to == id
                                ? model->links[pair[k]->leads_to.first + i].chance
                                : 0;
        if (fabs(led[0] - led[1]) > ASK_ALIKE || fabs(leads[0] - leads[1]) > ASK_ALIKE)
            return true;
    }
    return false;
}

/* Odds by which a circumstance that could still come about changes a cause; 0 when it rules it out. */
static double shifted(const ask_look *l, cw_cause_id id, cw_atom_id atom)
{
    const cw_model *model = l->call->asker->model;
    const cw_cause *cause = &model->causes[id];
    double times = cause->ruled_out == atom ? 0 : 1;
    for (uint32_t i = 0; i < cause->shifts.count; i++)
        if (model->shifts[cause->shifts.first + i].atom == atom)
            times *= model->shifts[cause->shifts.first + i].times;
    return times;
}

static bool circumstances_differ(const ask_look *l, cw_cause_id a, cw_cause_id b)
{
    const cw_asker *asker = l->call->asker;
    for (uint32_t i = 0; i < asker->circumstance_count; i++) {
        cw_atom_id atom = asker->circumstances[i];
        if (l->reach.atoms[atom] && cw_chain_truth(l->chain, atom) != CW_YES &&
            fabs(shifted(l, a, atom) - shifted(l, b, atom)) > ASK_ALIKE)
            return true;
    }
    return false;
}

/* Open checks of units have been tried answer by answer; that says more than the signs alone. */
static bool tried(const ask_look *l, cw_fact_id fact)
{
    cw_check_id check = l->call->asker->model->facts[fact].check;
    return check != 0 && cw_ask_open(l->chain, check, l->call->limits);
}

/* A fact on which neither has a sign is no difference of causes. */
static bool sign_differs(const ask_look *l, cw_run signs, uint32_t a, uint32_t b)
{
    const cw_model *model = l->call->asker->model;
    for (uint32_t i = 0; i < signs.count; i++) {
        const cw_fact_id fact = model->signs[signs.first + i].fact;
        if (some_value_counts(model, &l->reach, fact) && causes_differ(l, fact, a, b) > 0)
            return true;
    }
    return false;
}

bool ask_could_part(const ask_look *l, uint32_t a, uint32_t b)
{
    const cw_model *model = l->call->asker->model;
    const ask_matter *matter = &l->call->asker->matter[l->call->about];
    if (l->call->about == CW_ABOUT_CAUSES) /* links last: they take a look at every cause */
        return sign_differs(l, model->causes[a].signs, a, b) ||
               sign_differs(l, model->causes[b].signs, a, b) || circumstances_differ(l, a, b) ||
               links_differ(model, a, b);
    for (uint32_t fact = 1; fact <= model->facts_count; fact++)
        if (matter->signs[fact] && !tried(l, fact) && units_differ(l, fact, a, b))
            return true;
    return false;
}

static void mark_signs(const ask_look *l, cw_run signs, uint32_t a, uint32_t b, double *differs)
{
    const cw_model *model = l->call->asker->model;
    for (uint32_t i = 0; i < signs.count; i++) {
        const cw_fact_id fact = model->signs[signs.first + i].fact;
        differs[fact] = fmax(differs[fact], causes_differ(l, fact, a, b));
    }
}

void ask_mark_differing(const ask_look *l, const ask_group *g, double *differs)
{
    const cw_model *model = l->call->asker->model;
    const ask_matter *matter = &l->call->asker->matter[l->call->about];
    const bool units = l->call->about == CW_ABOUT_UNITS;
    for (uint32_t i = 1; i < g->count; i++) {
        const uint32_t a = g->members[0], b = g->members[i];
        for (uint32_t fact = 1; units && fact <= model->facts_count; fact++)
            if (matter->signs[fact] && differs[fact] <= 0)
                differs[fact] = units_differ(l, fact, a, b) ? 1 : 0;
        if (units)
            continue;
        mark_signs(l, model->causes[a].signs, a, b, differs);
        mark_signs(l, model->causes[b].signs, a, b, differs);
    }
}

cw_status ask_look_new(ask_call *call, const ask_footing *f, uint32_t places, bool left_open_too,
                       ask_look *out)
{
    const cw_model *model = call->asker->model;
    uint32_t most = 0;
    for (uint32_t i = 1; i <= model->facts_count; i++)
        most = model->facts[i].values.count > most ? model->facts[i].values.count : most;
    *out = (ask_look){.call = call, .footing = f, .chain = f->chain};
    for (int i = 0; i < 2; i++)
        if ((out->chances[i] = CW_NEW_ARRAY(call->asker->call, double, most)) == NULL)
            return CW_NO_MEMORY;
    return ask_reach_new(call, f->chain, places, left_open_too, call->asker->call, &out->reach);
}
