#include "support.h"

Test(handle, what_a_pack_tells_of_itself)
{
    cw_pack *pack = open_shop(NULL);
    const cw_pack_header *headers;
    cr_assert_eq(cw_pack_headers(pack, &headers), 1);
    cr_expect_str_eq(headers[0].name, "test-shop");
    cr_expect_eq(headers[0].version, 3);
    cr_expect_eq(strlen(headers[0].sha256), 64);
    cr_expect_str_eq(cw_pack_unit_title(pack, "plover_70"), "Plover 70 A");
    cr_expect_null(cw_pack_unit_title(pack, "heron"));
    cr_expect_str_eq(cw_pack_cause_title(pack, "diode_open"), "One rectifier diode open");
    cr_expect_null(cw_pack_cause_title(pack, "plover_70"));
    cw_pack_free(pack);
}

Test(handle, parts_and_facts_in_order)
{
    cw_pack *pack = open_shop(NULL);
    cw_part_entry part;
    cw_fact_entry fact;
    cw_choice_info value;
    size_t parts = 0, at = 0;
    bool rectifier = false;
    for (; cw_pack_part_at(pack, parts, &part); parts++)
        rectifier = rectifier || (strcmp(part.name, "rectifier") == 0 && strcmp(part.where, "unit") == 0);
    cr_expect(parts > 0 && rectifier);
    cr_expect_not(cw_pack_part_at(pack, 0, NULL));
    while (cw_pack_fact_at(pack, at, &fact) && strcmp(fact.name, "lamp_running") != 0)
        at++;
    cr_assert(cw_pack_fact_at(pack, at, &fact));
    cr_expect(fact.asked && fact.kind == CW_ANSWER_CHOICE && fact.value_count == 4);
    cr_assert(cw_pack_value_at(pack, at, 1, &value));
    cr_expect_str_eq(value.title, "glows dimly");
    cr_expect_not(cw_pack_value_at(pack, at, 4, &value));
    cr_expect_not(cw_pack_value_at(pack, SIZE_MAX, 0, &value));
    for (at = 0; cw_pack_fact_at(pack, at, &fact) && strcmp(fact.name, "ripple_state") != 0;)
        at++;
    cr_assert(cw_pack_fact_at(pack, at, &fact));
    cr_expect_not(fact.asked);
    cw_pack_free(pack);
}

static bool shows(const cw_pack *pack, const char *version, const char *fact, cw_unit_sign *out)
{
    for (size_t i = 0; cw_pack_unit_sign_at(pack, version, i, out); i++)
        if (strcmp(out->fact, fact) == 0)
            return true;
    return false;
}

Test(handle, what_a_version_shows)
{
    cw_pack *pack = open_shop(NULL);
    cw_unit_sign sign;
    cr_assert(shows(pack, "tern_late", "lead_style", &sign));
    cr_expect_str_eq(sign.value, "single", "handed down; usually against rarely");
    cr_expect(sign.share > 0.8 && sign.share < 0.95);
    cr_assert(shows(pack, "tern_late", "back_step", &sign));
    cr_expect_str_eq(sign.value, "yes", "its own");
    cr_assert(shows(pack, "plover_70", "bolt_spacing", &sign));
    cr_expect_str_eq(sign.value, "133.35 mm");
    cr_expect_eq(sign.share, 1);
    cr_assert(shows(pack, "plover_70", "marking", &sign));
    cr_expect_str_eq(sign.value, "", "a text is known by patterns alone");
    cr_expect_not(shows(pack, "plover_70", "back_step", &sign), "its sisters say nothing for it");
    cr_expect_not(cw_pack_unit_sign_at(pack, "tern", 0, &sign), "a family is no version");
    cr_expect_not(cw_pack_unit_sign_at(pack, "heron", 0, &sign));
    cr_expect_not(cw_pack_unit_sign_at(pack, "tern_late", 0, NULL));
    cw_pack_free(pack);
}

Test(handle, cautions_in_order)
{
    cw_pack *pack = open_shop(NULL);
    cw_caution_info caution;
    size_t count = 0;
    bool spinning = false;
    for (; cw_pack_caution_at(pack, count, &caution); count++)
        spinning = spinning || strcmp(caution.name, "spinning") == 0;
    cr_expect(count > 0 && spinning);
    cr_expect_not(cw_pack_caution_at(pack, 0, NULL));
    cw_pack_free(pack);
}

