#include "support.h"

static const char whole[] = "# a comment\n"
                            "case: tern-dirty\n"
                            "stage: identify\n"
                            "complaint: lamp glows\n"
                            "answers:\n"
                            "  bolt_spacing: {value: 4 3/8 in, tool: caliper, place: counter}\n"
                            "  lead_style: can't tell\n"
                            "  rib_count: 6\n"
                            "places: [counter, bench]\n"
                            "outcome: {unit: [tern_early, tern_late]}\n"
                            "source: invented\n";

Test(case, everything_in_a_file_is_read)
{
    cw_case *job;
    cw_messages *messages;
    cr_assert_eq(cw_case_parse(NULL, "a.yaml", whole, strlen(whole), &messages, &job), CW_OK);
    cr_expect_null(messages);
    const cw_case_info *info = cw_case_get(job);
    cr_expect_str_eq(info->name, "tern-dirty");
    cr_expect_str_eq(info->stage, "identify");
    cr_expect_str_eq(info->complaint, "lamp glows");
    cr_expect_str_eq(info->source, "invented");
    cr_assert_eq(info->answer_count, 3);
    cr_expect_str_eq(info->answers[0].check, "bolt_spacing");
    cr_expect_str_eq(info->answers[0].value, "4 3/8 in");
    cr_expect_str_eq(info->answers[0].tool, "caliper");
    cr_expect_str_eq(info->answers[0].place, "counter");
    cr_expect_str_eq(info->answers[1].value, "can't tell");
    cr_expect_null(info->answers[1].tool);
    cr_assert_eq(info->place_count, 2);
    cr_expect_str_eq(info->places[1], "bench");
    cr_assert_eq(info->unit_count, 2);
    cr_expect_str_eq(info->units[1], "tern_late");
    cr_expect_eq(info->cause_count, 0);
    cw_case_free(job);
    cw_case_free(NULL);
}

Test(case, it_is_given_to_a_session)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "identify");
    cw_case *job;
    cw_messages *messages;
    cr_assert_eq(cw_case_parse(NULL, "a.yaml", whole, strlen(whole), NULL, &job), CW_OK);
    cr_assert_eq(cw_case_apply(job, session, &messages), CW_OK);
    cr_expect_null(messages);
    const cw_given *list;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &list, &count), CW_OK);
    cr_assert_eq(count, 3);
    cr_expect_str_eq(list[0].tool, "caliper");
    cr_expect_str_eq(list[0].place, "counter");
    cr_expect_float_eq(list[0].number, 111.125, 1e-12, "4 3/8 in");
    cr_expect(list[1].cant_tell);
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    for (size_t i = 0; i < next->count; i++)
        cr_expect(strcmp(next->checks[i].place, "counter") == 0 ||
                  strcmp(next->checks[i].place, "bench") == 0);
    cw_case_free(job);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Every file in bad/ with the whole of what is said about it beside it; the right answers are given all the
 * same. */
static const struct {
    const char *name, *stage;
    size_t given;
} bad[] = {
    {"unknown-key", "identify", 0},
    {"unknown-check", "identify", 1},
    {"wrong-answers", "triage", 1},
    {"wrong-stage", "identify", 1},
    {"no-such-stage", "identify", 0},
    {"no-such-place", "identify", 0},
    {"unknown-outcome", "triage", 1},
    {"unknown-line", "triage", 1},
    {"no-such-proof", "triage", 0},
    {"description-a-list", "triage", 0},
    {"description-line-a-map", "triage", 0},
    {"unknown-description-line", "triage", 1},
    {"proof-word", "triage", 0},
    {"answers-are-a-list", "triage", 0},
    {"answer-without-value", "triage", 0},
    {"not-a-map", "triage", 0},
    {"tab", "triage", 0},
    {"key-twice", "triage", 0},
    {"conclusion-answered", "triage", 0},
};

static void read_bad(const cw_pack *pack, size_t which)
{
    char path[256];
    char expected_path[256];
    char said[8000] = "";
    snprintf(path, sizeof path, CW_SOURCE_DIR "/tests/job/bad/%s.yaml", bad[which].name);
    snprintf(expected_path, sizeof expected_path, CW_SOURCE_DIR "/tests/job/bad/%s.txt", bad[which].name);
    char *text = slurp(path);
    char *expected = slurp(expected_path);
    cr_assert(text != NULL && expected != NULL, "%s", bad[which].name);
    cw_session *session = start(pack, bad[which].stage);
    cw_messages *messages;
    cw_case *job;
    char name[80];
    snprintf(name, sizeof name, "%s.yaml", bad[which].name);
    cw_status status = cw_case_parse(NULL, name, text, strlen(text), &messages, &job);
    if (status == CW_OK) {
        cr_expect_null(messages, "%s", name);
        status = cw_case_apply(job, session, &messages);
        cw_case_free(job);
    }
    cr_expect_eq(status, CW_BAD_INPUT, "%s", name);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        strcat(said, cw_messages_at(messages, i)->rendered);
    cr_expect_str_eq(said, expected, "%s says:\n%s", name, said);
    const cw_given *list;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &list, &count), CW_OK);
    cr_expect_eq(count, bad[which].given, "%s", name);
    cw_messages_free(messages);
    cw_session_free(session);
    free(text);
    free(expected);
}

Test(case, each_mistake_is_told_with_its_place)
{
    cw_pack *pack = open_shop(NULL);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        read_bad(pack, i);
    cw_pack_free(pack);
}

Test(case, a_file_that_cannot_be_read)
{
    cw_case *job;
    cw_messages *messages;
    cr_expect_eq(cw_case_read(NULL, "/tmp/no/such/case.yaml", &messages, &job), CW_CANNOT_READ);
    cr_assert_eq(cw_messages_errors(messages), 1);
    cr_expect_str_eq(cw_messages_at(messages, 0)->rendered,
                     "error: /tmp/no/such/case.yaml: No such file or directory\n");
    cw_messages_free(messages);
    cr_expect_eq(cw_case_read(NULL, "/tmp", &messages, &job), CW_CANNOT_READ, "a folder");
    cw_messages_free(messages);
    cr_expect_eq(cw_case_read(NULL, NULL, NULL, &job), CW_BAD_CALL);
    cr_expect_eq(cw_case_parse(NULL, "a", NULL, 3, NULL, &job), CW_BAD_CALL);
    cr_assert_eq(cw_case_parse(NULL, "a", "", 0, &messages, &job), CW_OK, "an empty case has no answers");
    cr_expect_eq(cw_case_get(job)->answer_count, 0);
    cw_messages_free(messages);
    cw_case_free(job);
}
