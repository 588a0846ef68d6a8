/* Which units lie on the counter, and what they show. */
#include "learn/inside.h"
#include "learn/shown.h"

#include <math.h>

static double catalogue_of(const cw_model *model, double *versions)
{
    double seen = 0;
    *versions = 0;
    for (cw_unit_id unit = 1; unit <= model->units_count; unit++) {
        seen += model->units[unit].version ? model->units[unit].seen : 0;
        *versions += model->units[unit].version;
    }
    return seen;
}

/* The versions' shares: jobs that may have been one of several are shared among them as the shares say, until
 * that stands still. */
typedef struct shares {
    double *book, *share, *laid_to; /* by unit */
    uint64_t *sure, *perhaps;       /* cases of this one alone, of this one or another */
    uint64_t cases;
    double seen; /* of all versions, in the book; 0: all alike */
} shares;

static void share_out(const sum *of, shares *all)
{
    const uint32_t count = of->learner->model->units_count;
    for (cw_unit_id unit = 1; unit <= count; unit++)
        all->laid_to[unit] = 0;
    for (size_t i = 0; i < of->count; i++) {
        const uint32_t *numbers = numbers_of(of->learner, of->rows[i]);
        double whole = 0;
        for (uint32_t k = AT_MAKERS; k < of->rows[i]->size; k++)
            whole += all->share[numbers[k]];
        for (uint32_t k = AT_MAKERS; k < of->rows[i]->size; k++)
            all->laid_to[numbers[k]] +=
                (double)of->rows[i]->cases *
                (whole > 0 ? all->share[numbers[k]] / whole : 1.0 / (of->rows[i]->size - AT_MAKERS));
    }
}

static void count_shares(const sum *of, shares *all)
{
    enum { MOST_STEPS = 20000 };
    const uint32_t count = of->learner->model->units_count;
    double moved = 1;
    for (int step = 0; moved >= 1e-13 && step < MOST_STEPS; step++) {
        moved = 0;
        share_out(of, all);
        for (cw_unit_id unit = 1; unit <= count; unit++) {
            const double share = (of->worth.seen * all->book[unit] + all->laid_to[unit]) /
                                 (of->worth.seen + (double)all->cases);
            moved = fmax(moved, fabs(share - all->share[unit]));
            all->share[unit] = share;
        }
    }
    of->out->settled = of->out->settled && moved < 1e-13;
    share_out(of, all);
}

static cw_status start_shares(const sum *of, shares *all)
{
    const cw_model *model = of->learner->model;
    const size_t count = (size_t)model->units_count + 1;
    double versions;
    const double seen = catalogue_of(model, &versions);
    *all = (shares){.seen = seen,
                    .book = CW_NEW_ARRAY(of->arena, double, count),
                    .share = CW_NEW_ARRAY(of->arena, double, count),
                    .laid_to = CW_NEW_ARRAY(of->arena, double, count),
                    .sure = CW_NEW_ARRAY(of->arena, uint64_t, count),
                    .perhaps = CW_NEW_ARRAY(of->arena, uint64_t, count)};
    if (all->book == NULL || all->share == NULL || all->laid_to == NULL || all->sure == NULL ||
        all->perhaps == NULL)
        return CW_NO_MEMORY;
    for (cw_unit_id unit = 1; unit < count; unit++)
        if (model->units[unit].version)
            all->share[unit] = all->book[unit] = seen > 0 ? model->units[unit].seen / seen : 1 / versions;
    for (size_t i = 0; i < of->count; i++) {
        const row *one = of->rows[i];
        for (uint32_t k = AT_MAKERS; k < one->size; k++) {
            const cw_unit_id unit = numbers_of(of->learner, one)[k];
            *(one->size == AT_MAKERS + 1 ? &all->sure[unit] : &all->perhaps[unit]) += one->cases;
            all->share[unit] = fmax(all->share[unit], 1e-3);
        }
        all->cases += one->cases;
    }
    return CW_OK;
}

