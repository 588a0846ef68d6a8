#include "support.h"
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>

static void fill(cw_session *session)
{
    const char *places[] = {"counter", "teardown"};
    cr_assert_eq(cw_session_places(session, places, 2), CW_OK);
    cr_assert_eq(cw_session_answer(session, "bolt_spacing", "5 1/4 in", "caliper", "counter", NULL), CW_OK);
    cr_assert_eq(
        cw_session_answer(session, "marking", "T 94: \"x\" #1, [a] 'b' \\ \xC3\xA4", NULL, NULL, NULL),
        CW_OK);
    cr_assert_eq(cw_session_answer(session, "lead_style", "can't tell", NULL, "teardown", NULL), CW_OK);
    cr_assert_eq(cw_session_answer(session, "back_step", "no", NULL, NULL, NULL), CW_OK);
}

static void expect_same(cw_session *a, cw_session *b)
{
    const cw_given *x;
    const cw_given *y;
    size_t n;
    size_t m;
    cr_assert_eq(cw_session_answers(a, &x, &n), CW_OK);
    cr_assert_eq(cw_session_answers(b, &y, &m), CW_OK);
    cr_assert_eq(n, m);
    for (size_t i = 0; i < n; i++) {
        cr_expect_str_eq(x[i].check, y[i].check);
        cr_expect_str_eq(x[i].value, y[i].value);
        cr_expect_float_eq(x[i].number, y[i].number, 0);
        cr_expect_eq(x[i].tool == NULL, y[i].tool == NULL);
        cr_expect_eq(x[i].place == NULL, y[i].place == NULL);
    }
}

/* That nothing was wrong is a finding; that nobody said anything is none. */
Test(save, nothing_wrong_is_kept_apart_from_nothing_said)
{
    char folder[64];
    char path[128];
    make_folder(folder);
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "triage");
    for (int said = 0; said < 2; said++) {
        const cw_case_info about = {.causes_said = said == 1};
        cw_messages *messages;
        cw_case *job;
        cr_assert_eq(cw_case_save(session, path, &about, &messages), CW_OK);
        cr_assert_eq(cw_case_read(NULL, path, &messages, &job), CW_OK);
        cr_expect_eq(cw_case_get(job)->causes_said, said == 1);
        cr_expect_eq(cw_case_get(job)->cause_count, 0);
        cw_case_free(job);
    }
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(save, what_is_saved_reads_back_the_same)
{
    char folder[64];
    char path[128];
    make_folder(folder);
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "identify");
    cw_session *again = start(pack, "identify");
    fill(session);
    const char *units[] = {"tern_late"};
    cw_case_info about = {.name = "a-job",
                          .complaint = "lamp: glows, \"a bit\"\nand squeals\tcold",
                          .source = "invented",
                          .units = units,
                          .unit_count = 1};
    cw_messages *messages;
    cr_assert_eq(cw_case_save(session, path, &about, &messages), CW_OK);
    cr_expect_null(messages);
    cw_case *job;
    cr_assert_eq(cw_case_read(NULL, path, &messages, &job), CW_OK);
    const cw_case_info *info = cw_case_get(job);
    cr_expect_str_eq(info->name, "a-job");
    cr_expect_str_eq(info->complaint, about.complaint);
    cr_expect_str_eq(info->source, "invented");
    cr_assert_eq(info->unit_count, 1);
    cr_expect_str_eq(info->units[0], "tern_late");
    cr_assert_eq(info->place_count, 2);
    cr_assert_eq(cw_case_apply(job, again, &messages), CW_OK);
    expect_same(session, again);
    /* and once more: saving what was read changes nothing in the file */
    char *first = slurp(path);
    cr_assert_eq(cw_case_save(again, path, info, NULL), CW_OK);
    char *second = slurp(path);
    cr_expect_str_eq(first, second);
    free(first);
    free(second);
    cw_case_free(job);
    cw_session_free(session);
    cw_session_free(again);
    cw_pack_free(pack);
    unlink(path);
    cr_expect_eq(rmdir(folder), 0, "no other file is left behind");
}

