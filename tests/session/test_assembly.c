/* Steps of assembly: their order, which apply to the unit in hand, what stands with each, and the slips that
 * triage names. */
#include "support.h"
#include "support/failing.h"
#include "support/random.h"
#include <stdlib.h>

static cw_pack *open_folder(const char *folder, const cw_settings *settings)
{
    const char *folders[] = {folder};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cw_status status = cw_pack_open(settings, folders, 1, &messages, &pack);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        cr_log_error("%s", cw_messages_at(messages, i)->rendered);
    cr_assert_eq(status, CW_OK);
    cr_assert_null(messages, "it must load without a warning");
    return pack;
}

static cw_pack *open_assembled(const cw_settings *settings)
{
    return open_folder(CW_SOURCE_DIR "/tests/session/assembled", settings);
}

typedef struct hand {
    cw_pack *pack;
    cw_session *session;
} hand;

static hand take_up(const char *stage)
{
    hand h = {.pack = open_assembled(NULL)};
    h.session = start_shop(h.pack, stage);
    return h;
}

static void lay_down(hand *h)
{
    cw_session_free(h->session);
    cw_pack_free(h->pack);
}

static const cw_steps *steps_of(hand *h)
{
    const cw_steps *steps;
    cr_assert_eq(cw_session_steps(h->session, &steps), CW_OK);
    return steps;
}

static const cw_step_info *step_of(hand *h, const char *name)
{
    const cw_steps *steps = steps_of(h);
    for (size_t i = 0; i < steps->count; i++)
        if (strcmp(steps->list[i].step, name) == 0)
            return &steps->list[i];
    return NULL;
}

/* The names in order, a "?" behind each that is only perhaps done. */
static void expect_steps(hand *h, const char *expected)
{
    const cw_steps *steps = steps_of(h);
    char told[400] = "";
    size_t perhaps = 0;
    for (size_t i = 0; i < steps->count; i++) {
        strcat(strcat(told, i > 0 ? " " : ""), steps->list[i].step);
        strcat(told, steps->list[i].perhaps ? "?" : "");
        perhaps += steps->list[i].perhaps;
    }
    cr_expect_str_eq(told, expected);
    cr_expect_eq(steps->perhaps, perhaps);
}

Test(assembly, what_cannot_be_told_yet_is_a_perhaps)
{
    hand h = take_up("teardown");
    expect_steps(&h, "ring rotor coat_rings? brushes close pin_out? wax_out? dowel spin pump?");
    const cw_step_info *pump = step_of(&h, "pump");
    cr_expect_str_eq(pump->condition, "A pump hangs on it: yes");
    cr_assert_eq(pump->tell_count, 2u);
    cr_expect_str_eq(pump->tells[0]->name, "cover", "a minute, and one for the way there");
    cr_expect_str_eq(pump->tells[1]->name, "spline", "three minutes");
    cr_expect_str_eq(step_of(&h, "pin_out")->tells[0]->name, "holder_look", "whatever stage asks it");
    cr_expect_str_eq(step_of(&h, "pin_out")->condition, "Look of the holder: by a pin");
    cr_expect_null(step_of(&h, "close")->condition);
    tell(h.session, "cover", "no");
    cr_assert_eq(step_of(&h, "pump")->tell_count, 1u);
    cr_expect_str_eq(step_of(&h, "pump")->tells[0]->name, "spline");
    lay_down(&h);
}

Test(assembly, what_does_not_apply_is_left_out)
{
    hand h = take_up("teardown");
    tell(h.session, "cover", "yes");
    expect_steps(&h, "ring rotor coat_rings? brushes close pin_out? wax_out? spin");
    tell(h.session, "press_fit", "0.2 mm");
    expect_steps(&h, "ring rotor brushes close pin_out? wax_out? spin");
    tell(h.session, "cover", "no");
    tell(h.session, "spline", "yes");
    tell(h.session, "press_fit", "0.9 mm");
    expect_steps(&h, "ring rotor coat_rings brushes close pin_out? wax_out? dowel spin pump");
    tell(h.session, "spline", "no");
    expect_steps(&h, "ring rotor coat_rings brushes close pin_out? wax_out? dowel spin");
    lay_down(&h);
}

