/* Learning through the public door: what counts, what does not, circumstances, links, memory. The arithmetic
 * is held against outside figures in tests/learn and tests/outside/learn. */
#include "support.h"
#include "support/failing.h"
#include <math.h>

static const cw_learn_worth usual = {CW_LEARN_WORTH_SEEN, CW_LEARN_WORTH};

static cw_status add(cw_learning *learning, cw_session *session, const char *const *causes, size_t count,
                     cw_learn_use *use)
{
    const cw_case_info about = {.causes = causes, .cause_count = count, .causes_said = true};
    return cw_learning_add(learning, session, &about, use);
}

static const cw_learned *find(const cw_learned_list *list, cw_learned_kind kind, const char *owner,
                              const char *about)
{
    for (size_t i = 0; i < list->count; i++) {
        const cw_learned *one = &list->items[i];
        if (one->kind == kind && (owner == NULL) == (one->owner == NULL) &&
            (owner == NULL || strcmp(one->owner, owner) == 0) &&
            (about == NULL || (one->about != NULL && strcmp(one->about, about) == 0)))
            return one;
    }
    cr_assert_fail("nothing is learned of %s %s", owner != NULL ? owner : "", about != NULL ? about : "");
    return NULL;
}

static const cw_learned_list *result(cw_learning *learning)
{
    const cw_learned_list *list;
    cr_assert_eq(cw_learning_result(learning, &usual, &list), CW_OK);
    return list;
}

/* A dead cell was there, so the diode may be its work: 1 of 1 by both; by hand, with the diode's own share p
 * (book 6 %, 100 jobs) and the link's q (30 %, 10 cases), the chances before the job: the diode by itself p /
 * (p + q - p q), and so on, settled by going round. */
Test(learn, a_cause_shares_its_presence_with_what_led_to_it)
{
    cw_pack *pack = open_shop(NULL);
    cw_learning *learning;
    cr_assert_eq(cw_learning_new(pack, &learning), CW_OK);
    cw_session *session = start_shop(pack, "triage");
    const char *causes[] = {"diode_open", "dead_cell"};
    cr_assert_eq(add(learning, session, causes, 2, NULL), CW_OK);
    double p = 0.06, q = 0.3;
    for (int i = 0; i < 1000; i++) {
        const double any = p + q - p * q, own = p / any, led = q / any;
        p = (6 + own) / 101;
        q = (3 + led) / 11;
    }
    const cw_learned_list *list = result(learning);
    const cw_learned *seen = find(list, CW_LEARNED_CAUSE, "diode_open", NULL);
    const cw_learned *leads = find(list, CW_LEARNED_LEADS_TO, "dead_cell", "diode_open");
    cr_expect_float_eq(seen->posterior, p, 1e-9);
    cr_expect_float_eq(leads->posterior, q, 1e-9);
    cr_expect_eq(leads->seen, 1);
    cr_expect_lt(leads->laid_to, 1);
    cr_expect(list->settled);
    cw_session_free(session);
    cw_learning_free(learning);
    cw_pack_free(pack);
}

/* Fitted days ago the odds are tripled: p of ordinary jobs solves 100 p + P = 6 + 1, P = 3 p / (1 + 2 p). */
Test(learn, circumstances_are_taken_off)
{
    cw_pack *pack = open_shop(NULL);
    cw_learning *learning;
    cr_assert_eq(cw_learning_new(pack, &learning), CW_OK);
    cw_session *session = start_shop(pack, "triage");
    const char *causes[] = {"diode_open"};
    tell(session, "fitted_ago", "days");
    cr_assert_eq(add(learning, session, causes, 1, NULL), CW_OK);
    double low = 0, high = 1;
    for (int i = 0; i < 100; i++) {
        const double p = (low + high) / 2;
        *(100 * p + 3 * p / (1 + 2 * p) < 7 ? &low : &high) = p;
    }
    const cw_learned *seen = find(result(learning), CW_LEARNED_CAUSE, "diode_open", NULL);
    cr_expect_float_eq(seen->posterior, low, 1e-10);
    cw_session_free(session);
    cw_learning_free(learning);
    cw_pack_free(pack);
}

