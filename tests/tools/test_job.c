/* Whole jobs with the packs that ship: one file through identify, triage, teardown, reassembly and proof,
 * which fails, and back; for a unit that the packs list and for one that they do not. What must come was
 * written down from the way a shop works and from the units' data, not from the ranking. */
#include "run.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define JOB "job.yaml"
#define SHIPPED "COREWRIGHT_PACKS=" CW_SOURCE_DIR "/rules/harbour-lane"

static char *get(const char *path)
{
    static char text[16000];
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    return text;
}

static void expect_in_order(const char *text, const char *const *words)
{
    const char *at = text;
    for (size_t i = 0; words[i] != NULL; i++) {
        const char *found = strstr(at, words[i]);
        cr_expect_not_null(found, "\"%s\" is not in, or not behind \"%s\":\n%s", words[i],
                           i > 0 ? words[i - 1] : "", text);
        at = found != NULL ? found + strlen(words[i]) : at;
    }
}
#define IN_ORDER(text, ...) expect_in_order((text), (const char *const[]){__VA_ARGS__, NULL})
#define RUN_SHIPPED(input, ...)                                                                              \
    run_command((const char *const[]){__VA_ARGS__, NULL}, (const char *const[]){SHIPPED, NULL}, (input))

static void done(outcome *ran, int status)
{
    cr_expect_eq(ran->status, status, "%s", ran->err);
    cr_expect_str_empty(ran->err);
    ran_free(ran);
}

TestSuite(job, .init = folder_enter, .fini = folder_leave, .timeout = 300);

/* Godwit 90 A: least ring diameter 14.0 mm, least brush 4.5 mm, cut-in 1000 rpm, 90 A, all by its data. */
Test(job, listed_from_the_counter_to_the_bench_and_back)
{
    outcome ran =
        RUN_SHIPPED("done\ny\n", "identify", "--save", JOB, "--answer", "bolt_count=4", "--answer",
                    "bolt_spacing=88.1 mm", "--answer", "mount_style=pad", "--answer", "plug_letters=IG FR L",
                    "--answer", "stator_diameter=132.2 mm", "--answer", "conductor_look=single", "--answer",
                    "rating_plate=90A 14V", "--answer", "unit_marking=GW 090");
    IN_ORDER(ran.out, "By what was told it is Godwit 90 A (", "Unit in hand: Godwit 90 A.",
             "it goes on with: corewright triage --save job.yaml");
    done(&ran, 0);
    ran = RUN_SHIPPED("lamp stays on\ny\n\nchange volts_2000\n12.1 V\nlist\ndone\n", "triage", "--save", JOB);
    IN_ORDER(ran.out, "Going on with the job in job.yaml.", "Going on from identify: 9 answers come along.",
             "What does the customer say?", "Told so far:", "Unit in hand: Godwit 90 A", "Where it stands");
    done(&ran, 0);
    IN_ORDER(get(JOB), "stage: triage", "complaint: lamp stays on", "unit: godwit_90");
    ran =
        RUN_SHIPPED(NULL, "teardown", "--case", JOB, "--save", JOB, "--answer", "ring_track_diameter=13.7 mm",
                    "--answer", "brush_length=4 mm", "--answer", "ring_look=grooved");
    IN_ORDER(ran.out, "Going on from triage:", "Part by part", "Brushes: replace", "Slip rings: replace");
    cr_expect_null(strstr(ran.out, "Least ring diameter"), "its data say it:\n%s", ran.out);
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "reassemble", "--case", JOB);
    IN_ORDER(ran.out, "Putting it together", "Unit in hand: Godwit 90 A", "[ ] 1.");
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "proof", "--case", JOB, "--save", JOB, "--answer", "bench_cut_in=1400 rpm");
    cr_expect_eq(ran.status, 1, "a failed proof is a negative finding");
    IN_ORDER(ran.out, "Going on from teardown:", "set aside.", "FAIL      Cut-in speed: 1400 rpm", "140 %",
             "FAILED.", "corewright triage --case job.yaml --save job.yaml");
    cr_expect_null(strstr(ran.out, "Rated amps (half"), "its data say it");
    ran_free(&ran);
    IN_ORDER(get(JOB), "stage: proof", "answers:", "unit: godwit_90", "bench_cut_in: 1400 rpm",
             "earlier:", "- stage: teardown", "complaint: lamp stays on",
             "volts_2000:", "ring_track_diameter:", "brush_length:");
    ran = RUN_SHIPPED("list\ndone\n", "triage", "--save", JOB);
    IN_ORDER(ran.out, "Going on from proof:", "> list", "Cut-in speed: 1400 rpm");
    cr_expect_null(strstr(ran.out, "What does the customer say?"));
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "proof", "--case", JOB, "--save", JOB, "--answer", "bench_cut_in=1050 rpm");
    IN_ORDER(ran.out, "Going on from triage:", "pass      Cut-in speed: 1050 rpm");
    done(&ran, 0);
    IN_ORDER(get(JOB), "stage: proof", "bench_cut_in: 1050 rpm", "earlier:", "- stage: teardown",
             "brush_length:", "- stage: triage", "bench_cut_in: 1400 rpm");
}

