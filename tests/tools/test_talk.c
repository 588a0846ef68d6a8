/* Conversations through a pipe. The lines said, and what must be answered, were written down before. */
#include "run.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The words must come in this order. */
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

Test(talk, identify_from_the_counter_to_the_end)
{
    outcome ran = RUN("change lead_style\nsingle\nchange rib_count\n6\nchange bolt_spacing\n112 mm\nchange "
                      "marking\nT9212\n\n",
                      "identify", "--place", "counter");
    cr_expect_eq(ran.status, 0);
    cr_expect_str_empty(ran.err);
    IN_ORDER(ran.out, "So far", "Tern, earlier regulator", "in no list", "1. ", "at: counter",
             "would point to", "> change lead_style", "Leads at the rear", "at: counter, half a minute",
             "would point to", "How many leads", "1  a single lead", "> single", "So far", "Where it stands",
             "Tern, earlier regulator (",
             "With what may be done here these cannot be told apart:", "- Tern, later regulator",
             "The cheapest check that would: Step on the back of the regulator (teardown",
             "Nothing more to ask.");
    cr_expect_null(strstr(ran.out, "teardown, about 10 minutes\n   !"), "never asked at the counter");
    ran_free(&ran);
}

Test(talk, triage_begins_with_the_customers_words)
{
    outcome ran = RUN("lamp glows a bit at night, squeals cold\n1\nlist\ndone\n", "triage");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "What does the customer say?", "> lamp glows a bit", "1  the charge lamp glows dimly",
             "2  it squeals on a cold start", "> 1", "One rectifier diode open",
             "no fault in the unit itself", "> list", "1 Charge lamp with engine running: glows dimly",
             "> done", "Where it stands", "What to do about", "Replace:", "Rectifier");
    cr_expect_null(strstr(ran.out, "2 Squeal on a cold start: yes"), "only what was confirmed is taken");
    ran_free(&ran);
}