Test(save, what_a_proof_came_to_is_kept)
{
    char folder[64];
    char path[128];
    make_folder(folder);
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "proof");
    const char *lines[] = {"set_volts_line", "noise_line"};
    const cw_case_line described[] = {{"belt", "six pk: \"new\""}, {"volts", "dispute"}};
    cw_case_info about = {.proof = "doubtful",
                          .lines = lines,
                          .line_count = 2,
                          .description = described,
                          .description_count = 2};
    cr_assert_eq(cw_case_save(session, path, &about, NULL), CW_OK);
    cw_case *job;
    cr_assert_eq(cw_case_read(NULL, path, NULL, &job), CW_OK);
    const cw_case_info *info = cw_case_get(job);
    cr_expect_str_eq(info->proof, "doubtful");
    cr_assert_eq(info->line_count, 2u);
    cr_expect_str_eq(info->lines[0], "set_volts_line");
    cr_expect_str_eq(info->lines[1], "noise_line");
    cr_assert_eq(info->description_count, 2u);
    cr_expect_str_eq(info->description[0].fact, "belt");
    cr_expect_str_eq(info->description[0].value, "six pk: \"new\"");
    cr_expect_str_eq(info->description[1].value, "dispute");
    cw_case_free(job);
    cw_session_free(session);
    cw_pack_free(pack);
    unlink(path);
    rmdir(folder);
}

Test(save, an_empty_session_is_a_case_too)
{
    char folder[64];
    char path[128];
    make_folder(folder);
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "triage");
    cr_assert_eq(cw_case_save(session, path, NULL, NULL), CW_OK);
    char *text = slurp(path);
    cr_expect_str_eq(text, "stage: triage\nanswers: {}\n");
    free(text);
    cw_case *job;
    cr_assert_eq(cw_case_read(NULL, path, NULL, &job), CW_OK);
    cw_case_free(job);
    cw_session_free(session);
    cw_pack_free(pack);
    unlink(path);
    rmdir(folder);
}

/* What stands there stays whole when the new one cannot be written. */
Test(save, a_job_is_never_lost)
{
    char folder[64];
    char path[128];
    char link_path[128];
    make_folder(folder);
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    snprintf(link_path, sizeof link_path, "%s/link.yaml", folder);
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start(pack, "triage");
    cr_assert_eq(cw_case_save(session, path, NULL, NULL), CW_OK);
    cr_assert_eq(chmod(path, 0640), 0);
    cr_assert_eq(symlink(path, link_path), 0);
    fill(session);
    cr_assert_eq(cw_case_save(session, link_path, NULL, NULL), CW_OK);
    struct stat about;
    cr_assert_eq(lstat(link_path, &about), 0);
    cr_expect(S_ISLNK(about.st_mode), "a link stays a link");
    cr_assert_eq(stat(path, &about), 0);
    cr_expect_eq(about.st_mode & 0777, 0640, "rights stay");
    cr_expect_gt(about.st_size, 40, "the file behind the link was written");
    cw_messages *messages;
    cr_expect_eq(cw_case_save(session, "/dev/full", NULL, &messages), CW_CANNOT_WRITE);
    cr_assert_eq(cw_messages_errors(messages), 1);
    cr_expect_str_eq(cw_messages_at(messages, 0)->rendered, "error: /dev/full: No space left on device\n");
    cw_messages_free(messages);
    /* A file that may not grow so far: the write breaks off in the middle. */
    char *before = slurp(path);
    signal(SIGXFSZ, SIG_IGN);
    struct rlimit limit;
    cr_assert_eq(getrlimit(RLIMIT_FSIZE, &limit), 0);
    cr_assert_eq(setrlimit(RLIMIT_FSIZE, &(struct rlimit){20, limit.rlim_max}), 0);
    cr_expect_eq(cw_case_save(session, path, NULL, NULL), CW_CANNOT_WRITE);
    cr_assert_eq(setrlimit(RLIMIT_FSIZE, &limit), 0);
    char *after = slurp(path);
    cr_expect_str_eq(after, before, "what stood there stays whole");
    free(before);
    free(after);
    cr_expect_eq(cw_case_save(session, folder, NULL, &messages), CW_CANNOT_WRITE);
    cr_expect_not_null(strstr(cw_messages_at(messages, 0)->text, "Is a directory"));
    cw_messages_free(messages);
    cr_expect_eq(cw_case_save(session, "/tmp/no/such/folder/job.yaml", NULL, NULL), CW_CANNOT_WRITE);
    cr_expect_eq(cw_case_save(NULL, path, NULL, NULL), CW_BAD_CALL);
    cw_session_free(session);
    cw_pack_free(pack);
    unlink(link_path);
    unlink(path);
    cr_expect_eq(rmdir(folder), 0);
}
