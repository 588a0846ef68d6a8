/* A pack out of its image is shared by threads like any other, and says the same. */
#include "support.h"
#include "support/random.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { THREADS = 4, TIMES = 5, ROOM = 1 << 16 };

static const char *const stages[] = {"identify", "triage", "teardown", "proof"};
static const struct {
    const char *check, *answer;
} given_answers[] = {{"ripple", "0.7 V"}, {"marking", "T9212"}, {"squeal", "yes"}};

/* All that a session says at one stage, as one text. */
static void say(const cw_pack *pack, const char *stage, char *out)
{
    cw_session *session = start_shop(pack, stage);
    size_t at = 0;
    for (size_t i = 0; i <= sizeof given_answers / sizeof *given_answers; i++) {
        const cw_ranking *ranking;
        const cw_next *next;
        cr_assert_eq(cw_session_next(session, &next), CW_OK);
        for (size_t k = 0; k < next->count; k++)
            at += (size_t)snprintf(out + at, ROOM - at, "%s %.17g %s;", next->checks[k].check->name,
                                   next->checks[k].bits, next->checks[k].why);
        cr_assert_eq(cw_session_ranking(session, 2, &ranking), CW_OK);
        for (size_t k = 0; k < ranking->count; k++)
            at += (size_t)snprintf(out + at, ROOM - at, "%s %.17g;", ranking->lines[k].id,
                                   ranking->lines[k].probability);
        if (i < sizeof given_answers / sizeof *given_answers)
            tell(session, given_answers[i].check, given_answers[i].answer);
        cr_assert_lt(at, (size_t)ROOM);
    }
    cw_session_free(session);
}

typedef struct task {
    const cw_pack *pack;
    const char (*expected)[ROOM];
    bool same;
} task;

static void *run(void *context)
{
    task *own = context;
    char *said = malloc(ROOM);
    own->same = true;
    for (int i = 0; i < TIMES * 4; i++) {
        say(own->pack, stages[i % 4], said);
        own->same &= strcmp(said, own->expected[i % 4]) == 0;
    }
    free(said);
    return NULL;
}

Test(image, says_the_same_to_every_thread)
{
    static char expected[4][ROOM];
    char path[] = "/tmp/cw-session-XXXXXX";
    const int handle = mkstemp(path);
    cr_assert_geq(handle, 0);
    close(handle);
    cw_pack *slow = open_shop(NULL), *quick = NULL;
    for (int i = 0; i < 4; i++)
        say(slow, stages[i], expected[i]);
    cr_expect_not(cw_pack_from_image(slow));
    cw_pack_free(slow);
    const char *folders[] = {SHOP}, *image = path;
    cr_assert_eq(cw_pack_write_image(NULL, folders, 1, path, NULL), CW_OK);
    cr_assert_eq(cw_pack_open(NULL, &image, 1, NULL, &quick), CW_OK);
    cr_expect(cw_pack_from_image(quick));
    remove(path); /* what is mapped stays */
    task tasks[THREADS];
    pthread_t threads[THREADS];
    for (int i = 0; i < THREADS; i++) {
        tasks[i] = (task){.pack = quick, .expected = expected};
        cr_assert_eq(pthread_create(&threads[i], NULL, run, &tasks[i]), 0);
    }
    for (int i = 0; i < THREADS; i++) {
        pthread_join(threads[i], NULL);
        cr_expect(tasks[i].same);
    }
    cw_pack_free(quick);
}

/* --- Openings: what a session advises before anything is told --- */

static void say_alike(char *out, size_t *at, const cw_next *next)
{
    for (size_t i = 0; i < next->alike_count; i++) {
        const cw_alike *alike = &next->alike[i];
        *at += (size_t)snprintf(out + *at, ROOM - *at, "alike %.17g by %s at %s %.17g:", alike->probability,
                                alike->tells == NULL ? "-" : alike->tells->name,
                                alike->tells == NULL ? "-" : alike->tells_place, alike->tells_minutes);
        for (size_t k = 0; k < alike->count; k++)
            *at += (size_t)snprintf(out + *at, ROOM - *at, " %s", alike->ids[k]);
        *at += (size_t)snprintf(out + *at, ROOM - *at, "\n");
    }
}

