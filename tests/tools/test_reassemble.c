/* The steps of assembly: one at a time through a pipe and at a terminal, and as a sheet. */
#include "run.h"
#include <criterion/criterion.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define BENCH "--packs", CW_SOURCE_DIR "/tests/session/assembled"

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

static void expect_narrow(const char *text)
{
    for (const char *at = text; *at != '\0';) {
        size_t size = strcspn(at, "\n"), columns = 0;
        for (size_t i = 0; i < size; i++)
            columns += ((unsigned char)at[i] & 0xC0) != 0x80;
        cr_expect_leq(columns, 80u, "%.*s", (int)size, at);
        at += size + (at[size] == '\n');
    }
}

Test(reassemble, one_step_at_a_time_caution_first)
{
    outcome ran = RUN("\n\n\n\nwhy\n\n\n\n", "reassemble", BENCH, "--answer", "holder_look=screwed",
                      "--answer", "cover=yes", "--answer", "press_fit=0.9 mm");
    cr_expect_eq(ran.status, 0);
    cr_expect_str_empty(ran.err);
    IN_ORDER(ran.out, "Enter when a step is done", "Step 1 of 6: Rings", "Step 2 of 6: Rotor in",
             "With: sleeve", "Figure: 50 degC to 60 degC", "Drawing: rotor_in", "Step 3 of 6: Rings dried",
             "Step 4 of 6: Brushes held back", "! Springs jump.", "! Edges cut.", "New: Late brushes",
             "Hold the brushes back.", "Step 5 of 6: Closing", "Draw the screws evenly.", "> why",
             "Mistake: One side goes first.", "It comes back as: Frames cocked; Pin left in",
             "Source: invented", "> \n", "Step 6 of 6: Spin", "> \n", "All 6 steps are done.");
    cr_expect_null(strstr(ran.out, "perhaps"));
    expect_narrow(ran.out);
    ran_free(&ran);
}

Test(reassemble, back_list_numbers_and_letters)
{
    outcome ran = RUN("back\n3\nlist\nb\nw\n99\n0\nwhatever\nh\nd\n", "reassemble", BENCH);
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Step 1 of 10: Rings", "> back", "This is the first step.", "> 3",
             "Step 3 of 10: Rings dried", "Only if: Press fit above 0.5 mm", "That is told by: Press fit",
             "> list", "  2  Rotor in\n", " >  3  Rings dried (perhaps)\n", "  4  Brushes held back\n",
             "  6  Pin out (perhaps)\n", "> b\n", "Step 2 of 10: Rotor in", "> w\n",
             "The packs tell of no mistake here.", "> 99", "There are the steps 1 to 10.", "> 0",
             "There are the steps 1 to 10.", "> whatever",
             "Enter when it is done, or: why back list done help", "> h\n", "go to step 7", "> d\n",
             "Left at step 2 of 10; 2 at the prompt goes on there.");
    cr_expect_null(strstr(ran.out, "Step 4 of 10"));
    expect_narrow(ran.out);
    ran_free(&ran);
}

Test(reassemble, the_end_of_input_ends_it)
{
    outcome ran = RUN("\n", "reassemble", BENCH);
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Step 2 of 10: Rotor in", "Left at step 2 of 10");
    ran_free(&ran);
}

Test(reassemble, ctrl_c_leaves_cleanly)
{
    process child = child_start((const char *const[]){"reassemble", BENCH, NULL}, NULL, 0);
    free(child_read_until(&child, "> "));
    cr_assert_eq(write(child.in, "\n", 1), 1);
    free(child_read_until(&child, "Step 2 of 10"));
    free(child_read_until(&child, "> "));
    kill(child.pid, SIGINT);
    char *end = child_read_until(&child, "Left at step 2 of 10");
    cr_assert_not_null(end);
    cr_expect_not_null(strstr(end, "Stopped."));
    free(end);
    cr_expect_eq(child_wait(&child), 0);
}

Test(reassemble, at_a_terminal_it_asks_and_colour_can_be_left_off)
{
    for (int plain = 0; plain < 2; plain++) {
        process child = child_start(
            (const char *const[]){"reassemble", BENCH, plain ? "--no-color" : NULL, NULL}, NULL, 1);
        char *begin = child_read_until(&child, "> ");
        cr_assert_not_null(begin);
        cr_expect_not_null(strstr(begin, "Step 1 of 10"));
        cr_expect_eq(strchr(begin, '\033') == NULL, plain == 1, "%s", begin);
        free(begin);
        cr_assert_eq(write(child.in, "done\n", 5), 5);
        free(child_read_until(&child, "Left at step 1"));
        child_drain(&child);
        cr_expect_eq(child_wait(&child), 0);
    }
}

