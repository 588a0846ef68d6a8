/* Work done by another process. */
#ifndef CW_BENCH_PROCESS_H
#define CW_BENCH_PROCESS_H

#include <stdbool.h>

typedef enum process_end { PROCESS_DONE, PROCESS_MISSING, PROCESS_FAILED } process_end;

/* Runs the program with one argument, its output thrown away; its processor time. PROCESS_MISSING: it is not
 * installed. */
process_end process_run(const char *program, const char *argument, double *milliseconds);

/* How many instructions the work takes in user space: done in a copy of this process, one instruction at a
 * time, since not every machine lets its counters be read. The copy ends with the work. False, and says so on
 * standard error, when it cannot be watched, or the work is not done. */
bool process_count(bool (*work)(void *context), void *context, double *instructions);

#endif