Test(assembly, a_step_in_anothers_place_puts_it_out_once_it_is_sure)
{
    hand h = take_up("teardown");
    tell(h.session, "press_fit", "0.2 mm");
    tell(h.session, "cover", "yes");
    cr_expect_str_eq(step_of(&h, "wax_out")->instead_of, "close");
    cr_expect_str_eq(step_of(&h, "wax_out")->instead_of_title, "Closing");
    tell(h.session, "holder_look", "can't tell");
    expect_steps(&h, "ring rotor brushes close pin_out? wax_out? spin");
    cr_expect_str_eq(step_of(&h, "wax_out")->tells[0]->name, "holder_look", "left open, it would still tell");
    tell(h.session, "holder_look", "pinned");
    expect_steps(&h, "ring rotor brushes pin_out spin");
    tell(h.session, "holder_look", "glued");
    expect_steps(&h, "ring rotor brushes wax_out spin");
    tell(h.session, "holder_look", "screwed");
    expect_steps(&h, "ring rotor brushes close spin");
    cr_expect_null(step_of(&h, "close")->instead_of);
    lay_down(&h);
}

Test(assembly, a_place_that_is_surely_filled_is_not_perhaps_filled_by_another)
{
    hand h = {.pack = open_folder(CW_SOURCE_DIR "/tests/session/places", NULL)};
    h.session = start_shop(h.pack, "teardown");
    cr_expect(step_of(&h, "bolt") != NULL && step_of(&h, "glue")->perhaps && step_of(&h, "nail")->perhaps);
    tell(h.session, "cover", "yes");
    cr_expect_null(step_of(&h, "bolt"));
    cr_expect_null(step_of(&h, "glue"));
    cr_expect_not(step_of(&h, "nail")->perhaps);
    tell(h.session, "spline", "yes");
    cr_expect(step_of(&h, "glue") != NULL && step_of(&h, "nail") != NULL, "both surely do");
    tell(h.session, "cover", "no");
    cr_expect(step_of(&h, "glue") != NULL && step_of(&h, "nail") == NULL && step_of(&h, "bolt") == NULL);
    lay_down(&h);
}

Test(assembly, conditions_are_said_as_people_would)
{
    hand h = {.pack = open_folder(CW_SOURCE_DIR "/tests/session/places", NULL)};
    h.session = start_shop(h.pack, "teardown");
    cr_expect_str_eq(step_of(&h, "one_of")->condition, "Seat: a cone, stepped or round");
    cr_expect_str_eq(step_of(&h, "several")->condition,
                     "Seat: a cone and Depth at least 3 mm and no sign of Rear cover: yes");
    cr_expect_str_eq(step_of(&h, "nested")->condition,
                     "(Seat: a cone and Depth below 3 mm) or Unit in hand: Tern 90 A or Plover");
    cr_expect_str_eq(step_of(&h, "counted")->condition,
                     "at least 2 of: Hole a: yes; Hole b: yes; Hole c: yes");
    cr_expect_str_eq(step_of(&h, "of_tern")->condition, "Unit in hand: Tern");
    lay_down(&h);
}

Test(assembly, which_unit_it_is_decides_on_its_steps)
{
    hand h = {.pack = open_folder(CW_SOURCE_DIR "/tests/session/places", NULL)};
    h.session = start_shop(h.pack, "teardown");
    cr_assert_eq(step_of(&h, "of_tern")->tell_count, 1u);
    cr_expect_str_eq(step_of(&h, "of_tern")->tells[0]->name, "unit");
    tell(h.session, "unit", "tern_95");
    cr_expect_not(step_of(&h, "of_tern")->perhaps);
    cr_expect_not_null(step_of(&h, "nested"), "the seat could still make it so");
    tell(h.session, "seat", "flat");
    cr_expect_null(step_of(&h, "nested"));
    tell(h.session, "unit", "tern");
    cr_expect(step_of(&h, "nested") != NULL && step_of(&h, "nested")->perhaps, "a 90 A or a 95 A");
    tell(h.session, "unit", "plover");
    cr_expect_null(step_of(&h, "of_tern"));
    cr_expect_not(step_of(&h, "nested")->perhaps);
    tell(h.session, "unit", "not_listed");
    cr_expect_null(step_of(&h, "of_tern"));
    cr_expect_null(step_of(&h, "nested"));
    lay_down(&h);
}

Test(assembly, a_reading_too_near_its_limit_leaves_a_perhaps)
{
    hand h = take_up("teardown");
    tell(h.session, "press_fit", "0.52 mm");
    const cw_step_info *coat = step_of(&h, "coat_rings");
    cr_assert_not_null(coat);
    cr_expect(coat->perhaps);
    cr_expect_str_eq(coat->condition, "Press fit above 0.5 mm");
    cr_expect_eq(coat->tell_count, 0u, "it was told; measuring again is all that helps");
    lay_down(&h);
}

