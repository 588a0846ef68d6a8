/* Every case of the corpus is loaded, given to a session and held against its label.
 *
 *   identify  the first line is the labelled version, or one of those labelled as equally right;
 *             "not_listed" when that is more probable than any line
 *   triage    a confirmed cause, or one that a fair judge accepts, is among the first three
 *   teardown  the same, from what was found on the open unit
 *   proof     the sheet comes to what the label says, the same lines fail or are in doubt, and where a cause
 * is labelled, it or one that a fair judge accepts is among the first three of the unit's own real published
 * cases whose label may be beyond what they tell: they must run; how many come right is printed */
#include "corewright/corewright.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static cw_pack *open_packs(void)
{
    const char *folders[] = {CW_SOURCE_DIR "/rules/harbour-lane"};
    cw_messages *messages;
    cw_pack *pack = NULL;
    cw_status status = cw_pack_open(NULL, folders, 1, &messages, &pack);
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        cr_log_error("%s", cw_messages_at(messages, i)->rendered);
    cw_messages_free(messages);
    cr_assert_eq(status, CW_OK);
    return pack;
}

typedef struct score {
    size_t cases, ranked, first, top3; /* ranked: those whose ranking has a label */
    size_t described;                  /* units of no list with more than five lines labelled */
} score;

static bool among(const char *id, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i], id) == 0)
            return true;
    }
    return false;
}

/* 1-based place of the first right line; 0 when there is none. */
static size_t place_of(const cw_ranking *ranking, const cw_case_info *info)
{
    if (ranking->of_units) {
        bool unlisted = ranking->count == 0 || ranking->not_listed > ranking->lines[0].probability;
        if (unlisted)
            return among("not_listed", info->units, info->unit_count) ? 1 : 0;
        for (size_t i = 0; i < ranking->count; i++) {
            if (among(ranking->lines[i].id, info->units, info->unit_count))
                return i + 1;
        }
        return 0;
    }
    for (size_t i = 0; i < ranking->count; i++) {
        if (among(ranking->lines[i].id, info->causes, info->cause_count) ||
            among(ranking->lines[i].id, info->accept, info->accept_count))
            return i + 1;
    }
    return 0;
}

static void print_line(const char *path, const cw_ranking *ranking)
{
    for (size_t i = 0; i < ranking->count && i < 3; i++)
        cr_log_error("%s: %zu. %s %.3f", path, i + 1, ranking->lines[i].id, ranking->lines[i].probability);
}

static const cw_description_line *line_of(const cw_description *all, const char *fact)
{
    for (size_t i = 0; i < all->count; i++)
        for (size_t k = 0; k < all->headings[i].count; k++)
            if (strcmp(all->headings[i].lines[k].fact, fact) == 0)
                return &all->headings[i].lines[k];
    return NULL;
}

/* What a line comes to, in the words of a label; NULL when it does not concern the unit. */
static const char *line_says(const cw_description_line *line)
{
    if (line == NULL)
        return NULL;
    if (line->by == CW_KNOWN_BY_CONFLICT)
        return "dispute";
    return line->by == CW_KNOWN_BY_NOTHING ? "missing" : line->doubtful ? "doubtful" : line->value;
}

/* Every labelled line of the description says what its label says. */
static void compare_description(const char *path, const cw_case_info *info, cw_session *session, score *tally)
{
    const cw_description *all;
    cr_assert_eq(cw_session_description(session, &all), CW_OK);
    for (size_t i = 0; i < info->description_count; i++) {
        const cw_case_line *label = &info->description[i];
        const char *says = line_says(line_of(all, label->fact));
        cr_expect(says != NULL && strcmp(says, label->value) == 0, "%s: %s is %s, not %s", path, label->fact,
                  says != NULL ? says : "no line", label->value);
    }
    bool unlisted = among("not_listed", info->units, info->unit_count);
    cr_expect(!unlisted || all->unlisted, "%s: no unit holds", path);
    tally->described += unlisted && info->description_count > 5;
}

static void run_case(const cw_pack *pack, const char *path, bool must, score *tally)
{
    cw_messages *messages;
    cw_case *job;
    cw_status status = cw_case_read(NULL, path, &messages, &job);
    cw_session *session = NULL;
    if (status == CW_OK) {
        const char *stage = cw_case_get(job)->stage;
        cr_assert_not_null(stage, "%s names no stage", path);
        cr_assert_eq(cw_session_new(pack, stage, &session), CW_OK);
        status = cw_case_apply(job, session, &messages);
    }
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        cr_log_error("%s", cw_messages_at(messages, i)->rendered);
    cw_messages_free(messages);
    cr_assert_eq(status, CW_OK, "%s", path);
    const cw_case_info *info = cw_case_get(job);
    cr_expect_not_null(info->source, "%s names no source", path);
    const cw_ranking *ranking;
    const cw_next *next;
    cr_assert_eq(cw_session_ranking(session, 1, &ranking), CW_OK);
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    size_t place = place_of(ranking, info);
    size_t enough = ranking->of_units ? 1 : 3;
    compare_description(path, info, session, tally);
    tally->cases++;
    tally->ranked++;
    tally->first += place == 1;
    tally->top3 += place > 0 && place <= 3;
    if (must && !ranking->stopped && (place == 0 || place > enough)) {
        print_line(path, ranking);
        cr_expect(false, "%s: the right one is at place %zu", path, place);
    }
    cw_session_free(session);
    cw_case_free(job);
}

