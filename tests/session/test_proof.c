/* The proof sheet: what is asked, what a line comes to, what the whole sheet does. */
#include "support.h"
#include "support/failing.h"
#include "support/random.h"
#include <stdio.h>

static cw_pack *open_bench(const cw_settings *settings)
{
    const char *folders[] = {CW_SOURCE_DIR "/tests/session/proving"};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cr_assert_eq(cw_pack_open(settings, folders, 1, &messages, &pack), CW_OK);
    cr_assert_null(messages, "it must load without a warning");
    return pack;
}

static const cw_proof_line *line_of(cw_session *session, const char *fact)
{
    const cw_proof_line *list;
    size_t count;
    cr_assert_eq(cw_session_proof_lines(session, &list, &count), CW_OK);
    for (size_t i = 0; i < count; i++)
        if (strcmp(list[i].fact, fact) == 0)
            return &list[i];
    return NULL;
}

static cw_proof_sum sum_of(cw_session *session)
{
    const cw_proof_sum *sum;
    cr_assert_eq(cw_session_proof_sum(session, &sum), CW_OK);
    return *sum;
}

static void tell_good(cw_session *session)
{
    tell(session, "rated_amps", "90 A");
    tell(session, "cut_in", "1200 rpm");
    tell(session, "full_amps", "92 A");
    tell(session, "volts", "14.3 V");
    tell(session, "growl", "no");
    tell(session, "rattle", "no");
    tell(session, "pulley", "solid");
    tell(session, "battery_full", "yes");
    tell(session, "tag", "H 1041");
}

