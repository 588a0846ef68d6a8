/* What two members show of one look, and by how much that parts them. */
#include "ask/apart_inside.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { GRID = 1024 };
#define FAR 6        /* standard deviations beyond which nothing is left */
#define FOREIGN 0.01 /* a text that another's pattern matches (rank/identity.h) */

/* -- Shapes of signs -- */

typedef struct signed_member {
    const apart *p;
    const cw_sign *sign;
    uint32_t member;
} signed_member;

static int by_number(double x, double y)
{
    return (x > y) - (x < y);
}

static int compare_patterns(const cw_model *model, const cw_sign *x, const cw_sign *y)
{
    if (x->patterns.count != y->patterns.count)
        return x->patterns.count < y->patterns.count ? -1 : 1;
    for (uint32_t i = 0; i < x->patterns.count; i++) {
        const uint32_t a = model->pattern_lists[x->patterns.first + i];
        const uint32_t b = model->pattern_lists[y->patterns.first + i];
        const int chances = by_number(x->chances[i], y->chances[i]);
        if (a != b || chances != 0)
            return a != b ? (a < b ? -1 : 1) : chances;
    }
    return 0;
}

static int compare_signs(const cw_model *model, const cw_sign *x, const cw_sign *y)
{
    if (x == NULL || y == NULL || x == y)
        return x == y ? 0 : x == NULL ? -1 : 1;
    if (x->kind == CW_SIGN_PATTERNS)
        return compare_patterns(model, x, y);
    return x->mean != y->mean ? by_number(x->mean, y->mean) : by_number(x->sd, y->sd);
}

static int by_sign(const void *a, const void *b)
{
    const signed_member *x = a, *y = b;
    const int order = compare_signs(x->p->model, x->sign, y->sign);
    return order != 0 ? order : x->member < y->member ? -1 : x->member > y->member;
}

static double reading_error(const apart *p, const apart_look *look)
{
    const cw_run tools = p->model->checks[look->checks[0]].tools;
    return tools.count == 0 ? 0 : p->model->tools[tools.first].error;
}

static double deviation(const apart *p, const apart_look *look, const cw_sign *sign)
{
    const cw_interval *range = &p->model->checks[look->checks[0]].range;
    const double error = reading_error(p, look), least = 1e-9 * fmax(range->high - range->low, 1e-9);
    return fmax(sqrt(sign->sd * sign->sd + error * error), least);
}

static double below(const apart *p, const apart_look *look, const cw_sign *sign, double at)
{
    return erfc((sign->mean - at) / (deviation(p, look, sign) * sqrt(2))) / 2;
}

static double grid_at(const apart *p, const apart_look *look, uint32_t i)
{
    const cw_interval *range = &p->model->checks[look->checks[0]].range;
    return range->low + (range->high - range->low) * i / GRID;
}

/* What comes off another unit: the mean of those with a sign, each as often as it was seen. */
static cw_status take_average(apart *p, apart_look *look)
{
    double *seen = CW_NEW_ARRAY(p->asker->trial, double, look->shapes), all = 0;
    double *average = CW_NEW_ARRAY(p->arena, double, GRID + 1);
    bool any = false;
    if (seen == NULL || average == NULL)
        return CW_NO_MEMORY;
    for (uint32_t m = 0; m < p->count; m++)
        any |= p->model->units[p->members[m]].seen > 0;
    for (uint32_t m = 0; m < p->count; m++)
        seen[look->shape[m]] += any ? p->model->units[p->members[m]].seen : 1;
    for (uint32_t s = 0; s < look->shapes; s++)
        all += look->signs[s] != NULL ? seen[s] : 0;
    for (uint32_t i = 0; i <= GRID; i++)
        for (uint32_t s = 0; s < look->shapes; s++)
            average[i] += look->signs[s] == NULL || all <= 0
                              ? 0
                              : seen[s] / all * below(p, look, look->signs[s], grid_at(p, look, i));
    p->steps += (uint64_t)GRID * look->shapes;
    look->average = average;
    return CW_OK;
}

