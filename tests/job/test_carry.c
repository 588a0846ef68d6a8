/* One job through its stages: what comes along, what is set aside, and that a saved job keeps both. */
#include "support.h"

static const char told[] = "case: comeback\n"
                           "stage: triage\n"
                           "complaint: lamp glows at night\n"
                           "answers:\n"
                           "  lamp_running: glow\n"
                           "  rib_count: 6\n"
                           "  unit: tern_late\n"
                           "  ripple: {value: 0.9 V, tool: meter, place: vehicle}\n"
                           "  bolt_spacing: {value: 112 mm, tool: caliper, place: counter}\n"
                           "  fitted_ago: days\n"
                           "places: [vehicle]\n"
                           "outcome: {causes: [diode_open]}\n"
                           "source: invented\n";

static cw_case *parse(const char *text)
{
    cw_case *job;
    cw_messages *messages;
    cw_status status = cw_case_parse(NULL, "a.yaml", text, strlen(text), &messages, &job);
    cr_assert_eq(status, CW_OK, "%s",
                 cw_messages_count(messages) > 0 ? cw_messages_at(messages, 0)->rendered : "");
    return job;
}

/* "check=value ..." */
static void list_of(const cw_case_answer *answers, size_t count, char *out, size_t room)
{
    out[0] = '\0';
    for (size_t i = 0; i < count; i++)
        snprintf(out + strlen(out), room - strlen(out), "%s%s=%s", i > 0 ? " " : "", answers[i].check,
                 answers[i].value);
}

static void expect_answers(const cw_case_answer *answers, size_t count, const char *want)
{
    char got[600];
    list_of(answers, count, got, sizeof got);
    cr_expect_str_eq(got, want);
}

Test(carry, among_the_stages_before_the_rebuild_all_is_kept)
{
    static const char *const stages[] = {"identify", "teardown"};
    cw_pack *pack = open_shop(NULL);
    for (size_t i = 0; i < 2; i++) {
        cw_session *session = start(pack, stages[i]);
        cw_case *job = parse(told);
        cw_carried carried;
        cr_assert_eq(cw_case_carry(job, session, &carried), CW_OK);
        cr_expect_str_eq(carried.from, "triage");
        cr_expect_eq(carried.kept, 6u);
        cr_expect_eq(carried.set_aside, 0u);
        const cw_case_info *info = cw_case_get(job);
        cr_expect_str_eq(info->stage, stages[i]);
        cr_expect_eq(info->earlier_count, 0u);
        cr_expect_eq(info->place_count, 0u, "the places were said for the other stage");
        cr_expect_str_eq(info->complaint, "lamp glows at night");
        cr_expect_eq(cw_case_apply(job, session, NULL), CW_OK);
        cw_case_free(job);
        cw_session_free(session);
    }
    cw_pack_free(pack);
}

Test(carry, at_its_own_stage_nothing_changes)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "triage");
    cw_case *job = parse(told);
    cw_carried carried;
    cr_assert_eq(cw_case_carry(job, session, &carried), CW_OK);
    cr_expect_null(carried.from);
    cr_expect_eq(cw_case_get(job)->place_count, 1u);
    cw_case_free(job);
    job = parse("answers: {rib_count: 6}\n");
    cr_assert_eq(cw_case_carry(job, session, &carried), CW_OK);
    cr_expect_null(carried.from, "a case that says no stage is at any");
    cw_case_free(job);
    cr_expect_eq(cw_case_carry(NULL, session, &carried), CW_BAD_CALL);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* In the shop lamp_running and ripple tell of the unit's state; the ribs and the spacing are what it is,
 * which unit it is stays, and fitted_ago only sets the stage. */