Test(learn, what_a_job_is_good_for)
{
    cw_pack *pack = open_shop(NULL), *other = open_shop(NULL);
    cw_learning *learning;
    cw_learn_use use;
    cr_assert_eq(cw_learning_new(pack, &learning), CW_OK);
    const char *causes[] = {"diode_open"}, *unknown[] = {"no_such"}, *units[] = {"tern_early"};
    const cw_case_info nothing = {0}, unlisted = {.units = (const char *[]){"not_listed"}, .unit_count = 1};
    const cw_case_info unit = {.units = units, .unit_count = 1}, nobody = {.units = unknown, .unit_count = 1};
    cw_session *triage = start_shop(pack, "triage"), *identify = start_shop(pack, "identify");
    cw_session *proof = start_shop(pack, "proof"), *foreign = start_shop(other, "triage");
    cr_expect_eq(add(learning, triage, causes, 1, &use), CW_OK);
    cr_expect_eq(use, CW_LEARN_CAUSES);
    cr_expect_eq(add(learning, triage, NULL, 0, &use), CW_OK);
    cr_expect_eq(use, CW_LEARN_CAUSES);
    cr_expect_eq(cw_learning_add(learning, triage, &nothing, &use), CW_OK);
    cr_expect_eq(use, CW_LEARN_NO_LABEL);
    cr_expect_eq(add(learning, proof, causes, 1, &use), CW_OK);
    cr_expect_eq(use, CW_LEARN_REBUILT);
    cr_expect_eq(add(learning, triage, unknown, 1, NULL), CW_NOT_FOUND);
    cr_expect_eq(cw_learning_add(learning, identify, &unit, &use), CW_OK);
    cr_expect_eq(use, CW_LEARN_UNITS);
    cr_expect_eq(cw_learning_add(learning, identify, &unlisted, &use), CW_OK);
    cr_expect_eq(use, CW_LEARN_UNLISTED);
    cr_expect_eq(cw_learning_add(learning, identify, &nobody, NULL), CW_NOT_FOUND);
    tell(triage, "high_volts", "yes");
    cr_expect_eq(add(learning, triage, causes, 1, &use), CW_OK);
    cr_expect_eq(use, CW_LEARN_STOPPED);
    cr_expect_eq(add(learning, foreign, causes, 1, NULL), CW_BAD_CALL);
    const cw_learned_list *list = result(learning);
    cr_expect_eq(list->causes_jobs, 2);
    cr_expect_eq(list->units_jobs, 1);
    cr_expect_eq(find(list, CW_LEARNED_CAUSE, "diode_open", NULL)->seen, 1);
    cr_expect_eq(find(list, CW_LEARNED_CAUSE, "diode_open", NULL)->of, 2);
    cr_expect_eq(cw_learning_result(learning, &(cw_learn_worth){0, 10}, &list), CW_BAD_CALL);
    cr_expect_eq(cw_learning_result(learning, &(cw_learn_worth){10, NAN}, &list), CW_BAD_CALL);
    cr_expect_eq(cw_learning_new(NULL, &learning), CW_BAD_CALL);
    cw_learning_free(NULL);
    cw_session *const all[] = {triage, identify, proof, foreign};
    for (size_t i = 0; i < 4; i++)
        cw_session_free(all[i]);
    cw_learning_free(learning);
    cw_pack_free(pack);
    cw_pack_free(other);
}

static cw_status learn_all(const cw_pack *pack, cw_session *triage, cw_session *identify)
{
    cw_learning *learning = NULL;
    const char *causes[] = {"diode_open", "dead_cell"}, *units[] = {"tern_early", "tern_late"};
    const cw_case_info unit = {.units = units, .unit_count = 2};
    const cw_learned_list *list;
    cw_status status = cw_learning_new(pack, &learning);
    if (status == CW_OK)
        status = add(learning, triage, causes, 2, NULL);
    if (status == CW_OK)
        status = cw_learning_add(learning, identify, &unit, NULL);
    if (status == CW_OK)
        status = cw_learning_result(learning, &usual, &list);
    cw_learning_free(learning);
    return status;
}

Test(learn, every_request_for_memory_fails_once)
{
    failing memory;
    failing_start(&memory, FAILING_NEVER);
    const cw_settings settings = {memory.allocator.resize, memory.allocator.context};
    cw_pack *pack = open_shop(&settings);
    cw_session *triage = start_shop(pack, "triage"), *identify = start_shop(pack, "identify");
    tell(triage, "lamp_running", "glow");
    tell(triage, "squeal", "yes");
    tell(identify, "lead_style", "twin");
    const size_t before = failing_bytes(&memory);
    for (size_t allowed = 0;; allowed++) {
        memory.allowed = allowed;
        memory.refused = false;
        const cw_status status = learn_all(pack, triage, identify);
        memory.allowed = FAILING_NEVER;
        cr_assert_eq(status, memory.refused ? CW_NO_MEMORY : CW_OK, "%zu allowed: %d", allowed, (int)status);
        cr_assert_eq(failing_bytes(&memory), before, "%zu allowed", allowed);
        if (!memory.refused)
            break;
    }
    cw_session_free(triage);
    cw_session_free(identify);
    cw_pack_free(pack);
    cr_expect_eq(failing_bytes(&memory), 0);
}
