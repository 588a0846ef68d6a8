/* For two members the cheapest set of looks that is sure enough, or the surest. */
#include "ask/apart_inside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { ITEMS = 48, FIRST = 14 };
#define TOLD 1e-6     /* least V that is worth a word */
#define GAIN 0.002    /* least gain of certainty for which one more look is taken where none is sure */
#define A_LITTLE 1e-9 /* of minutes, and of certainty */

typedef struct item {
    const apart_look *look;
    double parts; /* V */
    double says;  /* -log B */
    double least; /* minutes that it adds at the least: those of checks that no other look shares */
    double after; /* the least of those behind it */
} item;

typedef struct pair_search {
    apart *p;
    uint32_t a, b;
    item items[ITEMS];
    uint32_t count;
    bool all;      /* no item was left out */
    double wanted; /* of `says`, without which none is sure */
    const apart_look *set[APART_SET], *best[APART_SET];
    uint32_t set_count, best_count;
    double best_minutes, best_certainty;
    uint32_t nodes, most_nodes;
} pair_search;

static bool fits_in(const pair_search *s, const apart_look *look)
{
    for (uint32_t i = 0; i < s->set_count; i++)
        if (s->set[i] == look || !apart_together(s->p, s->set[i], look))
            return false;
    return s->set_count < APART_SET;
}

/* -- What tells the two -- */

static int best_first(const void *a, const void *b)
{
    const item *x = a, *y = b;
    const double left = x->least * y->says, right = y->least * x->says;
    if (left != right)
        return left < right ? -1 : 1;
    if (x->parts != y->parts)
        return x->parts > y->parts ? -1 : 1;
    return x->look < y->look ? -1 : x->look > y->look;
}

/* The one that says least makes room. */
static void add_item(pair_search *s, const apart_look *look, double parts)
{
    uint32_t at = s->count;
    if (s->count == ITEMS) {
        at = 0;
        for (uint32_t i = 1; i < ITEMS; i++)
            at = s->items[i].parts < s->items[at].parts ? i : at;
        s->all = false;
        if (s->items[at].parts >= parts)
            return;
    } else {
        s->count++;
    }
    s->items[at] = (item){.look = look, .parts = parts};
}

static void keep_best(pair_search *s, double minutes, double certainty)
{
    memcpy(s->best, s->set, sizeof s->best);
    s->best_count = s->set_count;
    s->best_minutes = minutes;
    s->best_certainty = certainty;
}

/* The cheapest look that does for itself; of equal ones the surest. */
static void find_single(pair_search *s)
{
    const apart *p = s->p;
    for (uint32_t l = 0; l < p->look_count; l++) {
        const apart_look *look = &p->looks[l];
        if (!look->allowed || look->minutes > s->best_minutes + A_LITTLE)
            continue;
        const double certainty = (1 + apart_parts(p, look, s->a, s->b)) / 2;
        if (certainty < p->sure - A_LITTLE ||
            (look->minutes > s->best_minutes - A_LITTLE && certainty <= s->best_certainty))
            continue;
        s->set[0] = look;
        s->set_count = 1;
        keep_best(s, look->minutes, certainty);
    }
    s->set_count = 0;
}

/* All looks allowed that part the two and could stand in a cheaper set. */
static void find_items(pair_search *s)
{
    const apart *p = s->p;
    for (uint32_t l = 0; l < p->look_count; l++) {
        const apart_look *look = &p->looks[l];
        if (!look->allowed || apart_least_minutes(p, look) >= s->best_minutes)
            continue;
        const double parts = apart_parts(p, look, s->a, s->b);
        if (parts > TOLD)
            add_item(s, look, parts);
    }
    s->p->steps += (uint64_t)2 * p->look_count;
}

static void weigh_items(pair_search *s)
{
    apart_cell cells[APART_CELLS];
    for (uint32_t i = 0; i < s->count; i++) {
        item *one = &s->items[i];
        const uint32_t count = apart_cells(s->p, one->look, s->a, s->b, cells);
        double alike = 0;
        for (uint32_t k = 0; k < count; k++)
            alike += sqrt(fmax(cells[k].a, 0) * fmax(cells[k].b, 0));
        /* cppcheck-suppress invalidFunctionArg ; nothing alike says infinitely much */
        one->says = fmax(-log(fmin(alike, 1)), 1e-12);
        one->least = apart_least_minutes(s->p, one->look);
    }
    qsort(s->items, s->count, sizeof *s->items, best_first);
    double least = INFINITY;
    for (uint32_t i = s->count; i > 0; i--) {
        s->items[i - 1].after = least;
        least = fmin(least, s->items[i - 1].least);
    }
}

