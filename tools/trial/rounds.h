/* A round over a corpus: its files, the packs they are held against, and how many threads take them. */
#ifndef TOOLS_TRIAL_ROUNDS_H
#define TOOLS_TRIAL_ROUNDS_H

#include "corewright/corewright.h"
#include "trial/corpus.h"

typedef struct rounds {
    corpus_files files;
    cw_pack *pack; /* NULL where the caller opens its own */
    unsigned threads;
} rounds;

/* --threads, or all processors, and the files of the words from `first` on. The reason for anything but
 * EXIT_DONE is on standard error, and there is nothing to close. */
int rounds_find(const cli_options *options, size_t first, rounds *out);
/* The same, of all words, and the packs too. */
int rounds_open(const cli_options *options, rounds *out);
void rounds_close(rounds *of);

#endif
