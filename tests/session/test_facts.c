#include "support.h"
#include "support/random.h"

Test(facts, a_conclusion_names_rule_reason_and_reading)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "ripple", "0.7 V");
    const cw_fact_info *fact = concluded(session, "ripple_state");
    cr_assert_not_null(fact);
    cr_expect_str_eq(fact->value, "high");
    cr_expect_str_eq(fact->title, "AC ripple");
    cr_expect_str_eq(fact->rule, "ripple_is_high");
    cr_expect_str_eq(fact->because, "A healthy bridge keeps the ripple below half a volt.");
    cr_assert_eq(fact->from_count, 1);
    cr_expect_str_eq(fact->from[0], "AC ripple at the post: 0.7 V");
    cr_expect_str_eq(fact->from_facts[0], "ripple");
    cr_expect_not(fact->from_absent[0]);
    cr_expect_not(fact->doubtful);
    cr_expect_not(fact->contested);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(facts, a_reading_too_near_its_limit_is_doubtful)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "ripple", "0.51 V");
    const cw_fact_info *list;
    size_t count;
    cr_assert_eq(cw_session_facts(session, &list, &count), CW_OK);
    cr_assert_eq(count, 2, "high may hold and normal may hold");
    cr_expect(list[0].doubtful && list[1].doubtful);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(facts, a_chain_through_a_formula_comes_in_order)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "volts_post", "14.4 V");
    tell(session, "volts_battery", "13.2 V");
    const cw_fact_info *list;
    size_t count;
    cr_assert_eq(cw_session_facts(session, &list, &count), CW_OK);
    cr_assert_eq(count, 3, "the loss, the drop, the cable");
    size_t loss = 0;
    size_t cable = 0;
    for (size_t i = 0; i < count; i++) {
        loss = strcmp(list[i].fact, "line_loss") == 0 ? i : loss;
        cable = strcmp(list[i].fact, "cable_state") == 0 ? i : cable;
    }
    cr_expect_str_eq(list[loss].shown, "1.2 V");
    cr_expect_str_eq(list[cable].value, "poor");
    cr_expect_lt(loss, cable, "each after those it rests on");
    cr_assert_eq(list[loss].from_count, 2, "both must be known and both are read, which is told once");
    const char *const *lines;
    cr_assert_eq(cw_session_proof(session, "cable_state", &lines, &count), CW_OK);
    cr_assert_eq(count, 4);
    cr_expect_str_eq(lines[0], "Told: Volts at the post: 14.4 V.");
    cr_expect_str_eq(lines[1], "Told: Volts at the battery: 13.2 V.");
    cr_expect_str_eq(
        lines[3], "So Output cable: poor, from Volts lost between the unit and the battery: 1.2 V. More than "
                  "half a volt is lost in a poor cable or clamp. (common practice)");
    cr_assert_eq(cw_session_proof(session, "line_loss", &lines, &count), CW_OK);
    cr_expect_eq(count, 3);
    cr_assert_eq(cw_session_proof(session, "volts_post", &lines, &count), CW_OK);
    cr_expect_eq(count, 1);
    cr_expect_eq(cw_session_proof(session, "belt_state", &lines, &count), CW_NOT_FOUND,
                 "nothing is known of it");
    cr_expect_eq(cw_session_proof(session, "nonsense", &lines, &count), CW_NOT_FOUND);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(facts, an_inner_step_is_dissolved_into_what_it_asks)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "belt_feel", "slack");
    const cw_fact_info *fact = concluded(session, "belt_state");
    cr_assert_not_null(fact);
    cr_assert_eq(fact->from_count, 1);
    cr_expect_str_eq(fact->from[0], "Feel of the belt: slack");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(facts, at_least_two_rests_on_those_two)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "phase_hum[u]", "yes");
    tell(session, "phase_hum[v]", "no");
    cr_expect_null(concluded(session, "phases"));
    tell(session, "phase_hum[w]", "yes");
    const cw_fact_info *fact = concluded(session, "phases");
    cr_assert_not_null(fact);
    cr_assert_eq(fact->from_count, 2);
    cr_expect_str_eq(fact->from[0], "Hum of phase u: yes");
    cr_expect_str_eq(fact->from[1], "Hum of phase w: yes");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(facts, absences_are_said)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "fitted_ago", "years");
    const cw_fact_info *fact = concluded(session, "looks_sound");
    cr_assert_not_null(fact);
    cr_expect_str_eq(fact->value, "yes");
    cr_assert_eq(fact->from_count, 3);
    cr_expect_str_eq(fact->from[0], "Time since it was fitted: years ago");
    cr_expect_str_eq(fact->from[1], "no sign of Drop along the output cable above 1 V");
    cr_expect_str_eq(fact->from_facts[1], "cable_drop");
    cr_expect(fact->from_absent[1] && !fact->from_absent[0]);
    cr_expect_str_eq(fact->from[2], "no sign of Squeal on a cold start: yes, Shine on the belt: yes");
    cr_expect_null(fact->from_facts[2], "several facts together");
    tell(session, "cable_drop", "1.4 V");
    cr_expect_null(concluded(session, "looks_sound"));
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(facts, what_rests_on_a_conflict_is_contested)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "belt_glaze", "yes");
    cr_expect_not(concluded(session, "belt_wear")->contested);
    tell(session, "belt_feel", "firm");
    tell(session, "squeal", "no");
    cr_expect(concluded(session, "belt_wear")->contested);
    cw_session_free(session);
    cw_pack_free(pack);
}

