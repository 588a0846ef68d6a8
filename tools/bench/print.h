#ifndef CW_BENCH_PRINT_H
#define CW_BENCH_PRINT_H

#include "bench.h"

/* A line for each row: what ours took, what the baseline, the ratio, the goal and whether it is met, growth,
 * peak memory. */
void print_table(const bench *b);
/* {"rows": [...]}: the same with every size measured. */
void print_json(const bench *b);

#endif
