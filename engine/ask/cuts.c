/* Where the range of a measured check is cut: at the limits that rules set on it; at the readings that bring
 * what a formula works out from it to such a limit, the rest of the formula being known; around and between
 * the nominals of the units. A cut too many costs time, never truth. */
#include "ask/inside.h"

#include "base/vec.h"
#include <math.h>
#include <stdlib.h>

enum { FORMULAS_DEEP = 4, INPUTS_MOST = 16, GRID = 64, BISECTIONS = 60 };

typedef struct cutter {
    const cw_asker *asker;
    const cw_chain *chain;
    cw_fact_id fact; /* of the check */
    cw_interval range;
    cw_vec cuts; /* double */
    bool failed;
} cutter;

static void cut(cutter *c, double at)
{
    if (c->failed || !(at > c->range.low && at < c->range.high))
        return;
    double *item = cw_vec_add(&c->cuts);
    if (item == NULL)
        c->failed = true;
    else
        *item = at;
}

/* The value that a fact has when the check reads x; false when it takes more to know. */
static bool works_out(const cutter *c, cw_fact_id fact, double x, unsigned deep, double *out)
{
    const cw_model *model = c->asker->model;
    double error = 0;
    uint32_t value = 0;
    if (fact == c->fact) {
        *out = x;
        return true;
    }
    if (model->facts[fact].kind == CW_COUNT) {
        bool known = cw_chain_value(c->chain, fact, &value) == CW_KNOWN;
        *out = known ? model->values[model->facts[fact].values.first + value].number : 0;
        return known;
    }
    if (cw_chain_number(c->chain, fact, out, &error) == CW_KNOWN)
        return true;
    for (uint32_t i = deep > 0 ? c->asker->measuring_first[fact] : 0; i != 0;
         i = c->asker->measuring_next[i - 1]) {
        const cw_rule *rule = &model->rules[c->asker->measuring[i - 1]];
        double values[INPUTS_MOST] = {0}, errors[INPUTS_MOST] = {0};
        const uint32_t *inputs = NULL;
        size_t count = cw_formula_inputs(rule->formula, &inputs), met = 0;
        while (met < count && count <= INPUTS_MOST && works_out(c, inputs[met], x, deep - 1, &values[met]))
            met++;
        if (count > 0 && met == count && cw_formula_value(rule->formula, values, errors, out, &error))
            return true;
    }
    return false;
}

/* Does the formula of a fact read the check, directly or through other formulas? */
static bool rests_on(const cutter *c, cw_fact_id fact, unsigned deep)
{
    if (fact == c->fact)
        return true;
    for (uint32_t i = deep > 0 ? c->asker->measuring_first[fact] : 0; i != 0;
         i = c->asker->measuring_next[i - 1]) {
        const cw_rule *rule = &c->asker->model->rules[c->asker->measuring[i - 1]];
        const uint32_t *inputs = NULL;
        size_t count = cw_formula_inputs(rule->formula, &inputs);
        for (size_t k = 0; k < count; k++)
            if (rests_on(c, inputs[k], deep - 1))
                return true;
    }
    return false;
}

/* What a fact comes to at readings over the range: the lowest, then step by step, as far as it can be worked
 * out. */
typedef struct grid {
    double step, at[GRID + 1];
    int count; /* of `at`; -1: not worked out so far */
} grid;

/* Where step i begins. */
static double reading_at(const cutter *c, const grid *g, int i)
{
    return c->range.low + g->step * i;
}

static void fill_grid(const cutter *c, cw_fact_id fact, grid *g)
{
    g->step = (c->range.high - c->range.low) / GRID;
    g->count = 0;
    if (!isfinite(g->step) || !works_out(c, fact, c->range.low, FORMULAS_DEEP, &g->at[0]))
        return;
    for (g->count = 1; g->count <= GRID; g->count++)
        if (!works_out(c, fact, reading_at(c, g, g->count - 1) + g->step, FORMULAS_DEEP, &g->at[g->count]))
            return;
}

/* The reading within the step at which the fact comes to the limit, by halving. */
static bool reached_within(const cutter *c, cw_fact_id fact, double limit, bool below, double low,
                           double *high)
{
    for (int k = 0; k < BISECTIONS; k++) {
        const double middle = low + (*high - low) / 2;
        double at = 0;
        if (middle <= low || middle >= *high)
            return true;
        if (!works_out(c, fact, middle, FORMULAS_DEEP, &at))
            return false;
        if ((at < limit) == below)
            low = middle;
        else
            *high = middle;
    }
    return true;
}

/* Readings at which the fact comes to the limit: a change of side on the grid, then halving. */
static void cut_where_reached(cutter *c, cw_fact_id fact, grid *g, double limit)
{
    if (g->count < 0)
        fill_grid(c, fact, g);
    for (int i = 1; i < g->count; i++) {
        const bool below = g->at[i - 1] < limit;
        double low = reading_at(c, g, i - 1), high = low + g->step;
        if (below == (g->at[i] < limit))
            continue;
        if (!reached_within(c, fact, limit, below, low, &high))
            return;
        cut(c, high);
    }
}

static void cut_at(cutter *c, cw_fact_id fact, grid *g, double limit)
{
    if (fact == c->fact)
        cut(c, limit);
    else if (isfinite(limit))
        cut_where_reached(c, fact, g, limit);
}