Test(reassemble, a_case_gives_the_sheet)
{
    outcome ran =
        RUN("stage: teardown\nanswers: {holder_look: pinned, rotor_ohms: 3 ohm, ring_depth: 0.41 mm}\n",
            "reassemble", BENCH, "--case", "-");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Putting it together",
             "A caution stands before its step. Local codes and licensed practice come first.",
             "[ ] 1. Rings\n", "New: Slip rings (in doubt: measure again first)\n", "   Wipe the rings.\n",
             "Mistake: They are handled.", "[ ] 2. Rotor in\n", "Rotor: the old one goes in again\n",
             "[ ] 3. Rings dried\n", "Only if: Press fit above 0.5 mm", "[ ] 4. Brushes held back\n",
             "! Springs jump.", "[ ] 5. Pin out\n", "It comes back as: Pin left in", "[ ] 8. Pump\n",
             "Only if: A pump hangs on it: yes", "That is told by: Rear cover", "or by: Spline");
    cr_expect_null(strstr(ran.out, "Closing"), "the pin stands in its place");
    cr_expect_null(strstr(ran.out, "> "), "nothing is asked");
    expect_narrow(ran.out);
    ran_free(&ran);
}

Test(reassemble, a_caution_that_stops_ends_it)
{
    outcome ran = RUN("\n\n", "reassemble", BENCH, "--answer", "high_volts=yes");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "! Only qualified people.", "Here the advice ends.");
    cr_expect_null(strstr(ran.out, "Step 1"));
    ran_free(&ran);
    ran = RUN("answers: {high_volts: yes}\nstage: teardown\n", "reassemble", BENCH, "--case", "-", "--json");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "\"steps\": []", "\"stopped\": true", "\"name\": \"qualified_only\"");
    ran_free(&ran);
}

Test(reassemble, packs_without_steps_say_so)
{
    outcome ran = RUN(NULL, "reassemble");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "The packs hold no steps of assembly.");
    cr_expect_null(strstr(ran.out, "> "));
    ran_free(&ran);
}

Test(reassemble, what_is_wrong_is_told)
{
    outcome ran = RUN(NULL, "reassemble", "job.yaml");
    cr_expect_eq(ran.status, 2);
    IN_ORDER(ran.err, "reassemble takes no word like 'job.yaml'",
             "help: a case is given with --case job.yaml");
    ran_free(&ran);
    ran = RUN(NULL, "reassemble", BENCH, "--answer", "holder_look=pined");
    cr_expect_eq(ran.status, 2);
    cr_expect_not_null(strstr(ran.err, "did you mean"), "%s", ran.err);
    cr_expect_str_empty(ran.out);
    ran_free(&ran);
    ran = RUN("answers: {holdr_look: pinned}\nstage: teardown\n", "reassemble", BENCH, "--case", "-");
    cr_expect_eq(ran.status, 2);
    cr_expect_not_null(strstr(ran.err, "did you mean 'holder_look'?"), "%s", ran.err);
    ran_free(&ran);
}

/* From the open unit to its steps, and from the last step to the bench, by the file that the job is kept in.
 */
Test(reassemble, the_way_leads_on)
{
    char path[] = "/tmp/cw-steps-XXXXXX";
    int file = mkstemp(path);
    cr_assert_geq(file, 0);
    close(file);
    outcome ran = RUN("done\n\n", "teardown", BENCH, "--save", path, "--answer", "lamp=on");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Before it is closed", "How it goes together: corewright reassemble --case", path);
    expect_narrow(ran.out);
    ran_free(&ran);
    ran = RUN("10\n\n", "reassemble", BENCH, "--case", path, "--ask");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Step 10 of 10: Pump", "All 10 steps are done.", "corewright proof --save", path);
    ran_free(&ran);
    unlink(path);
    ran = RUN(NULL, "teardown", BENCH, "--case", "-");
    IN_ORDER(ran.out, "How it goes together: corewright reassemble\n");
    ran_free(&ran);
    ran = RUN(NULL, "teardown", "--packs", CW_SOURCE_DIR "/tests/session/opened", "--case", "-");
    cr_expect_null(strstr(ran.out, "reassemble"), "where there are no steps there is nothing to go on with");
    ran_free(&ran);
}

/* Steps of certain units, and a case of another stage. */
#define PLACES "--packs", CW_SOURCE_DIR "/tests/session/places"

Test(reassemble, which_unit_it_is_decides_on_its_steps)
{
    outcome ran = RUN("stage: teardown\nanswers: {seat: flat}\n", "reassemble", PLACES, "--case", "-");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Which unit it is was not told: 2 more steps belong to certain units.", "--unit NAME\n",
             "[ ] 1. Bolt");
    cr_expect_null(strstr(ran.out, "Unit in hand"), "they do not stand in the way");
    ran_free(&ran);
    ran = RUN("stage: triage\nanswers: {seat: flat}\n", "reassemble", PLACES, "--case", "-", "--unit",
              "Tern 95 A");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Going on from triage: 1 answer comes along.", "Unit in hand: Tern 95 A", "[ ] 1. Bolt",
             "Of tern");
    cr_expect_null(strstr(ran.out, "Which unit it is"));
    ran_free(&ran);
    ran = RUN("stage: identify\nanswers: {unit: not_listed}\n", "reassemble", PLACES, "--case", "-");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Going on from identify", "Unit in hand: not listed", "[ ] 1. Bolt");
    cr_expect_null(strstr(ran.out, "Of tern"));
    ran_free(&ran);
}

Test(reassemble, triage_names_the_slips)
{
    outcome ran = RUN("stage: triage\nanswers: {lamp: on, holder_look: pinned, fitted_ago: days}\n", "triage",
                      BENCH, "--case", "-");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "What to do about: Pin left in",
             "Slips in assembly that do this:", "- Pin out: The pin stays in.");
    ran_free(&ran);
}
