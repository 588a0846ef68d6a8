/* Bits of many questions, yes or no, each of its own, against logarithms of more figures. */
#include "ask/inside.h"
#include "ask/world.h"

static long double of_yes_or_no(double before, double after)
{
    const long double p = before, q = after;
    return (q > 0 ? q * log2l(q / p) : 0) + (q < 1 ? (1 - q) * log2l((1 - q) / (1 - p)) : 0);
}

/* From hardly anything to as good as certain, moved a little or to anywhere, to nothing and to certainty. */
static double moved(random_state *random, double before)
{
    switch (random_below(random, 6)) {
    case 0:
        return before;
    case 1:
        return 0;
    case 2:
        return 1;
    case 3:
        return random_between(random, 0, 1);
    default:
        return before +
               fmin(before, 1 - before) * random_between(random, -1, 1) * exp(-random_between(random, 0, 30));
    }
}

Test(gain_each, of_many_questions_is_that_of_each_summed)
{
    enum { COUNT = 200 };
    random_state random = random_start(5);
    for (int round = 0; round < 300; round++) {
        double before[COUNT], after[COUNT];
        uint32_t among[COUNT], listed = 0;
        long double want = 0;
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        for (uint32_t i = 0; i < COUNT; i++) {
            before[i] = random_below(&random, 2) ? random_between(&random, 0, 1)
                                                 : exp(-random_between(&random, 0, 200));
            after[i] = moved(&random, before[i]);
            want += of_yes_or_no(before[i], after[i]);
            if (after[i] < before[i] || after[i] > before[i])
                among[listed++] = i;
        }
        ask_beliefs beliefs;
        cr_assert_eq(ask_beliefs_new(before, COUNT, arena, &beliefs), CW_OK);
        const double all = ask_gained_each(&beliefs, after, NULL, COUNT);
        cr_assert_float_eq(all / (double)want, 1, 1e-12);
        cr_assert_float_eq(ask_gained_each(&beliefs, after, among, listed), all, 1e-12 * all);
        cw_arena_free(arena);
    }
}

/* Each pair by itself, so that a small one does not drown in the sum. */
Test(gain_each, of_one_question)
{
    random_state random = random_start(6);
    for (int round = 0; round < 20000; round++) {
        const double before = random_between(&random, 0.001, 0.999), after = moved(&random, before);
        const double want = (double)of_yes_or_no(before, after);
        cr_assert_float_eq(ask_gained_one(before, after), want, 1e-13 * want + 1e-18);
    }
    cr_assert_float_eq(ask_gained_one(0.5, 1), 1, 1e-15);
    cr_assert_float_eq(ask_gained_one(0.5, 0), 1, 1e-15);
    cr_assert_eq(ask_gained_one(0, 1), 0, "impossible before: no figures for it");
    cr_assert_eq(ask_gained_one(1, 0), 0);
}
