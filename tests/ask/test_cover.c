/* The smallest cover, against every set of checks. */
#include "ask/cover.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { ITEMS = 10, LOOKS = 70, ELEMENTS = 40, WORDS = 2 };

typedef struct task {
    double minutes[ITEMS];
    uint32_t items[LOOKS][3];
    cw_cover_look looks[LOOKS];
    uint64_t elements[ELEMENTS * WORDS];
    cw_cover_task task;
} task;

static void make(task *t, random_state *random)
{
    memset(t, 0, sizeof *t);
    t->task = (cw_cover_task){.item_count = 3 + random_below(random, ITEMS - 2),
                              .minutes = t->minutes,
                              .looks = t->looks,
                              .look_count = 65 + random_below(random, LOOKS - 64),
                              .elements = t->elements,
                              .element_count = 1 + random_below(random, ELEMENTS),
                              .max_steps = 1000000};
    for (uint32_t i = 0; i < t->task.item_count; i++)
        t->minutes[i] = 0.5 * (1 + random_below(random, 8));
    for (uint32_t l = 0; l < t->task.look_count; l++) {
        const uint32_t count = random_below(random, 3) == 0 ? 1 + random_below(random, 3) : 1;
        const uint32_t first = random_below(random, t->task.item_count);
        for (uint32_t i = 0; i < count; i++)
            t->items[l][i] = (first + i) % t->task.item_count;
        t->looks[l] = (cw_cover_look){t->items[l], count};
    }
    for (uint32_t e = 0; e < t->task.element_count; e++)
        for (uint32_t k = 1 + random_below(random, 4); k > 0; k--) {
            const uint32_t look = random_below(random, t->task.look_count);
            t->elements[e * WORDS + look / 64] |= (uint64_t)1 << (look % 64);
        }
}

static bool covers(const task *t, uint32_t set)
{
    for (uint32_t e = 0; e < t->task.element_count; e++) {
        bool covered = false;
        for (uint32_t l = 0; l < t->task.look_count && !covered; l++) {
            covered = (t->elements[e * WORDS + l / 64] >> (l % 64) & 1) != 0;
            for (uint32_t i = 0; i < t->looks[l].count && covered; i++)
                covered = (set >> t->looks[l].items[i] & 1) != 0;
        }
        if (!covered)
            return false;
    }
    return true;
}

static void measure(const task *t, uint32_t set, uint32_t *count, double *minutes)
{
    *count = 0;
    *minutes = 0;
    for (uint32_t i = 0; i < t->task.item_count; i++)
        if ((set >> i & 1) != 0) {
            ++*count;
            *minutes += t->minutes[i];
        }
}

static void best_of_all(const task *t, uint32_t *count, double *minutes)
{
    *count = UINT32_MAX;
    *minutes = INFINITY;
    for (uint32_t set = 0; set < 1u << t->task.item_count; set++) {
        uint32_t c;
        double m;
        measure(t, set, &c, &m);
        if ((c < *count || (c == *count && m < *minutes)) && covers(t, set)) {
            *count = c;
            *minutes = m;
        }
    }
}

static uint32_t set_of(const task *t, const cw_cover *cover)
{
    uint32_t set = 0;
    for (uint32_t i = 0; i < t->task.item_count; i++)
        set |= cover->chosen[i] ? 1u << i : 0;
    return set;
}

Test(cover, is_the_best_of_all_sets)
{
    random_state random = random_start(3);
    for (int round = 0; round < 150; round++) {
        static task t;
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_cover exact, greedy, cut;
        uint32_t count, least;
        double minutes, took;
        make(&t, &random);
        best_of_all(&t, &least, &took);
        cr_assert_eq(cw_cover_solve(&t.task, arena, &exact), CW_OK);
        measure(&t, set_of(&t, &exact), &count, &minutes);
        cr_expect(exact.exact && covers(&t, set_of(&t, &exact)));
        cr_expect_eq(count, least);
        cr_expect_eq(exact.count, least);
        cr_expect_eq(exact.at_least, least);
        cr_expect_float_eq(minutes, took, 1e-9);
        cr_assert_eq(cw_cover_greedy(&t.task, arena, &greedy), CW_OK);
        cr_expect(!greedy.exact && covers(&t, set_of(&t, &greedy)));
        cr_expect(greedy.at_least <= least && least <= greedy.count);
        t.task.max_steps = random_below(&random, 3000);
        cr_assert_eq(cw_cover_solve(&t.task, arena, &cut), CW_OK);
        cr_expect(covers(&t, set_of(&t, &cut)));
        cr_expect(cut.at_least <= least && least <= cut.count && (!cut.exact || cut.count == least));
        cw_arena_free(arena);
    }
}

Test(cover, nothing_needs_nothing)
{
    cw_arena *arena = cw_arena_new(&cw_system_allocator);
    cw_cover cover;
    const cw_cover_task none = {.max_steps = 100};
    cr_assert_eq(cw_cover_solve(&none, arena, &cover), CW_OK);
    cr_expect(cover.exact);
    cr_expect_eq(cover.count, 0u);
    cw_arena_free(arena);
}
