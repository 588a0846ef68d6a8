/* What the allowed checks cannot tell apart. Two suspects are apart when some answer of some open check is
 * likelier for one of them; or when their signs differ on a fact that several answers together, or a check
 * that opens later, could bring to light. The second look takes everything at its best, so it may miss twins
 * but never makes them up. */
#include "ask/inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ALIKE 1e-9 /* difference of likelihoods against the larger, of chances */
static const double suspect_unit = 0.02, suspect_cause = 0.05;

/* -- Suspects -- */

static void sort_suspects(ask_suspects *s, const double *chance)
{
    for (uint32_t i = 1; i < s->count; i++)
        for (uint32_t k = i; k > 0 && chance[s->members[k]] > chance[s->members[k - 1]]; k--) {
            uint32_t moved = s->members[k];
            s->members[k] = s->members[k - 1];
            s->members[k - 1] = moved;
        }
}

cw_status ask_suspects_new(ask_call *call, const ask_footing *f, ask_suspects *out)
{
    const cw_asker *asker = call->asker;
    bool units = call->about == CW_ABOUT_UNITS;
    uint32_t first = units ? 0 : 1, end = units ? asker->hypothesis_count : asker->model->causes_count + 1;
    *out = (ask_suspects){.members = CW_NEW_ARRAY(asker->call, uint32_t, end)};
    if (out->members == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = first; i < end; i++)
        if (f->chance[i] >= (units ? suspect_unit : suspect_cause))
            out->members[out->count++] = i;
    sort_suspects(out, f->chance);
    out->together = (uint64_t)out->count * (out->count > 0 ? out->count - 1 : 0) / 2;
    out->apart = CW_NEW_ARRAY(asker->call, bool, (size_t)out->count * out->count);
    return out->apart == NULL ? CW_NO_MEMORY : CW_OK;
}

static bool parted(const ask_class *class, uint32_t a, uint32_t b)
{
    double x = class->moved[a], y = class->moved[b];
    return fabs(x - y) > ALIKE * fmax(x, y);
}

static void part(ask_suspects *s, uint32_t a, uint32_t b)
{
    s->apart[a * s->count + b] = s->apart[b * s->count + a] = true;
    s->together--;
}

/* The same of a column: what the members show of it by their signs, one row of values for each. */
static double *column_shows(const ask_call *call, cw_fact_id fact, const uint32_t *members, uint32_t count)
{
    const cw_asker *asker = call->asker;
    const uint32_t values = asker->model->facts[fact].values.count;
    double *shows = CW_NEW_ARRAY(asker->check, double, (size_t)count *values);
    for (uint32_t i = 0; shows != NULL && i < count; i++)
        cw_identity_chances(asker->tables, fact, asker->hypotheses[members[i]],
                            cw_identity_swapped(asker->tables, fact), &shows[(size_t)i * values]);
    return shows;
}

static bool parted_in_column(const double *shows, uint32_t values, uint32_t a, uint32_t b)
{
    bool parted = false;
    for (uint32_t v = 0; v < values && !parted; v++) {
        const double x = shows[(size_t)a * values + v], y = shows[(size_t)b * values + v];
        parted = fabs(x - y) > ALIKE * fmax(x, y);
    }
    return parted;
}

static cw_status part_by_column(const ask_call *call, ask_suspects *s, cw_fact_id fact)
{
    const double *shows = column_shows(call, fact, s->members, s->count);
    if (shows == NULL)
        return CW_NO_MEMORY;
    for (uint32_t a = 0; a < s->count; a++)
        for (uint32_t b = 0; b < a; b++)
            if (!s->apart[a * s->count + b] &&
                parted_in_column(shows, call->asker->model->facts[fact].values.count, a, b))
                part(s, a, b);
    return CW_OK;
}

cw_status ask_suspects_seen(const ask_call *call, ask_suspects *s, const ask_weighed *weighed)
{
    if (weighed->column != 0)
        return s->together > 0 ? part_by_column(call, s, weighed->column) : CW_OK;
    for (uint32_t c = 0; c < weighed->class_count && s->together > 0; c++)
        for (uint32_t a = 0; weighed->classes[c].moved != NULL && a < s->count; a++)
            for (uint32_t b = 0; b < a; b++)
                if (!s->apart[a * s->count + b] && parted(&weighed->classes[c], s->members[a], s->members[b]))
                    part(s, a, b);
    return CW_OK;
}