/* A text for each pattern, to see whose else match it. */
static cw_status take_samples(apart *p, const apart_look *look)
{
    char text[CW_ANSWER_MAX_TEXT + 1];
    cw_asker *asker = p->asker;
    for (uint32_t s = 0; s < look->shapes; s++)
        for (uint32_t i = 0; look->signs[s] != NULL && i < look->signs[s]->patterns.count; i++) {
            const uint32_t pattern = p->model->pattern_lists[look->signs[s]->patterns.first + i];
            bool found = false;
            if (asker->samples[pattern] != NULL)
                continue;
            if (ask_sample(p->model->patterns[pattern], text, sizeof text, &found) == CW_NO_MEMORY)
                return CW_NO_MEMORY;
            asker->samples[pattern] = found ? cw_arena_text(asker->fixed, text, strlen(text)) : "";
            if (asker->samples[pattern] == NULL)
                return CW_NO_MEMORY;
        }
    return CW_OK;
}

cw_status apart_shapes_of_signs(apart *p, apart_look *look)
{
    const cw_check *check = &p->model->checks[look->checks[0]];
    signed_member *order = CW_NEW_ARRAY(p->asker->trial, signed_member, p->count);
    const cw_sign **signs = CW_NEW_ARRAY(p->arena, const cw_sign *, p->count);
    look->shape = CW_NEW_ARRAY(p->arena, uint32_t, p->count);
    look->plain = (1 - check->swapped) * (1 - check->blunders);
    look->signs = signs;
    if (order == NULL || signs == NULL || look->shape == NULL)
        return CW_NO_MEMORY;
    for (uint32_t m = 0; m < p->count; m++)
        order[m] = (signed_member){p, ask_unit_sign(p->model, p->members[m], check->fact), m};
    if (p->count > 0)
        qsort(order, p->count, sizeof *order, by_sign);
    for (uint32_t i = 0; i < p->count; i++) {
        if (i == 0 || compare_signs(p->model, order[i].sign, order[i - 1].sign) != 0)
            signs[look->shapes++] = order[i].sign;
        look->shape[order[i].member] = look->shapes - 1;
    }
    look->unsigned_memo = CW_ROOM(p->arena, float, look->shapes);
    for (uint32_t s = 0; look->unsigned_memo != NULL && s < look->shapes; s++)
        look->unsigned_memo[s] = -1;
    if (look->unsigned_memo == NULL)
        return CW_NO_MEMORY;
    return look->kind == APART_SIZES ? take_average(p, look) : take_samples(p, look);
}

/* -- Sizes -- */

/* The averaged distribution: between grid points as if it were straight. */
static double average_below(const apart *p, const apart_look *look, double at)
{
    const cw_interval *range = &p->model->checks[look->checks[0]].range;
    const double place = (at - range->low) / fmax(range->high - range->low, DBL_MIN) * GRID;
    if (!(place > 0))
        return isinf(at) ? 0 : look->average[0];
    if (place >= GRID)
        return isinf(at) ? 1 : look->average[GRID];
    const uint32_t i = (uint32_t)place;
    return look->average[i] + (look->average[i + 1] - look->average[i]) * (place - i);
}

static double own_below(const apart *p, const apart_look *look, const cw_sign *sign, double at)
{
    return sign == NULL ? average_below(p, look, at) : below(p, look, sign, at);
}

static double even_below(const apart *p, const apart_look *look, double at)
{
    const cw_interval *range = &p->model->checks[look->checks[0]].range;
    return fmin(fmax((at - range->low) / fmax(range->high - range->low, DBL_MIN), 0), 1);
}

/* Where two normal densities are equal: x with (x - m)^2 / 2 s^2 + log s the same for both. */
static uint32_t crossings(double m, double s, double n, double t, double *out)
{
    const double a = 1 / (t * t) - 1 / (s * s), b = m / (s * s) - n / (t * t);
    const double c = n * n / (t * t) - m * m / (s * s) + 2 * log(t / s);
    if (fabs(a) * (s * s + t * t) < 1e-9) {
        out[0] = (m + n) / 2;
        return m != n ? 1 : 0;
    }
    const double inside = b * b - a * c;
    if (inside < 0)
        return 0;
    out[0] = (-b - sqrt(inside)) / a;
    out[1] = (-b + sqrt(inside)) / a;
    return 2;
}