Test(handle, a_check_as_a_person_needs_it)
{
    cw_pack *pack = open_shop(NULL);
    const cw_check_info *check = cw_pack_check(pack, "bolt_spacing", NULL);
    cr_assert_not_null(check);
    cr_expect_eq(check->kind, CW_ANSWER_MEASURE);
    cr_expect_str_eq(check->unit, "mm");
    cr_expect_str_eq(check->range_low, "60 mm");
    cr_expect_str_eq(check->range_high, "200 mm");
    cr_expect_eq(check->tool_count, 2);
    cr_expect_str_eq(check->tools[0], "tape");
    check = cw_pack_check(pack, "squeal", NULL);
    cr_assert_eq(check->choice_count, 2);
    cr_expect_str_eq(check->choices[0].name, "yes", "yes is offered first, though no is normal");
    cr_expect_str_eq(check->choices[1].name, "no");
    cr_expect_eq(check->place_count, 2);
    check = cw_pack_check(pack, "lamp_running", NULL);
    cr_assert_eq(check->choice_count, 4);
    cr_expect_str_eq(check->choices[1].title, "glows dimly");
    check = cw_pack_check(pack, "rib_count", NULL);
    cr_expect_eq(check->count_low, 1);
    cr_expect_eq(check->count_high, 10);
    check = cw_pack_check(pack, "ripple", NULL);
    cr_assert_eq(check->caution_count, 1);
    cr_expect_str_eq(check->cautions[0]->name, "spinning");
    const char *nearest;
    cr_expect_null(cw_pack_check(pack, "bolt_spaceing", &nearest));
    cr_expect_str_eq(nearest, "bolt_spacing");
    cr_expect_null(cw_pack_check(pack, "zzzzzz", &nearest));
    cr_expect_null(nearest);
    size_t count = cw_pack_checks(pack);
    cr_expect_eq(count, 19, "15, one for each of three phases, and which unit it is");
    cr_expect_not_null(cw_pack_check_at(pack, count - 1));
    cr_expect_null(cw_pack_check_at(pack, count));
    cw_pack_free(pack);
}

Test(handle, what_cannot_be_opened_says_why)
{
    cw_pack *pack;
    cw_messages *messages;
    const char *nowhere[] = {SHOP "/no-such-folder"};
    cr_expect_eq(cw_pack_open(NULL, nowhere, 1, &messages, &pack), CW_CANNOT_READ);
    cr_expect_null(pack);
    cr_expect_eq(cw_messages_errors(messages), 1);
    cw_messages_free(messages);
    cr_expect_eq(cw_pack_open(NULL, NULL, 0, &messages, &pack), CW_BAD_CALL);
    cr_expect_eq(cw_pack_open(NULL, nowhere, 1, NULL, NULL), CW_BAD_CALL);
    cw_pack_free(NULL);
    cw_session_free(NULL);
    cw_messages_free(NULL);
}

Test(handle, stages_and_places)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = NULL;
    cr_expect_eq(cw_session_new(pack, "lunch", &session), CW_NOT_FOUND);
    cr_expect_null(session);
    cr_expect_eq(cw_session_new(NULL, "triage", &session), CW_BAD_CALL);
    session = start_shop(pack, "triage");
    cr_expect_str_eq(cw_session_stage(session), "triage");
    const char *places[] = {"counter", "moon"};
    cr_expect_eq(cw_session_places(session, places, 1), CW_OK);
    cr_expect_eq(cw_session_places(session, places, 2), CW_NOT_FOUND);
    cr_expect_eq(cw_session_here(session, "bench"), CW_OK);
    cr_expect_eq(cw_session_here(session, "moon"), CW_NOT_FOUND);
    cr_expect_str_eq(cw_stage_at(1), "triage");
    cr_expect_str_eq(cw_place_at(0), "counter");
    cr_expect_null(cw_stage_at(4));
    cr_expect_null(cw_place_at(4));
    const char *words[] = {"identify", "triage"};
    cr_expect_str_eq(cw_nearest_word("identfy", words, 2), "identify");
    cr_expect_null(cw_nearest_word("serve", words, 2));
    cw_session_free(session);
    cw_pack_free(pack);
}

/* The only places allowed bound what is asked. */
Test(handle, places_bound_the_questions)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    const char *places[] = {"counter"};
    cr_assert_eq(cw_session_places(session, places, 1), CW_OK);
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_assert_gt(next->count, 0);
    for (size_t i = 0; i < next->count; i++)
        cr_expect_str_eq(next->checks[i].place, "counter");
    const char *both[] = {"vehicle", "counter"};
    cr_assert_eq(cw_session_places(session, both, 2), CW_OK);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    size_t at_each[2] = {0, 0};
    for (size_t i = 0; i < next->count; i++) {
        at_each[0] += strcmp(next->checks[i].place, "counter") == 0;
        at_each[1] += strcmp(next->checks[i].place, "vehicle") == 0;
    }
    cr_expect(at_each[0] > 0 && at_each[1] > 0 && at_each[0] + at_each[1] == next->count);
    cr_assert_eq(cw_session_places(session, NULL, 0), CW_OK);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    bool elsewhere = false;
    for (size_t i = 0; i < next->count; i++)
        elsewhere = elsewhere || strcmp(next->checks[i].place, "vehicle") == 0;
    cr_expect(elsewhere, "count 0 lifts the limit");
    cw_session_free(session);
    cw_pack_free(pack);
}