/* -- Signs that differ -- */

static const cw_sign *find_sign(const cw_model *model, cw_run signs, cw_fact_id fact)
{
    for (uint32_t i = 0; i < signs.count; i++)
        if (model->signs[signs.first + i].fact == fact)
            return &model->signs[signs.first + i];
    return NULL;
}

static bool patterns_differ(const cw_model *model, const cw_sign *a, const cw_sign *b)
{
    if (a->patterns.count != b->patterns.count)
        return true;
    for (uint32_t i = 0; i < a->patterns.count; i++)
        if (model->pattern_lists[a->patterns.first + i] != model->pattern_lists[b->patterns.first + i] ||
            fabs(a->chances[i] - b->chances[i]) > ALIKE)
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

typedef struct look {
    ask_call *call;
    const ask_footing *footing;
    const cw_chain *chain;
    ask_reach reach;
    double *chances[2]; /* room for the values of a fact */
} look;

static bool causes_differ(const look *l, cw_fact_id fact, cw_cause_id a, cw_cause_id b)
{
    const cw_model *model = l->call->asker->model;
    const cw_sign *x = find_sign(model, model->causes[a].signs, fact);
    const cw_sign *y = find_sign(model, model->causes[b].signs, fact);
    for (uint32_t v = 0; v < model->facts[fact].values.count; v++)
        if (value_counts(model, l->chain, &l->reach, fact, v) &&
            fabs(cause_chance(x, v) - cause_chance(y, v)) > ALIKE)
            return true;
    return false;
}

/* P(swapped | hypothesis, what has been seen) for what belongs to the fact. */
static double swapped(const look *l, cw_fact_id fact, uint32_t h)
{
    const cw_asker *asker = l->call->asker;
    const double *known =
        l->footing->swapped[asker->model->checks[asker->model->facts[fact].check].swap_group];
    if (known != NULL)
        return known[h];
    return h == 0 ? 0 : cw_identity_swapped(asker->tables, fact);
}

/* By their signs, or because one is likelier to have been swapped: then it shows more of the average. */
static bool units_differ(const look *l, cw_fact_id fact, uint32_t first, uint32_t second)
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
        if (fabs(of_a - of_b) > ALIKE)
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
            fabs(l->chances[0][v] - l->chances[1][v]) > ALIKE * l->chances[0][v])
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
        if (fabs(led[0] - led[1]) > ALIKE || fabs(leads[0] - leads[1]) > ALIKE)
            return true;
    }
    return false;
}

/* Odds by which a circumstance that could still come about changes a cause; 0 when it rules it out. */
static double shifted(const look *l, cw_cause_id id, cw_atom_id atom)
{
    const cw_model *model = l->call->asker->model;
    const cw_cause *cause = &model->causes[id];
    double times = cause->ruled_out == atom ? 0 : 1;
    for (uint32_t i = 0; i < cause->shifts.count; i++)
        if (model->shifts[cause->shifts.first + i].atom == atom)
            times *= model->shifts[cause->shifts.first + i].times;
    return times;
}

static bool circumstances_differ(const look *l, cw_cause_id a, cw_cause_id b)
{
    const cw_asker *asker = l->call->asker;
    for (uint32_t i = 0; i < asker->circumstance_count; i++) {
        cw_atom_id atom = asker->circumstances[i];
        if (l->reach.atoms[atom] && cw_chain_truth(l->chain, atom) != CW_YES &&
            fabs(shifted(l, a, atom) - shifted(l, b, atom)) > ALIKE)
            return true;
    }
    return false;
}

/* Open checks of units have been tried answer by answer; that says more than the signs alone. */
static bool tried(const look *l, cw_fact_id fact)
{
    cw_check_id check = l->call->asker->model->facts[fact].check;
    return check != 0 && cw_ask_open(l->chain, check, l->call->limits);
}