Test(assembly, each_with_all_that_belongs_to_it)
{
    hand h = take_up("teardown");
    const cw_step_info *brushes = step_of(&h, "brushes");
    cr_expect_str_eq(brushes->title, "Brushes held back");
    cr_expect_str_eq(brushes->action, "Hold the brushes back.");
    cr_assert_eq(brushes->caution_count, 2u);
    cr_expect_str_eq(brushes->cautions[0]->name, "springs", "in the order they are written");
    cr_expect_str_eq(brushes->cautions[1]->say, "Edges cut.");
    cr_expect_null(brushes->mistake);
    cr_expect_null(brushes->tool);
    const cw_step_info *rotor = step_of(&h, "rotor");
    cr_expect_str_eq(rotor->part_title, "Rotor");
    cr_expect_str_eq(rotor->tool, "sleeve");
    cr_expect_str_eq(rotor->figure, "50 degC to 60 degC");
    cr_expect_str_eq(rotor->picture, "rotor_in");
    const cw_step_info *close = step_of(&h, "close");
    cr_expect_str_eq(close->mistake, "One side goes first.");
    cr_assert_eq(close->comeback_count, 2u);
    cr_expect_str_eq(close->comes_back_as[0].cause, "cocked");
    cr_expect_str_eq(close->comes_back_as[1].title, "Pin left in");
    cr_expect_null(close->because);
    cr_expect_str_eq(close->source, "invented");
    cr_expect_str_eq(step_of(&h, "ring")->because, "Fingers leave a film.");
    cr_expect_null(step_of(&h, "dowel")->part);
    lay_down(&h);
}

Test(assembly, whether_a_new_part_or_the_old_one_goes_in)
{
    hand h = take_up("teardown");
    cr_expect_str_eq(step_of(&h, "brushes")->verdict, "replace", "always changed");
    cr_expect_str_eq(step_of(&h, "brushes")->fitted, "Late brushes");
    cr_expect_null(step_of(&h, "rotor")->verdict, "not measured");
    cr_expect_null(step_of(&h, "dowel")->verdict, "of no part");
    tell(h.session, "rotor_ohms", "3 ohm");
    tell(h.session, "ring_depth", "0.2 mm");
    cr_expect_str_eq(step_of(&h, "rotor")->verdict, "reuse");
    cr_expect_null(step_of(&h, "rotor")->fitted);
    cr_expect_str_eq(step_of(&h, "ring")->verdict, "rework");
    cr_expect_not(step_of(&h, "ring")->doubtful);
    tell(h.session, "ring_depth", "0.41 mm");
    cr_expect_str_eq(step_of(&h, "ring")->verdict, "replace", "the worse of what it may be");
    cr_expect(step_of(&h, "ring")->doubtful);
    tell(h.session, "rotor_ohms", "900 ohm");
    cr_expect_str_eq(step_of(&h, "rotor")->fitted, "Rotor");
    const cw_work_sum *sum;
    cr_assert_eq(cw_session_work_sum(h.session, &sum), CW_OK);
    cr_expect_float_eq(sum->cost, 31.50 + 6, 1e-9, "a price counts before the part's own cost, 4");
    lay_down(&h);
}

Test(assembly, a_caution_that_stops_leaves_no_steps)
{
    hand h = take_up("teardown");
    tell(h.session, "high_volts", "yes");
    const cw_steps *steps = steps_of(&h);
    cr_expect(steps->stopped);
    cr_expect_eq(steps->count, 0u);
    tell(h.session, "high_volts", "no");
    cr_expect_not(steps_of(&h)->stopped);
    cr_expect_gt(steps_of(&h)->count, 0u);
    lay_down(&h);
}

static void expect_slips(hand *h, const char *cause, const char *expected)
{
    const cw_ranking *ranking;
    char told[200] = "";
    cr_assert_eq(cw_session_ranking(h->session, 0, &ranking), CW_OK);
    const cw_plan_line *line = NULL;
    for (size_t i = 0; i < ranking->plan_count; i++)
        if (strcmp(ranking->plan[i].cause, cause) == 0)
            line = &ranking->plan[i];
    cr_assert_not_null(line, "%s is worth acting on", cause);
    for (size_t i = 0; i < line->slip_count; i++)
        strcat(strcat(told, i > 0 ? " " : ""), line->slips[i].step);
    cr_expect_str_eq(told, expected);
}