/* -- Search -- */

/* The least minutes of a sure set that goes on with this item, behind `minutes`: its own, and for what is
 * still to be said those of the next best, for the items stand in that order. */
static double least_with(const pair_search *s, uint32_t at, double minutes, double said)
{
    const item *one = &s->items[at];
    const double short_of = s->wanted - said - one->says;
    minutes += one->least;
    if (short_of <= 0)
        return minutes;
    return at + 1 < s->count ? minutes + short_of * s->items[at + 1].least / s->items[at + 1].says : INFINITY;
}

static cw_status search(pair_search *s, uint32_t from, const apart_joint *so_far, double so_long,
                        double said);

/* The set with its last look, and where that is not sure what may be added. */
static cw_status go_into(pair_search *s, uint32_t at, const apart_joint *so_far, apart_joint **next,
                         double minutes, double said)
{
    apart_cell cells[APART_CELLS];
    const item *one = &s->items[at];
    const uint32_t count = apart_cells(s->p, one->look, s->a, s->b, cells);
    s->nodes++;
    if (minutes + one->after >= s->best_minutes - A_LITTLE) { /* nothing more can be added */
        const double certainty = apart_joint_with(s->p, so_far, cells, count);
        if (certainty >= s->p->sure - A_LITTLE)
            keep_best(s, minutes, certainty);
        return CW_OK;
    }
    *next = *next != NULL ? *next : CW_ROOM(s->p->asker->trial, apart_joint, 1);
    if (*next == NULL)
        return CW_NO_MEMORY;
    apart_joint_add(s->p, so_far, cells, count, *next);
    if ((*next)->certainty < s->p->sure - A_LITTLE)
        return search(s, at + 1, *next, minutes, said + one->says);
    keep_best(s, minutes, (*next)->certainty);
    return CW_OK;
}

static cw_status search(pair_search *s, uint32_t from, const apart_joint *so_far, double so_long, double said)
{
    cw_status status = CW_OK;
    apart_joint *next = NULL;
    for (uint32_t i = from; i < s->count && status == CW_OK && s->nodes < s->most_nodes; i++) {
        const item *one = &s->items[i];
        if (least_with(s, i, so_long, said) >= s->best_minutes - A_LITTLE || !fits_in(s, one->look))
            continue;
        s->set[s->set_count++] = one->look;
        const double minutes = apart_minutes(s->p, s->set, s->set_count);
        if (least_with(s, i, minutes - one->least, said) < s->best_minutes - A_LITTLE)
            status = go_into(s, i, so_far, &next, minutes, said);
        s->set_count--;
    }
    return status;
}

/* What so many looks of a set come to, without one of them (`but`; set_count: none). */
static double come_to(const pair_search *s, uint32_t but, apart_joint *now, apart_joint *next)
{
    apart_joint_start(now);
    for (uint32_t i = 0; i < s->set_count; i++) {
        apart_cell cells[APART_CELLS];
        if (i == but)
            continue;
        apart_joint_add(s->p, now, cells, apart_cells(s->p, s->set[i], s->a, s->b, cells), next);
        *now = *next;
    }
    return now->certainty;
}

/* Leaves out what brings little, or is not needed to be sure: the dearest first. */
static double thin_out(pair_search *s, double reached, apart_joint *now, apart_joint *next)
{
    const double sure = s->p->sure - A_LITTLE;
    bool kept[APART_SET] = {false};
    for (;;) {
        uint32_t dearest = s->set_count;
        for (uint32_t i = 0; i < s->set_count; i++)
            if (!kept[i] && (dearest == s->set_count || s->set[i]->minutes > s->set[dearest]->minutes))
                dearest = i;
        if (dearest == s->set_count || s->set_count < 2)
            return reached;
        const double without = come_to(s, dearest, now, next);
        if (reached >= sure ? without < sure : without < reached - GAIN) {
            kept[dearest] = true;
            continue;
        }
        s->set_count--;
        memmove(&s->set[dearest], &s->set[dearest + 1], (s->set_count - dearest) * sizeof s->set[0]);
        memmove(&kept[dearest], &kept[dearest + 1], (s->set_count - dearest) * sizeof kept[0]);
        reached = without;
    }
}

/* Takes what fits and goes nowhere else, in order, until sure; then thins it out. One look may bring nothing
 * before the next: of three alike the majority counts. */
