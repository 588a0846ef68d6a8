/* Several looks together: what they come to, whether they go together, how long they take. */
#include "ask/apart_inside.h"

#include <stdlib.h>

void apart_joint_start(apart_joint *j)
{
    j->cells[0] = (apart_cell){1, 1};
    j->count = 1;
    j->certainty = 0.5;
}

/* With one look more, without what it leads to. */
double apart_joint_with(apart *p, const apart_joint *from, const apart_cell *cells, uint32_t count)
{
    double sum = 0;
    for (uint32_t i = 0; i < from->count; i++)
        for (uint32_t k = 0; k < count; k++) {
            const double a = from->cells[i].a * cells[k].a, b = from->cells[i].b * cells[k].b;
            sum += a > b ? a : b;
        }
    p->steps += (uint64_t)from->count * count / 4;
    return sum / 2;
}

void apart_joint_add(apart *p, const apart_joint *from, const apart_cell *cells, uint32_t count,
                     apart_joint *out)
{
    apart_cell bins[APART_BINS] = {{0, 0}};
    out->certainty = apart_joint_with(p, from, cells, count);
    for (uint32_t i = 0; i < from->count; i++)
        for (uint32_t k = 0; k < count; k++) {
            const double a = from->cells[i].a * cells[k].a, b = from->cells[i].b * cells[k].b;
            if (!(a + b > 0))
                continue;
            const uint32_t bin = (uint32_t)(a / (a + b) * APART_BINS);
            bins[bin < APART_BINS ? bin : APART_BINS - 1].a += a;
            bins[bin < APART_BINS ? bin : APART_BINS - 1].b += b;
        }
    p->steps += (uint64_t)from->count * count + APART_BINS;
    out->count = 0;
    for (uint32_t i = 0; i < APART_BINS; i++)
        if (bins[i].a + bins[i].b > 0)
            out->cells[out->count++] = bins[i];
}

static bool shares_fact(const apart_look *x, const apart_look *y)
{
    uint32_t i = 0, k = 0;
    while (i < x->fact_count && k < y->fact_count) {
        if (x->facts[i] == y->facts[k])
            return true;
        if (x->facts[i] < y->facts[k])
            i++;
        else
            k++;
    }
    return false;
}

static bool sets_stage(const apart *p, cw_check_id check)
{
    return p->model->facts[p->model->checks[check].fact].context;
}

bool apart_together(const apart *p, const apart_look *x, const apart_look *y)
{
    if (shares_fact(x, y) || (x->swap_group != 0 && x->swap_group == y->swap_group))
        return false;
    for (uint32_t i = 0; i < x->count; i++)
        for (uint32_t k = 0; k < y->count; k++)
            if (x->checks[i] == y->checks[k] && !sets_stage(p, x->checks[i]))
                return false;
    return true;
}

/* Each check, and each way, once. */
double apart_minutes(const apart *p, const apart_look *const *set, uint32_t count)
{
    double minutes = 0;
    uint32_t went = 0;
    for (uint32_t i = 0; i < count; i++) {
        went |= set[i]->went;
        for (uint32_t c = 0; c < set[i]->count; c++) {
            bool before = false;
            for (uint32_t k = 0; k < i && !before; k++)
                for (uint32_t d = 0; d < set[k]->count && !before; d++)
                    before = set[k]->checks[d] == set[i]->checks[c];
            minutes += before ? 0 : p->model->checks[set[i]->checks[c]].minutes;
        }
    }
    for (cw_where w = CW_AT_VEHICLE; w < CW_WHERE_COUNT; w++)
        minutes += (went >> w & 1) != 0 ? p->model->costs.reach[w] : 0;
    return minutes;
}

double apart_least_minutes(const apart *p, const apart_look *look)
{
    double minutes = 0;
    for (uint32_t i = 0; i < look->count; i++)
        minutes += sets_stage(p, look->checks[i]) ? 0 : p->model->checks[look->checks[i]].minutes;
    return minutes;
}

typedef struct place_of {
    cw_check_id check;
    cw_where where;
} place_of;

static int in_order(const void *a, const void *b)
{
    const place_of *x = a, *y = b;
    if (x->where != y->where)
        return x->where < y->where ? -1 : 1;
    return x->check < y->check ? -1 : x->check > y->check;
}

cw_status apart_set_of(const apart *p, const cw_check_id *checks, uint32_t count, uint32_t places,
                       cw_arena *arena, cw_apart_set *out)
{
    place_of order[APART_SET * APART_CHECKS];
    cw_check_id *ids = CW_NEW_ARRAY(arena, cw_check_id, count);
    cw_where *where = CW_NEW_ARRAY(arena, cw_where, count);
    if (ids == NULL || where == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < count; i++) {
        order[i] = (place_of){checks[i], CW_AT_COUNTER};
        apart_check_at(p->model, checks[i], places, &order[i].where);
    }
    if (count > 0)
        qsort(order, count, sizeof *order, in_order);
    for (uint32_t i = 0; i < count; i++) {
        ids[i] = order[i].check;
        where[i] = order[i].where;
    }
    out->checks = ids;
    out->places = where;
    out->count = count;
    out->place = count > 0 ? where[count - 1] : CW_AT_COUNTER;
    return CW_OK;
}
