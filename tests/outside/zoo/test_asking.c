/* Animals identified by asking: each by what was counted on the others, 1 / 100 added to each count (one part
 * in as many as there are animals to learn from; Kohavi, Becker & Sommerfield 1997 found that best, from
 * memory). */
#include "outside/ask.h"
#include "outside/zoo/zoo.h"

/* Bits of the classes: with questions of two answers, and no luck, nobody needs fewer on average. */
static double entropy(const counts *in, const lesson *zoo)
{
    double share[LEARN_CLASSES];
    for (size_t class = 0; class < zoo->classes; class ++)
        share[class] = in->all[class] / (double)ZOO_ANIMALS;
    return learn_bits(share, zoo->classes);
}

Test(zoo_asking, fewer_questions_than_a_fixed_order_and_a_tree)
{
    static counts seen;
    lesson *zoo = zoo_lesson();
    tally adaptive = {0}, fixed = {0};
    count_none(&seen, ZOO_ANIMALS - 1);
    count_rows(zoo, &seen, 0, zoo->rows);
    const double bound = entropy(&seen, zoo);
    cr_expect_float_eq(bound, 2.3906, 5e-5); /* R, an independent ranker */
    for (size_t row = 0; row < zoo->rows; row += CW_STEP) {
        size_t order[LEARN_FEATURES];
        count_row(zoo, &seen, row, -1);
        cw_pack *pack = ask_learnt(zoo, &seen);
        learn_order(zoo, &seen, 0, zoo->rows, row, order);
        tally_add(&adaptive, ask_about(pack, zoo, row, NULL));
        tally_add(&fixed, ask_about(pack, zoo, row, order));
        cw_pack_free(pack);
        count_row(zoo, &seen, row, 1);
    }
    const double mean = tally_mean(&adaptive);
    cr_log_info("zoo: %.3f questions, %zu of %zu right; bound %.3f; fixed %.3f, %zu", mean, adaptive.right,
                adaptive.things, bound, tally_mean(&fixed), fixed.right);
    cr_expect_geq(100 * adaptive.right, 90 * adaptive.things);
    if (CW_STEP == 1) { /* few animals alone say nothing of the mean */
        cr_expect_leq(mean, 1.25 * bound);
        cr_expect_lt(mean, tally_mean(&fixed));
        cr_expect_geq(adaptive.right, fixed.right);
        cr_expect_lt(mean, ask_tree("zoo/zoo.csv", adaptive.right));
    }
    free(zoo);
}