static void say_ways_to(char *out, size_t *at, const cw_ways *ways)
{
    if (ways == NULL)
        return;
    *at += (size_t)snprintf(out + *at, ROOM - *at, "%s %.17g %.17g %.17g %zu %s\n",
                            ways->best == NULL ? "-" : ways->best, ways->test, ways->repair, ways->hand_back,
                            ways->worth_count, ways->words);
    for (size_t i = 0; i < ways->repair_count; i++) {
        const cw_repair_line *line = &ways->repairs[i];
        *at += (size_t)snprintf(out + *at, ROOM - *at, "%s %d %.17g %.17g %.17g %s %.17g:", line->what,
                                line->exchange, line->probability, line->minutes, line->parts,
                                line->no_price == NULL ? "-" : line->no_price, line->cost);
        for (size_t k = 0; k < line->cause_count; k++)
            *at += (size_t)snprintf(out + *at, ROOM - *at, " %s", line->causes[k]);
        *at += (size_t)snprintf(out + *at, ROOM - *at, "\n");
    }
}

/* Everything in the advice. */
static void say_next(cw_session *session, char *out)
{
    const cw_next *next;
    size_t at = 0;
    cr_assert_eq(cw_session_next(session, &next), CW_OK);
    for (size_t i = 0; i < next->count; i++) {
        const cw_next_check *check = &next->checks[i];
        at += (size_t)snprintf(out + at, ROOM - at, "%s at %s %.17g %d %.17g %.17g %s %s %s %s\n",
                               check->check->name, check->place, check->minutes, check->opens, check->bits,
                               check->expected, check->with == NULL ? "-" : check->with->name,
                               check->part == NULL ? "-" : check->part,
                               check->line == NULL ? "-" : check->line, check->why);
    }
    at += (size_t)snprintf(out + at, ROOM - at, "%d %s %d\n", (int)next->stop, next->stop_words,
                           next->cut_short);
    say_alike(out, &at, next);
    say_ways_to(out, &at, next->ways);
    cr_assert_lt(at, (size_t)ROOM);
}

/* From the packs, and from their image: after an answer; when it is withdrawn; elsewhere; with places
 * forbidden. `opening`: what was said untouched. */
static void expect_same_after(const cw_pack *const *packs, cw_session *const *sessions, const char *opening)
{
    static char said[2][ROOM];
    const char *counter[] = {"counter"}, *check = cw_pack_check_at(packs[0], 0)->name;
    for (int k = 0; k < 2; k++) {
        tell(sessions[k], check, "can't tell");
        say_next(sessions[k], said[k]);
        cr_assert_eq(cw_session_withdraw(sessions[k], check), CW_OK);
    }
    cr_expect_str_eq(said[0], said[1], "with an answer");
    say_next(sessions[1], said[1]);
    cr_expect_str_eq(opening, said[1], "withdrawn");
    for (int k = 0; k < 2; k++) {
        cr_assert_eq(cw_session_here(sessions[k], "vehicle"), CW_OK);
        say_next(sessions[k], said[k]);
    }
    cr_expect_str_eq(said[0], said[1], "at the vehicle");
    for (int k = 0; k < 2; k++) {
        cr_assert_eq(cw_session_places(sessions[k], counter, 1), CW_OK);
        say_next(sessions[k], said[k]);
    }
    cr_expect_str_eq(said[0], said[1], "at the counter alone");
}

/* At each stage; small: what comes after as well. */
static void expect_same_openings(const char *folder, bool small)
{
    static char said[2][ROOM];
    char path[] = "/tmp/cw-session-XXXXXX";
    const char *image = path;
    const int handle = mkstemp(path);
    cw_pack *packs[2];
    cr_assert_geq(handle, 0);
    close(handle);
    cr_assert_eq(cw_pack_write_image(NULL, &folder, 1, image, NULL), CW_OK, "%s", folder);
    cr_assert_eq(cw_pack_read(NULL, &folder, 1, NULL, &packs[0]), CW_OK);
    cr_assert_eq(cw_pack_open(NULL, &image, 1, NULL, &packs[1]), CW_OK);
    cr_assert(cw_pack_from_image(packs[1]));
    remove(path);
    for (size_t i = 0; cw_stage_at(i) != NULL; i++) {
        cw_session *sessions[2];
        for (int k = 0; k < 2; k++) {
            cr_assert_eq(cw_session_new(packs[k], cw_stage_at(i), &sessions[k]), CW_OK);
            say_next(sessions[k], said[k]);
        }
        cr_expect_str_eq(said[0], said[1], "%s, %s", folder, cw_stage_at(i));
        if (small)
            expect_same_after((const cw_pack *const *)packs, sessions, said[0]);
        for (int k = 0; k < 2; k++)
            cw_session_free(sessions[k]);
    }
    cw_pack_free(packs[0]);
    cw_pack_free(packs[1]);
}

