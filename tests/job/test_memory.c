/* Every request for memory fails once while a case is read, applied and saved. */
#include "support.h"
#include "support/failing.h"

static const char text[] =
    "stage: triage\nanswers: {ripple: 0.7 V, squeal: {value: no, place: counter}}\nplaces: counter\n"
    "outcome: {causes: [diode_open]}\n";
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

Test(memory, applying_and_saving)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_shop(&settings);
    cw_case *job;
    cr_assert_eq(cw_case_parse(&settings, "case", text, strlen(text), NULL, &job), CW_OK);
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
