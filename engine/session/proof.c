/* The proof sheet: which lines are passed and why, what is still to be measured, what the sheet comes to. */
#include "corewright/proof.h"
#include "session/standing.h"
#include <string.h>

struct proof_reply {
    const cw_proof_line *lines;
    size_t count;
    cw_proof_sum sum;
};

/* Lines that wait for what can be measured, and for that or what was left open. */
typedef struct waiting {
    const cw_due *due, *left_open;
    size_t due_count, left_open_count;
} waiting;

static cw_status find_waiting(cw_session *session, waiting *out)
{
    const cw_ask_limits anywhere = {.stage = CW_PROOF, .here = session->here};
    cw_status status = cw_ask_lines(session->asker, session->chain, &anywhere, false, session->replies,
                                    &out->due, &out->due_count);
    if (status == CW_OK)
        status = cw_ask_lines(session->asker, session->chain, &anywhere, true, session->replies,
                              &out->left_open, &out->left_open_count);
    return status;
}

static const cw_due *find_due(const cw_due *due, size_t count, cw_fact_id line)
{
    for (size_t i = 0; i < count; i++)
        if (due[i].line == line)
            return &due[i];
    return NULL;
}

static bool was_left_open(const cw_session *session, cw_check_id check)
{
    size_t at = cw_told_find(session, check);
    return at < session->told.count && CW_VEC_AT(&session->told, cw_told, at)->cant_tell;
}

/* The checks of a line that wait; of those that could have told, those left open alone. */
static cw_status list_checks(cw_session *session, const cw_due *due, bool left_open,
                             const cw_check_info *const **out, size_t *count)
{
    size_t most = due != NULL ? due->count : 0;
    const cw_check_info **list = CW_NEW_ARRAY(session->replies, const cw_check_info *, most);
    if (list == NULL)
        return CW_NO_MEMORY;
    *out = list;
    for (size_t i = 0; i < most; i++)
        if (!left_open || was_left_open(session, due->checks[i].check))
            list[(*count)++] = &session->pack->checks[due->checks[i].check - 1];
    return CW_OK;
}

static cw_status add_reading(cw_session *session, cw_fact_id fact, const char *shown, cw_proof_reading *list,
                             size_t *count)
{
    if (shown == NULL)
        return CW_NO_MEMORY;
    list[(*count)++] = (cw_proof_reading){
        .check = session->model->facts[fact].name,
        .title = cw_say_title(session->model, fact),
        .kind = session->model->facts[fact].kind == CW_MEASURE ? CW_ANSWER_MEASURE : CW_ANSWER_TEXT,
        .shown = shown,
        .circumstance = session->model->facts[fact].context};
    return CW_OK;
}

/* What was read off, and the circumstances that were known without being asked: what the unit is rated for.
 */
static cw_status list_readings(cw_session *session, cw_fact_id line, cw_proof_line *out)
{
    const cw_fact *facts = session->model->facts;
    cw_trail trail;
    cw_status status = cw_trail_walk(session->chain, session->replies, NULL, 0, &line, 1, &trail);
    if (status != CW_OK)
        return status;
    cw_proof_reading *list =
        CW_NEW_ARRAY(session->replies, cw_proof_reading, trail.answer_count + trail.count);
    if (list == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < trail.answer_count && status == CW_OK; i++) {
        cw_fact_id fact = trail.answers[i];
        const cw_answer *answer = cw_chain_answered(session->chain, fact);
        if ((facts[fact].kind == CW_MEASURE || facts[fact].kind == CW_STAMPED) && answer != NULL &&
            !answer->cant_tell)
            status = add_reading(session, fact, cw_say_told(session, session->replies, fact), list,
                                 &out->reading_count);
    }
    for (size_t i = 0; i < trail.count && status == CW_OK; i++) {
        cw_fact_id fact = trail.steps[i].measure;
        if (fact != 0 && facts[fact].check != 0 && facts[fact].context &&
            cw_chain_answered(session->chain, fact) == NULL)
            status = add_reading(session, fact, cw_say_known(session, session->replies, fact), list,
                                 &out->reading_count);
    }
    out->readings = list;
    return status;
}

