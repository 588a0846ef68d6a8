/* A pack out of its image is shared by threads like any other, and says the same. */
#include "support.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
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
