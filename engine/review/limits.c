/* Limits that a reading of the check cannot tell apart, and limits that every reading passes. */
#include "review/inside.h"

#include <math.h>
#include <stdlib.h>

typedef struct limit {
    double at;
    cw_atom_id atom;
} limit;

static int by_value(const void *a, const void *b)
{
    const limit *x = a, *y = b;
    return x->at != y->at ? (x->at > y->at) - (x->at < y->at) : (x->atom > y->atom) - (x->atom < y->atom);
}

static double best_error(const cw_model *model, const cw_check *check)
{
    double best = INFINITY;
    for (uint32_t i = 0; i < check->tools.count; i++)
        if (model->tools[check->tools.first + i].error < best)
            best = model->tools[check->tools.first + i].error;
    return best;
}

/* Where the limit is written: its rule, else its check. */
static cw_span place_of(const cw_model *model, cw_atom_id atom, const cw_check *check)
{
    cw_rule_id user = review_user(model, atom);
    uint32_t origin = user != 0 ? model->rules[user].origin : 0;
    return origin != 0 ? model->origins[origin].span : check->span;
}

static bool is_used(const reviewer *r, cw_atom_id atom)
{
    return r->asked[atom] || r->model->atoms[atom].used_by.count > 0;
}

static uint32_t collect(const reviewer *r, const cw_check *check, limit *limits)
{
    const cw_model *model = r->model;
    cw_run atoms = model->facts[check->fact].atoms;
    uint32_t count = 0;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id id = model->fact_atoms[atoms.first + i];
        const cw_atom *atom = &model->atoms[id];
        if (atom->kind != CW_ATOM_BAND || !is_used(r, id))
            continue;
        const double edges[2] = {atom->band.low, atom->band.high};
        for (int k = 0; k < 2; k++)
            if (edges[k] > check->range.low && edges[k] < check->range.high)
                limits[count++] = (limit){edges[k], id};
    }
    return count;
}

static void warn_close(reviewer *r, const cw_check *check, const limit *a, const limit *b, double error)
{
    const cw_unit_info *unit = r->model->facts[check->fact].unit;
    cw_span place = place_of(r->model, b->atom, check), other = place_of(r->model, a->atom, check);
    cw_diag *diag = review_warn(r, CW_DIAG_LIMITS_TOO_CLOSE, place,
                                "the limits %s and %s of '%s' lie closer together than its reading error, %s",
                                review_quantity(r, a->at, unit), review_quantity(r, b->at, unit), check->name,
                                review_quantity(r, error, unit));
    if (other.source != place.source || other.start != place.start)
        cw_diag_second(r->diags, diag, other, "the other limit");
    advise(r, diag,
           "no reading falls between them for sure: take one limit for both, or name a finer tool in "
           "'reading_error'");
}

static void look_at_gaps(reviewer *r, const cw_check *check)
{
    limit *limits = review_take(r, 2 * (size_t)r->model->facts[check->fact].atoms.count, sizeof *limits);
    if (limits == NULL)
        return;
    uint32_t count = collect(r, check, limits);
    double error = best_error(r->model, check);
    if (count > 1)
        qsort(limits, count, sizeof *limits, by_value);
    for (uint32_t i = 1; i < count; i++) {
        double gap = limits[i].at - limits[i - 1].at;
        /* What is written as the same number may differ in its last bit when the units differ. */
        if (gap > 1e-9 * fabs(limits[i].at) && gap < error * (1 - 1e-9))
            warn_close(r, check, &limits[i - 1], &limits[i], error);
    }
}

static void look_at_range(reviewer *r, const cw_check *check)
{
    const cw_model *model = r->model;
    cw_run atoms = model->facts[check->fact].atoms;
    const cw_unit_info *unit = model->facts[check->fact].unit;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id id = model->fact_atoms[atoms.first + i];
        const cw_atom *atom = &model->atoms[id];
        bool low =
            atom->band.low < check->range.low || (atom->band.low == check->range.low && !atom->band.low_open);
        bool high = atom->band.high > check->range.high ||
                    (atom->band.high == check->range.high && !atom->band.high_open);
        if (atom->kind != CW_ATOM_BAND || !is_used(r, id) || !low || !high)
            continue;
        cw_diag *diag = review_warn(r, CW_DIAG_ALWAYS_HOLDS, place_of(model, id, check),
                                    "every reading of '%s' passes the limit here: it goes from %s to %s",
                                    check->name, review_quantity(r, check->range.low, unit),
                                    review_quantity(r, check->range.high, unit));
        advise(r, diag, "look at the unit of the limit (inches for millimetres?), or at the check's 'range'");
    }
}

void review_limits(reviewer *r)
{
    for (uint32_t i = 1; i <= r->model->checks_count && !r->no_memory; i++) {
        const cw_check *check = &r->model->checks[i];
        if (r->model->facts[check->fact].kind != CW_MEASURE)
            continue;
        look_at_gaps(r, check);
        look_at_range(r, check);
    }
}
