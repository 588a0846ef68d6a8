/* What learn has in hand, and the ways it is told. */
#ifndef TOOLS_LEARN_LEARN_H
#define TOOLS_LEARN_LEARN_H

#include "corewright/corewright.h"
#include "screen/progress.h"
#include "trial/rounds.h"
#include <stdio.h>

typedef struct learn_counts {
    size_t causes, units, no_label, unlisted, stopped, rebuilt, bad;
} learn_counts;

typedef struct learn {
    const cli_options *options;
    rounds over;
    cw_learning *learning;
    learn_counts counts;
    progress bar;
    cw_learn_worth worth;
    cw_status status; /* the machine failed */
} learn;

/* The overlay pack, to a stream. */
void learn_write_pack(const learn *all, const cw_learned_list *learned, FILE *out);
/* EXIT_DONE, or the reason is on standard error. */
int learn_print_json(const learn *all, const cw_learned_list *learned);
/* For people: how many jobs, where the shop contradicts the book, and what moved most besides. */
void learn_report(const learn *all, const cw_learned_list *learned);
/* "book 60 %, shop 14 of 20 jobs (12.6 laid to it), now 63.2 % (90 %: 49.0 to 76.1 %)" */
void learn_say(const cw_learned *one, char *out, size_t size);

#endif