/* One that no pack lists: its limits and ratings are asked, and what its plate says counts. */
Test(job, unlisted_from_the_counter_to_the_bench_and_back)
{
    outcome ran =
        RUN_SHIPPED("done\ny\n", "identify", "--save", JOB, "--answer", "bolt_count=4", "--answer",
                    "bolt_spacing=131 mm", "--answer", "stator_diameter=121 mm", "--answer",
                    "mount_style=hinge_pair", "--answer", "cooling=internal_fans", "--answer",
                    "plug_letters=D+ W", "--answer", "rating_plate=14V 95A", "--answer", "diode_count=9");
    IN_ORDER(ran.out, "No unit of the packs holds", "By what was told no pack lists it (",
             "Unit in hand: not listed.", "it goes on with: corewright triage --save job.yaml");
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "triage", "--case", JOB, "--save", JOB, "--answer", "lamp_running=on");
    IN_ORDER(ran.out, "Going on from identify: 9 answers come along.", "Where it stands");
    cr_expect_null(strstr(ran.out, "--unit"), "it has been said");
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "teardown", "--case", JOB, "--save", JOB, "--answer",
                      "ring_track_diameter=13.7 mm");
    IN_ORDER(ran.out, "Going on from triage: 10 answers come along.", "Part by part",
             "Slip rings: still to measure", "Least ring diameter");
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "teardown", "--case", JOB, "--save", JOB, "--answer", "ring_least=14.0 mm");
    IN_ORDER(ran.out, "Slip rings: replace");
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "reassemble", "--case", JOB);
    IN_ORDER(ran.out, "Unit in hand: not listed", "[ ] 1.");
    cr_expect_null(strstr(ran.out, "Godwit"), "no family's own steps");
    done(&ran, 0);
    ran = RUN_SHIPPED(NULL, "proof", "--case", JOB, "--save", JOB, "--answer", "bench_cut_in=1700 rpm");
    cr_expect_eq(ran.status, 1);
    IN_ORDER(ran.out, "Going on from teardown:", "set aside.", "FAIL      Cut-in speed: 1700 rpm", "FAILED.");
    ran_free(&ran);
    IN_ORDER(get(JOB), "stage: proof", "unit: not_listed", "bench_cut_in: 1700 rpm",
             "earlier:", "- stage: teardown", "lamp_running: on");
    ran = RUN_SHIPPED(NULL, "triage", "--case", JOB, "--save", JOB);
    IN_ORDER(ran.out, "Going on from proof:");
    done(&ran, 0);
    IN_ORDER(get(JOB), "stage: triage", "unit: not_listed", "bench_cut_in: 1700 rpm",
             "earlier:", "- stage: teardown");
}

/* A label of a sister: the plate says another rating than the unit that was taken. Both are shown. */
Test(job, a_unit_taken_wrongly_contradicts_itself)
{
    outcome ran = RUN_SHIPPED("stage: proof\nanswers: {rating_plate: 120A 14V}\n", "proof", "--case", "-",
                              "--unit", "Godwit 90 A");
    IN_ORDER(ran.out, "Rated amps", "90 A", "120 A");
    done(&ran, 0);
    ran = RUN_SHIPPED("stage: proof\nanswers: {rating_plate: 120A 14V}\n", "proof", "--case", "-", "--unit",
                      "godwti_120");
    cr_expect_eq(ran.status, 2);
    IN_ORDER(ran.err, "error: 'godwti_120' is not among the answers here",
             "help: did you mean 'Godwit 120 A'?");
    ran_free(&ran);
}