Test(talk, suggestions_can_be_confirmed_one_by_one_all_or_none)
{
    outcome ran = RUN("lamp glows, squeals\n\nn\nmaybe\ny\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "So the charge lamp glows dimly?", "> n", "So it squeals on a cold start?", "> maybe",
             "y or n; skip leaves it out, done leaves out the rest.", "So it squeals on a cold start?", "> y",
             "> list", "1 Squeal on a cold start: yes");
    cr_expect_null(strstr(ran.out, "running: glows dimly\n"));
    ran_free(&ran);
    ran = RUN("lamp glows, squeals\n\nskip\ny\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "> skip", "So it squeals on a cold start?", "> y", "1 Squeal on a cold start: yes");
    ran_free(&ran);
    ran = RUN("lamp glows, squeals\n\ny\ndone\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "> done", "> list", "1 Charge lamp with engine running: glows dimly");
    cr_expect_null(strstr(ran.out, "2 Squeal"));
    ran_free(&ran);
    ran = RUN("lamp glows, squeals\ny\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "> list", "1 Charge lamp with engine running: glows dimly",
             "2 Squeal on a cold start: yes");
    ran_free(&ran);
    ran = RUN("lamp glows, squeals\n3\nn\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "> 3", "y, n, numbers of the list, or Enter.", "> n", "> list",
             "Nothing has been told so far.");
    ran_free(&ran);
    ran = RUN("\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "> list", "Nothing has been told so far.");
    ran_free(&ran);
}

/* One phrase that answers two checks is one line of the list, shown and confirmed once. */
Test(talk, what_one_phrase_says_is_one_line)
{
    outcome ran = RUN("howls in the dark\n1\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "1  it howls in the dark", "> 1", "> list",
             "1 Charge lamp with engine running: glows dimly", "2 Squeal on a cold start: yes");
    cr_expect_null(strstr(ran.out, "2  it howls in the dark"));
    ran_free(&ran);
    ran = RUN("howls in the dark\n2\nn\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "> 2", "y, n, numbers of the list, or Enter.", "Nothing has been told so far.");
    ran_free(&ran);
    ran = RUN("howls in the dark\n\ny\nlist\ndone\n", "triage");
    IN_ORDER(ran.out, "So it howls in the dark?", "> y", "> list",
             "1 Charge lamp with engine running: glows dimly", "2 Squeal on a cold start: yes");
    ran_free(&ran);
}

Test(talk, words_of_the_call_replace_the_first_question)
{
    outcome ran = RUN("y\ndone\n", "triage", "--words", "it screeches");
    cr_expect_null(strstr(ran.out, "What does the customer say?"));
    IN_ORDER(ran.out, "1  it squeals on a cold start", "> y");
    ran_free(&ran);
}

Test(talk, a_wrong_answer_is_asked_again)
{
    outcome ran = RUN("change lead_style\npurple\nsngle\ny\ndone\n", "identify", "--place", "counter");
    IN_ORDER(ran.out, "> purple", "'purple' is not among the answers here.",
             "Say a number of the list or its words; or: skip", "> sngle", "did you mean 'a single lead'?",
             "Take it as \"single\"?", "> y", "So far");
    ran_free(&ran);
    ran = RUN("change lead_style\nsngle\nn\ntwin\nlist\ndone\n", "identify", "--place", "counter");
    IN_ORDER(ran.out, "> n", "> twin", "> list", "1 Leads at the rear: two leads side by side");
    ran_free(&ran);
    ran = RUN("change lead_style\nsngle\ntwin\nlist\ndone\n", "identify", "--place", "counter");
    IN_ORDER(ran.out, "(y/n) > twin", "> list", "1 Leads at the rear: two leads side by side");
    ran_free(&ran);
}

Test(talk, a_number_in_another_unit_is_asked_about)
{
    outcome ran = RUN("5.25\ny\nlist\ndone\n", "identify", "--answer", "lead_style=twin", "--answer",
                      "rib_count=can't tell", "--answer", "marking=skip", "--place", "counter");
    IN_ORDER(ran.out, "Bolt spacing", "60 mm to 200 mm", "> 5.25", "5.25 mm is outside 60 mm to 200 mm",
             "did you mean 5.25 in?", "Take it as \"5.25 in\"?", "> y", "> list",
             "Bolt spacing: 133.4 mm (tape)");
    ran_free(&ran);
}

Test(talk, back_takes_back_and_asks_again)
{
    outcome ran = RUN("back\nchange lead_style\nsingle\nback\ntwin\nchange leads\nnone\nback\nlist\ndone\n",
                      "identify", "--place", "counter");
    IN_ORDER(ran.out, "> back", "There is no answer to take back.", "> single", "> back",
             "Taken back: Leads at the rear.", "Leads at the rear", "> twin", "> change leads",
             "Leads at the rear", "> none", "> back", "Taken back: Leads at the rear.", "> list",
             "1 Leads at the rear: two leads side by side");
    ran_free(&ran);
}

Test(talk, change_finds_its_check)
{
    outcome ran = RUN("change lead_style\nsingle\nchange\nchange 1\ntwin\nchange rib_cout\ny\n5\nchange "
                      "nothing like it\nlist\ndone\n",
                      "identify", "--place", "counter");
    IN_ORDER(ran.out, "> change", "Change what?", "1 Leads at the rear: a single lead", "> change 1",
             "Leads at the rear", "> twin", "> change rib_cout", "Did you mean: Ribs of the pulley?", "> y",
             "Ribs of the pulley", "> 5", "> change nothing like it",
             "Nothing is called \"nothing like it\".", "> list",
             "1 Leads at the rear: two leads side by side", "2 Ribs of the pulley: 5");
    ran_free(&ran);
}

/* What is neither yes nor no leaves the question where it was, and says so. */
Test(talk, neither_yes_nor_no_is_said_to_change_nothing)
{
    outcome ran = RUN("change bolt spcing\n93 mm\nlist\nchange bolt spcing\nn\ndone\n", "identify", "--place",
                      "counter");
    IN_ORDER(ran.out, "> change bolt spcing", "Did you mean: Bolt spacing?", "(y/n) > 93 mm",
             "Left as it was.", "> list", "Nothing has been told so far.", "Did you mean: Bolt spacing?",
             "(y/n) > n\n", "> done");
    const char *said = strstr(ran.out, "Left as it was.");
    cr_expect_null(said != NULL ? strstr(said + 1, "Left as it was.") : NULL, "a no needs no words");
    ran_free(&ran);
}

Test(talk, back_counts_back)
{
    outcome ran =
        RUN("change lead_style\nsingle\nchange rib_count\n6\nback\nback\ntwin\nchange leads\nback\ndone\n",
            "identify", "--place", "counter");
    IN_ORDER(ran.out, "1. ", "> change lead_style", "2. Leads at the rear", "> single", "3. ",
             "> change rib_count", "4. Ribs of the pulley", "> 6", "> back",
             "Taken back: Ribs of the pulley.", "4. Ribs of the pulley", "> back",
             "Taken back: Leads at the rear.", "2. Leads at the rear", "> twin", "3. ", "> change leads",
             "4. Leads at the rear", "> back", "2. Leads at the rear", "> done");
    ran_free(&ran);
    ran = RUN("1\nback\ndone\n", "triage", "--words", "");
    IN_ORDER(ran.out, "1. ", "> 1", "2. ", "> back", "1. ", "> done");
    cr_expect_null(strstr(ran.out, "3. "));
    ran_free(&ran);
}

Test(talk, words_at_any_question)
{
    outcome ran = RUN("?\nwhy\nskip\nhelp\n\nwhy 2\nwhy 99\ndone\n", "triage", "--words", "");
    IN_ORDER(ran.out, "> ?", "> why", "This question: ", "Most likely: ", "> skip", "> help",
             "how the step is done", "> \n", "An answer, or: ? why skip back change list done help",
             "> why 2", "Second: ", "> why 99", "The ranking has no such line.", "> done",
             "Could not be told:");
    ran_free(&ran);
}

Test(talk, a_method_and_its_cautions_stand_before_the_step)
{
    outcome ran = RUN("?\ndone\n", "triage", "--words", "", "--place", "vehicle", "--answer",
                      "lamp_running=glow", "--answer", "fitted_ago=years", "--answer", "squeal=no");
    IN_ORDER(ran.out, "AC ripple at the post", "! Guard on;", "How many AC volts", "0 V to 20 V", "> ?",
             "Meter on AC volts", "Source: invented.");
    ran_free(&ran);
}

Test(talk, a_conflict_is_shown_with_both_proofs_when_it_arises)
{
    outcome ran = RUN("change belt_glaze\nyes\nchange belt_glaze\nno\ndone\n", "triage", "--words", "",
                      "--answer", "belt_feel=firm", "--answer", "squeal=no");
    IN_ORDER(ran.out, "> yes", "Two things that cannot both be:", "On one side Belt: good",
             "Told: Feel of the belt: firm.", "On the other Belt: slipping", "Told: Shine on the belt: yes.",
             "counts neither way", "Look again", "> no");
    const char *first = strstr(ran.out, "Two things that cannot both be:");
    cr_expect_null(strstr(first + 10, "Two things that cannot both be:"), "shown once while it stands");
    ran_free(&ran);
}

Test(talk, a_stop_caution_ends_the_advice)
{
    outcome ran = RUN("change high_volts\nyes\nwhy\n\n", "triage", "--words", "");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "> yes", "Stop. Only qualified people", "Where it stands", "Here the advice ends.",
             "> why", "Stop. Only qualified people");
    const char *end = strstr(ran.out, "Where it stands");
    cr_expect_null(strstr(end, "Most likely"));
    cr_expect_null(strstr(end, "What to do"));
    ran_free(&ran);
}

#define HALTED "--packs", CW_SOURCE_DIR "/tests/session/halted"

/* What is likely is still told; that nothing is to be done, or nothing known, is not. */
Test(talk, a_caution_that_stops_the_work_leaves_what_is_likely)
{
    outcome ran = RUN("change used_in\naircraft\n", "triage", HALTED, "--words", "", "--answer", "lamp=on");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "> aircraft", "Stop. Licensed people only.", "Where it stands", "Brushes worn out (",
             "Here the advice ends: what is likely is told for those who may work on it.");
    cr_expect_null(strstr(strstr(ran.out, "Where it stands"), "What to do"));
    ran_free(&ran);
    ran = RUN("change used_in\naircraft\n", "teardown", HALTED, "--answer", "lamp=on");
    IN_ORDER(ran.out, "> aircraft", "Where it stands", "Brushes worn out (", "Here the advice ends");
    cr_expect_null(strstr(ran.out, "Nothing has to be replaced"));
    cr_expect_null(strstr(ran.out, "say nothing about the parts"));
    ran_free(&ran);
    ran = RUN("change used_in\naircraft\n", "proof", HALTED);
    IN_ORDER(ran.out, "> aircraft", "Stop. Licensed people only.", "Here the advice ends.");
    cr_expect_null(strstr(ran.out, "have no proof sheet"));
    ran_free(&ran);
}

/* Input that ends in the middle of a question: the job is kept, and goes on where it was. */
Test(talk, the_end_of_input_loses_nothing)
{
    char path[] = "/tmp/cw-talk-XXXXXX";
    int file = mkstemp(path);
    cr_assert_geq(file, 0);
    close(file);
    outcome ran = RUN("lamp glows\ny\nyea", "triage", "--save", path);
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "> yea", "Where it stands", "The job is kept in");
    ran_free(&ran);
    ran = RUN("list\n", "triage", "--save", path);
    cr_expect_eq(ran.status, 0);
    cr_expect_null(strstr(ran.out, "What does the customer say?"), "that was asked");
    IN_ORDER(ran.out, "Going on with the job in", "> list", "1 Charge lamp with engine running: glows dimly",
             "2 Time since it was fitted: years ago");
    ran_free(&ran);
    unlink(path);
}

Test(talk, a_place_that_cannot_be_written_is_found_before_the_work)
{
    outcome ran = RUN("lamp glows\n", "triage", "--save", "/no/such/folder/job.yaml");
    cr_expect_eq(ran.status, 3);
    cr_expect_str_empty(ran.out);
    cr_expect_not_null(strstr(ran.err, "/no/such/folder/job.yaml: No such file or directory"), "%s", ran.err);
    ran_free(&ran);
}

Test(talk, after_a_case_with_ask_it_goes_on)
{
    char path[] = "/tmp/cw-talk-XXXXXX";
    int file = mkstemp(path);
    cr_assert_geq(file, 0);
    static const char job[] =
        "stage: identify\nanswers: {rib_count: 6}\noutcome: {unit: tern_late}\nsource: invented\n";
    cr_assert_eq(write(file, job, sizeof job - 1), (ssize_t)(sizeof job - 1));
    close(file);
    outcome ran =
        RUN("list\nchange lead_style\nsingle\ndone\n", "identify", "--case", path, "--ask", "--save", path);
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "> list", "1 Ribs of the pulley: 6", "> single");
    ran_free(&ran);
    ran = RUN(NULL, "identify", "--case", path, "--json");
    IN_ORDER(ran.out, "rib_count", "lead_style");
    ran_free(&ran);
    char text[400] = "";
    FILE *saved = fopen(path, "r");
    text[fread(text, 1, sizeof text - 1, saved)] = '\0';
    fclose(saved);
    cr_expect_not_null(strstr(text, "tern_late"), "the outcome is kept:\n%s", text);
    unlink(path);
}

