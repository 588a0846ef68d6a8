/* Answers as typed. What each text must come to was written down from the pack's words and the rules of
 * reading. */
#include "support.h"

typedef struct reading {
    const char *check, *text;
    cw_status status;
    const char *value; /* what was taken, or what is suggested */
} reading;

static const reading readings[] = {
    /* choices: name, title, other words, beginning, number of the printed list, can't tell */
    {"lamp_running", "glow", CW_OK, "glow"},
    {"lamp_running", "GLOW", CW_OK, "glow"},
    {"lamp_running", " glows  dimly ", CW_OK, "glow"},
    {"lamp_running", "glows-dimly.", CW_OK, "glow"},
    {"lamp_running", "faint", CW_OK, "glow"},
    {"lamp_running", "half lit", CW_OK, "glow"},
    {"lamp_running", "fl", CW_OK, "flicker"},
    {"lamp_running", "2", CW_OK, "glow"},
    {"lamp_running", "4", CW_OK, "on"},
    {"lamp_running", "lit", CW_OK, "on"},
    {"lamp_running", "can't tell", CW_OK, "can't tell"},
    {"lamp_running", "can\xE2\x80\x99t tell", CW_OK, "can't tell"},
    {"lamp_running", "Cannot tell", CW_OK, "can't tell"},
    {"lamp_running", "skip", CW_OK, "can't tell"},
    {"lamp_running", "don't know", CW_OK, "can't tell"},
    /* near ones are offered, never taken */
    {"lamp_running", "glwo", CW_UNCLEAR, "glow"},
    {"lamp_running", "flikcer", CW_UNCLEAR, "flicker"},
    {"lamp_running", "cant tel", CW_UNCLEAR, "can't tell"},
    {"lamp_running", "dimly", CW_UNCLEAR, "glow"},
    {"lamp_running", "it only glows dimly", CW_UNCLEAR, "glow"},
    /* two that begin so, none that is near, nothing */
    {"lamp_running", "o", CW_UNCLEAR, NULL},
    {"lamp_running", "b", CW_UNCLEAR, NULL},
    {"lamp_running", "purple", CW_BAD_INPUT, NULL},
    {"lamp_running", "5", CW_BAD_INPUT, NULL},
    {"lamp_running", "0", CW_BAD_INPUT, NULL},
    {"lamp_running", "", CW_BAD_INPUT, NULL},
    {"lamp_running", "   ", CW_BAD_INPUT, NULL},
    {"lamp_running", ".", CW_BAD_INPUT, NULL},
    {"lamp_running", "gl\xFFow", CW_BAD_INPUT, NULL},
    {"lead_style", "double", CW_OK, "twin"},
    {"lead_style", "none", CW_OK, "none"},
    {"lead_style", "no", CW_UNCLEAR, "none"}, /* an answer to another question */
    {"fitted_ago", "y", CW_UNCLEAR, "years"},
    {"fitted_ago", "ye", CW_OK, "years"},
    /* yes or no */
    {"squeal", "yes", CW_OK, "yes"},
    {"squeal", "Y", CW_OK, "yes"},
    {"squeal", "yep", CW_OK, "yes"},
    {"squeal", "n", CW_OK, "no"},
    {"squeal", "No.", CW_OK, "no"},
    {"squeal", "1", CW_OK, "yes"},
    {"squeal", "2", CW_OK, "no"},
    {"squeal", "yse", CW_UNCLEAR, "yes"},
    {"squeal", "perhaps", CW_BAD_INPUT, NULL},
    /* counts */
    {"rib_count", "6", CW_OK, "6"},
    {"rib_count", "six", CW_OK, "6"},
    {"rib_count", "10", CW_OK, "10"},
    {"rib_count", "0", CW_BAD_INPUT, NULL},
    {"rib_count", "none", CW_BAD_INPUT, NULL},
    {"rib_count", "11", CW_BAD_INPUT, NULL},
    {"rib_count", "-3", CW_BAD_INPUT, NULL},
    {"rib_count", "5.5", CW_BAD_INPUT, NULL},
    {"rib_count", "6 mm", CW_BAD_INPUT, NULL},
    {"rib_count", "99999999999999999999", CW_BAD_INPUT, NULL},
    {"rib_count", "seven", CW_OK, "7"},
    {"rib_count", "sevn", CW_UNCLEAR, "seven"},
    {"rib_count", "many", CW_BAD_INPUT, NULL},
    {"rib_count", "no idea", CW_OK, "can't tell"},
    /* stamped text */
    {"marking", "T9412", CW_OK, "T9412"},
    {"marking", "  T9412 ", CW_OK, "T9412"},
    {"marking", "can't tell", CW_OK, "can't tell"},
    /* measures */
    {"bolt_spacing", "5 1/4 in", CW_OK, "133.35 mm"},
    {"bolt_spacing", "5 1/4\"", CW_OK, "133.35 mm"},
    {"bolt_spacing", "13,3 cm", CW_OK, "133 mm"},
    {"bolt_spacing", "112", CW_OK, "112 mm"},
    {"bolt_spacing", "about 112 mm", CW_OK, "112 mm"},
    {"bolt_spacing", "112 mm caliper", CW_OK, "112 mm"},
    {"bolt_spacing", "112 mm with a caliper", CW_OK, "112 mm"},
    {"bolt_spacing", "60 mm", CW_OK, "60 mm"},
    {"bolt_spacing", "200", CW_OK, "200 mm"},
    {"bolt_spacing", "skip", CW_OK, "can't tell"},
    {"bolt_spacing", "5.25", CW_UNCLEAR, "5.25 in"},
    {"bolt_spacing", "5 1/4", CW_UNCLEAR, "5 1/4 in"},
    {"bolt_spacing", "0.133", CW_UNCLEAR, "0.133 m"},
    {"bolt_spacing", "7", CW_UNCLEAR, NULL}, /* 7 cm or 7 in */
    {"bolt_spacing", "112 mn", CW_UNCLEAR, "112 mm"},
    {"bolt_spacing", "112 in", CW_BAD_INPUT, NULL},
    {"bolt_spacing", "59.9 mm", CW_BAD_INPUT, NULL},
    {"bolt_spacing", "1000000", CW_BAD_INPUT, NULL},
    {"bolt_spacing", "12 V", CW_BAD_INPUT, NULL},
    {"bolt_spacing", "wide", CW_BAD_INPUT, NULL},
    {"bolt_spacing", "1/0 in", CW_BAD_INPUT, NULL},
    {"bolt_spacing", "caliper", CW_BAD_INPUT, NULL},
    {"ripple", "450 mV", CW_OK, "0.45 V"},
    {"ripple", ".45 VAC", CW_OK, "0.45 V"},
    {"ripple", "450", CW_UNCLEAR, "450 mV"},
    {"volts_post", "14V4", CW_OK, "14.4 V"},
};

