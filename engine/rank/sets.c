#include "rank/sets.h"

#include "rank/gates.h"
#include "rank/parts.h"

#include <math.h>
#include <string.h>

/* A set as it is found. */
typedef struct found {
    bool *present; /* by cause */
    uint32_t count;
    double log_chance;
} found;

/* The best, in order. */
typedef struct best {
    found sets[RANK_SETS];
    uint32_t count;
} best;

typedef struct search {
    const network *net;
    gates gates;
    best all, part, room; /* of the parts looked at so far; of this one; where they are put together */
    found now;            /* the set being tried */
    uint32_t *part_of, *finding_part;
    cw_cause_id *causes; /* of the part */
    cw_cause_id *open;   /* those that may still be added, first; their order changes */
    double *at_most;     /* by cause: what adding it can still come to */
    double reach;        /* so far behind the first, a set of this part is in none of the best of all */
} search;

/* -- The best -- */

static bool comes_before(const search *s, const found *a, const found *b)
{
    if (fabs(a->log_chance - b->log_chance) > SETS_SAME)
        return a->log_chance > b->log_chance;
    if (a->count != b->count)
        return a->count < b->count;
    for (uint32_t i = 0; i < s->net->live_count; i++) {
        const cw_cause_id id = s->net->live[i];
        if (a->present[id] != b->present[id])
            return a->present[id];
    }
    return false;
}

static void keep(const search *s, best *of, const found *set)
{
    if (of->count == RANK_SETS && !comes_before(s, set, &of->sets[RANK_SETS - 1]))
        return;
    uint32_t to = of->count < RANK_SETS ? of->count++ : RANK_SETS - 1;
    bool *present = of->sets[to].present;
    for (; to > 0 && comes_before(s, set, &of->sets[to - 1]); to--)
        of->sets[to] = of->sets[to - 1];
    memcpy(present, set->present, ((size_t)s->net->model->causes_count + 1) * sizeof *present);
    of->sets[to] = (found){present, set->count, set->log_chance};
}

/* What comes to this is no longer among them. Not so where a bound is no number. */
static bool is_late(const best *of, double log_chance)
{
    return log_chance == -INFINITY ||
           (of->count == RANK_SETS && log_chance < of->sets[RANK_SETS - 1].log_chance - SETS_SAME);
}

/* -- Within a part -- */

static bool is_hopeless(const search *s, double at_most)
{
    return is_late(&s->part, at_most) ||
           (s->part.count > 0 && at_most < s->part.sets[0].log_chance - s->reach - SETS_SAME);
}

/* Those that can lead to a set that counts go to the front, the most promising first; how many. All are
 * absent afterwards. */
static uint32_t sift(search *s, uint32_t count)
{
    const double bound = rank_gates_bound(&s->gates);
    uint32_t kept = 0;
    for (uint32_t i = 0; i < count; i++) {
        const cw_cause_id id = s->open[i];
        const double at_most = is_hopeless(s, bound) ? bound : rank_gates_bound_with(&s->gates, bound, id);
        s->at_most[id] = at_most;
        s->gates.state[id] = is_hopeless(s, at_most) ? GATE_ABSENT : GATE_UNDECIDED;
        if (s->gates.state[id] == GATE_ABSENT)
            continue;
        s->open[i] = s->open[kept];
        uint32_t to = kept++;
        for (; to > 0 && s->at_most[s->open[to - 1]] < at_most; to--)
            s->open[to] = s->open[to - 1];
        s->open[to] = id;
    }
    for (uint32_t i = 0; i < kept; i++)
        s->gates.state[s->open[i]] = GATE_ABSENT;
    return kept;
}

static void mark(search *s, cw_cause_id id, bool present)
{
    s->gates.state[id] = present ? GATE_PRESENT : GATE_ABSENT;
    s->now.present[id] = present;
    s->now.count = present ? s->now.count + 1 : s->now.count - 1;
}

/* The set being tried, and all that add to it some of the first so many, which are undecided now and absent
 * afterwards. As deep as a set is large. */
static void look(search *s, uint32_t count)
{
    const uint32_t kept = sift(s, count);
    s->now.log_chance = rank_gates_log_chance(&s->gates);
    if (s->gates.spent)
        return;
    if (!is_hopeless(s, s->now.log_chance))
        keep(s, &s->part, &s->now);
    for (uint32_t i = 0; i < kept && !is_hopeless(s, s->at_most[s->open[i]]); i++) {
        const cw_cause_id id = s->open[i];
        for (uint32_t k = 0; k < i; k++)
            s->gates.state[s->open[k]] = GATE_UNDECIDED;
        mark(s, id, true);
        look(s, i);
        mark(s, id, false);
        if (s->gates.spent)
            return;
    }
}

/* -- Put together -- */