cw_status learn_units(const sum *of)
{
    const cw_model *model = of->learner->model;
    shares all;
    cw_status status = start_shares(of, &all);
    if (status == CW_OK)
        count_shares(of, &all);
    for (cw_unit_id unit = 1; unit <= model->units_count && status == CW_OK; unit++) {
        if (!model->units[unit].version)
            continue;
        const double book_cases = of->worth.seen * all.book[unit], whole = of->worth.seen + (double)all.cases;
        cw_lesson lesson = {.kind = CW_LESSON_UNIT,
                            .unit = unit,
                            .book = all.book[unit],
                            .worth = of->worth.seen,
                            .seen = all.sure[unit] + all.perhaps[unit],
                            .of = all.cases,
                            .laid_to = all.laid_to[unit],
                            .posterior = all.share[unit],
                            .weight = all.seen > 0 ? model->units[unit].seen +
                                                         all.laid_to[unit] * all.seen / of->worth.seen
                                                   : book_cases + all.laid_to[unit],
                            .needed = all.seen <= 0 || all.laid_to[unit] > 0};
        if (lesson.book <= 0 && lesson.seen == 0)
            continue;
        status =
            learn_append_between(of, lesson, book_cases, whole, (double)all.sure[unit], (double)lesson.seen);
    }
    return status;
}

/* clear and blurred of shown.h, from what a version with the sign shows with and without a swap. */
static void see_through(const sum *of, const row *one, const double *own, learn_shown *out, double *blurred,
                        double *room)
{
    const cw_model *model = of->learner->model;
    const cw_fact_id fact = numbers_of(of->learner, one)[AT_FACT];
    const cw_check_id check = model->facts[fact].check;
    const double swapped = check == 0 ? 0 : model->checks[check].swapped;
    const double blunders = check == 0 ? 0 : model->checks[check].blunders;
    out->clear = (1 - swapped) * (1 - blunders);
    cw_identity_chances(of->learner->tables, fact, one->unit, 1, room);
    for (uint32_t v = 0; v < out->values; v++)
        blurred[v] = swapped * room[v];
    cw_identity_chances(of->learner->tables, fact, one->unit, 0, room);
    for (uint32_t v = 0; v < out->values; v++) {
        const double left = (1 - swapped) * (room[v] - (1 - blunders) * own[v]);
        blurred[v] += left > 1e-15 ? left : 0;
    }
}

static const cw_sign *sign_of(const sum *of)
{
    const cw_model *model = of->learner->model;
    const cw_run signs = model->units[of->rows[0]->unit].signs;
    for (uint32_t i = signs.first; i < signs.first + signs.count; i++)
        if (model->signs[i].fact == numbers_of(of->learner, of->rows[0])[AT_FACT])
            return &model->signs[i];
    return NULL;
}

cw_status learn_unit_shows(const sum *of)
{
    const cw_model *model = of->learner->model;
    const uint32_t *head = numbers_of(of->learner, of->rows[0]);
    const uint32_t values = model->facts[head[AT_FACT]].values.count;
    const cw_sign *sign = sign_of(of);
    double *room = CW_NEW_ARRAY(of->arena, double, (size_t)values * 7);
    if (room == NULL)
        return CW_NO_MEMORY;
    double *prior = room + values, *cases = prior + values, *chance = cases + values;
    double *blurred = room + 4 * (size_t)values;
    learn_shown shown = {.values = values,
                         .blurred = blurred,
                         .prior = prior,
                         .cases = cases,
                         .chance = chance,
                         .expected = room + 5 * (size_t)values,
                         .worth = room + 6 * (size_t)values};
    uint64_t all = 0;
    for (size_t i = 0; i < of->count; i++) {
        cases[numbers_of(of->learner, of->rows[i])[AT_VALUE]] += (double)of->rows[i]->cases;
        all += of->rows[i]->cases;
    }
    see_through(of, of->rows[0], sign->chances, &shown, blurred, room);
    for (uint32_t v = 0; v < values; v++) {
        prior[v] = of->worth.rest * sign->chances[v];
        chance[v] = sign->chances[v] <= 0 && cases[v] > 0 ? 0.5 / of->worth.rest : sign->chances[v];
    }
    cw_status status = learn_shown_run(&shown, &of->learner->allocator);
    of->out->settled = of->out->settled && shown.settled;
    for (uint32_t v = 0; v < values && status == CW_OK; v++)
        if (sign->chances[v] > 0 || chance[v] > 0)
            status = learn_append(of,
                                  (cw_lesson){.kind = CW_LESSON_UNIT_SIGN,
                                              .unit = head[AT_ABOUT],
                                              .fact = head[AT_FACT],
                                              .value = v,
                                              .book = sign->chances[v],
                                              .worth = of->worth.rest,
                                              .seen = (uint64_t)cases[v],
                                              .of = all,
                                              .laid_to = shown.expected[v],
                                              .posterior = chance[v]},
                                  prior[v], shown.worth[v]);
    return status;
}
