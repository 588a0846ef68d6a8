#include "trial/crew.h"
#include "screen/exit.h"
#include <pthread.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { AHEAD = 16, MOST = 256 }; /* results for each thread; threads */

/* A ring of results: piece i lies in slot i % slots, from when it was begun until it has been taken. */
typedef struct ring {
    const crew *of;
    unsigned char *results;
    bool *done;
    size_t slots;
    size_t begun, taken; /* pieces; begun - taken <= slots */
    pthread_mutex_t lock;
    pthread_cond_t may_begin, may_take;
} ring;

static void *result_of(ring *all, size_t index)
{
    return all->results + index % all->slots * all->of->size;
}

static void *worker(void *argument)
{
    ring *all = argument;
    pthread_mutex_lock(&all->lock);
    while (all->begun < all->of->count) {
        if (all->begun - all->taken == all->slots) {
            pthread_cond_wait(&all->may_begin, &all->lock);
            continue;
        }
        size_t index = all->begun++;
        pthread_mutex_unlock(&all->lock);
        memset(result_of(all, index), 0, all->of->size);
        all->of->work(all->of->context, index, result_of(all, index));
        pthread_mutex_lock(&all->lock);
        all->done[index % all->slots] = true;
        if (index == all->taken)
            pthread_cond_signal(&all->may_take);
    }
    pthread_mutex_unlock(&all->lock);
    return NULL;
}

static void take_all(ring *all)
{
    for (size_t index = 0; index < all->of->count; index++) {
        pthread_mutex_lock(&all->lock);
        while (!all->done[index % all->slots])
            pthread_cond_wait(&all->may_take, &all->lock);
        pthread_mutex_unlock(&all->lock);
        all->of->take(all->of->context, index, result_of(all, index));
        pthread_mutex_lock(&all->lock);
        all->done[index % all->slots] = false;
        all->taken++;
        pthread_cond_signal(&all->may_begin);
        pthread_mutex_unlock(&all->lock);
    }
    pthread_mutex_lock(&all->lock); /* whoever still waits sees that nothing is left */
    pthread_cond_broadcast(&all->may_begin);
    pthread_mutex_unlock(&all->lock);
}

static void alone(ring *all)
{
    for (size_t index = 0; index < all->of->count; index++) {
        memset(all->results, 0, all->of->size);
        all->of->work(all->of->context, index, all->results);
        all->of->take(all->of->context, index, all->results);
    }
}

static void together(ring *all)
{
    pthread_t threads[MOST];
    unsigned started = 0;
    pthread_mutex_init(&all->lock, NULL);
    pthread_cond_init(&all->may_begin, NULL);
    pthread_cond_init(&all->may_take, NULL);
    while (started < all->of->threads && started < MOST &&
           pthread_create(&threads[started], NULL, worker, all) == 0)
        started++;
    if (started == 0)
        alone(all);
    else
        take_all(all);
    for (unsigned i = 0; i < started; i++)
        pthread_join(threads[i], NULL);
    pthread_cond_destroy(&all->may_take);
    pthread_cond_destroy(&all->may_begin);
    pthread_mutex_destroy(&all->lock);
}

int crew_run(const crew *of)
{
    unsigned threads = of->threads < MOST ? of->threads : MOST;
    ring all = {.of = of, .slots = threads > 1 ? (size_t)AHEAD * threads : 1};
    all.results = malloc(all.slots * of->size);
    all.done = calloc(all.slots, sizeof *all.done);
    int status = all.results != NULL && all.done != NULL ? EXIT_DONE : EXIT_FAILED;
    if (status != EXIT_DONE)
        fputs("corewright: error: out of memory\n", stderr);
    else if (threads > 1)
        together(&all);
    else
        alone(&all);
    free(all.done);
    free(all.results);
    return status;
}

unsigned crew_processors(void)
{
    long count = sysconf(_SC_NPROCESSORS_ONLN);
    return count < 1 ? 1 : count > MOST ? MOST : (unsigned)count;
}