static bool raises(cw_session *session, const char *name)
{
    const cw_caution_info *const *cautions;
    size_t count;
    cr_assert_eq(cw_session_cautions(session, &cautions, &count), CW_OK);
    for (size_t i = 0; i < count; i++) {
        if (strcmp(cautions[i]->name, name) == 0)
            return true;
    }
    return false;
}

Test(facts, cautions_are_raised_by_rules_and_fall_with_them)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    cr_expect_not(raises(session, "hot_belt"));
    tell(session, "belt_glaze", "yes");
    cr_expect(raises(session, "hot_belt"));
    tell(session, "belt_feel", "firm");
    cr_expect_not(raises(session, "hot_belt"), "none: {belt_feel: firm} no longer holds");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(facts, a_stop_caution_ends_the_advice)
{
    cw_pack *pack = open_shop(NULL);
    cw_session *session = start_shop(pack, "triage");
    tell(session, "high_volts", "yes");
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(session, 3, &ranking), CW_OK);
    cr_expect(ranking->stopped);
    cr_expect_eq(ranking->count, 0);
    cr_expect_eq(ranking->part_count, 0);
    cr_expect_eq(ranking->plan_count, 0);
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_CAUTION_STOPS);
    cr_expect_eq(next->count, 0);
    cr_expect_str_eq(next->stop_words, "Stop. Only qualified people work on this, by local law.");
    const char *const *why;
    size_t count;
    cr_assert_eq(cw_session_why(session, NULL, &why, &count), CW_OK);
    cr_assert_eq(count, 1);
    cr_expect_str_eq(why[0], next->stop_words);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Whatever was told, changed and withdrawn on the way, the state is that of a fresh session with the answers
 * left. */
static const struct {
    const char *check, *values[4];
} tellable[] = {
    {"lamp_running", {"off", "glow", "flicker", "on"}},
    {"squeal", {"yes", "no", "yes", "can't tell"}},
    {"ripple", {"0.1 V", "0.51 V", "0.7 V", "3 V"}},
    {"belt_feel", {"firm", "slack", "can't tell", "firm"}},
    {"belt_glaze", {"yes", "no", "yes", "no"}},
    {"volts_post", {"14.4 V", "13 V", "12.5 V", "15 V"}},
    {"volts_battery", {"14.3 V", "12.4 V", "13 V", "12 V"}},
    {"fitted_ago", {"years", "days", "days", "years"}},
};
enum { TELLABLE = sizeof tellable / sizeof *tellable };

static void expect_same(cw_session *a, cw_session *b)
{
    const cw_fact_info *x;
    const cw_fact_info *y;
    size_t n;
    size_t m;
    cr_assert_eq(cw_session_facts(a, &x, &n), CW_OK);
    cr_assert_eq(cw_session_facts(b, &y, &m), CW_OK);
    cr_assert_eq(n, m);
    for (size_t i = 0; i < n; i++) {
        bool found = false;
        for (size_t k = 0; k < m; k++)
            found = found || (strcmp(x[i].fact, y[k].fact) == 0 && strcmp(x[i].value, y[k].value) == 0 &&
                              x[i].doubtful == y[k].doubtful && x[i].contested == y[k].contested);
        cr_assert(found, "%s = %s", x[i].fact, x[i].value);
    }
    const cw_ranking *p;
    const cw_ranking *q;
    cr_assert_eq(cw_session_ranking(a, 0, &p), CW_OK);
    cr_assert_eq(cw_session_ranking(b, 0, &q), CW_OK);
    cr_assert_eq(p->count, q->count);
    for (size_t i = 0; i < p->count; i++) {
        cr_assert_str_eq(p->lines[i].id, q->lines[i].id);
        cr_assert_float_eq(p->lines[i].probability, q->lines[i].probability, 0, "to the last bit");
    }
}

