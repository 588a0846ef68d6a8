/* Facts of the trade about putting a unit together and about worn rings (common practice, no source), held
 * against the packs that ship. README.md lists them. */
#include "corewright/corewright.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

typedef struct bench {
    cw_pack *pack;
    cw_session *session;
    const cw_steps *steps;
} bench;

static bench take_up(const char *stage)
{
    static const char *const folders[] = {CW_SOURCE_DIR "/rules/harbour-lane",
                                          CW_SOURCE_DIR "/rules/charging-basics"};
    bench b = {NULL, NULL, NULL};
    cw_messages *messages = NULL;
    cw_status status = cw_pack_open(NULL, folders, 2, &messages, &b.pack);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        fputs(cw_messages_at(messages, i)->rendered, stderr);
    cw_messages_free(messages);
    cr_assert_eq(status, CW_OK);
    cr_assert_eq(cw_session_new(b.pack, stage, &b.session), CW_OK);
    return b;
}

static void lay_down(bench *b)
{
    cw_session_free(b->session);
    cw_pack_free(b->pack);
}

static void tell(bench *b, const char *check, const char *answer)
{
    cw_messages *messages = NULL;
    cr_assert_eq(cw_session_answer(b->session, check, answer, NULL, NULL, &messages), CW_OK, "%s: %s", check,
                 answer);
    cw_messages_free(messages);
}

/* Its place in the order of work, from 1; 0 when it is not done. */
static size_t place(bench *b, const char *name)
{
    cr_assert_eq(cw_session_steps(b->session, &b->steps), CW_OK);
    for (size_t i = 0; i < b->steps->count; i++)
        if (strcmp(b->steps->list[i].step, name) == 0)
            return i + 1;
    return 0;
}

static const cw_step_info *step(bench *b, const char *name)
{
    size_t at = place(b, name);
    cr_assert_neq(at, 0u, "%s is done", name);
    return &b->steps->list[at - 1];
}

static bool warns_of(const cw_step_info *step, const char *caution)
{
    for (size_t i = 0; i < step->caution_count; i++)
        if (strcmp(step->cautions[i]->name, caution) == 0)
            return true;
    return false;
}

static void says(const char *text, const char *words)
{
    cr_expect_not_null(strstr(text, words), "\"%s\" is not in: %s", words, text);
}

Test(assembly, a_drive_end_plate_heated_20_minutes_at_350_degf_lets_the_bearing_drop_in)
{
    bench b = take_up("teardown");
    tell(&b, "unit", "godwit");
    const cw_step_info *warm = step(&b, "godwit_front_bearing");
    cr_expect_str_eq(warm->figure, "350 degF");
    says(warm->action, "20 minutes");
    says(warm->action, "drop the cold bearing in");
    cr_expect(warns_of(warm, "hot_unit"));
    cr_expect(warns_of(warm, "fumes"), "no solvent in the oven");
    cr_expect_eq(place(&b, "front_bearing_in"), 0u, "it is not driven in as well");
    lay_down(&b);
}

Test(assembly, into_a_bore_only_the_outer_race_may_be_struck)
{
    bench b = take_up("teardown");
    const cw_step_info *driven = step(&b, "front_bearing_in");
    says(driven->action, "by its outer ring alone");
    says(driven->mistake, "inner ring is struck");
    says(driven->because, "only the outer race may be struck");
    cr_expect_str_eq(driven->comes_back_as[0].cause, "front_bearing");
    /* Onto a shaft it is the other way round. */
    says(step(&b, "rear_bearing_on")->action, "by its inner ring");
    says(step(&b, "rear_bearing_on")->mistake, "outer ring");
    lay_down(&b);
}

Test(assembly, leads_are_bright_over_three_quarters_of_an_inch_before_they_are_joined)
{
    bench b = take_up("teardown");
    const cw_step_info *bright = step(&b, "leads_bright"), *joined = step(&b, "leads_soldered");
    cr_expect_str_eq(bright->figure, "3/4 in");
    says(bright->action, "bright over the last three quarters of an inch");
    says(joined->action, "until the solder is seen coming through the joint");
    cr_expect(warns_of(joined, "hot_unit") && warns_of(joined, "fumes"));
    cr_expect_lt(place(&b, "leads_bright"), place(&b, "leads_soldered"));
    cr_expect_lt(place(&b, "leads_soldered"), place(&b, "frames_closed"));
    lay_down(&b);
}

