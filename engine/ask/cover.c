#include "ask/cover.h"

#include <math.h>
#include <string.h>

/* Fewest first, then minutes, as one number: so many thousandths of a minute fit below a check. */
static const uint64_t one_more = (uint64_t)1 << 40;

typedef struct solver {
    const cw_cover_task *task;
    uint32_t words;
    uint64_t *cost;      /* by item */
    bool *chosen, *best; /* by item */
    bool *forbidden;     /* by look */
    uint32_t *used;      /* by item: the last round that took it for a bound */
    uint32_t round;
    uint64_t best_cost, steps;
    uint32_t deep;
    uint64_t *had;  /* looks that are had, one bit set for each depth */
    uint64_t *shut; /* looks that this depth has forbidden */
    bool cut_short;
} solver;

static bool had(const solver *s, uint32_t look)
{
    const cw_cover_look *l = &s->task->looks[look];
    for (uint32_t i = 0; i < l->count; i++)
        if (!s->chosen[l->items[i]])
            return false;
    return true;
}

static uint64_t missing_cost(const solver *s, uint32_t look)
{
    const cw_cover_look *l = &s->task->looks[look];
    uint64_t cost = 0;
    for (uint32_t i = 0; i < l->count; i++)
        cost += s->chosen[l->items[i]] ? 0 : s->cost[l->items[i]];
    return cost;
}

static bool has(const uint64_t *set, uint32_t bit)
{
    return (set[bit / 64] >> (bit % 64) & 1) != 0;
}

static const uint64_t *element_at(const solver *s, uint32_t element)
{
    return &s->task->elements[(size_t)element * s->words];
}

static void find_had(const solver *s, uint64_t *out)
{
    memset(out, 0, s->words * sizeof *out);
    for (uint32_t l = 0; l < s->task->look_count; l++)
        if (had(s, l))
            out[l / 64] |= (uint64_t)1 << (l % 64);
}

static bool covered(const solver *s, uint32_t element, const uint64_t *looks)
{
    const uint64_t *set = element_at(s, element);
    for (uint32_t w = 0; w < s->words; w++)
        if ((set[w] & looks[w]) != 0)
            return true;
    return false;
}

/* The least that the element still costs; notes that it uses the checks of its looks, and says whether one of
 * them was used in this round before. UINT64_MAX when all its looks are forbidden. */
static uint64_t element_cost(solver *s, uint32_t element, bool *shared, uint32_t *looks)
{
    const uint64_t *set = element_at(s, element);
    uint64_t least = UINT64_MAX;
    *shared = false;
    *looks = 0;
    for (uint32_t l = 0; l < s->task->look_count; l++) {
        if (!has(set, l) || s->forbidden[l])
            continue;
        const uint64_t cost = missing_cost(s, l);
        least = cost < least ? cost : least;
        ++*looks;
        for (uint32_t i = 0; i < s->task->looks[l].count; i++)
            *shared |=
                s->used[s->task->looks[l].items[i]] == s->round && !s->chosen[s->task->looks[l].items[i]];
    }
    return least;
}

static void use(solver *s, uint32_t element)
{
    for (uint32_t l = 0; l < s->task->look_count; l++)
        if (has(element_at(s, element), l) && !s->forbidden[l])
            for (uint32_t i = 0; i < s->task->looks[l].count; i++)
                s->used[s->task->looks[l].items[i]] = s->round;
}

/* Lower bound of what is still to come, and the element to branch on; count when all are covered. */
static uint64_t bound(solver *s, const uint64_t *looks, uint32_t *hardest)
{
    uint64_t sum = 0;
    uint32_t fewest = UINT32_MAX;
    *hardest = s->task->element_count;
    s->round++;
    for (uint32_t e = 0; e < s->task->element_count; e++) {
        bool shared = false;
        uint32_t count = 0;
        s->steps++;
        if (covered(s, e, looks))
            continue;
        const uint64_t least = element_cost(s, e, &shared, &count);
        if (count < fewest) {
            fewest = count;
            *hardest = e;
        }
        if (least == UINT64_MAX)
            return UINT64_MAX;
        if (shared)
            continue;
        sum += least;
        use(s, e);
    }
    return sum;
}

