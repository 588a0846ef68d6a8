#include "support.h"

/* True when some paragraph holds the words. */
static bool says(const char *const *paragraphs, size_t count, const char *words)
{
    for (size_t i = 0; i < count; i++) {
        if (strstr(paragraphs[i], words) != NULL)
            return true;
    }
    for (size_t i = 0; i < count; i++)
        cr_log_warn("%s", paragraphs[i]);
    return false;
}

Test(why, the_first_cause_is_told_as_a_foreman_would)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "ripple", "0.7 V");
    tell(session, "lamp_running", "flicker");
    tell(session, "squeal", "no");
    tell(session, "belt_feel", "firm");
    const char *const *why;
    size_t count;
    cr_assert_eq(cw_session_why(session, NULL, &why, &count), CW_OK);
    cr_expect_eq(strncmp(why[0], "Most likely: one rectifier diode open (", 39), 0, "%s", why[0]);
    cr_expect(says(why, count, "It is in the unit."));
    cr_expect(
        says(why, count,
             "For it: AC ripple: high, as AC ripple at the post shows: 0.7 V. A healthy bridge keeps the "
             "ripple below half a volt. (common practice) Without it: "));
    cr_expect(says(
        why, count,
        "Why not battery with a dead cell (29 %): AC ripple at the post (0.7 V) fits one rectifier diode "
        "open better."));
    cr_expect(says(why, count, "What would change this"));
    for (size_t i = 0; i < count; i++)
        cr_expect_null(strchr(why[i], '_'), "a name for machines: %s", why[i]);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(why, any_line_can_be_asked_for)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "ripple", "0.7 V");
    const char *const *why;
    size_t count;
    cr_assert_eq(cw_session_why(session, "cable_poor", &why, &count), CW_OK);
    cr_expect(says(why, count, "poor output cable"));
    cr_expect(says(why, count, "outside the unit, on the vehicle"));
    cr_expect_eq(cw_session_why(session, "no_such_cause", &why, &count), CW_NOT_FOUND);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(why, twins_are_owned_up_to)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    tell(session, "bolt_spacing", "112 mm");
    const char *const *why;
    size_t count;
    cr_assert_eq(cw_session_why(session, NULL, &why, &count), CW_OK);
    cr_expect(says(why, count, "Most likely: Tern, earlier regulator ("));
    cr_expect(says(why, count,
                   "no answer so far tells the two apart; Tern, earlier regulator is only the commoner."));
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(why, a_reading_in_doubt_is_said)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "ripple", "0.51 V");
    const char *const *why;
    size_t count;
    cr_assert_eq(cw_session_why(session, NULL, &why, &count), CW_OK);
    cr_expect(says(why, count, "Counts neither way, the reading being too near a limit: AC ripple: high."));
    cw_session_free(session);
    cw_pack_free(pack);
}
