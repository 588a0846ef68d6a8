/* The files of a pack read to nodes on several cores at once: nothing of one file hangs on another, and most
 * of the time that loading takes is libyaml's. It changes what loading takes and nothing else: a file about
 * which there is anything to say, or for which there is no memory, is left to whoever reads the files in
 * turn, so that messages come as if there were one core.
 *
 * A caller's own allocator is never asked by two threads at once, so with one nothing is read ahead. */
#ifndef CW_PACK_AHEAD_H
#define CW_PACK_AHEAD_H

#include "pack/yaml.h"

#include <pthread.h>
#include <stdatomic.h>

enum { AHEAD_HANDS = 4, AHEAD_LEAST_BYTES = 1 << 15 /* below, starting a thread costs as much */ };

/* One file: `root` stays NULL where it is to be read in turn. */
typedef struct ahead_file {
    uint32_t source;
    const cw_node *root;
} ahead_file;

typedef struct ahead {
    const cw_sources *sources;
    ahead_file *files;
    size_t count;
    atomic_size_t next; /* the first that nobody has taken */
    struct ahead_hand {
        struct ahead *all;
        cw_arena *arena;
        pthread_t thread;
    } hands[AHEAD_HANDS];
    size_t started;
} ahead;

/* Hands begin to read; the caller is free to do other things meanwhile. `arenas` are the caller's, each NULL
 * until a hand needs one. */
void ahead_begin(ahead *all, cw_arena *arenas[AHEAD_HANDS], const cw_allocator *allocator,
                 const cw_sources *sources, ahead_file *files, size_t count);
/* Takes part in what is left, and waits for the hands: nodes then lie in `arena` and in theirs. Without hands
 * nothing is read. */
void ahead_end(ahead *all, cw_arena *arena);

#endif
