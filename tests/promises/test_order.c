/* What a session says depends on the set of answers, not on their order, nor on what was answered in between
 * and changed or withdrawn (design, section 4). Random answers to the packs that ship; compared to the last
 * bit. */
#include "promises/shipped.h"

static void shuffle(random_state *random, answer *answers, size_t count)
{
    for (size_t i = count; i > 1; i--) {
        size_t k = random_below(random, (uint32_t)i);
        answer kept = answers[i - 1];
        answers[i - 1] = answers[k];
        answers[k] = kept;
    }
}

static char *straight(const cw_pack *pack, const char *stage, const answer *answers, size_t count)
{
    cw_session *session = start(pack, stage);
    for (size_t i = 0; i < count; i++)
        give(session, &answers[i]);
    char *said = everything(session);
    cw_session_free(session);
    return said;
}

/* The same answers in the end, after others to the same checks and to further ones that are taken back. */
static char *with_detours(random_state *random, const cw_pack *pack, const char *stage, const answer *answers,
                          size_t count)
{
    cw_session *session = start(pack, stage);
    size_t checks = cw_pack_checks(pack);
    for (size_t i = 0; i < count; i++) {
        answer other;
        make_up(random, pack, cw_pack_check_at(pack, random_below(random, (uint32_t)checks)), &other);
        give(session, &other);
        make_up(random, pack, cw_pack_check(pack, answers[i].check, NULL), &other);
        give(session, &other);
    }
    for (size_t i = 0; i < checks; i++) {
        const char *name = cw_pack_check_at(pack, i)->name;
        bool kept = false;
        for (size_t k = 0; k < count; k++)
            if (strcmp(answers[k].check, name) == 0) {
                give(session, &answers[k]);
                kept = true;
            }
        if (!kept)
            cw_session_withdraw(session, name);
    }
    char *said = everything(session);
    cw_session_free(session);
    return said;
}

static void hold_to_it(const char *stage, uint64_t seed)
{
    cw_pack *pack = shipped(NULL);
    random_state random = random_start(seed);
    for (int round = 0; round < CW_ROUNDS; round++) {
        answer answers[MOST];
        size_t count = some_answers(&random, pack, answers);
        char *first = straight(pack, stage, answers, count);
        shuffle(&random, answers, count);
        char *shuffled = straight(pack, stage, answers, count);
        char *detoured = with_detours(&random, pack, stage, answers, count);
        cr_assert_str_eq(shuffled, first, "round %d: another order", round);
        cr_assert_str_eq(detoured, first, "round %d: changed and withdrawn", round);
        free(first);
        free(shuffled);
        free(detoured);
    }
    cw_pack_free(pack);
}

Test(order, identify, .timeout = 600)
{
    hold_to_it("identify", 21);
}

Test(order, triage, .timeout = 600)
{
    hold_to_it("triage", 22);
}
