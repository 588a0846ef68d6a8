/* The open unit, part by part: verdicts, what is left to measure, later parts, money, and what is explained.
 */
#include "support.h"
#include "support/failing.h"
#include "support/random.h"
#include <stdio.h>
#include <stdlib.h>

static cw_pack *open_opened(const cw_settings *settings)
{
    const char *folders[] = {CW_SOURCE_DIR "/tests/session/opened"};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(settings, folders, 1, &messages, &pack), CW_OK);
    cr_assert_null(messages, "it must load without a warning");
    return pack;
}

static const cw_work_part *part_of(cw_session *session, const char *part)
{
    const cw_work_part *list;
    size_t count;
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        if (strcmp(list[i].part, part) == 0)
            return &list[i];
    cr_assert_fail("no work on %s", part);
    return NULL;
}

static cw_work_sum sum_of(cw_session *session)
{
    const cw_work_sum *sum;
    cr_assert_eq(cw_session_work_sum(session, &sum), CW_OK);
    return *sum;
}

Test(work, before_anything_is_measured_all_is_open_but_what_is_always_changed)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    const cw_work_part *list;
    size_t count;
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    const char *const names[] = {"bearing", "brushes", "rotor", "slip_rings"};
    cr_assert_eq(count, 4u, "no later part for its own sake, no belt");
    for (size_t i = 0; i < count; i++)
        cr_expect_str_eq(list[i].part, names[i]);
    const cw_work_part *rings = part_of(session, "slip_rings");
    cr_expect_str_eq(rings->verdict, "open");
    cr_expect_null(rings->so_far);
    cr_expect_null(rings->why);
    const char *const measures[] = {"ring_groove[inner]", "ring_groove[outer]", "ring_diameter",
                                    "ring_run_out"};
    cr_assert_eq(rings->measure_count, 4u);
    for (size_t i = 0; i < 4; i++)
        cr_expect_str_eq(rings->measure[i]->name, measures[i]);
    cr_expect_eq(rings->untold_count, 0u);
    const cw_work_part *brushes = part_of(session, "brushes");
    cr_expect_str_eq(brushes->verdict, "replace");
    cr_expect(brushes->always);
    cr_expect_eq(brushes->measure_count, 0u);
    cr_assert_eq(brushes->later_count, 2u);
    cr_expect_str_eq(brushes->later[0].part, "brushes_second");
    cr_expect_eq(brushes->later[0].cost, 0);
    cr_expect_str_eq(brushes->later[1].title, "Brush set, third design");
    cr_expect_eq(brushes->cost, 7.40);
    cw_work_sum sum = sum_of(session);
    cr_expect_eq(sum.replace, 2u);
    cr_expect_eq(sum.open, 2u);
    cr_expect_float_eq(sum.cost, 7.40, 1e-9);
    cr_expect_float_eq(sum.at_most, 7.40 + 18.50 + 95, 1e-9);
    cr_expect_eq(sum.without_price, 1u, "the bearing");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, the_worst_verdict_counts_and_is_named)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    tell(session, "ring_groove[inner]", "none");
    tell(session, "ring_groove[outer]", "light");
    tell(session, "ring_diameter", "15.6 mm");
    const cw_work_part *rings = part_of(session, "slip_rings");
    cr_expect_str_eq(rings->verdict, "open", "run-out could still make it worse");
    cr_expect_str_eq(rings->so_far, "rework");
    cr_assert_eq(rings->measure_count, 1u);
    cr_expect_str_eq(rings->measure[0]->name, "ring_run_out");
    tell(session, "ring_run_out", "0.01 mm");
    rings = part_of(session, "slip_rings");
    cr_expect_str_eq(rings->verdict, "rework");
    cr_expect_null(rings->so_far);
    cr_assert_not_null(rings->why);
    cr_expect_str_eq(rings->why->fact, "rings_by_groove[outer]");
    cr_expect_str_eq(rings->why->rule, "groove_light");
    cr_expect_str_eq(rings->why->because, "A light groove turns out.");
    cr_expect_str_eq(rings->why->source, "invented");
    cr_assert_eq(rings->why->from_count, 1u);
    cr_expect_str_eq(rings->why->from[0], "Groove of the outer ring: light");
    tell(session, "ring_diameter", "13.5 mm");
    rings = part_of(session, "slip_rings");
    cr_expect_str_eq(rings->verdict, "replace");
    cr_expect_str_eq(rings->why->fact, "rings_by_diameter");
    cr_expect_not(rings->doubtful);
    cr_expect_eq(rings->cost, 18.50);
    cr_expect_float_eq(sum_of(session).cost, 7.40 + 18.50, 1e-9);
    cr_expect_float_eq(sum_of(session).at_most, 7.40 + 18.50 + 95, 1e-9, "the rotor is open");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, a_reading_too_near_its_limit_is_said_as_doubtful)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    tell(session, "ring_groove[inner]", "none");
    tell(session, "ring_groove[outer]", "none");
    tell(session, "ring_run_out", "0.01 mm");
    tell(session, "ring_diameter", "14.01 mm");
    const cw_work_part *rings = part_of(session, "slip_rings");
    cr_expect_str_eq(rings->verdict, "replace", "rework or replace: the worse of them");
    cr_expect(rings->doubtful);
    cr_expect_not(rings->disputed);
    cr_expect_str_eq(rings->why->fact, "rings_by_diameter");
    cr_expect(rings->why->doubtful);
    cr_expect_eq(sum_of(session).doubtful, 1u);
    cr_expect_float_eq(sum_of(session).cost, 7.40, 1e-9, "not for sure");
    cr_expect_float_eq(sum_of(session).at_most, 7.40 + 18.50 + 95, 1e-9);
    tell(session, "ring_groove[outer]", "deep");
    rings = part_of(session, "slip_rings");
    cr_expect_not(rings->doubtful, "what is sure counts before what is doubtful");
    cr_expect_str_eq(rings->why->fact, "rings_by_groove[outer]");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, what_cannot_be_told_is_named)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    tell(session, "rotor_ohms", "can't tell");
    const cw_work_part *rotor = part_of(session, "rotor");
    cr_expect_str_eq(rotor->verdict, "open");
    cr_expect_eq(rotor->measure_count, 0u);
    cr_assert_eq(rotor->untold_count, 1u);
    cr_expect_str_eq(rotor->untold[0], "Rotor by resistance");
    tell(session, "ring_groove[inner]", "none");
    tell(session, "ring_groove[outer]", "can't tell");
    tell(session, "ring_diameter", "15.6 mm");
    tell(session, "ring_run_out", "0.01 mm");
    const cw_work_part *rings = part_of(session, "slip_rings");
    cr_expect_str_eq(rings->verdict, "reuse");
    cr_assert_eq(rings->untold_count, 1u);
    cr_expect_str_eq(rings->untold[0], "Slip rings by groove of the outer one");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, a_part_that_this_unit_has_not_is_left_out)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    const cw_work_part *list;
    size_t count;
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    cr_expect_eq(count, 4u, "nothing asked in teardown says which regulator it has");
    tell(session, "regulator_design", "first");
    tell(session, "smell", "no");
    const cw_work_part *regulator = part_of(session, "regulator_first");
    cr_assert_eq(regulator->measure_count, 1u);
    cr_expect_str_eq(regulator->measure[0]->name, "regulator_look");
    tell(session, "regulator_look", "can't tell");
    regulator = part_of(session, "regulator_first");
    cr_expect_str_eq(regulator->verdict, "open");
    cr_assert_eq(regulator->untold_count, 1u);
    cr_expect_str_eq(regulator->untold[0], "First regulator");
    tell(session, "regulator_look", "yes");
    cr_expect_str_eq(part_of(session, "regulator_first")->verdict, "replace");
    tell(session, "regulator_design", "second");
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    cr_expect_eq(count, 4u);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, verdicts_that_cannot_both_be_are_in_dispute)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    tell(session, "regulator_design", "first");
    tell(session, "regulator_look", "no");
    tell(session, "smell", "yes");
    const cw_work_part *regulator = part_of(session, "regulator_first");
    cr_expect_str_eq(regulator->verdict, "replace", "the worse of the two");
    cr_expect(regulator->disputed);
    cr_expect(regulator->doubtful);
    cr_assert_not_null(regulator->why);
    cr_expect_str_eq(regulator->why->rule, "first_regulator_smells");
    cr_expect_float_eq(sum_of(session).cost, 7.40, 1e-9, "not for sure");
    tell(session, "smell", "no");
    regulator = part_of(session, "regulator_first");
    cr_expect_str_eq(regulator->verdict, "reuse");
    cr_expect_not(regulator->disputed);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, a_caution_that_stops_says_nothing_of_the_parts)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    tell(session, "lamp", "on");
    tell(session, "high_volts", "yes");
    const cw_work_part *list;
    size_t count;
    const cw_explained *explained;
    const cw_next *next;
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    cr_expect_eq(count, 0u);
    cr_assert_eq(cw_session_explained(session, &explained), CW_OK);
    cr_expect_eq(explained->count, 0u);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_CAUTION_STOPS);
    cr_expect_eq(next->count, 0u);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, asked_part_by_part)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    const char *const order[] = {"rotor_ohms", "ring_groove[inner]", "ring_groove[outer]", "ring_diameter",
                                 "ring_run_out"};
    const char *const answers[] = {"3 ohm", "none", "none", "16 mm", "0.01 mm"};
    for (size_t i = 0; i < 5; i++) {
        const cw_next *next;
        cr_assert_eq(cw_session_next(session, &next), CW_OK);
        cr_assert_eq(next->stop, CW_GO_ON);
        cr_expect_str_eq(next->checks[0].check->name, order[i]);
        cr_expect_str_eq(next->checks[0].place, "teardown");
        cr_expect_str_eq(next->checks[0].part, i == 0 ? "rotor" : "slip_rings");
        cr_expect_str_eq(next->checks[0].why, i == 0 ? "Reuse, rework or replace the rotor?"
                                                     : "Reuse, rework or replace the slip rings?");
        tell(session, order[i], answers[i]);
    }
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    for (size_t i = 0; i < next->count; i++)
        cr_expect_null(next->checks[i].part, "%s", next->checks[i].check->name);
    cw_session_free(session);
    cw_pack_free(pack);
}