Test(answer, each_text_comes_to_what_it_must)
{
    cw_pack *pack = open_shop(NULL);
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++) {
        const reading *one = &readings[i];
        cw_session *session = start_shop(pack, "triage");
        cw_messages *messages;
        cw_status status = cw_session_answer(session, one->check, one->text, NULL, NULL, &messages);
        cr_expect_eq(status, one->status, "%s: \"%s\" gave %d", one->check, one->text, (int)status);
        if (status == CW_OK) {
            cr_expect_null(messages);
            cr_expect_str_eq(given(session, one->check)->value, one->value, "\"%s\"", one->text);
        } else {
            cr_expect_eq(cw_messages_errors(messages), 1, "%s: \"%s\"", one->check, one->text);
            cr_expect_null(given(session, one->check), "a wrong answer changes nothing");
            const char *suggestion = cw_session_suggestion(session);
            if (one->value == NULL)
                cr_expect_null(suggestion, "\"%s\" suggests %s", one->text, suggestion);
            else
                cr_expect(suggestion != NULL && strcmp(suggestion, one->value) == 0, "\"%s\" suggests %s",
                          one->text, suggestion != NULL ? suggestion : "nothing");
        }
        cw_messages_free(messages);
        cw_session_free(session);
    }
    cw_pack_free(pack);
}

/* What is suggested must be ready to be given. */
Test(answer, a_suggestion_can_be_given)
{
    cw_pack *pack = open_shop(NULL);
    for (size_t i = 0; i < sizeof readings / sizeof *readings; i++) {
        const reading *one = &readings[i];
        if (one->status != CW_UNCLEAR || one->value == NULL)
            continue;
        cw_session *session = start_shop(pack, "triage");
        tell(session, one->check, one->value);
        cr_expect_null(cw_session_suggestion(session));
        cw_session_free(session);
    }
    cw_pack_free(pack);
}