/* Odd input neither crashes nor hangs nor gets through as an answer. */
Test(talk, odd_input)
{
    char *longest = calloc(1, 30001);
    memset(longest, 'x', 30000);
    longest[29999] = '\n';
    outcome ran = RUN(longest, "identify");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "at most 200 are taken");
    ran_free(&ran);
    free(longest);
    ran = RUN("\xFF\xFE\n\033[2J\nlist\n", "identify");
    cr_expect_eq(ran.status, 0);
    cr_expect_null(strchr(ran.out, '\033'), "nothing typed can move the cursor");
    IN_ORDER(ran.out, "> list", "Nothing has been told so far.");
    ran_free(&ran);
    ran = RUN("\xFF\n", "triage");
    cr_expect_eq(ran.status, 0);
    ran_free(&ran);
}

/* The open unit: asked part by part, and at the end part by part, the parts list, and whether it may be
 * closed. */
#define OPENED "--packs", CW_SOURCE_DIR "/tests/session/opened"

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

Test(talk, teardown_part_by_part)
{
    outcome ran = RUN("3 ohm\nnone\n2\n15.6 mm\n0.01 mm\ndone\n", "teardown", OPENED, "--answer", "lamp=on",
                      "--answer", "brush_length=3 mm", "--answer", "smell=yes");
    cr_expect_eq(ran.status, 0);
    cr_expect_str_empty(ran.err);
    IN_ORDER(ran.out, "1. Rotor resistance", "at: teardown, about 2 minutes",
             "Reuse, rework or replace the rotor?", "How many ohms", "> 3 ohm", "2. Groove of the inner ring",
             "Reuse, rework or replace the slip rings?", "> none", "3. Groove of the outer ring", "> 2",
             "4. Ring diameter", "! The edges of the rings cut.", "> 15.6 mm", "5. Ring run-out", "> 0.01 mm",
             "Where it stands", "Brushes worn down (", "Part by part",
             "  Rear bearing: replace (changed at every rebuild)\n", "  Rotor: reuse\n",
             "      Rotor resistance: 3 ohm\n",
             "      A sound winding has between 2.4 and 3.6 ohm. (invented)\n", "  Slip rings: rework\n",
             "      Groove of the outer ring: light\n", "      A light groove turns out. (invented)\n",
             "Parts list", "  Rear bearing", "no price\n", "  Brush set, third design", "7.40\n",
             "      in place of: Brush set\n", "      and of: Brush set, second design\n",
             "Together, for sure", "7.40\n", "Before it is closed",
             "The complaint is not explained. Do not close the unit yet:",
             "- Burnt smell: yes. Nothing listed shows that at least sometimes.",
             "Explained:", "- Charge lamp: stays fully on. That comes from: Brushes worn down (");
    cr_expect_null(strstr(ran.out, "Still open"), "all of it was measured");
    cr_expect_null(strstr(ran.out, "perhaps:"));
    expect_narrow(ran.out);
    ran_free(&ran);
}