static const cw_finding *finding(const cw_explained *all, const char *fact)
{
    for (size_t i = 0; i < all->count; i++)
        if (strcmp(all->findings[i].fact, fact) == 0)
            return &all->findings[i];
    return NULL;
}

Test(work, which_findings_are_explained)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    const cw_explained *all;
    cr_assert_eq(cw_session_explained(session, &all), CW_OK);
    cr_expect_eq(all->count, 0u);
    cr_expect_not(all->explained, "there is nothing to explain");
    tell(session, "lamp", "on");
    tell(session, "noise", "no");
    tell(session, "brush_length", "3 mm");
    cr_assert_eq(cw_session_explained(session, &all), CW_OK);
    cr_assert_eq(all->count, 2u, "the noise is normal, the length counts through the state of the brushes");
    cr_expect(all->explained);
    cr_expect_str_eq(finding(all, "lamp")->cause, "brushes_worn");
    cr_expect_str_eq(finding(all, "lamp")->shown, "stays fully on");
    cr_expect_str_eq(finding(all, "brush_state")->cause_title, "Brushes worn down");
    cr_expect_geq(finding(all, "lamp")->probability, 0.5);
    tell(session, "dead_radio", "yes");
    cr_assert_eq(cw_session_explained(session, &all), CW_OK);
    cr_expect_str_eq(finding(all, "dead_radio")->cause, "brushes_worn",
                     "seldom, but twenty times as often as with nothing wrong");
    cr_expect(all->explained);
    tell(session, "smell", "yes");
    tell(session, "squeal", "yes");
    cr_assert_eq(cw_session_explained(session, &all), CW_OK);
    cr_expect_eq(all->unexplained, 2u);
    cr_expect_not(all->explained);
    cr_expect_null(finding(all, "smell")->cause, "rarely is too little");
    cr_expect_not(finding(all, "smell")->explained);
    cr_expect_str_eq(finding(all, "squeal")->cause, "belt_slipping");
    /* prior 0.02; the sign 0.85 beside a background of 0.30 */
    const double shows = 1 - 0.15 * 0.70;
    cr_expect_float_eq(finding(all, "squeal")->probability, 0.02 * shows / (0.02 * shows + 0.98 * 0.30),
                       1e-9);
    cr_expect_not(finding(all, "squeal")->explained, "it can, but is not likely there");
    tell(session, "lamp", "glow");
    cr_assert_eq(cw_session_explained(session, &all), CW_OK);
    cr_expect_null(finding(all, "lamp")->cause, "worn brushes make it stay on, not glow");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, verdicts_do_not_move_the_ranking)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "teardown");
    tell(session, "lamp", "on");
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    double before[8];
    size_t count = ranking->count;
    for (size_t i = 0; i < count; i++)
        before[i] = ranking->lines[i].probability;
    tell(session, "ring_diameter", "13 mm");
    tell(session, "rotor_ohms", "900 ohm");
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    for (size_t i = 0; i < count; i++)
        cr_expect_eq(ranking->lines[i].probability, before[i]);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(work, nothing_where_units_are_ranked)
{
    cw_pack *pack = open_opened(NULL);
    cw_session *session = start_shop(pack, "identify");
    const cw_work_part *list;
    size_t count;
    const cw_explained *explained;
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    cr_expect_eq(count, 0u);
    cr_assert_eq(cw_session_explained(session, &explained), CW_OK);
    cr_expect_eq(explained->count, 0u);
    cr_expect_eq(cw_session_work(NULL, &list, &count), CW_BAD_CALL);
    cr_expect_eq(cw_session_work(session, NULL, &count), CW_BAD_CALL);
    cr_expect_eq(cw_session_work_sum(session, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_session_explained(session, NULL), CW_BAD_CALL);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Random readings, far from their limits, of a random part of the checks; the reference looks at the limits
 * themselves. 0 reuse .. 2 replace, -1 not measured. */
enum { RINGS = 4, READINGS = 5 };
typedef struct readings {
    char answer[READINGS][32];
    int verdict[READINGS]; /* the first four on the rings, the last on the rotor */
} readings;
static const char *const checks[READINGS] = {"ring_diameter", "ring_run_out", "ring_groove[inner]",
                                             "ring_groove[outer]", "rotor_ohms"};

static readings draw(random_state *random)
{
    static const double diameter[][2] = {{15.2, 29}, {14.2, 14.8}, {5, 13.8}};
    static const double run_out[][2] = {{0, 0.02}, {0.08, 0.17}, {0.23, 2}};
    static const char *const grooves[] = {"none", "light", "deep"};
    readings out;
    for (int i = 0; i < READINGS; i++)
        out.verdict[i] = (int)random_below(random, 4) - 1;
    if (out.verdict[4] == 1)
        out.verdict[4] = 0; /* no rule reworks a rotor */
    for (int i = 0; i < READINGS; i++) {
        int v = out.verdict[i];
        if (v < 0)
            continue;
        if (i == 0)
            snprintf(out.answer[i], 32, "%.2f mm", random_between(random, diameter[v][0], diameter[v][1]));
        else if (i == 1)
            snprintf(out.answer[i], 32, "%.3f mm", random_between(random, run_out[v][0], run_out[v][1]));
        else if (i < RINGS)
            snprintf(out.answer[i], 32, "%s", grooves[v]);
        else
            snprintf(out.answer[i], 32, "%.1f ohm",
                     v == 0 ? random_between(random, 2.8, 3.2) : random_between(random, 5, 900));
    }
    return out;
}

static cw_session *measured(const cw_pack *pack, const readings *given, random_state *random)
{
    cw_session *session = start_shop(pack, "teardown");
    int order[READINGS] = {0, 1, 2, 3, 4};
    for (uint32_t i = READINGS; i > 1; i--) {
        uint32_t k = random_below(random, i);
        int moved = order[i - 1];
        order[i - 1] = order[k];
        order[k] = moved;
    }
    for (int i = 0; i < READINGS; i++)
        if (given->verdict[order[i]] >= 0)
            tell(session, checks[order[i]], given->answer[order[i]]);
    return session;
}

static void holds_to_reference(cw_session *session, const char *part, const int *verdicts, int count)
{
    static const char *const words[] = {"reuse", "rework", "replace"};
    int worst = -1;
    size_t missing = 0;
    for (int i = 0; i < count; i++) {
        worst = verdicts[i] > worst ? verdicts[i] : worst;
        missing += verdicts[i] < 0;
    }
    const cw_work_part *found = part_of(session, part);
    bool open = worst < 2 && missing > 0;
    cr_assert_str_eq(found->verdict, open ? "open" : words[worst]);
    cr_assert_eq(found->measure_count, open ? missing : 0u);
    cr_assert_eq(found->so_far == NULL, !open || worst < 0);
    if (found->so_far != NULL)
        cr_assert_str_eq(found->so_far, words[worst]);
    cr_assert_eq(found->why == NULL, worst < 0);
    if (worst >= 0)
        cr_assert_str_eq(found->why->value, words[worst], "the conclusion named is the one that counts");
    cr_assert_not(found->doubtful);
}

static void all_of_it(cw_session *session, char *out, size_t size)
{
    const cw_work_part *list;
    size_t count, at = 0;
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    for (size_t i = 0; i < count; i++) {
        at += (size_t)snprintf(out + at, size - at, "%s %s %s %s %d:", list[i].part, list[i].verdict,
                               list[i].so_far != NULL ? list[i].so_far : "-",
                               list[i].why != NULL ? list[i].why->fact : "-", list[i].doubtful);
        for (size_t k = 0; k < list[i].measure_count; k++)
            at += (size_t)snprintf(out + at, size - at, " %s", list[i].measure[k]->name);
    }
    cw_work_sum sum = sum_of(session);
    snprintf(out + at, size - at, "%zu %zu %zu %zu %.6f %.6f", sum.reuse, sum.rework, sum.replace, sum.open,
             sum.cost, sum.at_most);
}

Test(work, the_worst_counts_whatever_the_readings_and_their_order)
{
    cw_pack *pack = open_opened(NULL);
    random_state random = random_start(20261125);
    for (int round = 0; round < 300; round++) {
        readings given = draw(&random);
        cw_session *one = measured(pack, &given, &random), *other = measured(pack, &given, &random);
        holds_to_reference(one, "slip_rings", given.verdict, RINGS);
        holds_to_reference(one, "rotor", given.verdict + RINGS, 1);
        char first[2000], second[2000];
        all_of_it(one, first, sizeof first);
        all_of_it(other, second, sizeof second);
        cr_assert_str_eq(first, second, "round %d", round);
        cw_session_free(one);
        cw_session_free(other);
    }
    cw_pack_free(pack);
}

static cw_status ask_for_it(cw_session *session)
{
    const cw_work_part *list;
    size_t count;
    const cw_work_sum *sum;
    const cw_explained *explained;
    const cw_next *next;
    cw_status status = cw_session_work(session, &list, &count);
    if (status == CW_OK)
        status = cw_session_work_sum(session, &sum);
    if (status == CW_OK)
        status = cw_session_explained(session, &explained);
    return status == CW_OK ? cw_session_next(session, &next) : status;
}

Test(work, every_request_for_memory_refused_once)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_opened(&settings);
    cw_session_free(start_shop(pack, "teardown")); /* what the first one makes for all stays with the pack */
    size_t held = failing_bytes(&memory);
    for (size_t allowed = 0;; allowed++) {
        cw_session *session = start_shop(pack, "teardown");
        tell(session, "lamp", "on");
        tell(session, "ring_groove[outer]", "light");
        tell(session, "ring_diameter", "14.01 mm");
        tell(session, "rotor_ohms", "can't tell");
        memory.allowed = allowed;
        memory.refused = false;
        cw_status status = ask_for_it(session);
        bool refused = memory.refused;
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK, "%zu allowed", allowed);
        cr_assert_eq(ask_for_it(session), CW_OK, "it goes on when there is memory again");
        cr_assert_str_eq(part_of(session, "slip_rings")->so_far, "replace");
        cw_session_free(session);
        cr_assert_eq(failing_bytes(&memory), held, "%zu allowed", allowed);
        if (!refused)
            break;
    }
    cw_pack_free(pack);
    cr_assert_eq(failing_bytes(&memory), 0u);
}

/* The list, and the questions: pulley and fan share a place, and the fan is quicker; the label says nothing
 * of it. */
Test(work, goes_through_the_unit_as_it_comes_apart)
{
    static const char *const parts[] = {"b_pulley", "e_fan", "c_brushes", "a_bearing", "d_label"};
    static const char *const asked[] = {"fan_looks", "pulley_looks", "bearing_feels", "label_reads"};
    const char *folder = CW_SOURCE_DIR "/tests/session/apart";
    cw_pack *pack;
    cr_assert_eq(cw_pack_open(NULL, &folder, 1, NULL, &pack), CW_OK);
    cw_session *session = start_shop(pack, "teardown");
    const cw_work_part *list;
    size_t count;
    cr_assert_eq(cw_session_work(session, &list, &count), CW_OK);
    cr_assert_eq(count, 5u);
    for (size_t i = 0; i < count; i++)
        cr_expect_str_eq(list[i].part, parts[i]);
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_assert_eq(next->count, 4u);
    for (size_t i = 0; i < next->count; i++)
        cr_expect_str_eq(next->checks[i].check->name, asked[i]);
    cw_session_free(session);
    cw_pack_free(pack);
}