/* Whatever holds the brushes, and wherever it sits: held back, screws in quarter turns, and only then the
 * pin. */
Test(assembly, screws_in_rounds_of_a_quarter_turn_and_only_then_the_pin)
{
    static const struct {
        const char *check, *answer, *screws, *pin;
    } kinds[] = {{"regulator_place", "rear_with_brushes", "regulator_on", "pin_pulled"},
                 {"regulator_place", "inside", "regulator_inside", "pin_pulled"},
                 {"regulator_place", "separate_box", "brush_holder_on", "pin_pulled"},
                 {"regulator_place", "computer", "brush_holder_on", "pin_pulled"},
                 {"unit", "whimbrel", "whimbrel_regulator_on", "whimbrel_pin_pulled"}};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        bench b = take_up("teardown");
        tell(&b, "brush_style", "brushes");
        tell(&b, kinds[i].check, kinds[i].answer);
        const cw_step_info *screws = step(&b, kinds[i].screws);
        cr_expect_str_eq(screws->figure, "90 deg", "%s", kinds[i].answer);
        says(screws->action, "in rounds of a quarter turn");
        cr_expect_lt(place(&b, "brushes_back"), place(&b, kinds[i].screws), "%s", kinds[i].answer);
        cr_expect_lt(place(&b, kinds[i].screws), place(&b, kinds[i].pin), "%s", kinds[i].answer);
        cr_expect_lt(place(&b, "through_bolts"), place(&b, kinds[i].pin), "%s", kinds[i].answer);
        cr_expect(warns_of(step(&b, kinds[i].pin), "springs_and_press"));
        lay_down(&b);
    }
}

Test(assembly, without_brushes_there_are_no_rings_and_no_pin)
{
    static const char *const left_out[] = {"ring_joints",  "rings_polished", "brushes_free",
                                           "brushes_back", "rings_wiped",    "regulator_on",
                                           "pin_pulled",   "brush_holder_on"};
    bench b = take_up("teardown");
    tell(&b, "brush_style", "brushless");
    for (size_t i = 0; i < sizeof left_out / sizeof *left_out; i++)
        cr_expect_eq(place(&b, left_out[i]), 0u, "%s", left_out[i]);
    cr_expect_neq(place(&b, "fixed_coil_in"), 0u);
    cr_expect_lt(place(&b, "fixed_coil_in"), place(&b, "rotor_in_front"));
    cr_expect_neq(place(&b, "regulator_brushless"), 0u);
    lay_down(&b);
}

/* From what comes back to the step where it was made. */
static bool names_slip(bench *b, const char *cause, const char *slip)
{
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(b->session, 0, &ranking), CW_OK);
    for (size_t i = 0; i < ranking->plan_count; i++)
        for (size_t k = 0; strcmp(ranking->plan[i].cause, cause) == 0 && k < ranking->plan[i].slip_count; k++)
            if (strcmp(ranking->plan[i].slips[k].step, slip) == 0)
                return true;
    return false;
}

Test(assembly, a_comeback_names_the_slip_that_makes_it_and_old_wear_does_not)
{
    bench b = take_up("teardown");
    tell(&b, "noise_kind", "growl");
    tell(&b, "front_bearing_feel", "rough");
    tell(&b, "fitted_ago", "weeks");
    cr_expect(names_slip(&b, "front_bearing", "front_bearing_in"), "dented races growl within 90 days");
    tell(&b, "fitted_ago", "years");
    cr_expect_not(names_slip(&b, "front_bearing", "front_bearing_in"));
    lay_down(&b);
    b = take_up("teardown");
    tell(&b, "brush_moves", "sticks");
    tell(&b, "lamp_running", "flicker");
    tell(&b, "fitted_ago", "days");
    cr_expect(names_slip(&b, "brush_stuck", "brushes_free"));
    cr_expect(names_slip(&b, "brush_stuck", "rings_wiped"));
    lay_down(&b);
}