Test(talk, teardown_says_what_is_left_to_measure_and_what_is_in_doubt)
{
    outcome ran =
        RUN("answers: {lamp: on, brush_length: 3 mm, ring_diameter: 14.01 mm, 'ring_groove[outer]': light}\n",
            "teardown", OPENED, "--case", "-");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Where it stands", "Next to look at: Rotor resistance (teardown", "Part by part",
             "  Rotor: still to measure\n", "    - Rotor resistance (about 2 minutes)\n",
             "  Slip rings: still to measure; so far: replace, in doubt: a reading is too near\n",
             "    - Groove of the inner ring (about a minute)\n", "    - Ring run-out (about 4 minutes)\n",
             "Parts list", "  perhaps: Slip rings", " 18.50\n",
             "At most, with all that is doubtful or still open", "120.90\n",
             "Of these, and of those still open, 1 without a price.", "Before it is closed",
             "The complaint is explained:", "Still open: 2 of the parts above.",
             "In doubt: 1 of the parts above.");
    expect_narrow(ran.out);
    ran_free(&ran);
    ran = RUN(NULL, "teardown", OPENED, "--answer", "rotor_ohms=900 ohm", "--case", "-");
    IN_ORDER(ran.out, "  Rotor: replace\n", "Nothing out of the ordinary was told");
    ran_free(&ran);
}

