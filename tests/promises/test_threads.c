/* One pack and many threads, each with sessions of its own at every stage, all at once: what each of them
 * says is what it says alone. By hand also in a build with -fsanitize=thread, under which Criterion does not
 * start: with a stand-in for the few macros used here. */
#include "promises/shipped.h"
#include <pthread.h>

enum { THREADS = 3, STAGES = 4, JOBS = STAGES, ASKED = 2 };

/* Random answers; all that the session says after each of the first few and at the end. */
static char *a_job(const cw_pack *pack, int job)
{
    random_state random = random_start(51u + (uint64_t)job);
    answer answers[MOST];
    const size_t count = some_answers(&random, pack, answers);
    cw_session *session = start(pack, cw_stage_at((size_t)(job % STAGES)));
    page_text page = {NULL, 0, 0};
    for (size_t i = 0; i < count; i++) {
        give(session, &answers[i]);
        if (i >= ASKED && i + 1 < count)
            continue;
        char *said = everything(session);
        print_text(&page, said);
        free(said);
    }
    cw_session_free(session);
    return page.text;
}

typedef struct task {
    const cw_pack *pack;
    char *const *alone; /* by job */
    int first;          /* job; every thread does all of them, each in another order */
    int different;      /* jobs */
} task;

static void *work(void *context)
{
    task *own = context;
    for (int i = 0; i < JOBS; i++) {
        const int job = (own->first + i) % JOBS;
        char *said = a_job(own->pack, job);
        own->different += strcmp(said, own->alone[job]) != 0;
        free(said);
    }
    return NULL;
}

Test(threads, each_says_what_it_says_alone, .timeout = 600)
{
    cw_pack *pack = shipped(NULL);
    cr_assert_not_null(cw_stage_at(STAGES - 1));
    char *alone[JOBS];
    for (int job = 0; job < JOBS; job++)
        alone[job] = a_job(pack, job);
    cw_pack *fresh = shipped(NULL); /* nobody has used it yet */
    task tasks[THREADS];
    pthread_t threads[THREADS];
    for (int i = 0; i < THREADS; i++) {
        tasks[i] = (task){.pack = fresh, .alone = alone, .first = i};
        cr_assert_eq(pthread_create(&threads[i], NULL, work, &tasks[i]), 0);
    }
    for (int i = 0; i < THREADS; i++) {
        cr_assert_eq(pthread_join(threads[i], NULL), 0);
        cr_expect_eq(tasks[i].different, 0, "thread %d: %d of %d jobs", i, tasks[i].different, (int)JOBS);
    }
    for (int job = 0; job < JOBS; job++)
        free(alone[job]);
    cw_pack_free(fresh);
    cw_pack_free(pack);
}