static double climb(pair_search *s, uint32_t places, apart_joint *now, apart_joint *next)
{
    apart_joint_start(now);
    s->set_count = 0;
    for (uint32_t i = 0; i < s->count && now->certainty < s->p->sure - A_LITTLE; i++) {
        apart_cell cells[APART_CELLS];
        const apart_look *look = s->items[i].look;
        if ((look->went & ~places) != 0 || !fits_in(s, look))
            continue;
        apart_joint_add(s->p, now, cells, apart_cells(s->p, look, s->a, s->b, cells), next);
        *now = *next;
        s->set[s->set_count++] = look;
    }
    return thin_out(s, now->certainty, now, next);
}

/* At the counter alone, with one place more, with all of them. */
static void climb_everywhere(pair_search *s, apart_joint *now, apart_joint *next)
{
    for (uint32_t w = CW_AT_COUNTER; w <= CW_WHERE_COUNT; w++) {
        const uint32_t places = w == CW_WHERE_COUNT ? UINT32_MAX : 1u << CW_AT_COUNTER | 1u << w;
        const double reached = climb(s, places, now, next),
                     minutes = apart_minutes(s->p, s->set, s->set_count);
        if (reached >= s->p->sure - A_LITTLE ? minutes < s->best_minutes
                                             : s->best_count == 0 && w == CW_WHERE_COUNT)
            keep_best(s, minutes, reached);
    }
}

static double says_all(const pair_search *s)
{
    double sum = 0;
    for (uint32_t i = 0; i < s->count; i++)
        sum += s->items[i].says;
    return sum;
}

static int surest_first(const void *a, const void *b)
{
    const item *x = a, *y = b;
    if (x->parts != y->parts)
        return x->parts > y->parts ? -1 : 1;
    return best_first(a, b);
}

/* Without a sure set: the surest of two ways to climb, by worth and by V. */
static void settle_for_less(pair_search *s, apart_joint *now, apart_joint *next)
{
    qsort(s->items, s->count, sizeof *s->items, surest_first);
    const double reached = climb(s, UINT32_MAX, now, next);
    if (reached > s->best_certainty)
        keep_best(s, apart_minutes(s->p, s->set, s->set_count), reached);
}

/* First among those that say most for their minutes, with half of the nodes, where a good set is found soon;
 * then among all, against it. */
static cw_status search_all(pair_search *s, const apart_joint *nothing)
{
    const uint32_t count = s->count, most = s->most_nodes;
    s->count = count < FIRST ? count : FIRST;
    s->most_nodes = most / 2;
    cw_status status = search(s, 0, nothing, 0, 0);
    s->count = count;
    s->most_nodes = most;
    if (count > FIRST && status == CW_OK) {
        s->nodes = most / 2;
        status = search(s, 0, nothing, 0, 0);
    } else if (s->nodes >= most / 2) {
        s->nodes = most;
    }
    return status;
}

static cw_status several(pair_search *s, apart_found *out)
{
    apart_joint *two = CW_ROOM(s->p->asker->trial, apart_joint, 2);
    if (two == NULL)
        return CW_NO_MEMORY;
    weigh_items(s);
    climb_everywhere(s, &two[0], &two[1]);
    if (s->best_certainty < s->p->sure - A_LITTLE)
        s->best_minutes = INFINITY; /* any sure set is better */
    s->set_count = 0;
    apart_joint_start(&two[0]);
    cw_status status = s->most_nodes > 0 ? search_all(s, &two[0]) : CW_OK;
    out->proven = s->all && s->nodes < s->most_nodes;
    if (status == CW_OK && s->best_certainty < s->p->sure - A_LITTLE) {
        out->proven |= s->all && says_all(s) < s->wanted;
        settle_for_less(s, &two[0], &two[1]);
    }
    return status;
}

cw_status apart_search(apart *p, uint32_t a, uint32_t b, uint32_t nodes, apart_found *out)
{
    pair_search s = {.p = p, .a = a, .b = b, .all = true, .best_minutes = INFINITY, .most_nodes = nodes};
    const double twice = 2 * p->sure - 1;
    cw_status status = CW_OK;
    s.wanted = -log1p(-twice * twice) / 2 - A_LITTLE;
    *out = (apart_found){.proven = true};
    find_single(&s);
    find_items(&s);
    if (s.count > 0 && (nodes > 0 || s.best_count == 0)) {
        cw_arena_reset(p->asker->trial);
        status = several(&s, out);
    }
    memcpy(out->set, s.best, sizeof out->set);
    out->count = s.best_count;
    out->minutes = apart_minutes(p, s.best, s.best_count);
    out->certainty = s.best_count > 0 ? s.best_certainty : 0.5;
    out->sure = s.best_count > 0 && s.best_certainty >= p->sure - A_LITTLE;
    return status;
}