#define PROVING "--packs", CW_SOURCE_DIR "/tests/session/proving"

Test(talk, proof_line_by_line_to_the_tag)
{
    outcome ran = RUN("1200\n90\n95\n14.3\nno\nno\nsolid\nyes\nyes\nH 1041\n\n", "proof", PROVING);
    cr_expect_eq(ran.status, 0);
    cr_expect_str_empty(ran.err);
    IN_ORDER(ran.out, "Lines passed: 0; failed: 0; in doubt: 0; still needed: 6", "1. Speed at cut-in",
             "at: bench, about 2 minutes", "For the proof sheet: Cut-in.", "> 1200",
             "Lines passed: 1; failed: 0; in doubt: 0; still needed: 5", "2. Rated amps",
             "3. Amps at full speed", "4. Volts under regulation", "5. Rattle on the sweep",
             "6. Growl on the sweep", "7. Kind of pulley", "> solid", "8. Battery charged", "9. Even trace",
             "10. Tag number", "Proof sheet", "  pass      Cut-in: 1200 rpm\n",
             "  pass      Output at full speed: 95 A\n", "  pass      Noise\n", "What it comes to",
             "  PASSED.\n", "  For the tag:\n", "    Tag number: H 1041\n", "    Cut-in: 1200 rpm\n",
             "    Output at full speed: 95 A\n", "    Regulated volts: 14.3 V\n",
             "    Taken with: Rated amps 90 A\n", "    Bench proof passed. Date and name:\n",
             "Nothing more to ask.");
    cr_expect_null(strstr(ran.out, "Clutch pulley both ways"), "a solid pulley has none");
    cr_expect_null(strstr(ran.out, "no fault in the unit itself"), "no ranking of causes");
    expect_narrow(ran.out);
    ran_free(&ran);
}

