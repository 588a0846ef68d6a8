/* corewright scope: what it reads, says, draws and keeps; every bad file with its whole message. */
#include "run.h"
#include "signals.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define BAD CW_SOURCE_DIR "/tests/tools/bad/traces/"
enum { SAMPLES = 1000 };

/* Five periods at 200 Hz. format: of a line, of time in ms and volts. */
static void write_trace(const char *name, const char *head, char between, char decimal, int diode_open)
{
    FILE *file = fopen(name, "w");
    cr_assert_not_null(file);
    fputs(head, file);
    for (int i = 0; i < SAMPLES; i++) {
        char line[80];
        double ms = 25.0 * i / SAMPLES;
        snprintf(line, sizeof line, "%.6f|%.5f\n", ms, six_pulse(ms * 0.2, diode_open));
        for (char *c = line; *c != '\0'; c++)
            fputc(*c == '|' ? between : *c == '.' ? decimal : *c, file);
    }
    cr_assert_eq(fclose(file), 0);
}

static void expect(outcome ran, int status, const char *out)
{
    cr_expect_eq(ran.status, status, "status %d\n%s\n%s", ran.status, ran.out, ran.err);
    cr_expect_not_null(strstr(ran.out, out), "\"%s\" is not in:\n%s\n%s", out, ran.out, ran.err);
    if (status == 0)
        cr_expect_str_empty(ran.err);
    ran_free(&ran);
}

Test(scope, reads_what_scopes_write, .init = folder_enter, .fini = folder_leave)
{
    write_trace("a.csv", "Time (ms),Volts\n", ',', '.', 0);
    write_trace("b.csv", "\xEF\xBB\xBFsource;CH1\nms;V\n\n", ';', ',', 1);
    write_trace("c.csv", "ms\tV\n", '\t', '.', 1);
    expect(RUN(NULL, "scope", "a.csv"), 0, "ripple_orders: healthy");
    expect(RUN(NULL, "scope", "b.csv"), 0, "ripple_orders: diode_open");
    expect(RUN(NULL, "scope", "c.csv"), 0, "ripple_orders: diode_open");
    expect(RUN(NULL, "scope", "a.csv"), 0, "Electrical frequency 200 Hz: 2000 rpm of a rotor with 12 poles");
    expect(RUN(NULL, "scope", "a.csv"), 0, "1000 samples over 24.98 ms");
    expect(RUN(NULL, "scope", "a.csv", "--rpm", "800", "--ratio", "2.5"), 0, "so 200 Hz electrical");
}

Test(scope, volts_alone_need_the_rate, .init = folder_enter, .fini = folder_leave)
{
    FILE *file = fopen("v.csv", "w");
    for (int i = 0; i < SAMPLES; i++)
        fprintf(file, "%.4f\r\n", six_pulse(i * 0.005, 1));
    fclose(file);
    expect(RUN(NULL, "scope", "v.csv", "--rate", "40000"), 0, "Electrical frequency 200 Hz");
    expect(RUN(NULL, "scope", "v.csv", "--rate", "fast"), 2, "");
}

Test(scope, cautions_come_first, .init = folder_enter, .fini = folder_leave)
{
    write_trace("a.csv", "ms,V\n", ',', '.', 0);
    outcome ran = RUN(NULL, "scope", "a.csv");
    cr_expect_eq(strncmp(ran.out, "Caution: a probe at the output post is at a live", 48), 0, "%s", ran.out);
    ran_free(&ran);
}

Test(scope, draws_and_keeps, .init = folder_enter, .fini = folder_leave)
{
    char text[8192] = "";
    write_trace("a.csv", "ms,V\n", ',', '.', 1);
    expect(RUN(NULL, "scope", "a.csv", "--svg", "a.svg", "--case", "job.yaml", "--json"), 0,
           "\"state\": \"diode_open\"");
    FILE *file = fopen("a.svg", "r");
    cr_assert_not_null(file);
    cr_expect_gt(fread(text, 1, sizeof text - 1, file), 1000);
    fclose(file);
    cr_expect_eq(strncmp(text, "<svg xmlns", 10), 0);
    file = fopen("job.yaml", "r");
    cr_assert_not_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    cr_expect_str_eq(text, "case: 'a.csv'\nstage: triage\nanswers:\n  ripple_orders: diode_open\n"
                           "source: 'a scope''s trace, by corewright scope'\n");
    expect(RUN(NULL, "scope", "a.csv", "--case", "job.yaml"), 2, "");
    expect(RUN(NULL, "triage", "--case", "job.yaml", "--packs", CW_SOURCE_DIR "/rules/charging-basics"), 0,
           "One rectifier diode open");
}

Test(scope, bad_files_are_named_with_their_place)
{
    static const char *const names[] = {"word", "back", "nan", "gap", "alone", "few", "words", "empty"};
    cr_assert_eq(chdir(BAD), 0);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[40], wanted[2000];
        snprintf(path, sizeof path, "%s.txt", names[i]);
        FILE *file = fopen(path, "r");
        cr_assert_not_null(file, "%s", path);
        wanted[fread(wanted, 1, sizeof wanted - 1, file)] = '\0';
        fclose(file);
        snprintf(path, sizeof path, "%s.csv", names[i]);
        outcome ran = RUN(NULL, "scope", path);
        cr_expect_eq(ran.status, 2, "%s: status %d", path, ran.status);
        cr_expect_str_eq(ran.err, wanted, "%s: wanted\n%sgot\n%s", path, wanted, ran.err);
        cr_expect_str_empty(ran.out);
        ran_free(&ran);
    }
}

Test(scope, what_cannot_be_told_gives_no_answer, .init = folder_enter, .fini = folder_leave)
{
    FILE *file = fopen("noise.csv", "w");
    unsigned x = 1;
    for (int i = 0; i < SAMPLES; i++)
        fprintf(file, "%d,%u\n", i, (x = x * 1103515245u + 12345u) >> 16 & 1023);
    fclose(file);
    expect(RUN(NULL, "scope", "noise.csv"), 0, "Nothing sure enough to be taken as an answer.");
    expect(RUN(NULL, "scope", "nowhere.csv"), 2, "");
    expect(RUN(NULL, "scope"), 2, "");
    expect(RUN(NULL, "scope", "noise.csv", "--poles", "7"), 2, "");
}
