#include "support.h"

Test(next, the_best_check_says_what_it_settles)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_GO_ON);
    cr_assert_gt(next->count, 0);
    for (size_t i = 0; i < next->count; i++) {
        cr_expect_gt(next->checks[i].bits, 0);
        cr_expect_gt(strlen(next->checks[i].why), 10);
        if (strcmp(next->checks[i].check->name, "lead_style") == 0)
            cr_expect_str_eq(next->checks[i].why, "\"a single lead\" would point to Tern, earlier regulator "
                                                  "or Tern, later regulator and \"two leads "
                                                  "side by side\" to Plover 70 A.");
        if (strcmp(next->checks[i].check->name, "bolt_spacing") == 0)
            cr_expect_str_eq(next->checks[i].why, "About 112 mm would point to Tern, earlier regulator or "
                                                  "Tern, later regulator and about 133.4 mm to "
                                                  "Plover 70 A.");
    }
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(next, causes_are_named_with_their_chances)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "lamp_running", "glow");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    size_t found = 0;
    for (size_t i = 0; i < next->count; i++) {
        const char *why = next->checks[i].why;
        if (strcmp(next->checks[i].check->name, "ripple") == 0) {
            found++;
            cr_expect_eq(
                strncmp(why, "AC ripple \"high\" would speak for one rectifier diode open (now ", 63), 0,
                "%s", why);
        }
        if (strcmp(next->checks[i].check->name, "squeal") == 0) {
            found++;
            cr_expect_eq(strncmp(why, "\"yes\" would speak for slipping belt (now ", 41), 0, "%s", why);
        }
        if (strcmp(next->checks[i].check->name, "fitted_ago") == 0) {
            found++;
            cr_expect_eq(
                strncmp(why, "It makes this more or less likely: one rectifier diode open (now ", 65), 0,
                "%s", why);
        }
    }
    cr_expect_eq(found, 3);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Too improbable to be spoken for by an answer; each check that touches it says so all the same. */
Test(next, of_a_rare_cause_every_check_says_that_it_hangs_on_it)
{
    static const char *const folders[] = {CW_SOURCE_DIR "/tests/session/rare"};
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, NULL, &pack), CW_OK);
    cw_session *session = start_shop(pack, "triage");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_assert_eq(next->count, 2);
    for (size_t i = 0; i < next->count; i++)
        cr_expect_str_eq(next->checks[i].why,
                         "It makes this more or less likely: wick split (now under 1 %).");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(next, of_a_circumstance_it_is_said_what_is_held_against_it)
{
    static const char *const folders[] = {CW_SOURCE_DIR "/rules/charging-basics"};
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, NULL, &pack), CW_OK);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "volts_post", "14.4 V");
    tell(session, "volts_2000", "12.3 V");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    bool found = false;
    for (size_t i = 0; i < next->count; i++) {
        if (strcmp(next->checks[i].check->name, "system_voltage") != 0)
            continue;
        found = true;
        cr_expect_eq(strncmp(next->checks[i].why, "What counts as right depends on it: ", 36), 0, "%s",
                     next->checks[i].why);
    }
    cr_expect(found);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(next, what_cannot_be_told_apart_at_the_counter_is_said)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    const char *places[] = {"counter"};
    cr_assert_eq(cw_session_places(session, places, 1), CW_OK);
    tell(session, "bolt_spacing", "112 mm caliper");
    tell(session, "lead_style", "single");
    tell(session, "rib_count", "6");
    tell(session, "marking", "T9212");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_NOTHING_HELPS);
    cr_assert_eq(next->alike_count, 1);
    cr_assert_eq(next->alike[0].count, 2);
    cr_expect_str_eq(next->alike[0].ids[0], "tern_early");
    cr_expect_str_eq(next->alike[0].ids[1], "tern_late");
    cr_assert_not_null(next->alike[0].tells);
    cr_expect_str_eq(next->alike[0].tells->name, "back_step");
    cr_expect_str_eq(next->alike[0].tells_place, "teardown");
    cr_assert_eq(cw_session_places(session, NULL, 0), CW_OK);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_GO_ON);
    cr_expect_str_eq(next->checks[0].check->name, "back_step");
    tell(session, "back_step", "yes");
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_NOTHING_HELPS, "nothing is left to ask");
    cr_expect_eq(next->alike_count, 0);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* A reply stays the same piece of memory until the session changes. */
Test(next, replies_are_worked_out_once)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    const cw_next *a;
    const cw_next *b;
    cr_assert_eq(cw_session_next(session, &a), CW_OK);
    cr_assert_eq(cw_session_next(session, &b), CW_OK);
    cr_expect_eq(a, b);
    const cw_ranking *x;
    const cw_ranking *y;
    cr_assert_eq(cw_session_ranking(session, 2, &x), CW_OK);
    cr_assert_eq(cw_session_ranking(session, 1, &y), CW_OK);
    cr_expect_eq(x, y);
    cw_session_free(session);
    cw_pack_free(pack);
}
