/* Counts, in their own order, to lessons. */
#include "learn/beta.h"
#include "learn/inside.h"

#include <math.h>
#include <stdlib.h>

/* 90 of 100 between the ends; and 99 of 100. */
static const double tail = 0.05, far_tail = 0.005;

/* The shop's own interval is that of its cases alone, over Jeffreys' prior: half a case for and against
 * (Brown, Cai & DasGupta 2001, Statist. Sci. 16, 101-133). */
static void hold_against_book(cw_lesson *lesson, double least, double most)
{
    const double cases = fmax(lesson->shop_worth, most);
    lesson->shop_low = learn_beta_quantile(far_tail, least + 0.5, fmax(cases - least, 0) + 0.5);
    lesson->shop_high = learn_beta_quantile(1 - far_tail, most + 0.5, fmax(cases - most, 0) + 0.5);
    lesson->contradicts = lesson->shop_worth >= LEARN_ENOUGH &&
                          (lesson->book < lesson->shop_low || lesson->book > lesson->shop_high);
}

static cw_status append(const sum *of, const cw_lesson *lesson)
{
    cw_lesson *place = cw_vec_add(of->lessons);
    if (place == NULL)
        return CW_NO_MEMORY;
    *place = *lesson;
    place->whole = lesson->worth + (double)lesson->of + lesson->unseen;
    return CW_OK;
}

cw_status learn_append(const sum *of, cw_lesson lesson, double book_cases, double worth)
{
    const double shares = lesson.posterior * worth;
    const double own = fmax(shares - book_cases, 0);
    lesson.low = learn_beta_quantile(tail, shares, worth - shares);
    lesson.high = learn_beta_quantile(1 - tail, shares, worth - shares);
    lesson.shop_worth = fmax(worth - lesson.worth, 0);
    lesson.needed = true;
    hold_against_book(&lesson, own, own);
    return append(of, &lesson);
}

cw_status learn_append_between(const sum *of, cw_lesson lesson, double book_cases, double worth, double least,
                               double most)
{
    const double low = book_cases + least, high = book_cases + most;
    lesson.low = learn_beta_quantile(tail, low, worth - low);
    lesson.high = learn_beta_quantile(1 - tail, high, worth - high);
    lesson.shop_worth = worth - lesson.worth;
    hold_against_book(&lesson, least, most);
    return append(of, &lesson);
}

/* --- the order of rows, and of lessons --- */

/* For qsort, which takes no context. */
typedef struct ordered {
    const uint32_t *numbers;
    const row *one;
} ordered;

static int by_numbers(const void *a, const void *b)
{
    const ordered *x = a, *y = b;
    for (uint32_t i = 0; i < x->one->size && i < y->one->size; i++)
        if (x->numbers[i] != y->numbers[i])
            return x->numbers[i] < y->numbers[i] ? -1 : 1;
    return x->one->size < y->one->size ? -1 : x->one->size > y->one->size;
}

static int by_number(uint32_t x, uint32_t y)
{
    return x < y ? -1 : x > y;
}

/* Causes, backgrounds, units. */
static uint32_t section_of(const cw_lesson *lesson)
{
    return lesson->kind < CW_LESSON_BACKGROUND ? 0 : lesson->kind == CW_LESSON_BACKGROUND ? 1 : 2;
}

static int by_lesson(const void *a, const void *b)
{
    const cw_lesson *x = a, *y = b;
    const int orders[] = {by_number(section_of(x), section_of(y)),
                          by_number(x->cause, y->cause),
                          by_number(x->unit, y->unit),
                          by_number(x->kind, y->kind),
                          by_number(x->to, y->to),
                          by_number(x->fact, y->fact),
                          by_number(x->value, y->value)};
    for (size_t i = 0; i < sizeof orders / sizeof *orders; i++)
        if (orders[i] != 0)
            return orders[i];
    return 0;
}

static const row **in_order(const cw_learner *learner, cw_arena *arena)
{
    const size_t count = learner->rows.count;
    ordered *all = CW_NEW_ARRAY(arena, ordered, count);
    const row **rows = CW_NEW_ARRAY(arena, const row *, count);
    if (all == NULL || rows == NULL)
        return NULL;
    for (size_t i = 0; i < count; i++) {
        const row *one = CW_VEC_AT(&learner->rows, row, i);
        all[i] = (ordered){numbers_of(learner, one), one};
    }
    if (count > 1)
        qsort(all, count, sizeof *all, by_numbers);
    for (size_t i = 0; i < count; i++)
        rows[i] = all[i].one;
    return rows;
}

static bool same_sum(const cw_learner *learner, const row *a, const row *b)
{
    const uint32_t *x = numbers_of(learner, a), *y = numbers_of(learner, b);
    if (x[AT_KIND] == ROW_PRESENCE && y[AT_KIND] == ROW_PRESENCE && learner->model->idle < 1)
        return true;
    return x[AT_KIND] == y[AT_KIND] && x[AT_ABOUT] == y[AT_ABOUT] && x[AT_FACT] == y[AT_FACT];
}

static cw_status work_out_rows(sum *of, const row *const *rows, size_t count)
{
    static cw_status (*const kinds[])(const sum *) = {
        [ROW_PRESENCE] = learn_presence,
        [ROW_FINDING] = learn_finding,
        [ROW_UNIT] = learn_units,
        [ROW_UNIT_SHOWS] = learn_unit_shows,
    };
    cw_status status = CW_OK;
    for (size_t first = 0; first < count && status == CW_OK; first += of->count) {
        of->rows = rows + first;
        of->count = 1;
        while (first + of->count < count && same_sum(of->learner, rows[first], rows[first + of->count]))
            of->count++;
        status = kinds[numbers_of(of->learner, rows[first])[AT_KIND]](of);
    }
    return status;
}

cw_status cw_learner_work_out(const cw_learner *learner, cw_worth worth, cw_arena *arena, cw_lessons *out)
{
    cw_vec lessons = CW_VEC_INIT(&learner->allocator, cw_lesson);
    *out = (cw_lessons){.settled = true};
    sum of = {.learner = learner, .worth = worth, .arena = arena, .lessons = &lessons, .out = out};
    const row **rows = in_order(learner, arena);
    cw_status status = rows == NULL ? CW_NO_MEMORY : work_out_rows(&of, rows, learner->rows.count);
    cw_lesson *kept = status == CW_OK ? CW_NEW_ARRAY(arena, cw_lesson, lessons.count) : NULL;
    if (status == CW_OK && kept == NULL)
        status = CW_NO_MEMORY;
    for (size_t i = 0; i < lessons.count && kept != NULL; i++)
        kept[i] = *CW_VEC_AT(&lessons, cw_lesson, i);
    if (kept != NULL && lessons.count > 1)
        qsort(kept, lessons.count, sizeof *kept, by_lesson);
    out->lessons = kept;
    out->count = kept == NULL ? 0 : lessons.count;
    cw_vec_dispose(&lessons);
    return status;
}
