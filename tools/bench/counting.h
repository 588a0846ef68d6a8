/* The yardstick for chaining: counters over flat arrays (Dowling & Gallier 1984), with nothing that a session
 * needs beside them: no doubt, no absence, no reasons, no way back. */
#ifndef CW_BENCH_COUNTING_H
#define CW_BENCH_COUNTING_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct counting {
    uint32_t rules, atoms;            /* the last two atoms are the answers */
    uint32_t *head, *wants, *missing; /* by rule: how many premises; of these how many are not known yet */
    uint32_t *start, *uses;           /* of an atom: the rules that it is a premise of */
    uint32_t *queue;
    unsigned char *known; /* by atom */
} counting;

/* The rules of workload_chain without those of the side. False, and says so, without memory. */
bool counting_new(unsigned rules, counting *out);
void counting_free(counting *c);
/* Nothing is known. */
void counting_reset(counting *c);
/* Gives both answers; returns how many atoms are known then. */
uint32_t counting_run(counting *c);

#endif