Test(facts, change_and_withdrawal_equal_a_fresh_session)
{
    cw_pack *pack = open_shop(NULL);
    random_state random = random_start(20261125);
    for (int round = 0; round < 60; round++) {
        const char *left[TELLABLE] = {NULL};
        cw_session *lived = start_shop(pack, "triage");
        for (int step = 0; step < 25; step++) {
            uint32_t at = random_below(&random, TELLABLE);
            uint32_t what = random_below(&random, 6);
            if (what < 4) {
                left[at] = tellable[at].values[what];
                tell(lived, tellable[at].check, left[at]);
            } else {
                cr_assert_eq(cw_session_withdraw(lived, tellable[at].check),
                             left[at] != NULL ? CW_OK : CW_NOT_FOUND);
                left[at] = NULL;
            }
        }
        cw_session *fresh = start_shop(pack, "triage");
        for (size_t i = TELLABLE; i-- > 0;) {
            if (left[i] != NULL)
                tell(fresh, tellable[i].check, left[i]);
        }
        expect_same(lived, fresh);
        cw_session_free(fresh);
        cw_session_free(lived);
    }
    cw_pack_free(pack);
}

/* The shipped rules that call the bench, each outcome by hand, and one of them in its words. */
Test(facts, what_the_shipped_rules_work_out)
{
    static const struct {
        const char *fact, *shown;
        const char *told[10];
    } known[] = {
        /* 2.6 x (234.5 + 20) / (234.5 + 52) = 2.3096 */
        {"rotor_ohms_20", "2.31 ohm", {"ring_to_ring", "2.6 ohm", "winding_temperature", "52 degC"}},
        /* 13.0 + 0.1 x (70 - 25) / 10 */
        {"charge_volts", "13.45 V", {"volts_2000", "13.0 V", "ambient", "70 degC"}},
        /* a half, and 0.06 of the 0.21 V to three quarters: 0.5 + 0.25 x 0.06 / 0.21 */
        {"charge_left", "57.1 %", {"battery_rest", "12.3 V"}},
        /* each 12.3 V */
        {"charge_left", "57.1 %", {"battery_rest", "24.6 V", "system_voltage", "24_v"}},
        /* 30 Ah / 80 mA = 375 h */
        {"days_to_half", "15.63 d", {"keyoff_total", "80 mA"}},
        /* 45 Ah / 80 mA = 562.5 h */
        {"days_to_half", "23.4 d", {"keyoff_total", "80 mA", "battery_capacity", "90 Ah"}},
        /* 17.241e-9 x (1 + 0.00393 x 20) x 2 m / 25 mm2 x 40 A = 0.0595; 0.45 less that */
        {"joints_drop",
         "0.39 V",
         {"drop_pos", "0.45 V", "drop_amps", "40 A", "cable_area", "25 mm2", "cable_length", "2 m"}},
        /* 285 Hz x 60 / 6; 1 - 2850 / (1200 x 2.5) */
        {"rotor_rpm", "2850 rpm", {"tach_hertz", "285 Hz", "pole_pairs", "6"}},
        {"test_rotor_rpm", "3000 rpm", {"test_rpm", "1200 rpm", "drive_ratio", "2.5"}},
    };
    const char *folders[] = {CW_SOURCE_DIR "/rules/charging-basics"};
    cw_messages *messages;
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, folders, 1, &messages, &pack), CW_OK);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        cw_session *session = start_shop(pack, "triage");
        for (size_t k = 0; k < 10 && known[i].told[k] != NULL; k += 2)
            tell(session, known[i].told[k], known[i].told[k + 1]);
        const cw_fact_info *fact = concluded(session, known[i].fact);
        cr_assert_not_null(fact, "%s", known[i].fact);
        cr_expect_str_eq(fact->shown, known[i].shown, "%s is %s", known[i].fact, fact->shown);
        cw_session_free(session);
    }
    cw_session *session = start_shop(pack, "teardown");
    tell(session, "ring_to_ring", "2.6 ohm");
    tell(session, "winding_temperature", "52 degC");
    const char *const *lines;
    size_t count;
    cr_assert_eq(cw_session_proof(session, "rotor_ohms_20", &lines, &count), CW_OK);
    cr_assert_eq(count, 3);
    cr_expect_str_eq(lines[2],
                     "So Rotor ohms corrected to 20 \xC2\xB0"
                     "C: 2.31 ohm, from Rotor ohms ring to ring: 2.6 ohm and Temperature of the winding: "
                     "52 degC. Data are given at 20 \xC2\xB0"
                     "C; a warm winding of copper reads more. (IEC 60028, copper, by the rule of 234.5 "
                     "\xC2\xB0"
                     "C)");
    cw_session_free(session);
    cw_pack_free(pack);
}
