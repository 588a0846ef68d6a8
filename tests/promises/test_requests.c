/* A session that has been through its questions once asks for no more memory: not for an answer, the
 * cautions, the lines, the ranking, the next question (issue 4: "no allocation per answer after warm-up").
 * Proofs, as in the list of facts with their reasons and in conflicts, are written when somebody asks, in
 * room of their own. */
#include "promises/shipped.h"
#include "support/failing.h"

enum { ANSWERS = CW_ROUNDS < 50 ? 4 : 12, WARM = 2 };

/* All that is wanted between two answers; the check asked for next, NULL: none. */
static const cw_check_info *look_round(cw_session *session)
{
    const cw_given *answers;
    const cw_caution_info *const *cautions;
    const cw_ranking *ranking;
    const cw_next *next;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &answers, &count), CW_OK);
    cr_assert_eq(cw_session_cautions(session, &cautions, &count), CW_OK);
    cr_assert_eq(cw_session_lines(session, &ranking), CW_OK);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    return next->count > 0 ? next->checks[0].check : NULL;
}

/* Questions as they come, each answered at random; then all is taken back. Requests for memory. */
static size_t a_job(const cw_pack *pack, cw_session *session, failing *memory)
{
    random_state random = random_start(41);
    const size_t before = memory->requests;
    const char *given[ANSWERS];
    size_t count = 0;
    const cw_check_info *check = look_round(session);
    for (; check != NULL && count < ANSWERS; check = look_round(session)) {
        answer told;
        make_up(&random, pack, check, &told);
        give(session, &told);
        given[count++] = check->name;
    }
    cr_assert_gt(count, 2u);
    while (count > 0)
        cr_assert_eq(cw_session_withdraw(session, given[--count]), CW_OK);
    return memory->requests - before;
}

static void hold_to_it(const char *stage)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    const cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = shipped(&settings);
    cw_session *session = start(pack, stage);
    size_t warm = 0;
    for (int i = 0; i < WARM; i++)
        warm = a_job(pack, session, &memory);
    const size_t asked = a_job(pack, session, &memory);
    /* With AddressSanitizer every piece of an arena is a request of its own (base/arena.h): there it only
     * must not ask for more and more. */
    if (CW_PIECEWISE)
        cr_expect_eq(asked, warm, "%zu, then %zu requests", warm, asked);
    else
        cr_expect_eq(asked, 0u, "%zu requests", asked);
    cw_session_free(session);
    cw_pack_free(pack);
    cr_assert_eq(failing_bytes(&memory), 0u);
}

Test(requests, identify, .timeout = 600)
{
    hold_to_it("identify");
}

Test(requests, triage, .timeout = 600)
{
    hold_to_it("triage");
}

Test(requests, teardown, .timeout = 600)
{
    hold_to_it("teardown");
}

Test(requests, proof, .timeout = 600)
{
    hold_to_it("proof");
}
