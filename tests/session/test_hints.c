#include "support.h"

static size_t hints(cw_session *session, const char *words, const cw_hint_info **list)
{
    size_t count = 0;
    cr_assert_eq(cw_session_hints(session, words, list, &count), CW_OK);
    return count;
}

Test(hints, free_words_suggest_answers_ready_to_be_given)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    const cw_hint_info *list;
    const char *words = "The LAMP glows a bit at night, squeals cold";
    cr_assert_eq(hints(session, words, &list), 2);
    for (size_t i = 0; i < 2; i++) {
        bool lamp = strcmp(list[i].check, "lamp_running") == 0;
        cr_expect_str_eq(list[i].answer, lamp ? "glow" : "yes");
        cr_expect_str_eq(list[i].answer_shown, lamp ? "glows dimly" : "yes");
        cr_expect_str_eq(list[i].say, lamp ? "the charge lamp glows dimly" : "it squeals on a cold start");
        cr_expect_eq(
            strncmp(words + list[i].start, lamp ? "LAMP glow" : "squeal", list[i].end - list[i].start), 0);
    }
    const cw_given *answers;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &answers, &count), CW_OK);
    cr_expect_eq(count, 0, "nothing is taken over");
    tell(session, "squeal", "no");
    cr_expect_eq(hints(session, words, &list), 1, "what is answered is left out");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(hints, a_denial_holds_the_suggestion_back)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    const cw_hint_info *list;
    cr_expect_eq(hints(session, "no squeal at all", &list), 0);
    cr_expect_eq(hints(session, "", &list), 0);
    cr_expect_eq(hints(session, "battery keeps dying", &list), 0);
    size_t count;
    cr_expect_eq(cw_session_hints(session, "sq\xFFueal", &list, &count), CW_BAD_INPUT);
    cr_expect_eq(cw_session_hints(session, NULL, &list, &count), CW_BAD_CALL);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(hints, each_sentence_speaks_for_itself)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    const cw_hint_info *list;
    const char *words = "No squeal when warm, 14.2 V. It squeals cold.";
    cr_assert_eq(hints(session, words, &list), 1, "the denial belongs to the first sentence");
    cr_expect_str_eq(list[0].check, "squeal");
    cr_expect_eq(strncmp(words + list[0].start, "squeal", list[0].end - list[0].start), 0);
    cr_expect_eq(list[0].start, strlen("No squeal when warm, 14.2 V. It "));
    cr_expect_eq(hints(session, "The lamp is new. It glows.", &list), 0,
                 "words of two sentences are not one");
    cr_expect_eq(hints(session, "The lamp at 14.2 V glows", &list), 1, "a decimal point ends no sentence");
    cw_session_free(session);
    cw_pack_free(pack);
}

/* The squeal, and nothing else, is suggested by the words at this place. */
static bool squeals_at(cw_session *session, const char *words, const char *at)
{
    const cw_hint_info *list;
    return hints(session, words, &list) == 1 && strcmp(list[0].check, "squeal") == 0 &&
           words + list[0].start == at;
}

Test(hints, a_denial_of_the_packs_right_in_front_takes_any_words_back)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    const cw_hint_info *list;
    cr_expect_eq(hints(session, "It starts without a squeal", &list), 0);
    cr_expect_eq(hints(session, "No smoke nor squeal", &list), 0);
    cr_expect_eq(hints(session, "Could it be a squeal of the belt", &list), 0, "a guess, by another denial");
    const char *far_off = "Without a fan it squeals";
    cr_expect(squeals_at(session, far_off, far_off + 17), "the denial stands elsewhere");
    const char *next = "Starts without a squeal. Squeals hot.";
    cr_expect(squeals_at(session, next, next + 25), "it belongs to its own sentence");
    const char *again = "Starts without a squeal, squeals hot";
    cr_expect(squeals_at(session, again, again + 25), "said again in the same sentence");
    const char *opted_out = "Without whistles in the dark";
    cr_expect(squeals_at(session, opted_out, opted_out + 8), "not even a denial takes this one back");
    cw_session_free(session);
    cw_pack_free(pack);
}