static uint64_t plus(uint64_t a, uint64_t b)
{
    return a > UINT64_MAX - b ? UINT64_MAX : a + b;
}

static void keep_best(solver *s, uint64_t cost)
{
    memcpy(s->best, s->chosen, s->task->item_count * sizeof *s->best);
    s->best_cost = cost;
}

/* A look that was to stay out has come about by the checks of others: that was looked at before. */
static bool seen_before(const solver *s, const uint64_t *looks)
{
    for (uint32_t l = 0; l < s->task->look_count; l++)
        if (s->forbidden[l] && has(looks, l))
            return true;
    return false;
}

static void take(solver *s, uint32_t look, bool *added)
{
    const cw_cover_look *l = &s->task->looks[look];
    for (uint32_t i = 0; i < l->count; i++) {
        added[i] = !s->chosen[l->items[i]];
        s->chosen[l->items[i]] = true;
    }
}

static void give_back(solver *s, uint32_t look, const bool *added)
{
    const cw_cover_look *l = &s->task->looks[look];
    for (uint32_t i = 0; i < l->count; i++)
        if (added[i])
            s->chosen[l->items[i]] = false;
}

static void search(solver *s, uint64_t cost, uint32_t depth);

/* One branch for each look of the element; those of earlier ones are forbidden in later ones. */
static void branch(solver *s, uint32_t element, uint64_t cost, uint32_t depth)
{
    uint64_t *shut = &s->shut[(size_t)depth * s->words];
    memset(shut, 0, s->words * sizeof *shut);
    for (uint32_t l = 0; l < s->task->look_count && !s->cut_short; l++) {
        bool added[CW_COVER_ITEMS];
        if (!has(element_at(s, element), l) || s->forbidden[l])
            continue;
        const uint64_t more = missing_cost(s, l);
        take(s, l, added);
        search(s, cost + more, depth + 1);
        give_back(s, l, added);
        s->forbidden[l] = true;
        shut[l / 64] |= (uint64_t)1 << (l % 64);
    }
    for (uint32_t l = 0; l < s->task->look_count; l++)
        s->forbidden[l] = s->forbidden[l] && !has(shut, l);
}

static void search(solver *s, uint64_t cost, uint32_t depth)
{
    uint64_t *looks = &s->had[(size_t)depth * s->words];
    uint32_t element = 0;
    if (s->steps >= s->task->max_steps || depth + 1 >= s->deep) {
        s->cut_short = true;
        return;
    }
    find_had(s, looks);
    if (seen_before(s, looks))
        return;
    const uint64_t least = plus(cost, bound(s, looks, &element));
    if (least >= s->best_cost)
        return;
    if (element == s->task->element_count) {
        keep_best(s, cost);
        return;
    }
    branch(s, element, cost, depth);
}

/* -- Greedy -- */

static uint32_t newly_covered(solver *s, uint32_t look, const uint64_t *looks)
{
    uint32_t count = 0;
    for (uint32_t e = 0; e < s->task->element_count; e++)
        count += has(element_at(s, e), look) && !covered(s, e, looks) ? 1 : 0;
    s->steps += s->task->element_count;
    return count;
}

/* The look that covers most for what it takes; look_count when nothing is left to cover. */
static uint32_t best_look(solver *s, const uint64_t *looks)
{
    uint32_t best = s->task->look_count;
    double most = 0;
    for (uint32_t l = 0; l < s->task->look_count; l++) {
        const uint32_t covers = has(looks, l) ? 0 : newly_covered(s, l, looks);
        const double worth = covers > 0 ? covers / (double)missing_cost(s, l) : 0;
        if (worth > most) {
            most = worth;
            best = l;
        }
    }
    return best;
}

