#include "model/model.h"
#include <criterion/criterion.h>

Test(word, stages_have_names_and_are_found_by_them)
{
    static const char *const names[] = {"identify", "triage", "teardown", "proof"};
    for (int i = 0; i < CW_STAGE_COUNT; i++) {
        cw_stage found = CW_STAGE_COUNT;
        cr_assert_str_eq(cw_stage_name((cw_stage)i), names[i]);
        cr_assert(cw_stage_find(names[i], &found));
        cr_assert_eq((int)found, i);
    }
}

Test(word, places_have_names_and_are_found_by_them)
{
    static const char *const names[] = {"counter", "vehicle", "bench", "teardown"};
    for (int i = 0; i < CW_WHERE_COUNT; i++) {
        cw_where found = CW_WHERE_COUNT;
        cr_assert_str_eq(cw_where_name((cw_where)i), names[i]);
        cr_assert(cw_where_find(names[i], &found));
        cr_assert_eq((int)found, i);
    }
}

Test(word, other_words_are_not_found_and_leave_the_answer_alone)
{
    cw_stage stage = CW_TRIAGE;
    cw_where where = CW_AT_BENCH;
    cr_assert_not(cw_stage_find("Identify", &stage));
    cr_assert_not(cw_where_find("", &where));
    cr_assert_eq(stage, CW_TRIAGE);
    cr_assert_eq(where, CW_AT_BENCH);
}
