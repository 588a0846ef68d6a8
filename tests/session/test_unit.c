/* Which unit is in hand: what the check `unit` takes, and what then holds. The facts beside each answer were
 * written down from the rules of the pack in_hand. */
#include "support.h"
#include <stdio.h>
#include <stdlib.h>

static cw_pack *open_folder(const char *folder)
{
    cw_pack *pack;
    cw_messages *messages;
    cw_status status = cw_pack_open(NULL, &folder, 1, &messages, &pack);
    cr_assert_eq(status, CW_OK, "%s",
                 cw_messages_count(messages) > 0 ? cw_messages_at(messages, 0)->rendered : "");
    cw_messages_free(messages);
    return pack;
}

static cw_pack *open_units(void)
{
    return open_folder(CW_SOURCE_DIR "/tests/session/in_hand");
}

static cw_session *start(const cw_pack *pack, const char *stage)
{
    cw_session *session;
    cr_assert_eq(cw_session_new(pack, stage, &session), CW_OK);
    return session;
}

static int by_text(const void *a, const void *b)
{
    return strcmp(a, b);
}

/* "either family=tern? ...": what is concluded, in order of the alphabet; yes is left out, doubt has a "?".
 */
static void facts_of(cw_session *session, char *out, size_t room)
{
    const cw_fact_info *facts;
    size_t count;
    char lines[40][80];
    cr_assert_eq(cw_session_facts(session, &facts, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        snprintf(lines[i], sizeof lines[i], "%s%s%s%s", facts[i].fact,
                 strcmp(facts[i].value, "yes") == 0 ? "" : "=",
                 strcmp(facts[i].value, "yes") == 0 ? "" : facts[i].value, facts[i].doubtful ? "?" : "");
    qsort(lines, count, sizeof lines[0], by_text);
    out[0] = '\0';
    for (size_t i = 0; i < count; i++) {
        size_t length = strlen(out);
        cr_assert_lt(length + strlen(lines[i]) + 2, room);
        sprintf(out + length, "%s%s", i == 0 ? "" : " ", lines[i]);
    }
}

static const struct {
    const char *unit, *facts;
} held[] = {
    {NULL, "other_plug"},
    {"tern_90", "either family=tern known_at_all ninety small"},
    {"tern_95", "family=tern known_at_all other_plug small"},
    /* only the frame is known: it may be the 90 */
    {"tern_small", "either? family=tern known_at_all ninety? other_plug? small"},
    {"tern_large", "family=tern known_at_all other_plug"},
    {"tern", "either? family=tern known_at_all ninety? other_plug? small?"},
    {"plover", "either known_at_all no_tern other_plug"},
    {"plover_70", "either known_at_all no_tern other_plug"},
    {"not_listed", "known_at_all no_tern other_plug strange"},
    {"can't tell", "other_plug"},
};

Test(unit, conditions_go_down_the_tree)
{
    cw_pack *pack = open_units();
    for (size_t i = 0; i < sizeof held / sizeof *held; i++) {
        cw_session *session = start(pack, "triage");
        char facts[600];
        cr_assert_eq(cw_session_answer(session, "lamp", "on", NULL, NULL, NULL), CW_OK);
        if (held[i].unit != NULL)
            cr_assert_eq(cw_session_answer(session, "unit", held[i].unit, NULL, NULL, NULL), CW_OK);
        facts_of(session, facts, sizeof facts);
        cr_expect_str_eq(facts, held[i].facts, "%s", held[i].unit);
        cw_session_free(session);
    }
    cw_pack_free(pack);
}

static const struct {
    const char *text;
    cw_status status;
    const char *value; /* what was taken, or what is offered */
} typed[] = {
    {"tern_90", CW_OK, "tern_90"},
    {" TERN 90 ", CW_OK, "tern_90"},
    {"Tern 90 A", CW_OK, "tern_90"},
    {"tern-90 a", CW_OK, "tern_90"},
    {"tern", CW_OK, "tern"}, /* a name goes before all that begins so */
    {"plover 7", CW_OK, "plover_70"},
    {"tern small", CW_OK, "tern_small"},
    {"not_listed", CW_OK, "not_listed"},
    {"not listed", CW_OK, "not_listed"},
    {"Unlisted", CW_OK, "not_listed"},
    {"none of them", CW_OK, "not_listed"},
    {"can't tell", CW_OK, "can't tell"},
    /* near ones are offered, never taken */
    {"tern_9O", CW_UNCLEAR, "tern_90"},
    {"Plovr", CW_UNCLEAR, "plover"},
    {"120 A", CW_UNCLEAR, "tern_120"},
    {"not lsited", CW_UNCLEAR, "not_listed"},
    /* several, none */
    {"tern 9", CW_UNCLEAR, NULL},
    {"frame", CW_UNCLEAR, NULL},
    {"albatross", CW_BAD_INPUT, NULL},
    {".", CW_BAD_INPUT, NULL},
    {"", CW_BAD_INPUT, NULL},
};

Test(unit, answers_as_typed)
{
    cw_pack *pack = open_units();
    for (size_t i = 0; i < sizeof typed / sizeof *typed; i++) {
        cw_session *session = start(pack, "identify");
        cw_messages *messages;
        cw_status status = cw_session_answer(session, "unit", typed[i].text, NULL, NULL, &messages);
        cr_expect_eq(status, typed[i].status, "'%s' gives %d", typed[i].text, (int)status);
        const cw_given *given;
        size_t count;
        cr_assert_eq(cw_session_answers(session, &given, &count), CW_OK);
        const char *got = count > 0 ? given[0].value : cw_session_suggestion(session);
        cr_expect(typed[i].value == NULL ? got == NULL : got != NULL && strcmp(got, typed[i].value) == 0,
                  "'%s' gives %s", typed[i].text, got);
        cw_messages_free(messages);
        cw_session_free(session);
    }
    cw_pack_free(pack);
}

static void expect_message(const char *text, const char *whole)
{
    cw_pack *pack = open_units();
    cw_session *session = start(pack, "identify");
    cw_messages *messages;
    cw_session_answer(session, "unit", text, NULL, NULL, &messages);
    cr_assert_eq(cw_messages_count(messages), 1);
    cr_expect_str_eq(cw_messages_at(messages, 0)->rendered, whole);
    cw_messages_free(messages);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(unit, messages_name_what_could_be_meant)
{
    expect_message("tern 9",
                   "answer:1:1: error: 'tern 9' could be 'Tern 90 A' (tern_90), 'Tern 95 A' (tern_95)\n"
                   "    1 | tern 9\n"
                   "      | ^~~~~~\n"
                   "help: say a little more\n");
    expect_message("Plovr", "answer:1:1: error: 'Plovr' is not among the answers here\n"
                            "    1 | Plovr\n"
                            "      | ^~~~~\n"
                            "help: did you mean 'Plover'?\n");
    expect_message("albatross", "answer:1:1: error: no unit of the packs is called 'albatross'\n"
                                "    1 | albatross\n"
                                "      | ^~~~~~~~~\n"
                                "help: a family, frame or version by its name or title, or: not listed\n");
}

Test(unit, it_is_told_like_any_other_answer)
{
    cw_pack *pack = open_units();
    cw_session *session = start(pack, "teardown");
    const cw_given *given;
    size_t count;
    cr_assert_eq(cw_session_answer(session, "unit", "Tern 90 A", NULL, "bench", NULL), CW_OK);
    cr_assert_eq(cw_session_answers(session, &given, &count), CW_OK);
    cr_assert_eq(count, 1u);
    cr_expect_str_eq(given[0].check, "unit");
    cr_expect_str_eq(given[0].title, "Unit in hand");
    cr_expect_eq(given[0].kind, CW_ANSWER_UNIT);
    cr_expect_str_eq(given[0].value, "tern_90");
    cr_expect_str_eq(given[0].shown, "Tern 90 A");
    cr_expect_str_eq(given[0].place, "bench");
    const cw_fact_info *facts;
    cr_assert_eq(cw_session_facts(session, &facts, &count), CW_OK);
    cr_expect_str_eq(facts[0].from[0], "Unit in hand: Tern 90 A");
    cr_expect_str_eq(facts[0].from_facts[0], "unit");
    cr_assert_eq(cw_session_answer(session, "unit", "not listed", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_answers(session, &given, &count), CW_OK);
    cr_expect_str_eq(given[0].shown, "not listed");
    cr_assert_eq(cw_session_withdraw(session, "unit"), CW_OK);
    cr_assert_eq(cw_session_answers(session, &given, &count), CW_OK);
    cr_expect_eq(count, 0u);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* It is found by ranking, so it is no question, at no stage, and tells nothing of the ranking itself. */
Test(unit, it_is_never_asked_and_ranks_nothing)
{
    static const char *const stages[] = {"identify", "triage", "teardown", "proof"};
    cw_pack *pack = open_units();
    for (size_t i = 0; i < 4; i++) {
        cw_session *session = start(pack, stages[i]);
        const cw_next *next;
        cr_assert_eq(cw_session_next(session, &next), CW_OK);
        for (size_t n = 0; n < next->count; n++)
            cr_expect_str_neq(next->checks[n].check->name, "unit");
        for (size_t n = 0; n < next->alike_count; n++)
            cr_expect(next->alike[n].tells == NULL || strcmp(next->alike[n].tells->name, "unit") != 0);
        cw_session_free(session);
    }
    cw_session *session = start(pack, "identify");
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    double before = ranking->lines[0].probability;
    cr_assert_eq(cw_session_answer(session, "unit", "plover_70", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    cr_expect_float_eq(ranking->lines[0].probability, before, 1e-12);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(unit, the_tree_is_listed_from_the_top)
{
    static const char *const names[] = {"plover",   "plover_70",  "tern",    "tern_large",
                                        "tern_120", "tern_small", "tern_90", "tern_95"};
    static const char *const above[] = {NULL,         "plover", NULL,         "tern",
                                        "tern_large", "tern",   "tern_small", "tern_small"};
    cw_pack *pack = open_units();
    cw_unit_entry unit;
    cr_assert_eq(cw_pack_units(pack), 8u);
    for (size_t i = 0; i < 8; i++) {
        cr_assert(cw_pack_unit_at(pack, i, &unit));
        cr_expect_str_eq(unit.name, names[i]);
        cr_expect(above[i] == NULL ? unit.above == NULL : strcmp(unit.above, above[i]) == 0, "%s", names[i]);
        cr_expect_eq(unit.version, strpbrk(names[i], "0123456789") != NULL);
    }
    cr_expect_not(cw_pack_unit_at(pack, 8, &unit));
    cr_expect_not(cw_pack_unit_at(pack, 0, NULL));
    cw_pack_free(pack);
}

/* -- What units say of themselves -- */

static const struct {
    const char *unit, *facts;
} said[] = {
    {"tern", "plug=oval pole_pairs=6 rated_current=90 A turns[u]=7"},
    {"tern_90", "plug=oval pole_pairs=6 rated_current=90 A turns[u]=7"},
    {"tern_95", "plug=oval pole_pairs=6 rated_current=95 A rotor=2.4 ohm rotor_class=strong turns[u]=7"},
    {"tern_late", "plug=round pole_pairs=6 rated_current=90 A turns[u]=7"},
    {"plover", "plug=oval rated_current=70 A"},
    {"not_listed", ""},
    {"can't tell", ""},
};

static cw_pack *open_rated(void)
{
    return open_folder(CW_SOURCE_DIR "/tests/session/rated");
}

Test(data, are_handed_down_and_the_nearest_counts)
{
    cw_pack *pack = open_rated();
    cw_session *session = start(pack, "teardown");
    char facts[600];
    for (size_t i = 0; i < sizeof said / sizeof *said;
         i++) { /* in one session: what was said before is gone */
        cr_assert_eq(cw_session_answer(session, "unit", said[i].unit, NULL, NULL, NULL), CW_OK);
        facts_of(session, facts, sizeof facts);
        cr_expect_str_eq(facts, said[i].facts, "%s", said[i].unit);
    }
    cw_session_free(session);
    cw_pack_free(pack);
}

static const cw_fact_info *fact_named(cw_session *session, const char *name)
{
    const cw_fact_info *fact = concluded(session, name);
    cr_assert_not_null(fact, "%s is not known", name);
    return fact;
}

Test(data, say_where_they_come_from)
{
    cw_pack *pack = open_rated();
    cw_session *session = start(pack, "proof");
    cr_assert_eq(cw_session_answer(session, "unit", "tern_95", NULL, NULL, NULL), CW_OK);
    const cw_fact_info *fact = fact_named(session, "rated_current");
    cr_expect_str_eq(fact->title, "Rated current");
    cr_expect_str_eq(fact->shown, "95 A");
    cr_expect_str_eq(fact->rule, "unit_data");
    cr_expect_str_eq(fact->because, "Its data say so.");
    cr_expect_str_eq(fact->source, "the maker's sheet, invented");
    cr_assert_eq(fact->from_count, 1u);
    cr_expect_str_eq(fact->from[0], "Unit in hand: Tern 95 A");
    cr_expect_str_eq(fact->from_facts[0], "unit");
    fact = fact_named(session, "plug");
    cr_expect_str_eq(fact->shown, "oval plug");
    cr_expect_str_eq(fact->from[0], "Unit in hand: Tern 95 A");
    cr_assert_eq(cw_session_answer(session, "unit", "tern_late", NULL, NULL, NULL), CW_OK);
    cr_expect_str_eq(fact_named(session, "plug")->source, "a later sheet, invented");
    const char *const *lines;
    size_t count;
    cr_assert_eq(cw_session_proof(session, "rated_current", &lines, &count), CW_OK);
    cr_assert_eq(count, 2u);
    cr_expect_str_eq(lines[0], "Told: Unit in hand: Tern, later.");
    cr_expect_str_eq(lines[1], "So Rated current: 90 A, from Unit in hand: Tern, later. Its data say so. (the "
                               "maker's sheet, invented)");
    cw_session_free(session);
    cw_pack_free(pack);
}

/* A rule takes data like any other fact, with their errors. */
Test(data, rules_go_by_them)
{
    cw_pack *pack = open_rated();
    cw_session *session = start(pack, "proof");
    cr_assert_eq(cw_session_answer(session, "unit", "plover", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_answer(session, "amps", "67 A", NULL, NULL, NULL), CW_OK);
    cr_expect_str_eq(fact_named(session, "shortfall")->value, "3 A");
    cr_expect_str_eq(fact_named(session, "enough_amps")->value, "enough");
    /* 2.4 ohm +/- 0.1 ohm stands for a standard deviation of 0.05 ohm, and the limit of 2.3 ohm is two away
     */
    cr_assert_eq(cw_session_answer(session, "unit", "tern_95", NULL, NULL, NULL), CW_OK);
    cr_expect_not(fact_named(session, "rotor_class")->doubtful);
    cr_expect_str_eq(fact_named(session, "rotor")->value, "2.4 ohm");
    cw_session_free(session);
    cw_pack_free(pack);
}

/* What the unit says and what somebody reads off it can part ways: neither is silently right. */
Test(data, another_answer_is_a_conflict)
{
    cw_pack *pack = open_rated();
    cw_session *session = start(pack, "proof");
    const cw_conflict_info *conflicts;
    size_t count;
    cr_assert_eq(cw_session_answer(session, "unit", "tern_95", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_answer(session, "rotor", "2.45 ohm", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_answer(session, "plug", "oval", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_conflicts(session, &conflicts, &count), CW_OK);
    cr_expect_eq(count, 0u, "both are as near as readings come");
    cr_assert_eq(cw_session_answer(session, "rotor", "3.9 ohm", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_answer(session, "plug", "round", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_conflicts(session, &conflicts, &count), CW_OK);
    cr_assert_eq(count, 2u);
    cr_expect_str_eq(conflicts[0].fact, "plug");
    cr_expect_str_eq(conflicts[1].fact, "rotor");
    cr_assert_eq(conflicts[1].side_count, 2u);
    cr_expect_null(conflicts[1].sides[0].rule, "the reading");
    cr_expect_str_eq(conflicts[1].sides[1].rule, "unit_data");
    cw_session_free(session);
    cw_pack_free(pack);
}

/* What the unit says is not asked. */
Test(data, answer_their_checks)
{
    cw_pack *pack = open_rated();
    cw_session *session = start(pack, "identify");
    const cw_next *next;
    cr_assert_eq(cw_session_answer(session, "unit", "tern_95", NULL, NULL, NULL), CW_OK);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    for (size_t i = 0; i < next->count; i++)
        cr_expect_str_neq(next->checks[i].check->name, "plug");
    cw_session_free(session);
    cw_pack_free(pack);
}
