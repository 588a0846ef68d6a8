/* Calls that answer once: exit statuses, where words go, what is refused. */
#include "run.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static const char good_case[] = "stage: identify\nanswers: {bolt_spacing: 112 mm, lead_style: single}\n";

static void expect(outcome ran, int status, const char *out, const char *err)
{
    cr_expect_eq(ran.status, status, "status %d\n%s\n%s", ran.status, ran.out, ran.err);
    if (out != NULL)
        cr_expect_not_null(strstr(ran.out, out), "\"%s\" is not in:\n%s", out, ran.out);
    if (err != NULL)
        cr_expect_not_null(strstr(ran.err, err), "\"%s\" is not in:\n%s", err, ran.err);
    if (status == 0)
        cr_expect_str_empty(ran.err);
    if (status >= 2)
        cr_expect_str_empty(ran.out, "what went wrong goes to standard error alone");
    ran_free(&ran);
}

Test(batch, done_is_0)
{
    expect(RUN(NULL, "--help"), 0, "Exit status: 0 done", NULL);
    expect(RUN(NULL, "identify", "--help"), 0, "--answer CHECK=VALUE", NULL);
    expect(RUN(NULL, "--version"), 0, "corewright 0.", NULL);
    expect(RUN(good_case, "identify", "--case", "-"), 0, "Tern, earlier regulator", NULL);
    expect(RUN(good_case, "identify", "--case=-", "--json"), 0, "\"not_listed\"", NULL);
    expect(RUN(NULL, "identify", "--json"), 0, "\"answers\": []", NULL);
    expect(RUN(NULL, "identify", "--json", "--answer", "bolt_spacing=5 1/4 in"), 0, "133.35", NULL);
    expect(RUN(NULL, "triage", "--json", "--words", "lamp glows dimly"), 0, "\"hints\"", NULL);
    expect(RUN("complaint: lamp glows", "triage", "--case", "-"), 0, "- the charge lamp glows dimly", NULL);
    expect(RUN("complaint: lamp glows", "triage", "--case", "-"), 0,
           "Nothing listed is wrong, as far as told", NULL);
    expect(run_command((const char *const[]){"rules", NULL},
                       (const char *const[]){"COREWRIGHT_PACKS=" CW_SOURCE_DIR "/tests/review/corner-shop", NULL},
                       NULL),
           0, "6 checks, no errors, 0 warnings", NULL);
    expect(RUN(NULL, "rules", CW_SOURCE_DIR "/tests/review/corner-shop"), 0,
           "corner-shop 1: A corner shop (invented)\n6 checks, no errors, 0 warnings\n", NULL);
}

Test(batch, a_negative_finding_is_1)
{
    char folder[] = "/tmp/cw-tools-XXXXXX";
    cr_assert_not_null(mkdtemp(folder));
    char path[128];
    snprintf(path, sizeof path, "%s/pack.yaml", folder);
    FILE *file = fopen(path, "w");
    fputs("pack: {name: wrong, title: Wrong, version: 1}\nchecks:\n  a: {titel: A, ask: a?, place: counter, "
          "minutes: 1}\n",
          file);
    fclose(file);
    outcome ran = RUN(NULL, "rules", folder);
    cr_expect_eq(ran.status, 1);
    char place[160];
    snprintf(place, sizeof place, "%s:3:7: error: ", path);
    cr_expect_not_null(strstr(ran.err, place), "%s", ran.err);
    cr_expect_not_null(strstr(ran.err, "help: did you mean 'title'?"), "%s", ran.err);
    cr_expect_not_null(strstr(ran.out, "error"), "%s", ran.out);
    ran_free(&ran);
    /* The same pack is a wrong input to a command that needs it. */
    expect(RUN(NULL, "identify", "--json", "--packs", folder), 2, NULL, place);
    unlink(path);
    rmdir(folder);
}

Test(batch, a_wrong_call_or_input_is_2)
{
    expect(run_command((const char *const[]){NULL}, NULL, NULL), 2, NULL, "a command is wanted");
    expect(RUN(NULL, "identfy"), 2, NULL, "did you mean 'identify'?");
    expect(RUN(NULL, "zzz"), 2, NULL, "there is no command 'zzz'");
    expect(RUN(NULL, "identify", "--cse", "a"), 2, NULL, "did you mean '--case'?");
    expect(RUN(NULL, "identify", "--case"), 2, NULL, "--case wants FILE behind it");
    expect(RUN(NULL, "identify", "--json=yes"), 2, NULL, "--json takes no value");
    expect(RUN(NULL, "identify", "case.yaml"), 2, NULL, "help: a case is given with --case case.yaml");
    expect(RUN(NULL, "identify", "--json", "--place", "conter"), 2, NULL, "did you mean 'counter'?");
    expect(RUN(NULL, "identify", "--json", "--packs", "/no/such/folder"), 2, NULL,
           "/no/such/folder: No such file");
    expect(RUN(NULL, "identify", "--json", "--packs", "/dev"), 2, NULL, "/dev holds no pack");
    expect(RUN(NULL, "identify", "--case", "/no/such/case.yaml"), 2, NULL, "No such file or directory");
    expect(RUN("answers: {bolt_spaceing: 1}", "identify", "--case", "-"), 2, NULL,
           "standard input:1:11: error: no pack has a check 'bolt_spaceing'");
    expect(RUN("answers: {bolt_spacing: 5.25}", "identify", "--case", "-"), 2, NULL,
           "help: did you mean 5.25 in?");
    expect(RUN("stage: triag", "identify", "--case", "-"), 2, NULL, "help: did you mean 'triage'?");
    expect(RUN(NULL, "triage", "--json", "--unit", "tern_erly"), 2, NULL,
           "help: did you mean 'Tern, earlier regulator'?");
    expect(RUN(NULL, "triage", "--json", "--unit", "albatross"), 2, NULL,
           "error: no unit of the packs is called 'albatross'");
    expect(RUN(NULL, "triage", "--unit"), 2, NULL, "--unit wants NAME behind it");
    expect(RUN("answers: [", "identify", "--case", "-"), 2, NULL, "standard input:");
    expect(RUN(NULL, "identify", "--json", "--answer", "bolt_spacing"), 2, NULL, "wants CHECK=VALUE");
    expect(RUN(NULL, "identify", "--json", "--answer", "bolt_spaceing=1"), 2, NULL,
           "did you mean 'bolt_spacing'?");
    expect(RUN(NULL, "identify", "--json", "--answer", "lead_style=purple"), 2, NULL,
           "one of: single, twin, none");
    expect(run_command((const char *const[]){"rules", NULL},
                       (const char *const[]){"COREWRIGHT_PACKS=/no/such", NULL}, NULL),
           2, NULL, "/no/such: No such file");
}