Test(proof, before_anything_is_measured_every_line_is_open)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    const cw_proof_line *list;
    size_t count;
    cr_assert_eq(cw_session_proof_lines(session, &list, &count), CW_OK);
    const char *const order[] = {"cut_in_line", "output_line", "volts_line", "noise_line",
                                 "clutch_line", "trace_line",  "close_line"};
    cr_assert_eq(count, 7u);
    for (size_t i = 0; i < count; i++) {
        cr_expect_str_eq(list[i].fact, order[i]);
        cr_expect_str_eq(list[i].verdict, "open");
        cr_expect_null(list[i].why);
        cr_expect_not(list[i].doubtful);
        cr_expect_eq(list[i].needed, i != 5);
        cr_expect_eq(list[i].untold_count, 0u);
        cr_expect_eq(list[i].reading_count, 0u);
    }
    cr_assert_eq(list[1].measure_count, 2u);
    cr_expect_str_eq(list[1].measure[0]->name, "rated_amps",
                     "the rating sets the stage, though it takes longer");
    cr_expect_str_eq(list[1].measure[1]->name, "full_amps");
    cr_assert_eq(list[3].measure_count, 2u);
    cr_expect_str_eq(list[3].measure[0]->name, "rattle", "the quicker first");
    cw_proof_sum sum = sum_of(session);
    cr_expect_str_eq(sum.result, "open");
    cr_expect_eq(sum.open, 6u, "the trace is not needed");
    cr_expect_eq(sum.passed + sum.failed + sum.doubtful, 0u);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, asked_line_by_line_and_nothing_else)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    static const struct {
        const char *check, *line, *why, *answer;
    } order[] = {{"cut_in", "cut_in_line", "For the proof sheet: Cut-in.", "1200 rpm"},
                 {"rated_amps", "output_line", "For the proof sheet: Output at full speed.", "90 A"},
                 {"full_amps", "output_line", "For the proof sheet: Output at full speed.", "60 A"},
                 {"volts", "volts_line", "For the proof sheet: Regulated volts.", "14.3 V"},
                 {"rattle", "noise_line", "For the proof sheet: Noise.", "yes"},
                 {"pulley", "clutch_line", "For the proof sheet: Clutch pulley.", "clutch"},
                 {"clutch_turns", "clutch_line", "For the proof sheet: Clutch pulley.", "yes"},
                 {"battery_full", "trace_line", "For the proof sheet: Trace.", "yes"},
                 {"trace", "trace_line", "For the proof sheet: Trace.", "can't tell"},
                 {"tag", "close_line", "For the proof sheet: Closing.", "H 1041"}};
    const cw_next *next;
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        cr_assert_eq(cw_session_next(session, &next), CW_OK);
        cr_assert_eq(next->stop, CW_GO_ON);
        cr_expect_str_eq(next->checks[0].check->name, order[i].check);
        cr_assert_not_null(next->checks[0].line);
        cr_expect_str_eq(next->checks[0].line, order[i].line);
        cr_expect_str_eq(next->checks[0].why, order[i].why);
        cr_expect_null(next->checks[0].part);
        for (size_t k = 0; k < next->count; k++)
            cr_expect_str_neq(next->checks[k].check->name, "lamp_glow", "it decides no line");
        tell(session, order[i].check, order[i].answer);
    }
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_NOTHING_HELPS, "the growl is not asked: the rattle has failed the line");
    cr_expect_str_eq(next->stop_words, "No check that is left would decide a line of the sheet.");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, only_where_it_may_be_done)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    const char *places[] = {"counter"};
    cr_assert_eq(cw_session_places(session, places, 1), CW_OK);
    const cw_next *next;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_assert_eq(next->count, 1u, "the rating alone decides no line");
    cr_expect_str_eq(next->checks[0].check->name, "pulley", "but this one may decide that a line falls away");
    cr_expect_eq(line_of(session, "cut_in_line")->measure_count, 1u, "what is missing is said all the same");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, passed_when_every_needed_line_is)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell_good(session);
    cw_proof_sum sum = sum_of(session);
    cr_expect_str_eq(sum.result, "passed", "the trace can be left out");
    cr_expect_eq(sum.passed, 5u);
    cr_expect_null(line_of(session, "clutch_line"), "a solid pulley has no such line");
    const cw_proof_line *output = line_of(session, "output_line");
    cr_expect_str_eq(output->verdict, "pass");
    cr_expect_str_eq(output->why->rule, "output_good");
    cr_assert_eq(output->reading_count, 2u);
    const cw_proof_reading *amps = &output->readings[0], *rated = &output->readings[1];
    if (strcmp(amps->check, "full_amps") != 0)
        amps = &output->readings[1], rated = &output->readings[0];
    cr_expect_str_eq(amps->check, "full_amps");
    cr_expect_str_eq(amps->title, "Amps at full speed");
    cr_expect_str_eq(amps->shown, "92 A");
    cr_expect_not(amps->circumstance);
    cr_expect_str_eq(rated->check, "rated_amps");
    cr_expect(rated->circumstance);
    cr_expect_str_eq(line_of(session, "trace_line")->verdict, "open");
    tell(session, "trace", "no");
    cr_expect_str_eq(sum_of(session).result, "failed", "what can be left out still fails");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, failed_when_any_line_is)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell(session, "volts", "15.2 V");
    cw_proof_sum sum = sum_of(session);
    cr_expect_str_eq(sum.result, "failed", "before the others are decided");
    cr_expect_eq(sum.failed, 1u);
    const cw_proof_line *volts = line_of(session, "volts_line");
    cr_expect_str_eq(volts->verdict, "fail");
    cr_expect_str_eq(volts->why->rule, "volts_high");
    cr_expect_eq(volts->measure_count, 0u);
    tell(session, "volts", "14.2 V");
    cr_expect_str_eq(sum_of(session).result, "open", "measured again");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, a_reading_too_near_its_limit_leaves_the_line_in_doubt)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell_good(session);
    tell(session, "full_amps", "81.3 A");
    const cw_proof_line *output = line_of(session, "output_line");
    cr_expect_str_eq(output->verdict, "fail", "the worse of the two");
    cr_expect(output->doubtful);
    cr_expect_not(output->disputed);
    cr_expect_str_eq(output->why->rule, "output_low");
    cw_proof_sum sum = sum_of(session);
    cr_expect_str_eq(sum.result, "doubtful");
    cr_expect_eq(sum.doubtful, 1u);
    cr_expect_eq(sum.failed, 0u);
    tell(session, "full_amps", "84 A");
    cr_expect_str_eq(sum_of(session).result, "passed", "well above the limit");
    tell(session, "full_amps", "81.3 A");
    tell(session, "growl", "yes");
    cr_expect_str_eq(sum_of(session).result, "failed", "what is sure counts before what is doubtful");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, a_coarser_tool_brings_the_doubt)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    cr_assert_eq(cw_session_answer(session, "volts", "14.3 V", "meter", NULL, NULL), CW_OK);
    cr_expect_not(line_of(session, "volts_line")->doubtful);
    cr_assert_eq(cw_session_answer(session, "volts", "14.3 V", "gauge", NULL, NULL), CW_OK);
    cr_expect(line_of(session, "volts_line")->doubtful);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, what_is_missing_is_named)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell_good(session);
    tell(session, "rated_amps", "can't tell");
    const cw_proof_line *output = line_of(session, "output_line");
    cr_expect_str_eq(output->verdict, "open");
    cr_expect_eq(output->measure_count, 0u);
    cr_assert_eq(output->untold_count, 1u);
    cr_expect_str_eq(output->untold[0]->name, "rated_amps");
    cr_expect_str_eq(sum_of(session).result, "open");
    cr_expect_eq(sum_of(session).open, 1u);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, a_line_for_another_design_is_left_out_only_when_that_is_known)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    const cw_proof_line *clutch = line_of(session, "clutch_line");
    cr_assert_not_null(clutch);
    cr_assert_eq(clutch->measure_count, 1u);
    cr_expect_str_eq(clutch->measure[0]->name, "pulley", "what decides whether it concerns the unit");
    tell(session, "pulley", "can't tell");
    clutch = line_of(session, "clutch_line");
    cr_assert_not_null(clutch, "it may be one");
    cr_assert_eq(clutch->untold_count, 1u);
    cr_expect_str_eq(clutch->untold[0]->name, "pulley");
    tell(session, "pulley", "solid");
    cr_expect_null(line_of(session, "clutch_line"));
    tell(session, "pulley", "clutch");
    clutch = line_of(session, "clutch_line");
    cr_assert_eq(clutch->measure_count, 1u);
    cr_expect_str_eq(clutch->measure[0]->name, "clutch_turns");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, what_nothing_can_decide_stays_open_all_the_same)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell_good(session);
    tell(session, "battery_full", "no");
    tell(session, "trace", "yes");
    const cw_proof_line *trace = line_of(session, "trace_line");
    cr_assert_not_null(trace);
    cr_expect_str_eq(trace->verdict, "open");
    cr_expect_eq(trace->measure_count + trace->untold_count, 0u);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, what_the_unit_in_hand_is_rated_for_is_not_asked)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell(session, "unit", "dunlin_120");
    cr_expect_str_eq(line_of(session, "clutch_line")->measure[0]->name, "clutch_turns",
                     "it has a clutch pulley");
    const cw_proof_line *output = line_of(session, "output_line");
    cr_assert_eq(output->measure_count, 1u);
    cr_expect_str_eq(output->measure[0]->name, "full_amps");
    tell(session, "full_amps", "95 A");
    output = line_of(session, "output_line");
    cr_expect_str_eq(output->verdict, "fail", "enough for the smaller one only");
    cr_assert_eq(output->reading_count, 2u);
    cr_expect_str_eq(output->readings[0].check, "full_amps");
    cr_expect_eq(output->readings[0].kind, CW_ANSWER_MEASURE);
    cr_expect_str_eq(output->readings[1].check, "rated_amps");
    cr_expect_str_eq(output->readings[1].shown, "120 A");
    cr_expect(output->readings[1].circumstance);
    tell(session, "unit", "dunlin_90");
    cr_expect_str_eq(line_of(session, "output_line")->verdict, "pass");
    tell(session, "rated_amps", "120 A");
    cr_expect_str_eq(line_of(session, "output_line")->verdict, "open",
                     "plate and data differ, so neither counts");
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, a_caution_that_stops_leaves_no_sheet)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell_good(session);
    tell(session, "high_volts", "yes");
    const cw_proof_line *list;
    size_t count;
    const cw_next *next;
    cr_assert_eq(cw_session_proof_lines(session, &list, &count), CW_OK);
    cr_expect_eq(count, 0u);
    cr_expect_str_eq(sum_of(session).result, "open", "never passed");
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    cr_expect_eq(next->stop, CW_CAUTION_STOPS);
    cr_expect_eq(next->count, 0u);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, readings_of_the_sheet_are_signs_of_causes)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "proof");
    tell_good(session);
    tell(session, "full_amps", "60 A");
    tell(session, "trace", "no");
    const cw_ranking *ranking;
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    cr_expect_str_eq(ranking->lines[0].id, "diode_open");
    cr_expect_gt(ranking->lines[0].probability, 0.5);
    cw_session_free(session);
    cw_pack_free(pack);
}

