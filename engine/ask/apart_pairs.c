/* Every two, one after the other; of many those that are hardest to tell. */
#include "ask/apart_inside.h"

#include <stdlib.h>

enum { NODES = 600 }; /* of one search */

/* Each check once. arena NULL: minutes, certainty and place alone. */
static cw_status hand_out(const apart *p, const apart_found *found, cw_arena *arena, cw_apart_set *out)
{
    cw_check_id checks[APART_SET * APART_CHECKS];
    uint32_t count = 0;
    out->minutes = found->minutes;
    out->certainty = found->certainty;
    for (uint32_t i = 0; i < found->count; i++)
        for (cw_where w = CW_AT_COUNTER; w < CW_WHERE_COUNT; w++)
            if ((found->set[i]->went >> w & 1) != 0 && w > out->place)
                out->place = w;
    for (uint32_t i = 0; arena != NULL && i < found->count; i++)
        for (uint32_t c = 0; c < found->set[i]->count; c++) {
            bool before = false;
            for (uint32_t k = 0; k < count && !before; k++)
                before = checks[k] == found->set[i]->checks[c];
            if (!before)
                checks[count++] = found->set[i]->checks[c];
        }
    return arena != NULL ? apart_set_of(p, checks, count, p->places, arena, out) : CW_OK;
}

static double shift_of(const cw_model *model, cw_cause_id id, cw_atom_id atom)
{
    const cw_cause *cause = &model->causes[id];
    double times = cause->ruled_out == atom ? 0 : 1;
    for (uint32_t i = 0; i < cause->shifts.count; i++)
        if (model->shifts[cause->shifts.first + i].atom == atom)
            times *= model->shifts[cause->shifts.first + i].times;
    return times;
}

static bool shifted(const apart *p, uint32_t a, uint32_t b)
{
    bool differs = false;
    for (uint32_t i = 0; p->about == CW_ABOUT_CAUSES && i < p->asker->circumstance_count && !differs; i++)
        differs = shift_of(p->model, p->members[a], p->asker->circumstances[i]) !=
                  shift_of(p->model, p->members[b], p->asker->circumstances[i]);
    return differs;
}

/* The pair's set, in the arena; NULL: without its checks. A search of so many nodes; 0: only what is found at
 * once. */
static cw_status solve(apart *p, uint32_t a, uint32_t b, uint32_t nodes, cw_arena *arena, cw_apart_pair *out)
{
    apart_found found;
    const cw_status status = apart_search(p, a, b, nodes, &found);
    *out = (cw_apart_pair){
        .a = a, .b = b, .how = CW_APART_NOT, .proven = found.proven, .shifted = shifted(p, a, b)};
    if (found.count > 0)
        out->how = !found.sure ? CW_APART_HARDLY : found.count == 1 ? CW_APART_ONE : CW_APART_SEVERAL;
    return status == CW_OK ? hand_out(p, &found, arena, &out->set) : status;
}

/* The worst: what nothing parts, then by certainty, then by what is to be done. */
static int worst_first(const void *x, const void *y)
{
    const cw_apart_pair *a = x, *b = y;
    if (a->how != b->how && (a->how >= CW_APART_HARDLY || b->how >= CW_APART_HARDLY))
        return a->how > b->how ? -1 : 1;
    if (a->how == CW_APART_HARDLY && a->set.certainty != b->set.certainty)
        return a->set.certainty < b->set.certainty ? -1 : 1;
    if (a->set.minutes != b->set.minutes)
        return a->set.minutes > b->set.minutes ? -1 : 1;
    return a->a != b->a ? (a->a < b->a ? -1 : 1) : a->b < b->b ? -1 : a->b > b->b;
}

static void count_pair(cw_apart_result *out, const cw_apart_pair *pair)
{
    out->pairs[pair->how]++;
    if (pair->how == CW_APART_ONE)
        out->by_place[pair->set.place]++;
}

/* Keeps the worst: where the list is twice as long as wanted it is sorted and cut. */
static void keep_worst(cw_apart_pair *list, uint32_t *count, const cw_apart_pair *pair)
{
    list[(*count)++] = *pair;
    if (*count < 2 * CW_APART_WORST)
        return;
    qsort(list, *count, sizeof *list, worst_first);
    *count = CW_APART_WORST;
}

/* Of many members: all are looked at once, at hand; the worst are gone into. */
static cw_status find_worst(apart *p, cw_apart_result *out)
{
    cw_apart_pair *list = CW_NEW_ARRAY(p->arena, cw_apart_pair, (size_t)2 * CW_APART_WORST);
    cw_status status = list == NULL ? CW_NO_MEMORY : CW_OK;
    for (uint32_t a = 0; a < p->count && status == CW_OK; a++)
        for (uint32_t b = a + 1; b < p->count && status == CW_OK; b++) {
            cw_apart_pair pair;
            p->cut_short |= p->steps >= p->max_steps;
            if (p->cut_short)
                break;
            status = solve(p, a, b, 0, NULL, &pair);
            count_pair(out, &pair);
            keep_worst(list, &out->list_count, &pair);
        }
    if (status == CW_OK && out->list_count > 0)
        qsort(list, out->list_count, sizeof *list, worst_first);
    out->list_count = out->list_count < CW_APART_WORST ? out->list_count : CW_APART_WORST;
    for (uint32_t i = 0; i < out->list_count && status == CW_OK; i++)
        status = solve(p, list[i].a, list[i].b, NODES, p->arena, &list[i]);
    out->list = list;
    return status;
}

static cw_status find_every(apart *p, cw_apart_result *out)
{
    const size_t most = (size_t)p->count * (p->count > 0 ? p->count - 1 : 0) / 2;
    cw_apart_pair *list = CW_NEW_ARRAY(p->arena, cw_apart_pair, most);
    cw_status status = list == NULL ? CW_NO_MEMORY : CW_OK;
    for (uint32_t a = 0; a < p->count && status == CW_OK; a++)
        for (uint32_t b = a + 1; b < p->count && status == CW_OK; b++) {
            p->cut_short |= p->steps >= p->max_steps;
            cw_apart_pair *pair = &list[out->list_count++];
            status = solve(p, a, b, p->cut_short ? 0 : NODES, p->arena, pair);
            count_pair(out, pair);
        }
    out->list = list;
    out->all = true;
    return status;
}

cw_status apart_pairs(apart *p, cw_apart_result *out)
{
    return p->count <= CW_APART_ALL ? find_every(p, out) : find_worst(p, out);
}