static void expect_message(const char *check, const char *text, const char *whole)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    cw_messages *messages;
    cw_session_answer(session, check, text, NULL, NULL, &messages);
    cr_assert_eq(cw_messages_count(messages), 1);
    cr_expect_str_eq(cw_messages_at(messages, 0)->rendered, whole);
    cw_messages_free(messages);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(answer, messages_show_the_spot_and_help)
{
    expect_message("lamp_running", "glwo",
                   "answer:1:1: error: 'glwo' is not among the answers here\n"
                   "    1 | glwo\n"
                   "      | ^~~~\n"
                   "help: did you mean 'glows dimly'?\n");
    expect_message("lamp_running", "o",
                   "answer:1:1: error: 'o' could be 'goes out' or 'stays fully on'\n"
                   "    1 | o\n"
                   "      | ^\n"
                   "help: say a little more\n");
    expect_message("bolt_spacing", "5.25",
                   "answer:1:1: error: 5.25 mm is outside 60 mm to 200 mm, so it must be in another unit\n"
                   "    1 | 5.25\n"
                   "      | ^~~~\n"
                   "help: did you mean 5.25 in?\n");
    expect_message("bolt_spacing", "about 7",
                   "answer:1:7: error: 7 mm is outside 60 mm to 200 mm, so it must be in another unit\n"
                   "    1 | about 7\n"
                   "      |       ^\n"
                   "help: did you mean 7 cm or 7 in?\n");
    expect_message("bolt_spacing", "112 V",
                   "answer:1:1: error: this is a voltage; a length is wanted\n"
                   "    1 | 112 V\n"
                   "      | ^~~~~\n"
                   "help: give it in mm\n");
    expect_message("rib_count", "11",
                   "answer:1:1: error: '11' is outside what is possible here\n"
                   "    1 | 11\n"
                   "      | ^~\n"
                   "help: a whole number from 1 to 10, or can't tell\n");
}

/* Every code about answers is provoked by some answer. */
static const struct {
    const char *code, *check, *text, *tool;
    cw_status status;
} codes[] = {
    {"E300", "lead_style", "purple", NULL, CW_BAD_INPUT},
    {"E301", "rib_count", "many", NULL, CW_BAD_INPUT},
    {"E302", "bolt_spacing", "112 furlongs", NULL, CW_BAD_INPUT},
    {"E303", "bolt_spacing", "112 V", NULL, CW_BAD_INPUT},
    {"E304", "bolt_spacing", "3 mm", NULL, CW_BAD_INPUT},
    {"E305", "bolt_spacing", "5.25", NULL, CW_UNCLEAR},
    {"E306", "marking",
     "TTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTT"
     "TTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTTT"
     "T",
     NULL, CW_BAD_INPUT},
    {"E307", "marking", " ", NULL, CW_BAD_INPUT},
    {"E308", "marking", "N1111111111111111111111111111111111111111111111111111111111111111111x", NULL,
     CW_LIMIT},
    {"E309", "bolt_spacing", "112 mm", "eye", CW_BAD_INPUT},
};

