/* The unit in hand in standard terms: which lines, how each is known, what would tell the others, and when
 * questions go on for it. */
#include "support.h"
#include "support/failing.h"

static cw_pack *open_described(const cw_settings *settings)
{
    const char *folders[] = {CW_SOURCE_DIR "/tests/session/described"};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cw_status status = cw_pack_open(settings, folders, 1, &messages, &pack);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        cr_log_error("%s", cw_messages_at(messages, i)->rendered);
    cr_assert_eq(status, CW_OK);
    cr_assert_null(messages, "it loads without a warning");
    return pack;
}

typedef struct counter {
    cw_pack *pack;
    cw_session *session;
} counter;

static counter enter(const char *stage)
{
    counter out = {open_described(NULL), NULL};
    out.session = start_shop(out.pack, stage);
    return out;
}

static void leave(counter *shop)
{
    cw_session_free(shop->session);
    cw_pack_free(shop->pack);
}

static const cw_description *describe(const counter *shop)
{
    const cw_description *all;
    cr_assert_eq(cw_session_description(shop->session, &all), CW_OK);
    return all;
}

static const cw_description_line *line_of(const cw_description *all, const char *fact)
{
    for (size_t i = 0; i < all->count; i++)
        for (size_t k = 0; k < all->headings[i].count; k++)
            if (strcmp(all->headings[i].lines[k].fact, fact) == 0)
                return &all->headings[i].lines[k];
    return NULL;
}

Test(description, with_nothing_told_every_line_is_missing_in_the_order_of_telling)
{
    counter shop = enter("identify");
    const cw_description *all = describe(&shop);
    cr_assert_eq(all->count, 3);
    cr_expect_str_eq(all->headings[0].title, "Drive", "by order, not by name or place");
    cr_expect_str_eq(all->headings[1].title, "Electrical");
    cr_expect_str_eq(all->headings[2].heading, "inside");
    cr_assert_eq(all->headings[0].count, 4);
    cr_expect_str_eq(all->headings[0].lines[1].fact, "belt", "as the list has them");
    cr_expect_eq(all->known, 0);
    cr_expect_eq(all->missing, 7);
    const cw_description_line *belt = line_of(all, "belt");
    cr_expect_eq(belt->by, CW_KNOWN_BY_NOTHING);
    cr_expect_null(belt->shown);
    cr_expect_not(belt->untold);
    cr_assert_eq(belt->teller_count, 2, "grooves and, behind the profile, the pitch");
    cr_expect_str_eq(belt->tellers[0].check->name, "grooves", "0.3 minutes before 1");
    cr_expect_str_eq(belt->tellers[1].check->name, "pitch");
    const cw_description_line *volts = line_of(all, "volts");
    cr_assert_eq(volts->teller_count, 3);
    cr_expect_str_eq(volts->tellers[0].check->name, "plate");
    cr_expect_str_eq(volts->tellers[2].check->name, "rotor_ohms");
    cr_expect_str_eq(volts->tellers[2].place, "teardown");
    cr_expect_eq(volts->tellers[2].minutes, 3, "2 and one for the way");
    cr_expect_not(all->unlisted, "a list with one family, and nothing against it");
    leave(&shop);
}

Test(description, an_answer_and_a_rule_say_where_they_come_from)
{
    counter shop = enter("identify");
    tell(shop.session, "pulley", "solid");
    tell(shop.session, "grooves", "6");
    tell(shop.session, "pitch", "3.55 mm");
    tell(shop.session, "stack", "30.1 mm caliper");
    const cw_description *all = describe(&shop);
    const cw_description_line *pulley = line_of(all, "pulley");
    cr_expect_eq(pulley->by, CW_KNOWN_BY_ANSWER);
    cr_expect_str_eq(pulley->value, "solid");
    cr_expect_null(pulley->why);
    const cw_description_line *stack = line_of(all, "stack");
    cr_expect_str_eq(stack->value, "30.1 mm");
    cr_expect_str_eq(stack->tool, "caliper");
    cr_expect_eq(stack->swap_count, 0);
    const cw_description_line *belt = line_of(all, "belt");
    cr_expect_eq(belt->by, CW_KNOWN_BY_RULE);
    cr_expect_str_eq(belt->shown, "6PK");
    cr_expect_str_eq(belt->value, "six_pk");
    cr_assert_not_null(belt->why);
    cr_expect_str_eq(belt->why->rule, "six");
    cr_expect_str_eq(belt->why->source, "invented");
    cr_assert_eq(belt->swap_count, 1, "the grooves may be another pulley's; nothing is said of the pitch");
    cr_expect_str_eq(belt->swaps[0].check->name, "grooves");
    cr_expect_float_eq(belt->swaps[0].share, 0.2, 1e-12);
    leave(&shop);
}

