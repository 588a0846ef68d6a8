/* Who stands together: members that have the same shape in every look that counts. Once under all looks
 * allowed, and once for each place but the counter without those that have to go there. */
#include "ask/apart_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TOLD 1e-6

typedef struct sorted_member {
    const apart *p;
    const bool *counts; /* by look */
    uint32_t member;
} sorted_member;

static int by_shapes(const void *a, const void *b)
{
    const sorted_member *x = a, *y = b;
    for (uint32_t l = 0; l < x->p->look_count; l++) {
        if (!x->counts[l])
            continue;
        const uint32_t *shape = x->p->looks[l].shape;
        if (shape[x->member] != shape[y->member])
            return shape[x->member] < shape[y->member] ? -1 : 1;
    }
    return 0;
}

static int by_shapes_then_number(const void *a, const void *b)
{
    const sorted_member *x = a, *y = b;
    const int order = by_shapes(a, b);
    return order != 0 ? order : x->member < y->member ? -1 : x->member > y->member;
}

/* The cheapest look, wherever it has to go, that parts any two; V of the two it parts best. */
static cw_status find_teller(const apart *p, const uint32_t *members, uint32_t count, uint32_t places,
                             cw_apart_set *out)
{
    const apart_look *best = NULL;
    double least = INFINITY, parted = 0;
    for (uint32_t l = 0; l < p->look_count; l++) {
        double minutes = 0, most = 0;
        uint32_t went = 0;
        if (!apart_look_at(p, &p->looks[l], places, &minutes, &went) || minutes > least)
            continue;
        for (uint32_t i = 1; i < count; i++)
            for (uint32_t k = 0; k < i; k++)
                most = fmax(most, apart_parts(p, &p->looks[l], members[k], members[i]));
        if (most <= TOLD || (minutes >= least && most <= parted))
            continue;
        best = &p->looks[l];
        least = minutes;
        parted = most;
    }
    *out = (cw_apart_set){.minutes = least, .certainty = (1 + parted) / 2};
    if (best != NULL)
        return apart_set_of(p, best->checks, best->count, places, p->arena, out);
    *out = (cw_apart_set){0};
    return CW_OK;
}

/* Of one group only so many are held against each other for what tells them. */
enum { LOOKED_AT = 40 };

static cw_status add_group(apart *p, const sorted_member *order, uint32_t count, cw_where only,
                           cw_vec *groups)
{
    uint32_t *members = CW_NEW_ARRAY(p->arena, uint32_t, count);
    cw_apart_group *group = members != NULL ? cw_vec_add(groups) : NULL;
    if (group == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < count; i++)
        members[i] = order[i].member;
    *group = (cw_apart_group){.members = members, .count = count, .only = only};
    p->steps += p->look_count;
    return find_teller(p, members, count < LOOKED_AT ? count : LOOKED_AT,
                       only == CW_WHERE_COUNT ? 0 : p->places, &group->tells);
}

/* The same under all looks allowed: then the place is not what keeps them together. */
static bool alike(const apart *p, const bool *allowed, const sorted_member *order, uint32_t count)
{
    bool same = true;
    for (uint32_t i = 1; i < count && same; i++) {
        const sorted_member first = {p, allowed, order[0].member}, other = {p, allowed, order[i].member};
        same = by_shapes(&first, &other) == 0;
    }
    return same;
}

static cw_status part_under(apart *p, const bool *counts, const bool *allowed, cw_where only, cw_vec *groups)
{
    sorted_member *order = CW_NEW_ARRAY(p->asker->call, sorted_member, p->count);
    cw_status status = order == NULL ? CW_NO_MEMORY : CW_OK;
    for (uint32_t m = 0; status == CW_OK && m < p->count; m++)
        order[m] = (sorted_member){p, counts, m};
    if (status == CW_OK && p->count > 0)
        qsort(order, p->count, sizeof *order, by_shapes_then_number);
    for (uint32_t i = 0, end = 0; status == CW_OK && i < p->count; i = end) {
        for (end = i + 1; end < p->count && by_shapes(&order[i], &order[end]) == 0;)
            end++;
        if (end - i > 1 && (only == CW_WHERE_COUNT || !alike(p, allowed, &order[i], end - i)))
            status = add_group(p, &order[i], end - i, only, groups);
    }
    return status;
}

static int largest_first(const void *a, const void *b)
{
    const cw_apart_group *x = a, *y = b;
    if (x->only != y->only) /* CW_WHERE_COUNT before the places */
        return (x->only + 1) % (CW_WHERE_COUNT + 1) < (y->only + 1) % (CW_WHERE_COUNT + 1) ? -1 : 1;
    if (x->count != y->count)
        return x->count > y->count ? -1 : 1;
    return x->members[0] < y->members[0] ? -1 : x->members[0] > y->members[0];
}

cw_status apart_groups(apart *p, cw_apart_result *out)
{
    cw_vec groups = CW_VEC_INIT(&p->asker->allocator, cw_apart_group);
    cw_arena_reset(p->asker->call);
    bool *counts = CW_NEW_ARRAY(p->asker->call, bool, p->look_count);
    bool *allowed = CW_NEW_ARRAY(p->asker->call, bool, p->look_count);
    cw_status status = counts == NULL || allowed == NULL ? CW_NO_MEMORY : CW_OK;
    for (uint32_t l = 0; status == CW_OK && l < p->look_count; l++)
        allowed[l] = p->looks[l].allowed;
    if (status == CW_OK)
        status = part_under(p, allowed, allowed, CW_WHERE_COUNT, &groups);
    for (cw_where w = CW_AT_VEHICLE; w < CW_WHERE_COUNT && status == CW_OK;
         w++) { /* all come to the counter */
        const uint32_t others = p->places & ~(1u << w);
        double minutes;
        uint32_t went;
        if (others == p->places || others == 0)
            continue;
        for (uint32_t l = 0; l < p->look_count; l++)
            counts[l] = apart_look_at(p, &p->looks[l], others, &minutes, &went);
        status = part_under(p, counts, allowed, w, &groups);
    }
    cw_apart_group *list = status == CW_OK ? CW_NEW_ARRAY(p->arena, cw_apart_group, groups.count) : NULL;
    if (list != NULL && groups.count > 0) {
        memcpy(list, groups.items, groups.count * sizeof *list);
        qsort(list, groups.count, sizeof *list, largest_first);
    }
    out->groups = list;
    out->group_count = (uint32_t)groups.count;
    cw_vec_dispose(&groups);
    return list == NULL ? CW_NO_MEMORY : CW_OK;
}
