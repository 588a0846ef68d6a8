/* Which looks there are: each check that can tell something by itself, and for each fact that something is a
 * sign of the checks from which one of its values, or all, can be concluded: at the counter alone, with one
 * other place, at all places. */
#include "ask/apart_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* -- Where, and how long -- */

bool apart_look_at(const apart *p, const apart_look *look, uint32_t places, double *minutes, uint32_t *went)
{
    *minutes = 0;
    *went = 0;
    for (uint32_t i = 0; i < look->count; i++) {
        cw_where where;
        if (!apart_check_at(p->model, look->checks[i], places, &where))
            return false;
        *minutes += p->model->checks[look->checks[i]].minutes;
        *went |= 1u << where;
    }
    for (cw_where w = CW_AT_COUNTER; w < CW_WHERE_COUNT; w++)
        *minutes += w != CW_AT_COUNTER && (*went >> w & 1) != 0 ? p->model->costs.reach[w] : 0;
    return true;
}

/* -- Rows, each once -- */

typedef struct row {
    const double *chances;
    uint32_t values, member;
} row;

static int by_row(const void *a, const void *b)
{
    const row *x = a, *y = b;
    for (uint32_t v = 0; v < x->values; v++)
        if (x->chances[v] != y->chances[v])
            return x->chances[v] < y->chances[v] ? -1 : 1;
    return x->member < y->member ? -1 : x->member > y->member;
}

static bool equal_rows(const row *a, const row *b)
{
    return memcmp(a->chances, b->chances, a->values * sizeof *a->chances) == 0;
}

static cw_status take_memo(apart *p, apart_look *look)
{
    const size_t count = (size_t)look->shapes * look->shapes;
    if (look->shapes < 2 || count > APART_MEMO - p->kept)
        return CW_OK;
    p->kept += count;
    look->memo = CW_ROOM(p->arena, float, count);
    for (size_t i = 0; look->memo != NULL && i < count; i++)
        look->memo[i] = -1;
    return look->memo == NULL ? CW_NO_MEMORY : CW_OK;
}

/* Rounding is taken off first: what differs by less is alike. */
cw_status apart_rows(apart *p, apart_look *look, double *rows, uint32_t values)
{
    row *order = CW_NEW_ARRAY(p->asker->trial, row, p->count);
    look->shape = CW_NEW_ARRAY(p->arena, uint32_t, p->count);
    if (order == NULL || look->shape == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < (size_t)p->count * values; i++)
        rows[i] = round(rows[i] * 1e11) / 1e11 + 0.0; /* no zero below zero */
    for (uint32_t m = 0; m < p->count; m++)
        order[m] = (row){&rows[(size_t)m * values], values, m};
    if (p->count > 0)
        qsort(order, p->count, sizeof *order, by_row);
    look->values = values;
    for (uint32_t i = 0; i < p->count; i++) {
        look->shapes += i == 0 || !equal_rows(&order[i], &order[i - 1]) ? 1 : 0;
        look->shape[order[i].member] = look->shapes - 1;
    }
    double *kept = CW_NEW_ARRAY(p->arena, double, (size_t)look->shapes *values);
    if (kept == NULL)
        return CW_NO_MEMORY;
    for (uint32_t m = 0; m < p->count; m++)
        memcpy(&kept[(size_t)look->shape[m] * values], &rows[(size_t)m * values], values * sizeof *rows);
    look->rows = kept;
    return take_memo(p, look);
}

/* -- A check that no rule reads -- */

static cw_status values_of_units(apart *p, apart_look *look, cw_fact_id fact)
{
    const uint32_t values = p->model->facts[fact].values.count;
    double *rows = CW_NEW_ARRAY(p->asker->check, double, (size_t)values * p->count);
    if (rows == NULL)
        return CW_NO_MEMORY;
    for (uint32_t m = 0; m < p->count; m++)
        cw_identity_chances(p->asker->tables, fact, p->members[m],
                            cw_identity_swapped(p->asker->tables, fact), &rows[(size_t)m * values]);
    p->steps += (uint64_t)values * p->count;
    return apart_rows(p, look, rows, values);
}

/* Of units; true when the look is filled without trying. */
static cw_status fill_plain(apart *p, apart_look *look, bool *done)
{
    const cw_model *model = p->model;
    const cw_fact_id fact = model->checks[look->checks[0]].fact;
    const ask_matter *matter = &p->asker->matter[p->about];
    *done = look->count == 1 && p->about == CW_ABOUT_UNITS && !matter->through[fact] &&
            model->checks[look->checks[0]].only_if == 0;
    if (!*done)
        return CW_OK;
    cw_fact_id *facts = CW_NEW_ARRAY(p->arena, cw_fact_id, 1);
    if (facts == NULL)
        return CW_NO_MEMORY;
    facts[0] = fact;
    look->facts = facts;
    look->fact_count = 1;
    cw_arena_reset(p->asker->check);
    cw_arena_reset(p->asker->trial);
    if (model->facts[fact].values.count > 0)
        return values_of_units(p, look, fact);
    look->kind = model->facts[fact].kind == CW_MEASURE ? APART_SIZES : APART_TEXTS;
    const cw_status status = apart_shapes_of_signs(p, look);
    return status == CW_OK ? take_memo(p, look) : status;
}