static void cut_at_limits(cutter *c, cw_fact_id fact, grid *g)
{
    const cw_model *model = c->asker->model;
    cw_run atoms = model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        const cw_atom *atom = &model->atoms[model->fact_atoms[atoms.first + i]];
        if (atom->kind != CW_ATOM_BAND)
            continue;
        cut_at(c, fact, g, atom->band.low);
        cut_at(c, fact, g, atom->band.high);
    }
}

/* What one works out needs a second reading that is not there yet: thirds of the range stand for little,
 * middling, much. */
static void cut_in_thirds(cutter *c)
{
    double third = (c->range.high - c->range.low) / 3;
    cut(c, c->range.low + third);
    cut(c, c->range.high - third);
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

const cw_sign *ask_sign(const cw_model *model, cw_run signs, cw_fact_id fact)
{
    uint32_t low = 0, high = signs.count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (model->signs[signs.first + middle].fact < fact)
            low = middle + 1;
        else
            high = middle;
    }
    const cw_sign *sign = &model->signs[signs.first + low];
    return low < signs.count && sign->fact == fact ? sign : NULL;
}

/* Around each nominal, as far as nearly all readings scatter, and midway between neighbours. */
static void cut_at_nominals(cutter *c, cw_fact_id fact, grid *g, double error)
{
    const cw_asker *asker = c->asker;
    double *means = CW_NEW_ARRAY(asker->check, double, asker->hypothesis_count);
    size_t count = 0;
    if (means == NULL) {
        c->failed = true;
        return;
    }
    for (uint32_t h = 1; h < asker->hypothesis_count; h++) {
        const cw_sign *sign = ask_unit_sign(asker->model, asker->hypotheses[h], fact);
        if (sign == NULL || sign->kind != CW_SIGN_NORMAL)
            continue;
        double scatter = 3 * sqrt(sign->sd * sign->sd + error * error);
        means[count++] = sign->mean;
        cut_at(c, fact, g, sign->mean - scatter);
        cut_at(c, fact, g, sign->mean + scatter);
    }
    qsort(means, count, sizeof *means, by_size);
    for (size_t i = 1; i < count; i++)
        if (means[i] > means[i - 1])
            cut_at(c, fact, g, means[i - 1] + (means[i] - means[i - 1]) / 2);
}

static void cut_at_fact(cutter *c, cw_fact_id fact, cw_about about, double error)
{
    grid g = {.count = -1};
    cut_at_limits(c, fact, &g);
    if (about == CW_ABOUT_UNITS)
        cut_at_nominals(c, fact, &g, error);
}

/* The measures that rest on the check's fact, each once: the packs' own affair, and so found once. NULL when
 * memory fails. */
static const cw_fact_id *resting(const cutter *c)
{
    const cw_asker *asker = c->asker;
    cw_fact_id *list = NULL;
    uint32_t count = 0;
    if (asker->resting[c->fact] != NULL)
        return asker->resting[c->fact];
    list = CW_NEW_ARRAY(asker->fixed, cw_fact_id, (size_t)asker->measuring_count + 1);
    for (uint32_t i = 0; list != NULL && i < asker->measuring_count; i++) {
        const cw_fact_id fact = asker->model->rules[asker->measuring[i]].measure;
        const bool first = asker->measuring_first[fact] == i + 1;
        if (first && fact != c->fact && rests_on(c, fact, FORMULAS_DEEP))
            list[count++] = fact;
    }
    asker->resting[c->fact] = list;
    return list;
}

static void cut_all(cutter *c, cw_check_id check, cw_about about)
{
    const cw_asker *asker = c->asker;
    const ask_matter *matter = &asker->matter[about];
    cw_run tools = asker->model->checks[check].tools;
    double error = tools.count == 0 ? 0 : asker->model->tools[tools.first].error, middle = 0;
    bool unclear = false;
    const cw_fact_id *measures = resting(c);
    c->failed |= measures == NULL;
    cut_at_fact(c, c->fact, about, error);
    for (; measures != NULL && *measures != 0; measures++) {
        const cw_fact_id fact = *measures;
        if (!matter->facts[fact])
            continue;
        if (!works_out(c, fact, c->range.low + (c->range.high - c->range.low) / 2, FORMULAS_DEEP, &middle)) {
            unclear = true;
            continue;
        }
        cut_at_fact(c, fact, about, error);
    }
    if (unclear)
        cut_in_thirds(c);
}

cw_status ask_cuts(cw_asker *asker, const cw_chain *chain, cw_check_id check, cw_about about, double **cuts,
                   uint32_t *count)
{
    const cw_check *of = &asker->model->checks[check];
    cutter c = {asker, chain, of->fact, of->range, CW_VEC_INIT(cw_arena_pieces(asker->check), double), false};
    cut_all(&c, check, about);
    double *sorted = c.failed ? NULL : CW_NEW_ARRAY(asker->check, double, c.cuts.count);
    *count = 0;
    *cuts = sorted;
    if (sorted != NULL && c.cuts.count > 0) {
        double *all = c.cuts.items, least = 1e-9 * (of->range.high - of->range.low);
        qsort(all, c.cuts.count, sizeof *all, by_size);
        for (size_t i = 0; i < c.cuts.count; i++)
            if (*count == 0 || all[i] - sorted[*count - 1] > least)
                sorted[(*count)++] = all[i];
    }
    return sorted == NULL ? CW_NO_MEMORY : CW_OK;
}