/* The labelled lines, no other, fail or are in doubt. */
static void compare_lines(const char *path, const cw_case_info *info, cw_session *session)
{
    const cw_proof_line *list;
    const cw_proof_sum *sum;
    size_t count, wrong = 0;
    cr_assert_eq(cw_session_proof_lines(session, &list, &count), CW_OK);
    cr_assert_eq(cw_session_proof_sum(session, &sum), CW_OK);
    cr_assert_not_null(info->proof, "%s does not say what the sheet comes to", path);
    cr_expect_str_eq(sum->result, info->proof, "%s", path);
    for (size_t i = 0; i < count; i++) {
        bool bad = list[i].doubtful || strcmp(list[i].verdict, "fail") == 0;
        wrong += bad;
        if (bad)
            cr_expect(among(list[i].fact, info->lines, info->line_count), "%s: %s", path, list[i].fact);
    }
    cr_expect_eq(wrong, info->line_count, "%s: %zu lines fail or are in doubt", path, wrong);
}

/* 1-based place among the causes inside the unit. */
static size_t place_inside(const cw_ranking *ranking, const cw_case_info *info)
{
    size_t place = 0;
    for (size_t i = 0; i < ranking->count; i++) {
        place += strcmp(ranking->lines[i].where, "unit") == 0;
        if (among(ranking->lines[i].id, info->causes, info->cause_count) ||
            among(ranking->lines[i].id, info->accept, info->accept_count))
            return place;
    }
    return 0;
}

static void prove_case(const cw_pack *pack, const char *path, bool must, score *tally)
{
    cw_messages *messages;
    cw_case *job;
    cw_session *session;
    const cw_ranking *ranking;
    cr_assert_eq(cw_case_read(NULL, path, &messages, &job), CW_OK, "%s", path);
    cr_assert_eq(cw_session_new(pack, "proof", &session), CW_OK);
    cr_assert_eq(cw_case_apply(job, session, &messages), CW_OK, "%s", path);
    const cw_case_info *info = cw_case_get(job);
    cr_expect_not_null(info->source, "%s names no source", path);
    compare_lines(path, info, session);
    cr_assert_eq(cw_session_ranking(session, 0, &ranking), CW_OK);
    tally->cases++;
    if (info->cause_count > 0) {
        size_t place = place_inside(ranking, info);
        tally->ranked++;
        tally->first += place == 1;
        tally->top3 += place > 0 && place <= 3;
        cr_expect(!must || (place > 0 && place <= 3), "%s: the right one is at place %zu", path, place);
    }
    cw_session_free(session);
    cw_case_free(job);
}

typedef void case_runner(const cw_pack *pack, const char *path, bool must, score *tally);

static score run_folder(const char *folder, bool must, case_runner *run)
{
    cw_pack *pack = open_packs();
    score tally = {0};
    struct dirent **entries;
    int count = scandir(folder, &entries, NULL, alphasort);
    for (int i = 0; i < count; i++) {
        size_t size = strlen(entries[i]->d_name);
        char path[512];
        snprintf(path, sizeof path, "%s/%s", folder, entries[i]->d_name);
        if (size > 5 && strcmp(entries[i]->d_name + size - 5, ".yaml") == 0)
            run(pack, path, must, &tally);
        free(entries[i]);
    }
    if (count >= 0)
        free(entries);
    cw_pack_free(pack);
    printf("%s: %zu cases; of %zu the right one first in %zu, among the first three in %zu\n", folder,
           tally.cases, tally.ranked, tally.first, tally.top3);
    return tally;
}

Test(corpus, identify)
{
    score tally = run_folder(CW_CORPUS "/identify", true, run_case);
    cr_expect_geq(tally.cases, 20);
    cr_expect_geq(tally.described, 12);
}

Test(corpus, triage)
{
    score tally = run_folder(CW_CORPUS "/triage", true, run_case);
    cr_expect_geq(tally.cases, 15);
}

Test(corpus, teardown)
{
    score tally = run_folder(CW_CORPUS "/teardown", true, run_case);
    cr_expect_geq(tally.cases, 12);
}

Test(corpus, proof)
{
    score tally = run_folder(CW_CORPUS "/proof", true, prove_case);
    cr_expect_geq(tally.cases, 14);
    cr_expect_geq(tally.ranked, 7);
}

Test(corpus, real)
{
    score tally = run_folder(CW_CORPUS "/real", false, run_case);
    cr_expect_geq(tally.cases, 1);
}