static int by_size(const void *a, const void *b)
{
    return by_number(*(const double *)a, *(const double *)b);
}

/* Cuts where the two cross, and every so many deviations around each. */
static uint32_t cuts_of(const apart *p, const apart_look *look, const cw_sign *x, const cw_sign *y,
                        double *cuts)
{
    const cw_sign *both[2] = {x, y};
    const int by = x != NULL && y != NULL ? 2 : 10; /* cuts in a deviation */
    uint32_t count = 0;
    if (x != NULL && y != NULL)
        count = crossings(x->mean, deviation(p, look, x), y->mean, deviation(p, look, y), cuts);
    for (int k = 0; k < 2; k++)
        for (int at = -FAR * by; both[k] != NULL && at <= FAR * by; at++)
            cuts[count++] = both[k]->mean + (double)at / by * deviation(p, look, both[k]);
    qsort(cuts, count, sizeof *cuts, by_size);
    return count;
}

static uint32_t size_cells(const apart *p, const apart_look *look, const cw_sign *x, const cw_sign *y,
                           apart_cell *cells)
{
    const cw_check *check = &p->model->checks[look->checks[0]];
    const double swapped = check->swapped, blunders = check->blunders;
    double cuts[APART_CELLS], was[4] = {0, 0, 0, 0};
    const uint32_t count = cuts_of(p, look, x, y, cuts);
    for (uint32_t i = 0; i <= count; i++) {
        const double at = i < count ? cuts[i] : INFINITY;
        const double now[4] = {own_below(p, look, x, at), own_below(p, look, y, at),
                               average_below(p, look, at), even_below(p, look, at)};
        const double even = now[3] - was[3],
                     shared = swapped * ((1 - blunders) * (now[2] - was[2]) + blunders * even);
        cells[i].a = (1 - swapped) * ((1 - blunders) * (now[0] - was[0]) + blunders * even) + shared;
        cells[i].b = (1 - swapped) * ((1 - blunders) * (now[1] - was[1]) + blunders * even) + shared;
        memcpy(was, now, sizeof was);
    }
    return count + 1;
}

/* Between two normal distributions there is no need of cells. */
static double size_parts(const apart *p, const apart_look *look, const cw_sign *x, const cw_sign *y)
{
    double cuts[2], sum = 0, was = 0;
    const uint32_t count = crossings(x->mean, deviation(p, look, x), y->mean, deviation(p, look, y), cuts);
    if (count == 2 && cuts[0] > cuts[1]) {
        const double first = cuts[1];
        cuts[1] = cuts[0];
        cuts[0] = first;
    }
    for (uint32_t i = 0; i <= count; i++) {
        const double now = i < count ? below(p, look, x, cuts[i]) - below(p, look, y, cuts[i]) : 0;
        sum += fabs(now - was);
        was = now;
    }
    return look->plain * sum / 2;
}

/* -- Texts -- */

/* How often the unit's patterns match a text that the pattern was made for; foreign to it: as rank/identity.h
 * has it. *at: which of its patterns does, count if none. */
static double text_chance(const apart *p, const cw_sign *sign, uint32_t pattern, uint32_t *at)
{
    const cw_model *model = p->model;
    const char *text = p->asker->samples[pattern];
    double best = -1, all = 0;
    *at = sign != NULL ? sign->patterns.count : 0;
    for (uint32_t i = 0; sign != NULL && i < sign->patterns.count; i++) {
        const uint32_t own = model->pattern_lists[sign->patterns.first + i];
        bool matched = own == pattern;
        all += sign->chances[i];
        if (!matched && text != NULL && text[0] != '\0') {
            const cw_status status =
                cw_pattern_match(model->patterns[own], text, strlen(text), &matched, NULL, NULL);
            *p->lost |= status == CW_NO_MEMORY;
            matched = matched && status == CW_OK;
        }
        if (matched && sign->chances[i] > best) {
            best = sign->chances[i];
            *at = i;
        }
    }
    return best >= 0 ? best : FOREIGN * fmax(1 - all, 0);
}

