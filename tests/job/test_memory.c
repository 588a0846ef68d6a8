/* Every request for memory fails once while a case is read, applied and saved. */
#include "support.h"
#include "support/failing.h"

static const char text[] =
    "stage: triage\nanswers: {ripple: 0.7 V, squeal: {value: no, place: counter}}\nplaces: counter\n"
    "outcome: {causes: [diode_open]}\n"
    "earlier: [{stage: triage, complaint: it squeals, answers: {squeal: yes, ripple: {value: 1 V}}}]\n";
static const char wrong[] = "stage: triage\nanswers: {ripple: 70 V, sqeal: no}\nunknown: 1\n";

Test(memory, reading)
{
    const char *texts[] = {text, wrong};
    for (size_t which = 0; which < 2; which++) {
        for (size_t allowed = 0;; allowed++) {
            failing memory;
            failing_start(&memory, allowed);
            cw_settings settings = {memory.allocator.resize, memory.allocator.context};
            cw_messages *messages;
            cw_case *job;
            cw_status status =
                cw_case_parse(&settings, "case", texts[which], strlen(texts[which]), &messages, &job);
            cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : which == 0 ? CW_OK : CW_BAD_INPUT);
            cw_messages_free(messages);
            cw_case_free(job);
            cr_assert_eq(failing_bytes(&memory), 0);
            if (!memory.refused)
                break;
        }
    }
}

static bool save_once(const cw_pack *pack, failing *memory, const cw_case *job, size_t allowed)
{
    cw_session *session = start(pack, "triage");
    memory->allowed = allowed;
    memory->refused = false;
    cw_status status = cw_case_apply(job, session, NULL);
    if (status == CW_OK)
        status = cw_case_save(session, "/dev/null", cw_case_get(job), NULL);
    bool refused = memory->refused;
    memory->allowed = FAILING_NEVER;
    cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK);
    cw_session_free(session);
    return !refused;
}

/* Right answers need no memory, once the session is made; the words about the wrong one between them do. */
static const char one_wrong[] = "stage: triage\nanswers: {ripple: 0.7 V, lamp_running: green, squeal: yes}\n";

/* What the session holds once memory has run out: the first answers of the file, in their order. How many. */
static size_t prefix_held(cw_session *session, const cw_case *job)
{
    const cw_case_info *info = cw_case_get(job);
    const cw_given *given;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &given, &count), CW_OK);
    cr_assert_leq(count, info->answer_count);
    for (size_t i = 0; i < count; i++)
        cr_assert_str_eq(given[i].check, info->answers[i].check);
    return count;
}

Test(memory, answers_given_before_it_ran_out_stay)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_shop(&settings);
    cw_case *job;
    cr_assert_eq(cw_case_parse(&settings, "case", one_wrong, strlen(one_wrong), NULL, &job), CW_OK);
    bool whole = false, none = false, some = false;
    for (size_t allowed = 0; !whole; allowed++) {
        cw_session *session = start(pack, "triage");
        memory.allowed = allowed;
        memory.refused = false;
        cw_status status = cw_case_apply(job, session, NULL);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_BAD_INPUT);
        whole = !memory.refused;
        memory.allowed = FAILING_NEVER;
        const size_t held = whole ? 0 : prefix_held(session, job);
        none = none || (!whole && held == 0);
        some = some || (!whole && held > 0);
        cw_session_free(session);
    }
    cr_assert(none && some);
    cw_case_free(job);
    cw_pack_free(pack);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(memory, applying_and_saving)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_shop(&settings);
    cw_case *job;
    cr_assert_eq(cw_case_parse(&settings, "case", text, strlen(text), NULL, &job), CW_OK);
    /* What the first session makes for all stays with the pack. */
    cr_assert(save_once(pack, &memory, job, FAILING_NEVER));
    size_t held = failing_bytes(&memory);
    size_t allowed = 0;
    while (!save_once(pack, &memory, job, allowed)) {
        cr_assert_eq(failing_bytes(&memory), held);
        allowed++;
    }
    cr_assert_gt(allowed, 5);
    cw_case_free(job);
    cw_pack_free(pack);
    cr_assert_eq(failing_bytes(&memory), 0);
}

Test(memory, carrying)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "proof");
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, FAILING_NEVER);
        cw_settings settings = {memory.allocator.resize, memory.allocator.context};
        cw_case *job;
        cw_carried carried;
        cr_assert_eq(cw_case_parse(&settings, "case", text, strlen(text), NULL, &job), CW_OK);
        memory.allowed = allowed;
        memory.refused = false;
        cw_status status = cw_case_carry(job, session, &carried);
        bool refused = memory.refused;
        cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK);
        const cw_case_info *info = cw_case_get(job);
        cr_expect_eq(info->answer_count, refused ? 2u : 0u);
        cr_expect_eq(info->earlier_count, refused ? 1u : 2u);
        cr_expect_str_eq(info->stage, refused ? "triage" : "proof");
        memory.allowed = FAILING_NEVER;
        cw_case_free(job);
        cr_assert_eq(failing_bytes(&memory), 0);
        if (!refused)
            break;
    }
    cw_session_free(session);
    cw_pack_free(pack);
}