static bool all_covered(solver *s, uint64_t *looks)
{
    bool all = true;
    find_had(s, looks);
    for (uint32_t e = 0; e < s->task->element_count && all; e++)
        all = covered(s, e, looks);
    s->steps += s->task->element_count;
    return all;
}

/* Leaves out what is not needed, the dearest first. */
static void thin_out(solver *s, uint64_t *looks)
{
    bool *kept = s->best; /* free until the search begins */
    memset(kept, 0, s->task->item_count * sizeof *kept);
    for (;;) {
        uint32_t dearest = s->task->item_count;
        for (uint32_t i = 0; i < s->task->item_count; i++)
            if (s->chosen[i] && !kept[i] && (dearest == s->task->item_count || s->cost[i] > s->cost[dearest]))
                dearest = i;
        if (dearest == s->task->item_count)
            return;
        s->chosen[dearest] = false;
        kept[dearest] = true;
        s->chosen[dearest] = !all_covered(s, looks);
    }
}

static void greedy(solver *s)
{
    uint64_t *looks = s->had, cost = 0;
    for (;;) {
        bool added[CW_COVER_ITEMS];
        find_had(s, looks);
        const uint32_t look = best_look(s, looks);
        if (look == s->task->look_count)
            break;
        take(s, look, added);
    }
    thin_out(s, looks);
    for (uint32_t i = 0; i < s->task->item_count; i++)
        cost += s->chosen[i] ? s->cost[i] : 0;
    keep_best(s, cost);
    memset(s->chosen, 0, s->task->item_count * sizeof *s->chosen);
}

/* -- From outside -- */

static cw_status solver_new(const cw_cover_task *task, cw_arena *arena, solver *s)
{
    const uint32_t words = cw_cover_words(task->look_count);
    *s = (solver){.task = task, .words = words, .deep = task->item_count + 2};
    s->cost = CW_NEW_ARRAY(arena, uint64_t, task->item_count);
    s->chosen = CW_NEW_ARRAY(arena, bool, task->item_count);
    s->best = CW_NEW_ARRAY(arena, bool, task->item_count);
    s->forbidden = CW_NEW_ARRAY(arena, bool, task->look_count);
    s->used = CW_NEW_ARRAY(arena, uint32_t, task->item_count);
    s->had = CW_NEW_ARRAY(arena, uint64_t, (size_t)s->deep * words);
    s->shut = CW_NEW_ARRAY(arena, uint64_t, (size_t)s->deep * words);
    if (s->cost == NULL || s->chosen == NULL || s->best == NULL || s->forbidden == NULL || s->used == NULL ||
        s->had == NULL || s->shut == NULL)
        return CW_NO_MEMORY;
    for (uint32_t i = 0; i < task->item_count; i++)
        s->cost[i] = one_more + (uint64_t)llround(fmin(task->minutes[i], 1e6) * 1000);
    return CW_OK;
}

static uint32_t checks_in(uint64_t cost)
{
    return (uint32_t)(cost / one_more);
}

static cw_status solve(const cw_cover_task *task, bool exactly, cw_arena *arena, cw_cover *out)
{
    solver s;
    uint32_t hardest = 0;
    cw_status status = solver_new(task, arena, &s);
    if (status != CW_OK)
        return status;
    greedy(&s);
    find_had(&s, s.had);
    const uint64_t least = bound(&s, s.had, &hardest);
    if (exactly)
        search(&s, 0, 0);
    *out = (cw_cover){.chosen = s.best, .exact = exactly && !s.cut_short, .steps = s.steps};
    out->count = checks_in(s.best_cost);
    out->at_least = out->exact ? out->count : checks_in(least);
    return CW_OK;
}

cw_status cw_cover_solve(const cw_cover_task *task, cw_arena *arena, cw_cover *out)
{
    return solve(task, true, arena, out);
}

cw_status cw_cover_greedy(const cw_cover_task *task, cw_arena *arena, cw_cover *out)
{
    return solve(task, false, arena, out);
}