Test(description, what_this_unit_has_not_is_no_line_and_what_was_left_open_says_so)
{
    counter shop = enter("identify");
    tell(shop.session, "pulley", "none");
    tell(shop.session, "bearing_mark", "can't tell");
    const cw_description *all = describe(&shop);
    cr_expect_null(line_of(all, "grooves"), "no pulley, no grooves");
    cr_expect_null(line_of(all, "belt"), "and no belt that grooves could tell");
    const cw_description_line *bearing = line_of(all, "bearing");
    cr_assert_not_null(bearing);
    cr_expect(bearing->untold);
    cr_assert_eq(bearing->teller_count, 1);
    cr_expect_str_eq(bearing->tellers[0].check->name, "bearing_mark");
    leave(&shop);
}

Test(description, a_reading_too_near_a_limit_leaves_both_possible)
{
    counter shop = enter("identify");
    tell(shop.session, "pitch", "3.3 mm");
    const cw_description_line *profile = line_of(describe(&shop), "profile");
    cr_assert_not_null(profile);
    cr_expect(profile->doubtful);
    cr_expect_str_eq(profile->shown, "PK or PJ");
    cr_expect_null(profile->value);
    leave(&shop);
}

Test(description, plate_against_regulator_is_told_and_not_settled)
{
    counter shop = enter("identify");
    tell(shop.session, "plate", "28V 45A");
    tell(shop.session, "regulator_text", "VR 12V");
    const cw_description_line *volts = line_of(describe(&shop), "volts");
    cr_assert_not_null(volts);
    cr_expect_eq(volts->by, CW_KNOWN_BY_CONFLICT);
    cr_expect_null(volts->value, "neither is taken");
    cr_expect_str_eq(volts->shown, "12 V or 24 V");
    cr_assert_not_null(volts->conflict);
    cr_expect_eq(volts->conflict->side_count, 2);
    cr_assert_eq(volts->swap_count, 2);
    cr_expect_str_eq(volts->swaps[0].check->name, "regulator_text", "30 of 100 before 4 of 100");
    tell(shop.session, "regulator_text", "can't tell");
    volts = line_of(describe(&shop), "volts");
    cr_expect_str_eq(volts->value, "v24");
    cr_expect_null(volts->conflict);
    leave(&shop);
}

/* Two bolts and a thick stack: nothing of the list. The numbers of the questions are minutes, then names. */
Test(description, questions_go_on_for_it_when_no_unit_holds_cheapest_first_and_never_twice)
{
    static const char *const order[] = {"plate", "pulley", "pitch", "regulator_text"};
    static const char *const answers[] = {"can't tell", "solid", "3.56 mm", "VR 12V"};
    counter shop = enter("identify");
    tell(shop.session, "bolts", "2");
    tell(shop.session, "stack", "80 mm");
    tell(shop.session, "grooves", "6");
    const cw_next *next;
    cr_assert(describe(&shop)->unlisted);
    for (size_t i = 0; i < 4; i++) {
        cr_assert_eq(cw_session_next(shop.session, &next), CW_OK);
        cr_assert_eq(next->stop, CW_GO_ON, "%zu", i);
        cr_assert_gt(next->count, 0);
        cr_expect_str_eq(next->checks[0].check->name, order[i]);
        cr_expect_not_null(next->checks[0].line);
        cr_expect_eq(next->checks[0].bits, 0);
        tell(shop.session, order[i], answers[i]);
    }
    cr_assert_eq(cw_session_next(shop.session, &next), CW_OK);
    cr_expect_neq(next->stop, CW_GO_ON, "the bearing is inside, and nobody has opened it");
    cr_expect_eq(next->count, 0);
    const char *places[] = {"counter", "teardown"};
    cr_assert_eq(cw_session_places(shop.session, places, 2), CW_OK);
    cr_assert_eq(cw_session_next(shop.session, &next), CW_OK);
    cr_assert_eq(next->count, 1);
    cr_expect_str_eq(next->checks[0].check->name, "bearing_mark");
    cr_expect_str_eq(next->checks[0].line_title, "Bearing");
    cr_expect_str_eq(next->checks[0].why, "For the description: bearing.");
    leave(&shop);
}