Test(batch, every_wrong_answer_is_told_not_the_first_alone)
{
    outcome ran =
        RUN(NULL, "identify", "--json", "--answer", "lead_style=purple", "--answer", "rib_count=99");
    cr_expect_eq(ran.status, 2);
    cr_expect_not_null(strstr(ran.err, "'purple'"));
    cr_expect_not_null(strstr(ran.err, "'99'"));
    ran_free(&ran);
}

Test(batch, a_failing_machine_is_3)
{
    expect(RUN(NULL, "identify", "--json", "--save", "/dev/full"), 3, NULL,
           "/dev/full: No space left on device");
    expect(RUN(NULL, "identify", "--json", "--save", "/no/such/folder/job.yaml"), 3, NULL,
           "No such file or directory");
    expect(RUN(NULL, "identify", "--case", "/tmp"), 3, NULL, "Is a directory");
    if (geteuid() != 0) {
        char path[] = "/tmp/cw-tools-XXXXXX";
        cr_assert_geq(mkstemp(path), 0);
        chmod(path, 0);
        expect(RUN(NULL, "identify", "--case", path), 3, NULL, "Permission denied");
        unlink(path);
    }
}

Test(batch, standard_output_that_is_full_is_3)
{
    char command[512];
    snprintf(command, sizeof command,
             "COREWRIGHT_PACKS=%s %s/tools/corewright identify --json >/dev/full 2>/tmp/cw-full-err", SHOP,
             CW_BINARY_DIR);
    int status = system(command);
    cr_expect_eq(WEXITSTATUS(status), 3);
    unlink("/tmp/cw-full-err");
}

Test(batch, places_of_the_call_count_instead_of_those_of_the_case)
{
    outcome ran = RUN("places: [vehicle]\n", "triage", "--case", "-", "--place", "counter", "--json");
    cr_expect_eq(ran.status, 0);
    cr_expect_null(strstr(ran.out, "\"place\": \"vehicle\""), "%s", ran.out);
    cr_expect_not_null(strstr(ran.out, "\"place\": \"counter\""));
    ran_free(&ran);
}

Test(batch, a_folder_of_packs_stands_for_all_of_them)
{
    outcome ran = RUN(NULL, "rules", CW_SOURCE_DIR "/rules");
    cr_expect_eq(ran.status, 0, "%s", ran.err);
    cr_expect_not_null(strstr(ran.out, "charging-basics"));
    cr_expect_not_null(strstr(ran.out, "harbour-lane-charging"));
    ran_free(&ran);
}

Test(batch, another_jobs_file_is_not_written_over)
{
    char path[] = "/tmp/cw-tools-XXXXXX";
    int file = mkstemp(path);
    cr_assert_geq(file, 0);
    static const char job[] = "stage: identify\nanswers: {rib_count: 6}\n";
    cr_assert_eq(write(file, job, sizeof job - 1), (ssize_t)(sizeof job - 1));
    close(file);
    expect(RUN(good_case, "identify", "--case", "-", "--save", path), 2, NULL, "holds a job already");
    expect(RUN(NULL, "identify", "--save", path, "--json"), 0, "\"check\": \"rib_count\"", NULL);
    expect(RUN(NULL, "identify", "--case", path, "--save", path, "--answer", "lead_style=twin"), 0, NULL,
           NULL);
    expect(RUN(NULL, "identify", "--case", path, "--json"), 0, "\"value\": \"twin\"", NULL);
    unlink(path);
}

Test(batch, the_customers_words_stay_with_the_job, .init = folder_enter, .fini = folder_leave)
{
    expect(RUN(NULL, "triage", "--words", "lamp glows", "--save", "job.yaml", "--json"), 0, "\"hints\"", NULL);
    expect(RUN(NULL, "triage", "--case", "job.yaml"), 0, "- the charge lamp glows dimly", NULL);
}