static bool could_part(const look *l, uint32_t a, uint32_t b)
{
    const cw_asker *asker = l->call->asker;
    const ask_matter *matter = &asker->matter[l->call->about];
    bool units = l->call->about == CW_ABOUT_UNITS;
    if (!units && (links_differ(asker->model, a, b) || circumstances_differ(l, a, b)))
        return true;
    for (uint32_t fact = 1; fact <= asker->model->facts_count; fact++) {
        if (!matter->signs[fact])
            continue;
        if (units ? !tried(l, fact) && units_differ(l, fact, a, b) : causes_differ(l, fact, a, b))
            return true;
    }
    return false;
}

static cw_status look_new(ask_call *call, const ask_footing *f, uint32_t places, bool left_open_too,
                          look *out)
{
    const cw_model *model = call->asker->model;
    uint32_t most = 0;
    for (uint32_t i = 1; i <= model->facts_count; i++)
        most = model->facts[i].values.count > most ? model->facts[i].values.count : most;
    *out = (look){.call = call, .footing = f, .chain = f->chain};
    for (int i = 0; i < 2; i++)
        if ((out->chances[i] = CW_NEW_ARRAY(call->asker->call, double, most)) == NULL)
            return CW_NO_MEMORY;
    return ask_reach_new(call, f->chain, places, left_open_too, call->asker->call, &out->reach);
}

/* -- What would tell them apart -- */

typedef struct group {
    uint32_t *members; /* as in suspects */
    uint32_t count;
} group;

static cw_status parts_group(const ask_call *call, const ask_weighed *weighed, const group *g, bool *out)
{
    *out = false;
    for (uint32_t c = 0; c < weighed->class_count; c++)
        for (uint32_t i = 1; weighed->classes[c].moved != NULL && i < g->count; i++)
            *out |= parted(&weighed->classes[c], g->members[0], g->members[i]);
    if (weighed->column == 0)
        return CW_OK;
    const double *shows = column_shows(call, weighed->column, g->members, g->count);
    for (uint32_t i = 1; shows != NULL && i < g->count; i++)
        *out |= parted_in_column(shows, call->asker->model->facts[weighed->column].values.count, 0, i);
    return shows == NULL ? CW_NO_MEMORY : CW_OK;
}

/* Does the check, perhaps with others, lead to a fact on which the members differ? */
static cw_status leads_to_parting(const look *l, cw_check_id check, const group *g, bool *out)
{
    const cw_asker *asker = l->call->asker;
    const cw_model *model = asker->model;
    bool *atoms = NULL;
    cw_arena_reset(asker->trial);
    cw_status status = ask_forward(asker, check, asker->trial, &atoms);
    *out = false;
    for (uint32_t fact = 1; status == CW_OK && fact <= model->facts_count && !*out; fact++) {
        if (!asker->matter[l->call->about].signs[fact])
            continue;
        bool reached = model->checks[check].fact == fact;
        for (uint32_t i = 0; i < model->facts[fact].atoms.count && !reached; i++)
            reached = atoms[model->fact_atoms[model->facts[fact].atoms.first + i]];
        for (uint32_t i = 1; reached && i < g->count && !*out; i++)
            *out = l->call->about == CW_ABOUT_UNITS ? units_differ(l, fact, g->members[0], g->members[i])
                                                    : causes_differ(l, fact, g->members[0], g->members[i]);
    }
    return status;
}

static bool sooner(const cw_model *model, const cw_proposal *a, const cw_proposal *b)
{
    if (b->check == 0 || a->minutes != b->minutes)
        return b->check == 0 || a->minutes < b->minutes;
    if (fabs(a->bits - b->bits) > ALIKE)
        return a->bits > b->bits;
    return strcmp(model->checks[a->check].name, model->checks[b->check].name) < 0;
}

/* `wide`: all that could be asked at any place. In units an answer that parts them
 * outranks one that only leads there. */
static cw_status find_teller(const look *wide, const ask_footing *f, const group *g, cw_proposal *tells)
{
    ask_call *call = wide->call;
    const cw_model *model = call->asker->model;
    cw_proposal leads = {0};
    *tells = leads;
    for (cw_check_id id = 1; id <= model->checks_count; id++) {
        cw_proposal p;
        ask_weighed weighed = {0};
        bool leading = false, parts = false;
        if (!wide->reach.checks[id] || !ask_place(model, id, 0, call->limits->here, &p))
            continue;
        cw_status status = leads_to_parting(wide, id, g, &leading);
        if (status == CW_OK && (leading || call->about == CW_ABOUT_UNITS))
            status = ask_try_all(call, f, id, &weighed);
        if (status == CW_OK)
            status = parts_group(call, &weighed, g, &parts);
        if (status != CW_OK)
            return status;
        p.bits = weighed.bits;
        p.worth = p.bits / p.minutes;
        if (call->about == CW_ABOUT_UNITS && parts && sooner(model, &p, tells))
            *tells = p;
        if (leading && sooner(model, &p, &leads))
            leads = p;
    }
    if (tells->check == 0)
        *tells = leads;
    return CW_OK;
}

