/* Width, locale, colour, signals. */
#include "run.h"
#include <criterion/criterion.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

/* Code points of the longest line; the texts here hold none that is wide or combining. */
static size_t widest(const char *text)
{
    size_t widest = 0;
    size_t now = 0;
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\n')
            now = 0;
        else if (((unsigned char)*c & 0xC0) != 0x80)
            now++;
        widest = now > widest ? now : widest;
    }
    return widest;
}

static void expect_narrow(const char *input, const char *const *words, const char *const *environment)
{
    outcome ran = run_command(words, environment, input);
    cr_expect_eq(ran.status, 0, "%s", ran.err);
    cr_expect_gt(strlen(ran.out), 200);
    cr_expect_leq(widest(ran.out), 80, "%s", ran.out);
    cr_expect_null(strchr(ran.out, '\033'), "no colour in a pipe");
    ran_free(&ran);
}

Test(screen, nothing_is_wider_than_80_columns)
{
    const char *real[] = {"COREWRIGHT_PACKS=" CW_SOURCE_DIR "/rules/harbour-lane", NULL};
    const char *shop[] = {NULL};
    expect_narrow(NULL, (const char *const[]){"--help", NULL}, shop);
    expect_narrow("?\nwhy\nhelp\nsingle\nwhy\nlist\n112 mm\nwhy 2\n", (const char *const[]){"identify", NULL},
                  shop);
    expect_narrow("lamp glows and it squeals\ny\nwhy\nlist\nchange belt_feel\nfirm\nchange "
                  "belt_glaze\nyes\nlist\nwhy\n",
                  (const char *const[]){"triage", NULL}, shop);
    char *questions = calloc(1, 4096);
    for (int i = 0; i < 60; i++)
        strcat(questions, i % 3 == 0 ? "?\nskip\n" : i % 3 == 1 ? "1\nyes\n12 V\n5 in\n" : "why\n2\nskip\n");
    expect_narrow(questions, (const char *const[]){"identify", NULL}, real);
    expect_narrow(questions,
                  (const char *const[]){"triage", "--words", "no charge, belt squeals, lamp glows dim", NULL},
                  real);
    free(questions);
}

Test(screen, bars_are_plain_without_utf8)
{
    outcome ran = run_command((const char *const[]){"identify", NULL},
                              (const char *const[]){"LC_ALL=C", NULL}, "done\n");
    cr_expect_not_null(strstr(ran.out, "####"));
    for (const char *c = ran.out; *c != '\0'; c++)
        cr_assert_lt((unsigned char)*c, 0x80);
    ran_free(&ran);
    ran = run_command((const char *const[]){"identify", NULL}, (const char *const[]){NULL}, "done\n");
    cr_expect_not_null(strstr(ran.out, "\xE2\x96\x88"));
    ran_free(&ran);
}

/* What a terminal sees; ends with "done". */
static char *on_terminal(const char *const *words, const char *const *environment)
{
    process child = child_start(words, environment, 1);
    char *begin = child_read_until(&child, "> ");
    cr_assert_not_null(begin);
    cr_assert_eq(write(child.in, "done\n", 5), 5);
    char *rest = child_read_until(&child, "Where it stands");
    cr_assert_not_null(rest);
    char *all = calloc(1, strlen(begin) + strlen(rest) + 1);
    strcat(strcat(all, begin), rest);
    free(begin);
    free(rest);
    child_drain(&child);
    cr_expect_eq(child_wait(&child), 0);
    return all;
}

Test(screen, colour_only_on_a_terminal_that_wants_it)
{
    const char *identify[] = {"identify", NULL};
    char *text = on_terminal(identify, NULL);
    cr_expect_not_null(strstr(text, "\033[1m"));
    free(text);
    text = on_terminal(identify, (const char *const[]){"NO_COLOR=1", NULL});
    cr_expect_null(strchr(text, '\033'), "%s", text);
    free(text);
    text = on_terminal(identify, (const char *const[]){"TERM=dumb", NULL});
    cr_expect_null(strchr(text, '\033'));
    free(text);
    text = on_terminal((const char *const[]){"identify", "--no-color", NULL}, NULL);
    cr_expect_null(strchr(text, '\033'));
    free(text);
    text = on_terminal(identify, (const char *const[]){"NO_COLOR=", NULL});
    cr_expect_not_null(strchr(text, '\033'), "an empty NO_COLOR forbids nothing");
    free(text);
}

static void stop_with(int signal_number)
{
    char path[] = "/tmp/cw-stop-XXXXXX";
    int file = mkstemp(path);
    cr_assert_geq(file, 0);
    close(file);
    process child =
        child_start((const char *const[]){"identify", "--save", path, "--place", "counter", NULL}, NULL, 0);
    free(child_read_until(&child, "> "));
    cr_assert_eq(write(child.in, "change lead_style\ntwin\n", 23), 23);
    free(child_read_until(&child, "> twin"));
    free(child_read_until(&child, "> "));
    kill(child.pid, signal_number);
    char *end = child_read_until(&child, "The job is kept in");
    cr_assert_not_null(end);
    cr_expect_not_null(strstr(end, "Stopped."));
    free(end);
    cr_expect_eq(child_wait(&child), 0);
    outcome ran = RUN(NULL, "identify", "--case", path, "--json");
    cr_expect_not_null(strstr(ran.out, "\"value\": \"twin\""), "%s", ran.out);
    ran_free(&ran);
    unlink(path);
}

Test(screen, ctrl_c_leaves_cleanly_and_keeps_the_job)
{
    stop_with(SIGINT);
    stop_with(SIGTERM);
    stop_with(SIGHUP);
}

/* A signal that comes while nothing is waited for is not lost either. */
Test(screen, a_signal_at_any_moment_is_heard)
{
    for (long wait = 120; wait < 180; wait += 7) {
        process child = child_start((const char *const[]){"identify", NULL}, NULL, 0);
        nanosleep(&(struct timespec){0, wait * 1000000}, NULL);
        kill(child.pid, SIGINT);
        int status = child_wait(&child);
        cr_expect(status == 0 || status == 128 + SIGINT,
                  "before the conversation a signal just ends it; status %d", status);
    }
}