static cw_status describe_line(cw_session *session, cw_fact_id line, const waiting *waits, cw_proof_line *out)
{
    static const char *const words[CW_PROVED_COUNT] = {"pass", "fail"};
    const cw_fact *about = &session->model->facts[line];
    const cw_fact_info *facts;
    size_t count;
    cw_standing standing = cw_stand(session, line);
    *out = (cw_proof_line){.fact = about->name,
                           .title = about->title,
                           .verdict = standing.fact != 0 ? words[standing.value] : "open",
                           .doubtful = standing.doubtful,
                           .disputed = standing.disputed,
                           .needed = !about->optional};
    cw_status status = cw_session_facts(session, &facts, &count);
    if (status == CW_OK)
        status = list_checks(session, find_due(waits->due, waits->due_count, line), false, &out->measure,
                             &out->measure_count);
    if (status == CW_OK && standing.fact == 0)
        status = list_checks(session, find_due(waits->left_open, waits->left_open_count, line), true,
                             &out->untold, &out->untold_count);
    if (status == CW_OK)
        status = list_readings(session, line, out);
    if (status == CW_OK)
        out->why = cw_stand_why(session, &standing, facts, count);
    return status;
}

/* A line for another design: it does not concern this unit, and nothing that is left to look at, or was left
 * open, could say otherwise. */
static bool is_for_another(const cw_session *session, cw_fact_id fact, const cw_proof_line *line)
{
    cw_atom_id only_if = session->model->facts[fact].only_if;
    return only_if != 0 && cw_chain_truth(session->chain, only_if) == CW_NO && line->measure_count == 0 &&
           line->untold_count == 0;
}

static void add_up(struct proof_reply *reply)
{
    cw_proof_sum *sum = &reply->sum;
    for (size_t i = 0; i < reply->count; i++) {
        const cw_proof_line *line = &reply->lines[i];
        bool open = strcmp(line->verdict, "open") == 0;
        sum->open += open && line->needed;
        sum->doubtful += line->doubtful;
        sum->failed += !line->doubtful && strcmp(line->verdict, "fail") == 0;
        sum->passed += !line->doubtful && strcmp(line->verdict, "pass") == 0;
    }
    sum->result = sum->failed > 0                     ? "failed"
                  : sum->doubtful > 0                 ? "doubtful"
                  : sum->open > 0 || sum->passed == 0 ? "open"
                                                      : "passed";
}

static cw_status list_lines(cw_session *session, struct proof_reply *reply)
{
    const cw_fact_id *order;
    size_t count;
    waiting waits = {0};
    cw_status status = cw_ask_sheet(session->model, session->replies, &order, &count);
    if (status == CW_OK)
        status = find_waiting(session, &waits);
    cw_proof_line *list = status == CW_OK ? CW_NEW_ARRAY(session->replies, cw_proof_line, count) : NULL;
    if (list == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < count && status == CW_OK; i++) {
        status = describe_line(session, order[i], &waits, &list[reply->count]);
        reply->count += status == CW_OK && !is_for_another(session, order[i], &list[reply->count]);
    }
    reply->lines = list;
    return status;
}

static cw_status work_out(cw_session *session)
{
    if (session->proof != NULL)
        return CW_OK;
    struct proof_reply *reply = CW_NEW(session->replies, struct proof_reply);
    if (reply == NULL)
        return CW_NO_MEMORY;
    if (cw_session_about(session) == CW_ABOUT_CAUSES && cw_session_stopper(session) == NULL) {
        cw_status status = list_lines(session, reply);
        if (status != CW_OK)
            return status;
    }
    add_up(reply);
    session->proof = reply;
    return CW_OK;
}

cw_status cw_session_proof_lines(cw_session *session, const cw_proof_line **list, size_t *count)
{
    if (session == NULL || list == NULL || count == NULL)
        return CW_BAD_CALL;
    cw_status status = work_out(session);
    if (status != CW_OK)
        return status;
    *list = session->proof->lines;
    *count = session->proof->count;
    return CW_OK;
}

cw_status cw_session_proof_sum(cw_session *session, const cw_proof_sum **out)
{
    if (session == NULL || out == NULL)
        return CW_BAD_CALL;
    cw_status status = work_out(session);
    if (status == CW_OK)
        *out = &session->proof->sum;
    return status;
}