static double chance(bench *b, const char *cause)
{
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(b->session, 0, &ranking), CW_OK);
    for (size_t i = 0; i < ranking->count; i++)
        if (strcmp(ranking->lines[i].id, cause) == 0)
            return ranking->lines[i].probability;
    cr_assert_fail("no cause %s", cause);
    return 0;
}

/* Rings are cut through at roughly 100,000 to 120,000 miles, and nearly every unit of that age shows grooves.
 */
Test(assembly, a_groove_alone_at_its_age_is_weak_evidence_and_an_early_one_is_not)
{
    bench b = take_up("teardown");
    tell(&b, "distance_run", "130k_to_240k");
    double before = chance(&b, "rings_worn");
    tell(&b, "ring_look", "grooved");
    cr_expect_lt(chance(&b, "rings_worn"), 2 * before);
    tell(&b, "distance_run", "under_130k");
    cr_expect_gt(chance(&b, "rings_worn"), 3 * before);
    lay_down(&b);
}

Test(assembly, a_ring_burnt_through_explains_a_lamp_that_is_on)
{
    bench b = take_up("teardown");
    tell(&b, "distance_run", "130k_to_240k");
    tell(&b, "lamp_running", "on");
    tell(&b, "ring_look", "grooved");
    const cw_explained *explained;
    cr_assert_eq(cw_session_explained(b.session, &explained), CW_OK);
    cr_expect_not(explained->explained, "a groove alone does not");
    tell(&b, "ring_look", "through");
    cr_assert_eq(cw_session_explained(b.session, &explained), CW_OK);
    cr_expect(explained->explained);
    cr_expect_gt(chance(&b, "rings_worn"), 0.8);
    lay_down(&b);
}

/* A brush that rides in the groove may still look usable: its length alone leaves the rings to be judged. */
Test(assembly, a_usable_brush_does_not_speak_for_the_ring_it_rides_in)
{
    bench b = take_up("teardown");
    tell(&b, "brush_length", "9 mm");
    tell(&b, "ring_look", "through");
    const cw_work_part *parts;
    size_t count;
    cr_assert_eq(cw_session_work(b.session, &parts, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        if (strcmp(parts[i].part, "slip_rings") == 0)
            cr_expect_str_eq(parts[i].verdict, "replace");
    lay_down(&b);
}

enum { MOST_STEPS = 120, MOST_UNITS = 80 };

/* Of the shop's own catalogue: no step is there for nothing, and once the unit is told little is left open.
 */
Test(assembly, every_step_is_done_on_some_unit)
{
    bench b = take_up("identify");
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(b.session, 0, &ranking), CW_OK);
    const char *units[MOST_UNITS], *names[MOST_STEPS];
    bool done[MOST_STEPS] = {false};
    size_t unit_count = ranking->count, count;
    cr_assert(unit_count > 30 && unit_count <= MOST_UNITS);
    for (size_t i = 0; i < unit_count; i++)
        units[i] = ranking->lines[i].id;
    place(&b, "");
    count = b.steps->count;
    cr_assert(count > 50 && count <= MOST_STEPS, "with nothing told, all of them are at least possible");
    for (size_t i = 0; i < count; i++)
        names[i] = b.steps->list[i].step;
    for (size_t u = 0; u <= unit_count; u++) { /* the last is in no list, and has a pump */
        tell(&b, "unit", u < unit_count ? units[u] : "not_listed");
        tell(&b, "pulley_type", u % 2 == 0 ? "clutch" : "ribbed_solid");
        if (u == unit_count)
            tell(&b, "vacuum_pump", "yes");
        place(&b, "");
        cr_expect(b.steps->perhaps <= 3 || u == unit_count, "%s", units[u]);
        for (size_t i = 0; i < b.steps->count; i++)
            for (size_t k = 0; k < count; k++)
                done[k] =
                    done[k] || (!b.steps->list[i].perhaps && strcmp(names[k], b.steps->list[i].step) == 0);
    }
    for (size_t k = 0; k < count; k++)
        cr_expect(done[k], "%s is done on no unit", names[k]);
    lay_down(&b);
}
