/* Many pieces of work of one kind over several threads, taken back in their order whoever was first done. */
#ifndef TOOLS_TRIAL_CREW_H
#define TOOLS_TRIAL_CREW_H

#include <stddef.h>

typedef struct crew {
    size_t count;                                            /* pieces */
    size_t size;                                             /* bytes of one result */
    unsigned threads;                                        /* at least 1 */
    void (*work)(void *context, size_t index, void *result); /* on any thread; result is zeroed before */
    void (*take)(void *context, size_t index, void *result); /* on the caller's thread, index 0, 1, 2, ... */
    void *context;
} crew;

/* Only so many results as a few for each thread are there at once. Returns EXIT_DONE, or EXIT_FAILED when
 * there is no memory to begin with; nothing has been taken then. Where no further thread can be had, it goes
 * on with those there are. */
int crew_run(const crew *of);
/* Processors that can be used now; at least 1. */
unsigned crew_processors(void);

#endif