/* The first two are those that ship. */
Test(image, opens_every_stage_as_its_packs_do)
{
    static const char *const folders[] = {CW_SOURCE_DIR "/rules/harbour-lane",
                                          CW_SOURCE_DIR "/rules/charging-basics",
                                          SHOP,
                                          CW_SOURCE_DIR "/tests/session/apart",
                                          CW_SOURCE_DIR "/tests/session/described",
                                          CW_SOURCE_DIR "/tests/session/priced",
                                          CW_SOURCE_DIR "/tests/session/timed"};
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++)
        expect_same_openings(folders[i], i > 1);
}

/* --- Random packs --- */

static void draw_signs(FILE *file, random_state *random, bool unit)
{
    static const char *const often[] = {"never", "rarely", "sometimes", "often", "usually", "always"};
    fprintf(file, "signs: {a: {%s: %s}", random_below(random, 2) == 0 ? "left" : "right",
            often[random_below(random, 6)]);
    if (random_below(random, 2) == 0)
        fprintf(file, ", b: {%s: %s}", random_below(random, 2) == 0 ? "red" : "blue",
                often[random_below(random, 6)]);
    if (unit && random_below(random, 2) == 0)
        fprintf(file, ", size: %u mm +/- 1 mm", 40 + random_below(random, 20));
    if (unit && random_below(random, 2) == 0)
        fprintf(file, ", mark: {like: '^T%u', how_often: often}", random_below(random, 3));
    fprintf(file, "}");
}

static void draw_pack(const char *path, random_state *random)
{
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    fprintf(file, "pack: {name: drawn, title: Drawn, version: 1, not_listed: 1 of 10}\n"
                  "checks:\n"
                  "  a: {title: A, ask: A, choices: [left, right, none], place: counter, minutes: 1}\n"
                  "  b: {title: B, ask: B, choices: [red, green, blue], place: bench, minutes: 2}\n"
                  "  size: {title: S, ask: S, measure: length, unit: mm, range: 10 mm to 90 mm, "
                  "reading_error: {caliper: 0.1 mm}, place: bench, minutes: 3}\n"
                  "  mark: {title: M, ask: M, text: yes, place: counter, minutes: 1}\n"
                  "parts: {p: {title: P, where: unit}, q: {title: Q, where: vehicle}}\n"
                  "units:\n");
    for (uint32_t i = 0; i < 2 + random_below(random, 6); i++) {
        fprintf(file, "  u%u: {title: U%u, source: s, seen: %u, ", i, i, 1 + random_below(random, 9));
        draw_signs(file, random, true);
        fprintf(file, "}\n");
    }
    fprintf(file, "causes:\n");
    for (uint32_t i = 0; i < 2 + random_below(random, 4); i++) {
        fprintf(file,
                "  c%u: {title: C%u, part: %s, seen: %u %%, source: s, plan: {replace: [p], minutes: %u}, ",
                i, i, random_below(random, 2) == 0 ? "p" : "q", 1 + random_below(random, 9),
                5 + random_below(random, 50));
        draw_signs(file, random, false);
        fprintf(file, "}\n");
    }
    fclose(file);
}

Test(image, opens_every_stage_of_random_packs_as_they_do)
{
    char folder[] = "/tmp/cw-drawn-XXXXXX", path[64];
    random_state random = random_start(20261130);
    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/pack.yaml", folder);
    for (int i = 0; i < 20; i++) {
        draw_pack(path, &random);
        expect_same_openings(folder, true);
    }
    remove(path);
    rmdir(folder);
}

Test(image, calls_that_break_a_rule)
{
    char place[8];
    const char *folders[] = {SHOP};
    cr_expect_eq(cw_pack_write_image(NULL, NULL, 1, NULL, NULL), CW_BAD_CALL);
    cr_expect_eq(cw_pack_write_image(NULL, folders, 0, NULL, NULL), CW_BAD_CALL);
    cr_expect_not(cw_pack_image_place(folders, 1, place, sizeof place));
    cr_expect_not(cw_pack_image_place(NULL, 1, place, sizeof place));
    cr_expect_not(cw_pack_from_image(NULL));
}