/* -- The list -- */

static uint32_t swap_of(const apart *p, const apart_look *look)
{
    uint32_t group = 0;
    for (uint32_t i = 0; i < look->count; i++)
        group = group != 0 ? group : p->model->checks[look->checks[i]].swap_group;
    return group;
}

static bool known_look(const apart *p, const cw_check_id *checks, uint32_t count)
{
    for (uint32_t l = 0; l < p->look_count; l++)
        if (p->looks[l].count == count && memcmp(p->looks[l].checks, checks, count * sizeof *checks) == 0)
            return true;
    return false;
}

static void add(apart *p, const cw_check_id *checks, uint32_t count)
{
    if (count == 0 || known_look(p, checks, count))
        return;
    if (p->look_count == APART_LOOKS) {
        p->left_out++;
        return;
    }
    apart_look *look = &p->looks[p->look_count++];
    *look = (apart_look){.count = count};
    memcpy(look->checks, checks, count * sizeof *checks);
}

/* Values of a fact by rules, one by one and all together. */
static void add_values(apart *p, apart_route *route, cw_fact_id fact)
{
    const cw_model *model = p->model;
    cw_check_id all[APART_CHECKS];
    uint32_t all_count = 0;
    bool fits = true;
    for (uint32_t v = 0; v < model->facts[fact].values.count; v++) {
        cw_check_id one[APART_CHECKS];
        uint32_t count = 0;
        const cw_atom_id atom = cw_fact_value_atom(model, fact, v);
        if (atom == 0 || route->cost[atom] == INFINITY)
            continue;
        if (apart_route_atom(route, atom, one, &count))
            add(p, one, count);
        else
            p->left_out++;
        fits = fits && apart_route_atom(route, atom, all, &all_count);
    }
    if (fits)
        add(p, all, all_count);
}

static cw_status list_at(apart *p, uint32_t places)
{
    const cw_model *model = p->model;
    const ask_matter *matter = &p->asker->matter[p->about];
    apart_route route;
    if (places == 0)
        return CW_OK;
    cw_arena_reset(p->asker->call);
    const cw_status status = apart_route_new(p, places, p->asker->call, &route);
    for (cw_check_id id = 1; status == CW_OK && id <= model->checks_count; id++) {
        const cw_fact_id fact = model->checks[id].fact;
        cw_check_id checks[APART_CHECKS];
        uint32_t count = 0;
        if ((matter->through[fact] || matter->signs[fact]) && apart_route_check(&route, id, checks, &count))
            add(p, checks, count);
    }
    for (cw_fact_id fact = 1; status == CW_OK && fact <= model->facts_count; fact++)
        if (matter->signs[fact])
            add_values(p, &route, fact);
    p->steps += model->rules_count + model->atoms_count;
    return status;
}

static cw_status list_all(apart *p)
{
    const uint32_t everywhere = (1u << CW_WHERE_COUNT) - 1;
    cw_status status = list_at(p, everywhere);
    for (cw_where w = CW_AT_COUNTER; w < CW_WHERE_COUNT && status == CW_OK; w++)
        status = list_at(p, 1u << CW_AT_COUNTER | 1u << w);
    for (cw_where w = CW_AT_VEHICLE; w < CW_WHERE_COUNT && status == CW_OK; w++)
        status = list_at(p, 1u << w);
    if (status == CW_OK)
        status = list_at(p, p->places);
    for (cw_where w = CW_AT_COUNTER; w < CW_WHERE_COUNT && status == CW_OK; w++)
        status = list_at(p, p->places & ~(1u << w));
    return status;
}

/* One that says the same of all is no look. */
static cw_status fill(apart *p, uint32_t at, uint32_t *kept)
{
    apart_look look = p->looks[at];
    bool done = false;
    cw_status status = fill_plain(p, &look, &done);
    if (status == CW_OK && !done) {
        status = apart_try(p, &look, &done);
        p->left_out += done ? 0 : 1;
    }
    if (status != CW_OK || !done || look.shapes < 2)
        return status;
    look.swap_group = swap_of(p, &look);
    look.allowed = apart_look_at(p, &look, p->places, &look.minutes, &look.went);
    p->looks[(*kept)++] = look;
    return CW_OK;
}

cw_status apart_looks(apart *p)
{
    uint32_t kept = 0;
    p->looks = CW_NEW_ARRAY(p->arena, apart_look, APART_LOOKS);
    cw_status status = p->looks == NULL ? CW_NO_MEMORY : list_all(p);
    for (uint32_t i = 0; i < p->look_count && status == CW_OK; i++) {
        p->cut_short |= p->steps >= p->max_steps;
        if (!p->cut_short)
            status = fill(p, i, &kept);
    }
    p->look_count = kept;
    return status;
}
