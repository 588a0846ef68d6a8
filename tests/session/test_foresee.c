/* What a check can give, and how likely it is. */
#include "support.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum { MOST = 200 };

/* Copied out: a list ends with the next change. */
typedef struct foreseen {
    char answer[64];
    double chance, low, high;
    size_t group;
} foreseen;

static size_t foresee(cw_session *session, const char *check, foreseen out[MOST])
{
    const cw_foreseen *list;
    size_t count;
    cr_assert_eq(cw_session_foresee(session, check, &list, &count), CW_OK, "%s", check);
    cr_assert_leq(count, MOST);
    for (size_t i = 0; i < count; i++) {
        out[i] = (foreseen){
            .chance = list[i].chance, .low = list[i].low, .high = list[i].high, .group = list[i].group};
        snprintf(out[i].answer, sizeof out[i].answer, "%s", list[i].answer);
    }
    return count;
}

static size_t chances(cw_session *session, const char *ids[MOST], double out[MOST])
{
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_lines(session, &ranking), CW_OK);
    for (size_t i = 0; i < ranking->count; i++) {
        ids[i] = ranking->lines[i].id;
        out[i] = ranking->lines[i].probability;
    }
    return ranking->count;
}

static double chance_of(cw_session *session, const char *id)
{
    const char *ids[MOST];
    double all[MOST];
    size_t count = chances(session, ids, all);
    for (size_t i = 0; i < count; i++)
        if (strcmp(ids[i], id) == 0)
            return all[i];
    return 0;
}

/* Law of total probability: what is believed now is what would be believed after each answer, weighed by how
 * likely the answer is. The right side comes from giving each answer and ranking. */
static void holds_for_all(cw_session *session, const char *check)
{
    static foreseen answers[MOST];
    static const char *ids[MOST];
    static double before[MOST], after[MOST];
    const size_t lines = chances(session, ids, before);
    const size_t count = foresee(session, check, answers);
    double sum = 0;
    memset(after, 0, sizeof after);
    for (size_t i = 0; i < count; i++) {
        sum += answers[i].chance;
        cr_expect_geq(answers[i].chance, 0);
        if (answers[i].chance == 0)
            continue;
        tell(session, check, answers[i].answer);
        for (size_t k = 0; k < lines; k++)
            after[k] += answers[i].chance * chance_of(session, ids[k]);
        cr_assert_eq(cw_session_withdraw(session, check), CW_OK);
    }
    cr_expect_float_eq(sum, 1, 1e-9, "%s: the chances come to %.12f", check, sum);
    for (size_t k = 0; k < lines; k++)
        cr_expect_float_eq(after[k], before[k], 1e-9, "%s, %s: %.12f, now %.12f", check, ids[k], after[k],
                           before[k]);
}

Test(foresee, beliefs_after_each_answer_make_up_what_is_believed_now)
{
    static const char *const folders[] = {CW_SOURCE_DIR "/rules/harbour-lane"};
    static const char *const told[][2] = {
        {"mount_style", "pad"}, {"pulley_ribs", "6"}, {"plug_pins_count", "3"}};
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, NULL, &pack), CW_OK);
    cw_session *session = start_shop(pack, "identify");
    for (size_t i = 0; i < 4; i++) {
        holds_for_all(session, "bolt_count");
        holds_for_all(session, "cooling");
        holds_for_all(session, "conductor_look");
        if (i < 3)
            tell(session, told[i][0], told[i][1]);
    }
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Pieces of a range follow each other without a gap, and each reading lies in its piece. */
Test(foresee, a_range_falls_into_pieces)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    static foreseen pieces[MOST];
    const size_t count = foresee(session, "bolt_spacing", pieces);
    double sum = 0;
    cr_assert_gt(count, 2);
    cr_expect_eq(pieces[0].low, -INFINITY);
    cr_expect_eq(pieces[count - 1].high, INFINITY);
    for (size_t i = 0; i < count; i++) {
        const double at = strtod(pieces[i].answer, NULL);
        sum += pieces[i].chance;
        cr_expect(at >= pieces[i].low && at <= pieces[i].high, "%s", pieces[i].answer);
        if (i > 0)
            cr_expect_eq(pieces[i].low, pieces[i - 1].high);
    }
    cr_expect_float_eq(sum, 1, 1e-9);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Ripple is read through rules: readings between the same limits come to the same. */
Test(foresee, readings_that_mean_the_same_are_one_group)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    static foreseen pieces[MOST];
    const size_t count = foresee(session, "ripple", pieces);
    double sum = 0;
    for (size_t i = 0; i < count; i++)
        sum += pieces[i].chance;
    cr_expect_float_eq(sum, 1, 1e-9);
    cr_assert_geq(count, 2);
    cr_expect_neq(pieces[0].group, pieces[count - 1].group);
    for (size_t i = 0; i < count; i++) {
        for (size_t k = i + 1; k < count; k++) {
            if (pieces[i].group != pieces[k].group)
                continue;
            tell(session, "ripple", pieces[i].answer);
            const double one = chance_of(session, "diode_open");
            tell(session, "ripple", pieces[k].answer);
            cr_expect_float_eq(one, chance_of(session, "diode_open"), 1e-12);
        }
    }
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(foresee, what_cannot_be_asked_is_refused)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "identify");
    const cw_foreseen *list;
    size_t count;
    cr_expect_eq(cw_session_foresee(session, "no_such_check", &list, &count), CW_NOT_FOUND);
    cr_expect_eq(cw_session_foresee(NULL, "ripple", &list, &count), CW_BAD_CALL);
    tell(session, "lead_style", "twin");
    cr_expect_eq(cw_session_foresee(session, "lead_style", &list, &count), CW_BAD_CALL);
    cr_assert_eq(cw_session_foresee(session, "belt_feel", &list, &count), CW_OK);
    cr_expect_eq(count, 0, "nothing told of the belt says which unit it is");
    cw_session_free(session);
    cw_pack_free(pack);
}
