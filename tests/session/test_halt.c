/* A caution that ends the work still tells what is likely, to those who may act on it; one that ends
 * everything tells nothing else. */
#include "support.h"

static cw_pack *open_halted(void)
{
    const char *folders[] = {CW_SOURCE_DIR "/tests/session/halted"};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, &messages, &pack), CW_OK);
    cr_assert_null(messages, "it must load without a warning");
    return pack;
}

static const cw_ranking *ranking_of(cw_session *session)
{
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(session, 3, &ranking), CW_OK);
    return ranking;
}

static const cw_next *next_of(cw_session *session)
{
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    return next;
}

Test(halt, of_the_work_leaves_the_ranking_and_takes_plans_and_questions)
{
    cw_pack *pack = open_halted();
    cw_session *session = start_shop(pack, "triage");
    tell(session, "lamp", "on");
    const double free_to_work = ranking_of(session)->lines[0].probability;
    cr_expect_eq(ranking_of(session)->plan_count, 1);
    cr_expect_eq(next_of(session)->stop, CW_GO_ON);

    tell(session, "used_in", "aircraft");
    const cw_ranking *ranking = ranking_of(session);
    cr_expect_not(ranking->stopped);
    cr_assert_eq(ranking->count, 2);
    cr_expect_str_eq(ranking->lines[0].id, "brushes_worn");
    cr_expect_float_eq(ranking->lines[0].probability, free_to_work, 1e-12,
                       "a circumstance that nothing hangs on");
    cr_expect_eq(ranking->plan_count, 0);
    const cw_next *next = next_of(session);
    cr_expect_eq(next->stop, CW_CAUTION_STOPS);
    cr_expect_eq(next->count, 0);
    cr_expect_null(next->ways);
    cr_expect_str_eq(next->stop_words, "Stop. Licensed people only.");
    const char *const *why;
    size_t count;
    cr_assert_eq(cw_session_why(session, NULL, &why, &count), CW_OK);
    cr_assert_gt(count, 1);
    cr_expect_str_eq(why[0], "Stop. Licensed people only.");

    tell(session, "used_in", "road");
    cr_expect_eq(ranking_of(session)->plan_count, 1);
    cr_expect_eq(next_of(session)->stop, CW_GO_ON);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(halt, of_everything_counts_more_than_of_the_work)
{
    cw_pack *pack = open_halted();
    cw_session *session = start_shop(pack, "triage");
    tell(session, "lamp", "on");
    tell(session, "used_in", "aircraft");
    tell(session, "high_volts", "yes");
    cr_expect(ranking_of(session)->stopped);
    cr_expect_eq(ranking_of(session)->count, 0);
    cr_expect_str_eq(next_of(session)->stop_words, "Stop. 48 V.");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(halt, of_the_work_leaves_no_work_list_no_sheet_and_no_description)
{
    cw_pack *pack = open_halted();
    cw_session *session = start_shop(pack, "teardown");
    const cw_work_part *parts;
    const cw_proof_line *lines;
    const cw_description *described;
    size_t count;
    tell(session, "brush_length", "short");
    cr_assert_eq(cw_session_work(session, &parts, &count), CW_OK);
    cr_expect_eq(count, 1);
    tell(session, "used_in", "aircraft");
    cr_assert_eq(cw_session_work(session, &parts, &count), CW_OK);
    cr_expect_eq(count, 0);
    cr_expect_not(ranking_of(session)->stopped);
    cr_expect_eq(next_of(session)->count, 0);
    cw_session_free(session);

    session = start_shop(pack, "proof");
    tell(session, "lamp", "off");
    cr_assert_eq(cw_session_proof_lines(session, &lines, &count), CW_OK);
    cr_expect_eq(count, 1);
    tell(session, "used_in", "aircraft");
    cr_assert_eq(cw_session_proof_lines(session, &lines, &count), CW_OK);
    cr_expect_eq(count, 0);
    cr_expect(ranking_of(session)->stopped, "the sheet is all that this stage tells");
    cw_session_free(session);

    session = start_shop(pack, "identify");
    cr_assert_eq(cw_session_description(session, &described), CW_OK);
    cr_expect_eq(described->count, 1);
    tell(session, "used_in", "aircraft");
    cr_assert_eq(cw_session_description(session, &described), CW_OK);
    cr_expect_eq(described->count, 0);
    cr_expect_not(described->unlisted);
    cw_session_free(session);
    cw_pack_free(pack);
}