Test(talk, proof_that_fails_says_so_at_once_and_where_it_goes_on)
{
    outcome ran = RUN("1800\n90\n60\ndone\n", "proof", PROVING);
    cr_expect_eq(ran.status, 1, "a negative finding");
    cr_expect_str_empty(ran.err);
    IN_ORDER(
        ran.out, "> 1800", "Lines passed: 0; failed: 1;", "  FAIL      Cut-in: 1800 rpm",
        "The sheet cannot be passed any more.", "> done", "Proof sheet", "  FAIL      Cut-in: 1800 rpm\n",
        "            It comes in too late. (invented)\n", "  FAIL      Output at full speed: 60 A\n",
        "            Amps of those rated: 66.7 %\n", "            Less than nine tenths. (invented)\n",
        "  open      Regulated volts\n", "            - Volts under regulation (about a minute)\n",
        "  open      Trace (can be left out)\n", "FAILED. It does not leave the bench like this.",
        "    - Cut-in\n", "    - Output at full speed\n", "  Likely behind it:\n", "    - One diode open (",
        "keep the job (--save job.yaml)", "Next on the bench: Volts under regulation");
    cr_expect_null(strstr(ran.out, "PASSED"));
    expect_narrow(ran.out);
    ran_free(&ran);
}

Test(talk, proof_in_doubt_and_what_is_missing)
{
    outcome ran = RUN("stage: proof\nanswers: {rated_amps: can't tell, full_amps: 60 A, volts: 14.02 V}\n",
                      "proof", PROVING, "--case", "-");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(
        ran.out, "Proof sheet", "  open      Output at full speed\n", "            missing: Rated amps\n",
        "  in doubt  Regulated volts: 14.02 V\n", "            Volts under regulation: 14.02 V\n",
        "            perhaps: Below the band. (invented)\n", "Too near the limit for what it was read with",
        "In doubt: 1 of the lines. Not passed until they are measured again.");
    expect_narrow(ran.out);
    ran_free(&ran);
    ran = RUN(NULL, "proof", PROVING, "--answer", "high_volts=yes", "--answer", "volts=20 V", "--case", "-");
    cr_expect_eq(ran.status, 0, "no finding: the advice has ended");
    cr_expect_not_null(strstr(ran.out, "! 48 V and above are for qualified people."), "%s", ran.out);
    cr_expect_null(strstr(ran.out, "Regulated volts"));
    ran_free(&ran);
    ran = RUN(NULL, "proof", "--packs", CW_SOURCE_DIR "/tests/session/opened", "--case", "-");
    cr_expect_not_null(strstr(ran.out, "The packs have no proof sheet."), "%s", ran.out);
    ran_free(&ran);
}

Test(talk, proof_names_the_job_to_go_on_with)
{
    char folder[] = "/tmp/cw-tools-XXXXXX";
    cr_assert_not_null(mkdtemp(folder));
    char path[128];
    snprintf(path, sizeof path, "%s/job.yaml", folder);
    outcome ran =
        RUN("1200\n90\n60\nskip\nskip\nskip\nskip\nyes\nno\ndone\n", "proof", PROVING, "--save", path);
    cr_expect_eq(ran.status, 1);
    cr_expect_not_null(strstr(ran.out, "On with these readings: corewright triage"), "%s", ran.out);
    ran_free(&ran);
    ran = RUN("done\n", "triage", PROVING, "--save", path, "--ask");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "Going on from proof", "One diode open", "Where it stands", "One diode open (");
    ran_free(&ran);
    ran = RUN("done\n", "proof", PROVING, "--save", path);
    IN_ORDER(ran.out, "are set aside", "still needed: 6", "Not passed yet");
    ran_free(&ran);
    unlink(path);
    rmdir(folder);
}