Test(answer, each_code_is_given_by_some_answer)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        cw_messages *messages;
        cw_status status =
            cw_session_answer(session, codes[i].check, codes[i].text, codes[i].tool, NULL, &messages);
        cr_expect_eq(status, codes[i].status, "%s", codes[i].code);
        cr_assert_eq(cw_messages_count(messages), 1, "%s", codes[i].code);
        cr_expect_str_eq(cw_messages_at(messages, 0)->code, codes[i].code);
        cr_expect_eq(cw_messages_at(messages, 0)->kind, CW_MESSAGE_ERROR);
        cr_expect_null(given(session, codes[i].check), "nothing has changed");
        cw_messages_free(messages);
    }
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(answer, a_changed_answer_replaces_the_old_one)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "lamp_running", "glow");
    tell(session, "squeal", "no");
    tell(session, "lamp_running", "on");
    const cw_given *list;
    size_t count;
    cr_assert_eq(cw_session_answers(session, &list, &count), CW_OK);
    cr_assert_eq(count, 2);
    cr_expect_str_eq(list[0].check, "lamp_running");
    cr_expect_str_eq(list[0].value, "on");
    cr_expect_str_eq(list[0].shown, "stays fully on");
    cr_expect_str_eq(list[1].check, "squeal");
    cr_assert_eq(cw_session_withdraw(session, "lamp_running"), CW_OK);
    cr_assert_eq(cw_session_answers(session, &list, &count), CW_OK);
    cr_assert_eq(count, 1);
    cr_expect_eq(cw_session_withdraw(session, "lamp_running"), CW_NOT_FOUND);
    cr_expect_eq(cw_session_withdraw(session, "no_such_check"), CW_NOT_FOUND);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(answer, tools_and_places_are_kept)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    cr_assert_eq(cw_session_answer(session, "bolt_spacing", "112 mm", "caliper", "bench", NULL), CW_OK);
    const cw_given *one = given(session, "bolt_spacing");
    cr_expect_str_eq(one->tool, "caliper");
    cr_expect_str_eq(one->place, "bench");
    cr_expect_str_eq(one->unit, "mm");
    cr_expect_eq(one->kind, CW_ANSWER_MEASURE);
    cr_expect_float_eq(one->number, 112, 0);
    tell(session, "bolt_spacing", "112 mm");
    cr_expect_str_eq(given(session, "bolt_spacing")->tool, "tape", "the first tool if none is said");
    tell(session, "bolt_spacing", "4 in by caliper");
    cr_expect_str_eq(given(session, "bolt_spacing")->tool, "caliper");
    tell(session, "rib_count", "5");
    cr_expect_float_eq(given(session, "rib_count")->number, 5, 0);
    cr_expect_null(given(session, "rib_count")->unit);
    cw_messages *messages;
    cr_expect_eq(cw_session_answer(session, "bolt_spacing", "112 mm", "calipr", NULL, &messages),
                 CW_BAD_INPUT);
    cr_expect_str_eq(cw_messages_at(messages, 0)->help, "did you mean 'caliper'?");
    cw_messages_free(messages);
    cr_expect_eq(cw_session_answer(session, "bolt_spacing", "112 mm", NULL, "conter", &messages),
                 CW_BAD_INPUT);
    cr_expect_str_eq(cw_messages_at(messages, 0)->help, "did you mean 'counter'?");
    cw_messages_free(messages);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(answer, a_callers_mistake_is_a_status)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    cr_expect_eq(cw_session_answer(session, "no_such", "1", NULL, NULL, NULL), CW_NOT_FOUND);
    cr_expect_eq(cw_session_answer(NULL, "squeal", "1", NULL, NULL, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_session_answer(session, NULL, "1", NULL, NULL, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_session_answer(session, "squeal", NULL, NULL, NULL, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_session_answer(session, "squeal", "perhaps", NULL, NULL, NULL), CW_BAD_INPUT,
                 "messages may be NULL");
    char longest[1000];
    memset(longest, 'T', sizeof longest - 1);
    longest[200] = '\0';
    cr_expect_eq(cw_session_answer(session, "marking", longest, NULL, NULL, NULL), CW_OK);
    longest[200] = 'T';
    longest[999] = '\0';
    cr_expect_eq(cw_session_answer(session, "marking", longest, NULL, NULL, NULL), CW_BAD_INPUT);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* A plain number that is measured has no unit. */
Test(answer, a_ratio_needs_no_unit)
{
    const char *folders[] = {CW_SOURCE_DIR "/rules/charging-basics"};
    cw_messages *messages;
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, &messages, &pack), CW_OK);
    cw_session *session = start_shop(pack, "triage");
    static const struct {
        const char *text;
        cw_status status;
        const char *help;
    } told[] = {{"2.5", CW_OK, NULL},
                {"250 %", CW_OK, NULL},
                {"2.5 mm", CW_BAD_INPUT, "give the number alone"},
                {"250", CW_UNCLEAR, "did you mean 250 %?"},
                {"70 %", CW_BAD_INPUT, "measure again; if it stays so, say: can't tell"}};
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) {
        cr_expect_eq(cw_session_answer(session, "drive_ratio", told[i].text, NULL, NULL, &messages),
                     told[i].status, "%s", told[i].text);
        if (told[i].help != NULL) {
            cr_assert_eq(cw_messages_count(messages), 1u);
            cr_expect_str_eq(cw_messages_at(messages, 0)->help, told[i].help);
        }
        cw_messages_free(messages);
    }
    const cw_given *ratio = given(session, "drive_ratio");
    cr_expect(ratio->unit == NULL && ratio->number == 2.5);
    cr_expect_str_eq(ratio->value, "2.5");
    cw_session_free(session);
    cw_pack_free(pack);
}