Test(proof, nothing_where_units_are_ranked_and_no_null)
{
    cw_pack *pack = open_bench(NULL);
    cw_session *session = start_shop(pack, "identify");
    const cw_proof_line *list;
    const cw_proof_sum *sum;
    size_t count;
    cr_assert_eq(cw_session_proof_lines(session, &list, &count), CW_OK);
    cr_expect_eq(count, 0u);
    cr_expect_str_eq(sum_of(session).result, "open");
    cr_expect_eq(cw_session_proof_lines(NULL, &list, &count), CW_BAD_CALL);
    cr_expect_eq(cw_session_proof_lines(session, NULL, &count), CW_BAD_CALL);
    cr_expect_eq(cw_session_proof_lines(session, &list, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_session_proof_sum(NULL, &sum), CW_BAD_CALL);
    cr_expect_eq(cw_session_proof_sum(session, NULL), CW_BAD_CALL);
    cw_session_free(session);
    cw_pack_free(pack);
}

/* Random readings; the reference looks at the limits themselves. Each line: 1 passes, -1 fails, 0 open, 2 in
 * doubt. */
enum { LINES = 5 };
typedef struct drawn {
    int line[LINES]; /* cut-in, output, volts, noise, trace */
} drawn;

static void measured(cw_session *session, const char *check, double value, const char *unit)
{
    char text[40];
    snprintf(text, sizeof text, "%.2f %s", value, unit);
    tell(session, check, text);
}

static int by_limit(double value, double limit, double error, bool above_is_good)
{
    if (value > limit - error + 1e-9 && value < limit + error - 1e-9)
        return 2;
    return (value > limit) == above_is_good ? 1 : -1;
}

static drawn draw(random_state *random, cw_session *session)
{
    drawn out = {{0}};
    tell(session, "pulley", "solid");
    tell(session, "battery_full", "yes");
    tell(session, "tag", "A 1");
    tell(session, "rated_amps", "100 A");
    if (random_below(random, 5) != 0) {
        double rpm = 1300 + 10.0 * (double)random_below(random, 40);
        measured(session, "cut_in", rpm, "rpm");
        out.line[0] = by_limit(rpm, 1500, 20, false);
    }
    if (random_below(random, 5) != 0) {
        double amps = 85 + (double)random_below(random, 11);
        measured(session, "full_amps", amps, "A");
        out.line[1] = by_limit(amps, 90, 1, true);
    }
    if (random_below(random, 5) != 0) {
        double volts = 13.8 + 0.02 * (double)random_below(random, 51);
        measured(session, "volts", volts, "V");
        int low = by_limit(volts, 14, 0.05, true), high = by_limit(volts, 14.6, 0.05, false);
        out.line[2] = low < 0 || high < 0 ? -1 : low == 2 || high == 2 ? 2 : 1;
    }
    int growl = (int)random_below(random, 3), rattle = (int)random_below(random, 3);
    if (growl > 0)
        tell(session, "growl", growl == 2 ? "yes" : "no");
    if (rattle > 0)
        tell(session, "rattle", rattle == 2 ? "yes" : "no");
    out.line[3] = growl == 2 || rattle == 2 ? -1 : growl == 1 && rattle == 1 ? 1 : 0;
    int trace = (int)random_below(random, 3);
    if (trace > 0)
        tell(session, "trace", trace == 2 ? "yes" : "no");
    out.line[4] = trace == 0 ? 0 : trace == 2 ? 1 : -1;
    return out;
}

Test(proof, random_readings_against_the_limits)
{
    static const char *const names[LINES] = {"cut_in_line", "output_line", "volts_line", "noise_line",
                                             "trace_line"};
    cw_pack *pack = open_bench(NULL);
    random_state random = random_start(41);
    size_t seen[4] = {0};
    for (int round = 0; round < 300; round++) {
        cw_session *session = start_shop(pack, "proof");
        drawn all = draw(&random, session);
        bool failed = false, doubtful = false, open = false;
        for (size_t i = 0; i < LINES; i++) {
            const cw_proof_line *line = line_of(session, names[i]);
            cr_assert_not_null(line, "%s", names[i]);
            cr_expect_eq(line->doubtful, all.line[i] == 2, "round %d, %s", round, names[i]);
            if (all.line[i] != 2)
                cr_expect_str_eq(line->verdict, all.line[i] == 1    ? "pass"
                                                : all.line[i] == -1 ? "fail"
                                                                    : "open");
            failed |= all.line[i] == -1;
            doubtful |= all.line[i] == 2;
            open |= all.line[i] == 0 && i != 4;
        }
        size_t expected = failed ? 0 : doubtful ? 1 : open ? 2 : 3;
        cr_expect_str_eq(sum_of(session).result,
                         ((const char *const[]){"failed", "doubtful", "open", "passed"})[expected]);
        seen[expected]++;
        cw_session_free(session);
    }
    for (size_t i = 0; i < 4; i++)
        cr_expect_gt(seen[i], 0u, "result %zu never came up", i);
    cw_pack_free(pack);
}

static cw_status ask_for_sheet(cw_session *session)
{
    const cw_proof_line *list;
    const cw_proof_sum *sum;
    const cw_next *next;
    size_t count;
    cw_status status = cw_session_proof_lines(session, &list, &count);
    if (status == CW_OK)
        status = cw_session_proof_sum(session, &sum);
    if (status == CW_OK)
        status = cw_session_next(session, &next);
    return status;
}

Test(proof, every_request_for_memory_refused_once)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_bench(&settings);
    cw_session_free(start_shop(pack, "proof")); /* what the first one makes for all stays with the pack */
    size_t held = failing_bytes(&memory);
    for (size_t allowed = 0;; allowed++) {
        cw_session *session = start_shop(pack, "proof");
        tell(session, "rated_amps", "90 A");
        tell(session, "full_amps", "60 A");
        tell(session, "volts", "can't tell");
        memory.allowed = allowed;
        memory.refused = false;
        cw_status status = ask_for_sheet(session);
        bool refused = memory.refused;
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(status, refused ? CW_NO_MEMORY : CW_OK, "%zu allowed", allowed);
        cr_assert_eq(ask_for_sheet(session), CW_OK, "it goes on when there is memory again");
        cr_assert_str_eq(sum_of(session).result, "failed");
        cw_session_free(session);
        cr_assert_eq(failing_bytes(&memory), held, "%zu allowed", allowed);
        if (!refused)
            break;
    }
    cw_pack_free(pack);
    cr_assert_eq(failing_bytes(&memory), 0u);
}
