/* Tables of numbers as scopes export them: columns between commas, semicolons or tabs, decimal points or
 * commas, lines of words and units before the numbers. */
#ifndef TOOLS_MEASURE_TABLE_H
#define TOOLS_MEASURE_TABLE_H

#include <stddef.h>

enum { TABLE_LEAST = 64, TABLE_MOST = 4000000 }; /* samples */

typedef struct trace_table {
    double *time, *volts; /* s, V; owned */
    size_t count;
    char time_unit[8], volts_unit[8]; /* as the head of the table has them; "" when it has none (s, V) */
} trace_table;

/* Time is the first column and volts the second; with rate (samples a second) above 0 the one column is
 * volts. EXIT_DONE, or messages FILE:LINE:COLUMN on standard error and EXIT_WRONG or EXIT_FAILED. */
int table_read(const char *path, double rate, trace_table *out);
void table_free(trace_table *table);

#endif