/* A set of the parts looked at so far and one of this part: they have nothing to do with each other. */
static void put_together(search *s)
{
    s->room.count = 0;
    for (uint32_t i = 0; i < s->all.count; i++)
        for (uint32_t k = 0; k < s->part.count; k++) {
            const found *a = &s->all.sets[i], *b = &s->part.sets[k];
            if (is_late(&s->room, a->log_chance + b->log_chance))
                continue;
            for (uint32_t j = 0; j < s->net->live_count; j++) {
                const cw_cause_id id = s->net->live[j];
                s->now.present[id] = a->present[id] || b->present[id];
            }
            s->now.count = a->count + b->count;
            s->now.log_chance = a->log_chance + b->log_chance;
            keep(s, &s->room, &s->now);
        }
    for (uint32_t j = 0; j < s->net->live_count; j++)
        s->now.present[s->net->live[j]] = false;
    s->now.count = 0;
    const best swap = s->all;
    s->all = s->room;
    s->room = swap;
}

/* A cause that stands alone is absent or present. Most are never present in a set that counts: then all sets
 * are as they were, and without it. */
static void look_at_alone(search *s, cw_cause_id id)
{
    const double present = s->gates.log_weight[id];
    if (present == -INFINITY || is_late(&s->all, s->all.sets[0].log_chance + present))
        return;
    s->part.count = 0;
    s->now.log_chance = 0;
    keep(s, &s->part, &s->now);
    mark(s, id, true);
    s->now.log_chance = present;
    keep(s, &s->part, &s->now);
    mark(s, id, false);
    put_together(s);
}

/* A set of it that falls behind its first further than the last of all so far behind theirs is in none that
 * counts. */
static void look_at_part(search *s, cw_cause_id first)
{
    uint32_t count = 0, open = 0;
    for (uint32_t i = 0; i < s->net->live_count; i++)
        if (s->part_of[s->net->live[i]] == first)
            s->causes[count++] = s->net->live[i];
    rank_gates_take(&s->gates, s->causes, count);
    for (uint32_t i = 0; i < count; i++)
        if (s->gates.state[s->causes[i]] == GATE_UNDECIDED)
            s->open[open++] = s->causes[i];
    s->reach = s->all.count == RANK_SETS ? s->all.sets[0].log_chance - s->all.sets[RANK_SETS - 1].log_chance
                                         : INFINITY;
    s->part.count = 0;
    look(s, open);
    put_together(s);
}

/* Once the steps are spent, nothing is found any more, and then there is none of the whole. */
static void look_at_all(search *s)
{
    s->now.log_chance = s->gates.log_factor;
    keep(s, &s->all, &s->now);
    for (uint32_t i = 0; i < s->net->live_count; i++)
        if (rank_gates_is_alone(&s->gates, s->net->live[i]))
            look_at_alone(s, s->net->live[i]);
    for (uint32_t i = 0; i < s->net->live_count; i++) {
        const cw_cause_id id = s->net->live[i];
        if (s->part_of[id] == id && !rank_gates_is_alone(&s->gates, id))
            look_at_part(s, id);
    }
}

/* -- The whole -- */

static bool take_room(search *s, cw_arena *arena)
{
    const size_t causes = (size_t)s->net->model->causes_count + 1;
    bool *flags = CW_NEW_ARRAY(arena, bool, causes *(3 * RANK_SETS + 1));
    if (flags == NULL)
        return false;
    best *const kinds[] = {&s->all, &s->part, &s->room};
    for (uint32_t i = 0; i < 3 * RANK_SETS; i++)
        kinds[i / RANK_SETS]->sets[i % RANK_SETS].present = flags + causes * i;
    s->now.present = flags + causes * 3 * RANK_SETS;
    s->part_of = CW_ROOM(arena, uint32_t, causes);
    s->finding_part = CW_ROOM(arena, uint32_t, s->net->finding_count);
    s->causes = CW_ROOM(arena, cw_cause_id, causes);
    s->open = CW_ROOM(arena, cw_cause_id, causes);
    s->at_most = CW_ROOM(arena, double, causes);
    return s->part_of != NULL && s->finding_part != NULL && s->causes != NULL && s->open != NULL &&
           s->at_most != NULL;
}

static bool lay_out(const search *s, cw_arena *arena, rank_set *sets)
{
    for (uint32_t i = 0; i < s->all.count; i++) {
        const found *set = &s->all.sets[i];
        cw_cause_id *list = CW_ROOM(arena, cw_cause_id, set->count);
        if (list == NULL)
            return false;
        sets[i] = (rank_set){list, 0, set->log_chance};
        for (uint32_t k = 0; k < s->net->live_count; k++)
            if (set->present[s->net->live[k]])
                list[sets[i].count++] = s->net->live[k];
    }
    return true;
}

cw_status rank_sets_find(const network *net, double max_steps, cw_arena *arena, rank_set *sets,
                         uint32_t *count, bool *proven, double *steps)
{
    search s = {.net = net};
    *count = 0;
    *proven = false;
    if (!take_room(&s, arena) || !rank_gates_make(&s.gates, net, max_steps, arena))
        return CW_NO_MEMORY;
    rank_parts_find(net, s.part_of, s.finding_part);
    look_at_all(&s);
    *count = s.all.count;
    *proven = !s.gates.spent;
    *steps += s.gates.steps;
    return lay_out(&s, arena, sets) ? CW_OK : CW_NO_MEMORY;
}
