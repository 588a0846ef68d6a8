/* What the files of the benchmark share. A family of rows is one file, rows_<family>.c, with one function and
 * one line in family.def; it makes its own work, does it and its baseline in turn, in this run, and adds its
 * rows. The best time of each counts: that is the one least disturbed by whatever else the machine does.
 * Ratios can be compared between machines; milliseconds cannot. */
#ifndef CW_BENCH_BENCH_H
#define CW_BENCH_BENCH_H

#include "corewright/corewright.h"

#include <stdbool.h>
#include <stddef.h>

enum { BENCH_SIZES = 3, BENCH_FOLDERS = 16 };

/* One size of the work. */
typedef struct bench_point {
    double items;      /* how much work: rules, families; 0 where there is only one size */
    double ours, base; /* in the row's unit; base 0: there is none */
    size_t peak;       /* most bytes that our side held at once; 0: not measured */
} bench_point;

typedef enum bench_goal {
    BENCH_NO_GOAL,
    BENCH_AT_MOST, /* ours takes at most so many times the baseline */
    BENCH_FASTER,  /* the baseline takes at least so many times ours */
    BENCH_EQUAL    /* ours is the baseline give or take this share */
} bench_goal;

typedef struct bench_row {
    const char *name;            /* one word, for programs */
    const char *work, *baseline; /* for people */
    const char *unit;            /* "ms"; "instructions" */
    bench_goal kind;
    double goal;
    bench_point points[BENCH_SIZES]; /* the last one is judged */
    size_t count;
    const char *left_out; /* why it could not be measured; NULL: it was */
} bench_row;

typedef struct bench {
    unsigned runs;                      /* of quick work; longer work is done less often */
    const char *folders[BENCH_FOLDERS]; /* the packs that ship */
    size_t folder_count;
    bench_row *rows;
    size_t row_count;
} bench;

/* Copies the row; its strings must outlive the bench. */
bool bench_add(bench *b, const bench_row *row);

/* Says on standard error what went wrong; false. */
bool bench_failed(const char *what, cw_status status);

/* Processor time in milliseconds, of all threads together: what is timed waits for nothing but the disk, and
 * files are read before the first run that counts. */
double bench_now(void);
/* By the clock, which several cores make shorter, and other work on the machine longer. */
double bench_clock(void);
/* Keeps the smaller one; 0 = none yet. */
void bench_best(double *best, double milliseconds);

/* An allocator that knows how much it has given out; zeroed to begin with. */
typedef struct bench_memory {
    size_t held, peak, calls;
} bench_memory;
cw_settings bench_counted(bench_memory *memory);

/* Opens the packs, from their YAML; says the messages on standard error when it cannot. settings may be NULL.
 */
bool bench_open(const cw_settings *settings, const char *const *folders, size_t count, cw_pack **out);
/* One answer, at the check's first place with its first tool. */
bool bench_give(cw_session *session, const char *check, const char *value);

#define BENCH_FAMILY(name, title) bool bench_##name(bench *b);
#include "family.def"
#undef BENCH_FAMILY

#endif
