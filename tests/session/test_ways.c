/* What the ways to go on come to, in words. */
#include "session/support.h"

static cw_pack *open_folder(const char *folder)
{
    const char *const folders[] = {folder};
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, NULL, &pack), CW_OK);
    return pack;
}

/* Nothing said: .21 each alone, .09 both, nothing .49. Cable 20 + 10 = 30, wick 60 + 40 = 100, a comeback 100
 * and the repair, or both. With the flame told no way is left but to act: here "no", under
 * which the wick is nearly out, so that the cable is changed and the rest handed back. */
Test(ways, a_look_first_then_the_part)
{
    cw_pack *pack = open_folder(CW_SOURCE_DIR "/tests/session/priced");
    cw_session *session = start_shop(pack, "triage");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_assert_not_null(next->ways);
    cr_expect(next->ways->known);
    cr_expect(next->ways->money);
    cr_expect_float_eq(next->ways->hand_back, 0.21 * 200 + 0.21 * 130 + 0.09 * 230, 1e-9);
    cr_assert_eq(next->ways->repair_count, 2);
    cr_expect_str_eq(next->ways->repairs[0].what, "changing the cable");
    cr_expect_str_eq(next->ways->repairs[0].causes[0], "cable_open");
    cr_expect_float_eq(next->ways->repairs[0].cost, 30, 1e-12);
    cr_expect_null(next->ways->repairs[0].no_price);
    tell(session, "flame", "no");
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_NOTHING_HELPS, "there is no other check");
    cr_expect_str_eq(next->ways->best, "repair");
    cr_expect_lt(next->ways->test, 0);
    cr_expect_eq(strncmp(next->ways->words, "Changing the cable now costs least, about ", 42), 0, "%s",
                 next->ways->words);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* It burns, which without a short wick it does in 2 of 100: the wick is short in .3 / .314, the cable open in
 * .3 of those as of all, .287. */
Test(ways, a_second_fault_behind_the_first)
{
    cw_pack *pack = open_folder(CW_SOURCE_DIR "/tests/session/priced");
    cw_session *session = start_shop(pack, "triage");
    const cw_next *next;
    tell(session, "flame", "yes");
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_str_eq(next->ways->best, "repair");
    cr_expect_not_null(strstr(next->ways->words,
                              " Reckon with two repairs: in 29 of 100 such jobs there is \"Cable open\" "
                              "beside \"Wick short\", and changing the wick alone does not cure it."),
                       "%s", next->ways->words);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(ways, what_is_not_said_is_said)
{
    cw_pack *pack = open_folder(CW_SOURCE_DIR "/tests/session/timed");
    cw_session *session = start_shop(pack, "triage");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_GO_ON);
    cr_assert_eq(next->count, 1);
    cr_expect(next->checks[0].opens, "it is told that the unit is opened");
    cr_expect_eq(next->checks[0].minutes, 91);
    cr_assert_not_null(next->ways);
    cr_expect_not(next->ways->known);
    cr_expect_null(next->ways->best);
    cr_expect_str_eq(
        next->ways->words,
        "What is cheaper, a check or a repair, cannot be told: it is not said what the repair takes "
        "for: Cable open. Checks go by what they tell in a minute.");
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Two packs that ship: a look first, its words as a technician reads them. */
Test(ways, of_the_shipped_packs)
{
    static const char *const folders[] = {CW_SOURCE_DIR "/rules/harbour-lane",
                                          CW_SOURCE_DIR "/rules/charging-basics"};
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, folders, 2, NULL, &pack), CW_OK);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "fitted_ago", "days");
    tell(session, "lamp_running", "on");
    tell(session, "volts_post", "14.4 V");
    tell(session, "volts_2000", "12.3 V");
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_assert_not_null(next->ways);
    cr_assert(next->ways->known);
    cr_expect(next->ways->money);
    cr_expect_str_eq(next->ways->best, "test");
    cr_expect_lt(next->ways->test, next->ways->repair);
    cr_expect_not_null(
        strstr(next->ways->words, " on average compared with changing the main fuse or fusible link now"),
        "%s", next->ways->words);
    cr_expect_float_eq(next->checks[0].expected, next->ways->test, 1e-12);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* No cause is listed, no check is left at the counter: there is nothing to decide, and memory to spare. */
Test(ways, nothing_to_decide_is_no_lack_of_memory)
{
    cw_pack *pack = open_folder(CW_SOURCE_DIR "/tests/session/proving");
    cw_session *session = start_shop(pack, "triage");
    const char *const places[] = {"counter"};
    const cw_next *next;
    cr_assert_eq(cw_session_places(session, places, 1), CW_OK);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->count, 0);
    cr_expect_null(next->ways);
    cw_session_free(session);
    cw_pack_free(pack);
}