/* One cell for each pattern of the two whose text is not another's already, one for all other texts. */
static uint32_t text_cells(const apart *p, const apart_look *look, const cw_sign *x, const cw_sign *y,
                           apart_cell *cells)
{
    bool taken[APART_CELLS] = {false};
    uint32_t count = 0, at = 0;
    double a = 0, b = 0;
    for (uint32_t i = 0; x != NULL && i < x->patterns.count && count + 2 < APART_CELLS / 2; i++) {
        const uint32_t pattern = p->model->pattern_lists[x->patterns.first + i];
        cells[count].a = text_chance(p, x, pattern, &at);
        cells[count].b = text_chance(p, y, pattern, &at);
        if (y != NULL && at < y->patterns.count && at < APART_CELLS)
            taken[at] = true;
        a += cells[count].a;
        b += cells[count++].b;
    }
    for (uint32_t i = 0; y != NULL && i < y->patterns.count && i < APART_CELLS && count + 2 < APART_CELLS;
         i++) {
        const uint32_t pattern = p->model->pattern_lists[y->patterns.first + i];
        if (taken[i])
            continue;
        cells[count].a = text_chance(p, x, pattern, &at);
        cells[count].b = text_chance(p, y, pattern, &at);
        a += cells[count].a;
        b += cells[count++].b;
    }
    for (uint32_t i = 0; i < count; i++) {
        cells[i].a *= look->plain / fmax(a, 1);
        cells[i].b *= look->plain / fmax(b, 1);
    }
    cells[count].a = 1 - look->plain + look->plain * fmax(1 - a, 0);
    cells[count].b = 1 - look->plain + look->plain * fmax(1 - b, 0);
    return count + 1;
}

/* -- From outside -- */

uint32_t apart_cells(const apart *p, const apart_look *look, uint32_t a, uint32_t b, apart_cell *cells)
{
    const uint32_t x = look->shape[a], y = look->shape[b];
    assert(look->kind == APART_ROWS || look->signs != NULL);
    if (look->kind == APART_SIZES)
        return size_cells(p, look, look->signs[x], look->signs[y], cells);
    if (look->kind == APART_TEXTS)
        return text_cells(p, look, look->signs[x], look->signs[y], cells);
    for (uint32_t v = 0; v < look->values; v++)
        cells[v] =
            (apart_cell){look->rows[(size_t)x * look->values + v], look->rows[(size_t)y * look->values + v]};
    return look->values;
}

static double work_out(const apart *p, const apart_look *look, uint32_t a, uint32_t b)
{
    apart_cell cells[APART_CELLS];
    const uint32_t x = look->shape[a], y = look->shape[b];
    double sum = 0;
    assert(look->kind == APART_ROWS || look->signs != NULL);
    if (look->kind == APART_SIZES && look->signs[x] != NULL && look->signs[y] != NULL)
        return size_parts(p, look, look->signs[x], look->signs[y]);
    const uint32_t count = apart_cells(p, look, a, b, cells);
    for (uint32_t i = 0; i < count; i++)
        sum += fabs(cells[i].a - cells[i].b);
    return fmin(sum / 2, 1);
}

double apart_parts(const apart *p, const apart_look *look, uint32_t a, uint32_t b)
{
    const uint32_t x = look->shape[a], y = look->shape[b];
    float *memo = NULL;
    if (x == y)
        return 0;
    if (look->memo != NULL)
        memo = &look->memo[(size_t)(x < y ? x : y) * look->shapes + (x < y ? y : x)];
    else if (look->signs != NULL && (look->signs[x] == NULL || look->signs[y] == NULL))
        memo = &look->unsigned_memo[look->signs[x] == NULL ? y : x];
    if (memo == NULL)
        return work_out(p, look, a, b);
    if (*memo < 0)
        *memo = (float)work_out(p, look, a, b);
    return (double)*memo;
}