Test(assembly, triage_names_the_slips_that_make_a_cause)
{
    hand h = take_up("triage");
    tell(h.session, "lamp", "on");
    expect_slips(&h, "pin_left", "close");
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(h.session, 0, &ranking), CW_OK);
    cr_expect_str_eq(ranking->plan[0].slips[0].title, "Closing");
    cr_expect_str_eq(ranking->plan[0].slips[0].mistake, "One side goes first.");
    tell(h.session, "holder_look", "pinned");
    expect_slips(&h, "pin_left", "");
    tell(h.session, "fitted_ago", "days");
    expect_slips(&h, "pin_left", "pin_out");
    tell(h.session, "fitted_ago", "years");
    expect_slips(&h, "pin_left", "");
    tell(h.session, "holder_look", "glued");
    expect_slips(&h, "pin_left", "");
    tell(h.session, "holder_look", "screwed");
    expect_slips(&h, "pin_left", "close");
    lay_down(&h);
}

/* One of those the check takes. */
static void tell_something(hand *h, const char *check, random_state *random)
{
    static const char *const answers[] = {"yes",    "no", "0.2 mm", "0.51 mm", "0.9 mm",    "3 ohm",
                                          "pinned", "on", "glued",  "days",    "can't tell"};
    for (bool taken = false; !taken;) {
        cw_messages *messages;
        const char *answer = answers[random_below(random, sizeof answers / sizeof *answers)];
        taken = cw_session_answer(h->session, check, answer, NULL, NULL, &messages) == CW_OK;
        cw_messages_free(messages);
    }
}

/* Whatever is told in whatever order, the steps are those of a fresh session with the same answers. */
Test(assembly, the_steps_depend_on_the_answers_alone)
{
    hand one = take_up("teardown"), other = {.pack = one.pack};
    random_state random = random_start(7);
    for (int round = 0; round < 40; round++) {
        const cw_check_info *check =
            cw_pack_check_at(one.pack, random_below(&random, (uint32_t)cw_pack_checks(one.pack)));
        tell_something(&one, check->name, &random);
        if (random_below(&random, 3) == 0)
            cw_session_withdraw(one.session, check->name);
        other.session = start_shop(one.pack, "teardown");
        const cw_given *given;
        size_t count;
        cr_assert_eq(cw_session_answers(one.session, &given, &count), CW_OK);
        for (size_t i = count; i > 0; i--)
            tell(other.session, given[i - 1].check, given[i - 1].value);
        const cw_steps *a = steps_of(&one), *b = steps_of(&other);
        cr_assert_eq(a->count, b->count);
        for (size_t i = 0; i < a->count; i++) {
            cr_expect_str_eq(a->list[i].step, b->list[i].step);
            cr_expect_eq(a->list[i].perhaps, b->list[i].perhaps);
            cr_expect_eq(a->list[i].tell_count, b->list[i].tell_count);
        }
        cw_session_free(other.session);
    }
    lay_down(&one);
}

static cw_status ask_for_it(cw_session *session)
{
    const cw_steps *steps;
    const cw_ranking *ranking;
    cw_status status = cw_session_steps(session, &steps);
    return status == CW_OK ? cw_session_ranking(session, 0, &ranking) : status;
}

Test(assembly, every_request_for_memory_refused_once)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_assembled(&settings);
    cw_session_free(start_shop(pack, "teardown")); /* what the first one makes for all stays with the pack */
    size_t held = failing_bytes(&memory);
    for (size_t allowed = 0;; allowed++) {
        hand h = {pack, start_shop(pack, "teardown")};
        tell(h.session, "lamp", "on");
        tell(h.session, "cover", "no");
        memory.allowed = allowed;
        memory.refused = false;
        cw_status status = ask_for_it(h.session);
        bool refused = memory.refused;
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK, "%zu allowed", allowed);
        cr_assert_eq(ask_for_it(h.session), CW_OK, "it goes on when there is memory again");
        expect_steps(&h, "ring rotor coat_rings? brushes close pin_out? wax_out? dowel spin pump?");
        cw_session_free(h.session);
        cr_assert_eq(failing_bytes(&memory), held, "%zu allowed", allowed);
        if (!refused)
            break;
    }
    cw_pack_free(pack);
    cr_assert_eq(failing_bytes(&memory), 0u);
}

Test(assembly, wrong_calls_are_refused)
{
    hand h = take_up("identify");
    const cw_steps *steps;
    cr_expect_eq(cw_session_steps(NULL, &steps), CW_BAD_CALL);
    cr_expect_eq(cw_session_steps(h.session, NULL), CW_BAD_CALL);
    cr_expect_gt(steps_of(&h)->count, 0u, "any stage can be asked");
    lay_down(&h);
}