Test(description, a_unit_of_the_list_is_not_described_by_questions)
{
    counter shop = enter("identify");
    tell(shop.session, "bolts", "4");
    tell(shop.session, "stack", "30 mm caliper");
    tell(shop.session, "grooves", "6");
    const cw_next *next;
    cr_assert_eq(cw_session_next(shop.session, &next), CW_OK);
    cr_expect_not(describe(&shop)->unlisted);
    for (size_t i = 0; i < next->count; i++)
        cr_expect_null(next->checks[i].line);
    cr_expect_not_null(line_of(describe(&shop), "bearing"), "but the sheet can be had");
    leave(&shop);
}

Test(description, one_family_of_even_odds_holds_though_its_versions_do_not)
{
    counter shop = enter("identify");
    tell(shop.session, "bolts", "4");
    tell(shop.session, "stack", "30 mm caliper");
    tell(shop.session, "grooves", "can't tell");
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(shop.session, 0, &ranking), CW_OK);
    cr_expect_lt(ranking->lines[0].probability, 0.5);
    cr_expect_not(describe(&shop)->unlisted);
    leave(&shop);
}

Test(description, what_is_told_of_the_unit_itself_counts)
{
    counter shop = enter("identify");
    const cw_next *next;
    tell(shop.session, "unit", "not_listed");
    cr_expect(describe(&shop)->unlisted);
    cr_assert_eq(cw_session_next(shop.session, &next), CW_OK);
    cr_assert_gt(next->count, 0);
    cr_expect_str_eq(next->checks[0].check->name, "grooves", "at once for the description: 0.3 minutes");
    cr_expect_str_eq(next->checks[0].line, "grooves", "its own line, though it tells of the belt too");
    tell(shop.session, "unit", "wagtail");
    cr_expect_not(describe(&shop)->unlisted);
    tell(shop.session, "bolts", "2");
    tell(shop.session, "stack", "80 mm");
    cr_expect_not(describe(&shop)->unlisted, "the person says that it is one");
    leave(&shop);
}

Test(description, what_the_unit_in_hand_is_known_to_have)
{
    counter shop = enter("identify");
    tell(shop.session, "unit", "wagtail_six");
    const cw_description_line *bearing = line_of(describe(&shop), "bearing");
    cr_assert_not_null(bearing);
    cr_expect_eq(bearing->by, CW_KNOWN_BY_UNIT);
    cr_expect_str_eq(bearing->shown, "6203");
    cr_assert_not_null(bearing->why);
    cr_expect_str_eq(bearing->why->source, "invented");
    tell(shop.session, "bearing_mark", "6303-2Z");
    cr_expect_eq(line_of(describe(&shop), "bearing")->by, CW_KNOWN_BY_CONFLICT,
                 "what stands on it counts as much");
    leave(&shop);
}

Test(description, a_caution_that_ends_the_advice_ends_this_too_and_other_stages_have_it)
{
    counter shop = enter("identify");
    tell(shop.session, "oil", "yes");
    cr_expect_eq(describe(&shop)->count, 0);
    cr_expect_not(describe(&shop)->unlisted);
    leave(&shop);
    shop = enter("triage");
    tell(shop.session, "pulley", "clutch");
    cr_expect_str_eq(line_of(describe(&shop), "pulley")->shown, "a clutch");
    cr_expect_not(describe(&shop)->unlisted);
    leave(&shop);
    const cw_description *all;
    cr_expect_eq(cw_session_description(NULL, &all), CW_BAD_CALL);
}

Test(description, every_request_for_memory_refused_once)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_described(&settings);
    for (size_t allowed = 0;; allowed++) {
        memory.allowed = FAILING_NEVER;
        cw_session *session = start_shop(pack, "identify");
        tell(session, "bolts", "2");
        tell(session, "stack", "80 mm");
        tell(session, "grooves", "6");
        tell(session, "pitch", "3.56 mm");
        tell(session, "plate", "28V 45A");
        tell(session, "regulator_text", "VR 12V");
        memory.allowed = allowed;
        memory.refused = false;
        const cw_description *all;
        const cw_next *next;
        cw_status status = cw_session_description(session, &all);
        if (status == CW_OK)
            status = cw_session_next(session, &next);
        bool refused = memory.refused;
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK, "%zu allowed", allowed);
        cr_assert_eq(cw_session_description(session, &all), CW_OK);
        cr_expect_eq(all->known, 5);
        cw_session_free(session);
        if (!refused)
            break;
    }
    cw_pack_free(pack);
    cr_expect_eq(failing_bytes(&memory), 0);
}