/* What could be asked at any place, then what was left open as well: that is looked through only where
 * nothing else would tell. Each is made when first needed. */
static cw_status name_teller(ask_call *call, const ask_footing *f, look wide[2], const group *g,
                             cw_proposal *tells)
{
    cw_status status = CW_OK;
    *tells = (cw_proposal){0};
    for (int again = 0; again < 2 && status == CW_OK && tells->check == 0; again++) {
        if (wide[again].call == NULL)
            status = look_new(call, f, 0, again == 1, &wide[again]);
        if (status == CW_OK)
            status = find_teller(&wide[again], f, g, tells);
    }
    return status;
}

/* -- Together -- */

/* The first suspect not yet taken and all that is like it. Not listed is no twin: there is nothing to name.
 */
static void gather(const ask_suspects *s, uint32_t leader, bool units, bool *taken, group *g)
{
    g->count = 0;
    for (uint32_t i = leader; i < s->count; i++) {
        if (taken[i] || s->apart[leader * s->count + i] || (units && s->members[i] == 0))
            continue;
        taken[i] = true;
        g->members[g->count++] = s->members[i];
    }
}

static cw_status hand_out(ask_call *call, const ask_footing *f, const group *g, cw_arena *arena,
                          cw_twins *out)
{
    bool units = call->about == CW_ABOUT_UNITS;
    uint32_t *members = CW_NEW_ARRAY(arena, uint32_t, g->count);
    if (members == NULL)
        return CW_NO_MEMORY;
    out->members = members;
    out->count = g->count;
    out->probability = f->chance[g->members[0]];
    for (uint32_t i = 0; i < g->count; i++) {
        members[i] = units ? call->asker->hypotheses[g->members[i]] : g->members[i];
        out->probability += units && i > 0 ? f->chance[g->members[i]] : 0;
    }
    return CW_OK;
}

static cw_status part_further(ask_call *call, const ask_footing *f, ask_suspects *s)
{
    look near;
    if (s->together == 0)
        return CW_OK;
    cw_status status = look_new(call, f, call->limits->places, false, &near);
    for (uint32_t a = 0; status == CW_OK && a < s->count; a++)
        for (uint32_t b = 0; b < a; b++)
            if (!s->apart[a * s->count + b] && could_part(&near, s->members[a], s->members[b]))
                part(s, a, b);
    return status;
}

cw_status ask_twins(ask_call *call, const ask_footing *f, ask_suspects *s, cw_arena *arena, cw_advice *advice,
                    bool *all_that_remains)
{
    cw_asker *asker = call->asker;
    bool units = call->about == CW_ABOUT_UNITS, *taken = CW_NEW_ARRAY(asker->call, bool, s->count);
    group g = {CW_NEW_ARRAY(asker->call, uint32_t, s->count), 0};
    cw_twins *twins = CW_NEW_ARRAY(arena, cw_twins, s->count);
    look wide[2] = {{0}, {0}};
    *all_that_remains = false;
    if (taken == NULL || g.members == NULL || twins == NULL)
        return CW_NO_MEMORY;
    advice->twins = twins;
    cw_status status = part_further(call, f, s);
    for (uint32_t i = 0; i < s->count && status == CW_OK; i++) {
        if (taken[i])
            continue;
        gather(s, i, units, taken, &g);
        if (g.count < 2)
            continue;
        cw_twins *next = &twins[advice->twins_count];
        status = hand_out(call, f, &g, arena, next);
        if (status == CW_OK)
            status = name_teller(call, f, wide, &g, &next->tells);
        advice->twins_count += status == CW_OK ? 1 : 0;
        *all_that_remains |= units && (g.count == s->count || next->probability >= call->limits->sure);
    }
    return status;
}
