/* Diseases identified by asking: rows 308 to 683 by what was counted on rows 1 to 307, 1 / 307 added to each
 * count (one part in as many as there are plants to learn from; Kohavi, Becker & Sommerfield 1997 found that
 * best, from memory). */
#include "outside/ask.h"
#include "outside/soybean/soybean.h"

Test(soybean_asking, fewer_questions_than_a_fixed_order_and_a_tree)
{
    static counts seen;
    lesson *soy = soybean_lesson();
    tally adaptive = {0}, fixed = {0};
    size_t order[LEARN_FEATURES];
    count_none(&seen, SOYBEAN_TAUGHT);
    count_rows(soy, &seen, 0, SOYBEAN_TAUGHT);
    cw_pack *pack = ask_learnt(soy, &seen);
    learn_order(soy, &seen, 0, SOYBEAN_TAUGHT, SOYBEAN_ROWS, order);
    for (size_t row = SOYBEAN_TAUGHT; row < soy->rows; row += CW_STEP) {
        tally_add(&adaptive, ask_about(pack, soy, row, NULL));
        tally_add(&fixed, ask_about(pack, soy, row, order));
    }
    const double mean = tally_mean(&adaptive);
    cr_log_info("soybean: %.3f questions, %zu of %zu right; fixed %.3f, %zu", mean, adaptive.right,
                adaptive.things, tally_mean(&fixed), fixed.right);
    cr_expect_geq(100 * adaptive.right, 88 * adaptive.things); /* 331 of 376 with all told, one added */
    if (CW_STEP == 1) {                                        /* few plants alone say nothing of the mean */
        cr_expect_lt(mean, tally_mean(&fixed));
        cr_expect_geq(adaptive.right, fixed.right);
        cr_expect_lt(mean, ask_tree("soybean/soybean.csv", adaptive.right));
    }
    cw_pack_free(pack);
    free(soy);
}