Test(carry, to_proof_what_the_rebuild_has_changed_is_set_aside)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "proof");
    cw_case *job = parse(told);
    cw_carried carried;
    cr_assert_eq(cw_case_carry(job, session, &carried), CW_OK);
    cr_expect_eq(carried.kept, 4u);
    cr_expect_eq(carried.set_aside, 2u);
    const cw_case_info *info = cw_case_get(job);
    expect_answers(info->answers, info->answer_count,
                   "rib_count=6 unit=tern_late bolt_spacing=112 mm fitted_ago=days");
    cr_expect_null(info->complaint);
    cr_assert_eq(info->earlier_count, 1u);
    cr_expect_str_eq(info->earlier[0].stage, "triage");
    cr_expect_str_eq(info->earlier[0].complaint, "lamp glows at night");
    expect_answers(info->earlier[0].answers, info->earlier[0].answer_count, "lamp_running=glow ripple=0.9 V");
    cr_expect_str_eq(info->earlier[0].answers[1].tool, "meter");
    cr_expect_str_eq(info->causes[0], "diode_open");
    cr_assert_eq(cw_case_apply(job, session, NULL), CW_OK);
    const cw_given *given;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &given, &count), CW_OK);
    cr_expect_eq(count, 4u, "what is set aside is not counted");
    cw_case_free(job);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* A wrong answer is still shown in its place when those before it were set aside. */
Test(carry, messages_still_point_into_the_file)
{
    static const char wrong[] = "stage: triage\nanswers:\n  lamp_running: glow\n  rib_count: 99\n";
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "proof");
    cw_case *job = parse(wrong);
    cw_carried carried;
    cw_messages *messages;
    cr_assert_eq(cw_case_carry(job, session, &carried), CW_OK);
    cr_expect_eq(cw_case_apply(job, session, &messages), CW_BAD_INPUT);
    cr_assert_eq(cw_messages_count(messages), 1u);
    cr_expect_eq(cw_messages_at(messages, 0)->line, 4u);
    cr_expect_eq(cw_messages_at(messages, 0)->column, 14u);
    cw_messages_free(messages);
    cw_case_free(job);
    cw_session_free(session);
    cw_pack_free(pack);
}

static cw_case *save_and_read(cw_session *session, const cw_case *job, const char *path)
{
    cw_case *again;
    cr_assert_eq(cw_case_save(session, path, cw_case_get(job), NULL), CW_OK);
    cw_messages *messages;
    cr_assert_eq(cw_case_read(NULL, path, &messages, &again), CW_OK, "%s",
                 cw_messages_count(messages) > 0 ? cw_messages_at(messages, 0)->rendered : "");
    return again;
}

/* Triage, proof, triage again, proof again: each set of readings stands in its place, written back every
 * time. */
Test(carry, a_job_goes_round)
{
    char folder[64], path[128];
    make_folder(folder);
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    cw_pack *pack = open_shop(NULL);
    static const char *const way[] = {"proof", "triage", "proof", "teardown"};
    cw_case *job = parse(told);
    for (size_t i = 0; i < 4; i++) {
        cw_session *session = start(pack, way[i]);
        cw_carried carried;
        cr_assert_eq(cw_case_carry(job, session, &carried), CW_OK);
        cr_assert_eq(cw_case_apply(job, session, NULL), CW_OK);
        if (i == 0)
            cr_assert_eq(cw_session_answer(session, "ripple", "0.1 V", NULL, "bench", NULL), CW_OK);
        if (i == 1) {
            cr_expect_eq(carried.kept, 5u, "the readings of the proof come along");
            cr_assert_eq(cw_session_answer(session, "squeal", "yes", NULL, NULL, NULL), CW_OK);
        }
        cw_case *again = save_and_read(session, job, path);
        cw_case_free(job);
        cw_session_free(session);
        job = again;
    }
    const cw_case_info *info = cw_case_get(job);
    cr_expect_str_eq(info->stage, "teardown");
    expect_answers(info->answers, info->answer_count,
                   "rib_count=6 unit=tern_late bolt_spacing=112 mm fitted_ago=days");
    cr_assert_eq(info->earlier_count, 2u);
    cr_expect_str_eq(info->earlier[0].complaint, "lamp glows at night");
    expect_answers(info->earlier[0].answers, info->earlier[0].answer_count, "lamp_running=glow ripple=0.9 V");
    cr_expect_str_eq(info->earlier[1].stage, "triage");
    cr_expect_null(info->earlier[1].complaint);
    expect_answers(info->earlier[1].answers, info->earlier[1].answer_count, "ripple=0.1 V squeal=yes");
    cr_expect_str_eq(info->earlier[1].answers[0].place, "bench");
    cw_case_free(job);
    unlink(path);
    rmdir(folder);
    cw_pack_free(pack);
}
