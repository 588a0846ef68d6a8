/* One job through its stages: the same file handed from command to command, in batch and in conversation, for
 * a unit that the packs list and for one that they do not. */
#include "run.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void put(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    cr_assert_geq(fputs(text, file), 0);
    cr_assert_eq(fclose(file), 0);
}

static char *get(const char *path)
{
    static char text[8000];
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

#define FILES "job.yaml"
static const char counted[] =
    "case: walk-in\nstage: identify\nanswers:\n  lead_style: twin\n  rib_count: 5\n"
    "  bolt_spacing: 133.4 mm\n  marking: P70 3\nplaces: [counter]\nsource: invented\n";

TestSuite(stages, .init = folder_enter, .fini = folder_leave);

/* Batch: nothing is taken silently; it says which unit it would be and how to take it. */
Test(stages, batch_names_the_unit_and_waits_for_it)
{
    put(FILES, counted);
    outcome ran = RUN(NULL, "triage", "--case", FILES);
    cr_expect_eq(ran.status, 0);
    cr_expect_str_empty(ran.err);
    IN_ORDER(ran.out, "Going on from identify: 4 answers come along.", "By what was told it is Plover 70 A (",
             "--unit plover_70", "Where it stands");
    ran_free(&ran);
    cr_expect_str_eq(get(FILES), counted, "without --save nothing is written");
    ran = RUN(NULL, "triage", "--case", FILES, "--save", FILES, "--unit", "Plover 70 A");
    cr_expect_eq(ran.status, 0);
    cr_expect_null(strstr(ran.out, "--unit"), "it has been said:\n%s", ran.out);
    ran_free(&ran);
    IN_ORDER(get(FILES), "case: walk-in", "stage: triage", "lead_style: twin", "unit: plover_70",
             "source: invented");
    cr_expect_null(strstr(get(FILES), "places"), "said for the counter");
}

/* As JSON the notes go to standard error, and the unit is an answer like any other. */
Test(stages, json_stays_json)
{
    put(FILES, counted);
    outcome ran = RUN(NULL, "teardown", "--case", FILES, "--json");
    cr_expect_eq(ran.status, 0);
    cr_expect_eq(ran.out[0], '{');
    IN_ORDER(ran.err, "corewright: note: Going on from identify: 4 answers come along.\n",
             "corewright: note: By what was told it is Plover 70 A (", "--unit plover_70\n");
    ran_free(&ran);
    ran = RUN(NULL, "teardown", "--case", FILES, "--json", "--unit", "not listed");
    IN_ORDER(ran.out, "\"check\": \"unit\"", "\"value\": \"not_listed\"");
    IN_ORDER(ran.err, "corewright: note: Going on from identify: 4 answers come along.\n");
    cr_expect_null(strstr(ran.err, "--unit"));
    ran_free(&ran);
}

/* In conversation it is put to the person, who may take it, leave it, or say another one. */
Test(stages, conversation_puts_it_to_the_person)
{
    put(FILES, counted);
    outcome ran = RUN("y\n\nunit\nlist\ndone\n", "triage", "--case", FILES, "--ask", "--save", FILES);
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Going on from identify: 4 answers come along.", "By what was told it is Plover 70 A (",
             "Take that as the unit in hand?", "(y/n) > y", "Unit in hand: Plover 70 A.",
             "What does the customer say?", "> unit", "Unit in hand: Plover 70 A.", "> list",
             "Unit in hand: Plover 70 A", "> done", "it goes on with: corewright triage --save job.yaml");
    ran_free(&ran);
    IN_ORDER(get(FILES), "stage: triage", "unit: plover_70");
    put(FILES, counted);
    ran = RUN("n\n\nunit\nunit tern erly\ny\nunit\nback\nunit\ndone\n", "triage", "--save", FILES);
    IN_ORDER(ran.out, "Going on with the job in job.yaml.", "Going on from identify", "(y/n) > n", "> unit",
             "Nobody has said yet which unit it is.", "> unit tern erly", "Take it as \"tern_early\"?", "> y",
             "Unit in hand: Tern, earlier regulator.", "> unit", "Unit in hand: Tern, earlier regulator.",
             "> back", "Taken back: Unit in hand.");
    ran_free(&ran);
    put(FILES, counted);
    ran = RUN("tern_late\n\nlist\ndone\n", "triage", "--case", FILES, "--ask");
    IN_ORDER(ran.out, "(y/n) > tern_late", "Unit in hand: Tern, later regulator.", "> list");
    ran_free(&ran);
}

/* Where no job is kept there is nothing to take it into. */
Test(stages, without_a_job_nobody_is_asked_for_the_unit)
{
    outcome ran = RUN("done\n", "identify", "--answer", "lead_style=twin", "--answer", "rib_count=5",
                      "--answer", "bolt_spacing=5 1/4 in");
    cr_expect_eq(ran.status, 0);
    cr_expect_not_null(strstr(ran.out, "Plover 70 A ("), "%s", ran.out);
    cr_expect_null(strstr(ran.out, "(y/n)"), "%s", ran.out);
    ran_free(&ran);
}

/* At the end of identifying a sure unit is put to the person as well, and the job says where it goes on. */
Test(stages, identify_ends_with_the_unit)
{
    put(FILES, counted);
    outcome ran = RUN("done\ny\n", "identify", "--save", FILES);
    IN_ORDER(ran.out, "Where it stands", "Plover 70 A (", "By what was told it is Plover 70 A (", "> y",
             "Unit in hand: Plover 70 A.", "it goes on with: corewright triage --save job.yaml");
    ran_free(&ran);
    IN_ORDER(get(FILES), "stage: identify", "unit: plover_70");
    ran = RUN("\ndone\n", "triage", "--save", FILES);
    IN_ORDER(ran.out, "Going on from identify: 5 answers come along.");
    cr_expect_null(strstr(ran.out, "By what was told"), "it has been said");
    ran_free(&ran);
    put(FILES, "stage: identify\nanswers: {rib_count: 6}\n");
    ran = RUN("unit Tern, later regulator\ndone\n", "identify", "--save", FILES);
    IN_ORDER(ran.out, "Unit in hand: Tern, later regulator.", "goes on with: corewright triage");
    cr_expect_null(strstr(ran.out, "By what was told"), "nothing was sure, and it has been said");
    ran_free(&ran);
}

/* To the proof only what the rebuild has not changed comes along, and a proof's readings go back to triage
 * whole. */
Test(stages, proof_sets_aside_and_triage_takes_all)
{
    put(FILES, "stage: triage\ncomplaint: it squeals\nanswers:\n  rib_count: 6\n  squeal: yes\n"
               "  lamp_running: glow\n  unit: tern_late\n");
    outcome ran = RUN(NULL, "proof", "--case", FILES, "--save", FILES, "--answer", "ripple=0.1 V");
    IN_ORDER(ran.out, "Going on from triage: 2 answers come along; 2 of the unit as it was before the",
             "set aside.");
    ran_free(&ran);
    IN_ORDER(get(FILES), "stage: proof", "answers:", "  rib_count: 6", "  unit: tern_late",
             "  ripple: ", "earlier:", "  - stage: triage", "    complaint: it squeals",
             "    answers:", "      squeal: yes", "      lamp_running: glow");
    ran = RUN(NULL, "triage", "--case", FILES, "--save", FILES);
    IN_ORDER(ran.out, "Going on from proof: 3 answers come along.");
    cr_expect_null(strstr(ran.out, "The customer's words"), "they were said of the unit before");
    ran_free(&ran);
    IN_ORDER(get(FILES), "stage: triage", "ripple: ", "earlier:", "  - stage: triage");
    put(FILES, "stage: proof\nanswers: {ripple: 0.9 V}\n");
    ran = RUN("list\ndone\n", "triage", "--case", FILES, "--ask");
    cr_expect_null(strstr(ran.out, "What does the customer say?"), "no customer has seen it yet");
    IN_ORDER(ran.out, "> list", "0.9 V");
    ran_free(&ran);
}

Test(stages, bad_files_and_units)
{
    put(FILES, "stage: proof\nearlier: squeals\nanswers: {}\n");
    outcome ran = RUN(NULL, "triage", "--case", FILES);
    cr_expect_eq(ran.status, 2);
    IN_ORDER(ran.err,
             "job.yaml:2:10: error: 'earlier' is a list of what was told before the unit was rebuilt");
    ran_free(&ran);
    put(FILES, "stage: triage\nanswers: {unit: tern_erly}\n");
    ran = RUN(NULL, "triage", "--case", FILES);
    cr_expect_eq(ran.status, 2);
    IN_ORDER(ran.err, "job.yaml:2:17: error: 'tern_erly' is not among the answers here",
             "help: did you mean 'Tern, earlier regulator'?");
    ran_free(&ran);
    put(FILES, counted);
    ran = RUN(NULL, "proof", "--case", FILES, "--save", FILES, "--unit", "tern");
    cr_expect_eq(ran.status, 0, "a family will do");
    ran_free(&ran);
    IN_ORDER(get(FILES), "stage: proof", "unit: tern\n");
}

/* Where only the family is known, what hangs on the version is said to do so. */
Test(stages, a_family_alone_leaves_its_versions_open)
{
    outcome ran = run_command(
        (const char *const[]){"triage", "--unit", "Tern small frame", "--answer", "lamp=on", NULL},
        (const char *const[]){"COREWRIGHT_PACKS=" CW_SOURCE_DIR "/tests/session/in_hand", NULL},
        "\nlist\ndone\n");
    IN_ORDER(ran.out, "Unit in hand: Tern small frame",
             "ninety: yes (if it is that version), from Unit in hand: Tern small frame");
    ran_free(&ran);
}
