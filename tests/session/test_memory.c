/* Every request for memory fails once, while loading, answering, ranking, asking, explaining: a clear status,
 * nothing leaked, the session as it was. */
#include "support.h"
#include "support/failing.h"
#include <stdio.h>

static cw_settings settings_of(failing *memory)
{
    return (cw_settings){memory->allocator.resize, memory->allocator.context};
}

Test(memory, loading)
{
    const char *folders[] = {SHOP};
    failing memory;
    bool once = false;
    for (size_t allowed = 0;; allowed++) {
        (once ? failing_start_once : failing_start)(&memory, allowed);
        cw_settings settings = settings_of(&memory);
        cw_messages *messages;
        cw_pack *pack;
        cw_status status = cw_pack_open(&settings, folders, 1, &messages, &pack);
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK, "%zu allowed", allowed);
        cr_assert_null(messages);
        cw_pack_free(pack);
        cr_assert_eq(failing_bytes(&memory), 0, "%zu allowed", allowed);
        if (!memory.refused && once)
            break;
        if (!memory.refused) {
            once = true;
            allowed = (size_t)-1;
        }
    }
    cr_assert_gt(memory.requests, 100);
}

/* What the session holds, as one text. */
static void state_of(cw_session *session, char *out, size_t size)
{
    const cw_given *answers;
    size_t count;
    size_t at = 0;
    cr_assert_eq(cw_session_answers(session, &answers, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        at += (size_t)snprintf(out + at, size - at, "%s=%s;", answers[i].check, answers[i].value);
    const cw_fact_info *facts;
    cr_assert_eq(cw_session_facts(session, &facts, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        at += (size_t)snprintf(out + at, size - at, "%s:%s;", facts[i].fact, facts[i].value);
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    for (size_t i = 0; i < ranking->count; i++)
        at += (size_t)snprintf(out + at, size - at, "%s %.17g;", ranking->lines[i].id,
                               ranking->lines[i].probability);
}

typedef struct step {
    const char *name;
    cw_status (*run)(cw_session *session);
} step;

static cw_status run_answer(cw_session *session)
{
    return cw_session_answer(session, "ripple", "0.7 V", NULL, NULL, NULL);
}
static cw_status run_text(cw_session *session)
{
    return cw_session_answer(session, "marking", "T9212", NULL, NULL, NULL);
}
static cw_status run_change(cw_session *session)
{
    return cw_session_answer(session, "squeal", "no", NULL, NULL, NULL);
}
static cw_status run_wrong(cw_session *session)
{
    cw_messages *messages;
    cw_status status = cw_session_answer(session, "lamp_running", "o", NULL, NULL, &messages);
    cr_assert_eq(cw_messages_errors(messages), status == CW_UNCLEAR ? 1 : 0);
    cw_messages_free(messages);
    return status == CW_UNCLEAR ? CW_OK : status;
}
static cw_status run_withdraw(cw_session *session)
{
    return cw_session_withdraw(session, "squeal");
}
static cw_status run_ranking(cw_session *session)
{
    const cw_ranking *ranking;
    return cw_session_ranking(session, 3, &ranking);
}
static cw_status run_next(cw_session *session)
{
    const cw_next *next;
    return cw_session_next(session, &next);
}
static cw_status run_foresee(cw_session *session)
{
    const cw_foreseen *list;
    size_t count;
    cw_status status = cw_session_foresee(session, "volts_post", &list, &count);
    return status == CW_OK ? cw_session_foresee(session, "lamp_running", &list, &count) : status;
}
static cw_status run_why(cw_session *session)
{
    const char *const *paragraphs;
    size_t count;
    return cw_session_why(session, NULL, &paragraphs, &count);
}
static cw_status run_proof(cw_session *session)
{
    const char *const *lines;
    size_t count;
    return cw_session_proof(session, "belt_state", &lines, &count);
}
static cw_status run_conflicts(cw_session *session)
{
    const cw_conflict_info *conflicts;
    size_t count;
    cw_status status = cw_session_conflicts(session, &conflicts, &count);
    cr_assert(status != CW_OK || count == 1);
    return status;
}
static cw_status run_cautions(cw_session *session)
{
    const cw_caution_info *const *cautions;
    size_t count;
    return cw_session_cautions(session, &cautions, &count);
}
static cw_status run_hints(cw_session *session)
{
    const cw_hint_info *hints;
    size_t count;
    return cw_session_hints(session, "the lamp glows", &hints, &count);
}

static const step steps[] = {
    {"answer", run_answer},       {"text", run_text},         {"change", run_change},
    {"wrong", run_wrong},         {"withdraw", run_withdraw}, {"ranking", run_ranking},
    {"next", run_next},           {"why", run_why},           {"proof", run_proof},
    {"conflicts", run_conflicts}, {"hints", run_hints},       {"cautions", run_cautions},
    {"foresee", run_foresee},
};

static cw_session *prepared(const cw_pack *pack)
{
    cw_session *session = start_shop(pack, "triage");
    tell(session, "squeal", "no");
    tell(session, "belt_feel", "firm");
    tell(session, "belt_glaze", "yes");
    return session;
}

/* One step with so many requests allowed; true when none was refused. */
static bool try_step(const cw_pack *pack, failing *memory, const step *one, size_t allowed,
                     const char *before)
{
    cw_session *session = prepared(pack);
    memory->allowed = allowed;
    memory->refused = false;
    cw_status status = one->run(session);
    bool refused = memory->refused;
    memory->allowed = FAILING_NEVER;
    cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK, "%s, %zu allowed", one->name, allowed);
    if (refused) {
        char after[4000];
        state_of(session, after, sizeof after);
        cr_assert_str_eq(after, before, "%s, %zu allowed", one->name, allowed);
        cr_assert_eq(one->run(session), CW_OK, "%s goes on when there is memory again", one->name);
    }
    cw_session_free(session);
    return !refused;
}

Test(memory, each_step_of_a_session)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = settings_of(&memory);
    cw_pack *pack = open_shop(&settings);
    cw_session *session = prepared(pack);
    char before[4000];
    state_of(session, before, sizeof before);
    cw_session_free(session);
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        size_t allowed = 0;
        while (!try_step(pack, &memory, &steps[i], allowed, before))
            allowed++;
        const size_t held = failing_bytes(&memory); /* with patterns of the pack that are compiled since */
        try_step(pack, &memory, &steps[i], FAILING_NEVER, before);
        cr_assert_eq(failing_bytes(&memory), held, "%s leaks", steps[i].name);
    }
    cw_pack_free(pack);
    cr_assert_eq(failing_bytes(&memory), 0);
}

/* The first session leaves tables of units with the pack, later ones nothing. */
Test(memory, starting_a_session)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = settings_of(&memory);
    cw_pack *pack = open_shop(&settings);
    for (int later = 0; later < 2; later++) {
        const size_t held = failing_bytes(&memory);
        bool refused = true;
        for (size_t allowed = 0; refused; allowed++) {
            memory.allowed = allowed;
            memory.refused = false;
            cw_session *session;
            cw_status status = cw_session_new(pack, "triage", &session);
            refused = memory.refused;
            cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK);
            cw_session_free(session);
            cr_assert(later == 0 || failing_bytes(&memory) == held);
        }
    }
    cw_pack_free(pack);
}