#define DESCRIBED "COREWRIGHT_PACKS=" CW_SOURCE_DIR "/tests/session/described"

/* Two bolts and a thick stack are of no family: the questions go on for the description, none comes twice,
 * and the sheet says how each line is known. The bearing is inside: it is not asked for at the counter, but
 * named. */
Test(talk, a_unit_that_no_list_has_is_described)
{
    outcome ran = run_command((const char *const[]){"identify", "--answer", "bolts=2", "--answer",
                                                    "stack=80 mm", "--answer", "grooves=6", NULL},
                              (const char *const[]){DESCRIBED, NULL},
                              "28V 45A\nskip\n3,56\nsheet\nchange regulator_text\nVR 12V\n\n");
    cr_expect_eq(ran.status, 0);
    cr_expect_str_empty(ran.err);
    IN_ORDER(ran.out, "No unit of the packs holds.", "1. Plate", "For the description: system volts.",
             "> 28V 45A", "2. Pulley", "For the description.", "> skip", "3. Groove pitch", "> 3,56",
             "Nothing more to ask.", "> sheet", "Description, to order parts by", "Drive",
             "Belt to order: 6PK", "Belt profile: PK; Grooves: 6. Grooves and profile make the belt.",
             "(invented)", "Grooves: 6 [told]",
             "! May have been changed by an earlier rebuild or an owner: Grooves (20 of", "Electrical",
             "System volts: 24 V", "Width of the stack: 80 mm [told]",
             "Not known, and the cheapest look that would tell:",
             "- Pulley (counter, half a minute; was left open)",
             "- Mark on the bearing (teardown, about 2 minutes): for Bearing", "> change regulator_text",
             "4. Text on the regulator", "> VR 12V");
    IN_ORDER(ran.out, "> VR 12V", "Where it stands", "System volts\n",
             "In dispute, and not settled here: 12 V or 24 V", "- 12 V: The regulator is made for it.",
             "- 24 V: A plate of 27 or 28 V is that of a 24 V unit.");
    cr_expect_null(strstr(ran.out, "5. "), "nothing comes twice, nothing from inside");
    ran_free(&ran);
}

Test(talk, a_description_takes_bad_answers_like_any_other_question)
{
    outcome ran = run_command((const char *const[]){"identify", "--answer", "bolts=2", "--answer",
                                                    "stack=80 mm", "--answer", "grooves=6", NULL},
                              (const char *const[]){DESCRIBED, NULL},
                              "skip\nclutsh\ny\nback\nsolid\n3.56 kg\n300\ndone\n");
    cr_expect_eq(ran.status, 0);
    IN_ORDER(ran.out, "1. Plate", "2. Pulley", "> clutsh", "did you mean", "> y", "3. Groove pitch", "> back",
             "Pulley", "> solid", "Groove pitch", "> 3.56 kg", "> 300", "> done", "Pulley: solid [told]");
    ran_free(&ran);
}

Test(talk, why_in_a_proof_tells_the_limits_and_once_it_has_failed_the_cause)
{
    outcome ran = RUN("1200\nwhy\ndone\n", "proof", PROVING);
    IN_ORDER(ran.out, "> why", "This question: For the proof sheet: Output at full speed.",
             "Decided so far:", "  pass      Cut-in: 1200 rpm\n",
             "            It comes in early enough. (invented)\n", "  open      Output at full speed\n",
             "> done");
    cr_expect_null(strstr(ran.out, "Most likely"), "%s", ran.out);
    ran_free(&ran);
    ran = RUN("1200\n90\n60\nwhy\ndone\n", "proof", PROVING);
    IN_ORDER(ran.out, "> why", "Most likely: one diode open", "> done");
    ran_free(&ran);
    ran = RUN("why\n\n", "proof", PROVING, "--answer", "high_volts=yes");
    IN_ORDER(ran.out, "> why", "48 V and above are for qualified people.");
    ran_free(&ran);
}
