/* Jobs drawn at random for a noisy-MAX whose true chances are known. */
#ifndef CW_TESTS_LEARN_PROBLEM_H
#define CW_TESTS_LEARN_PROBLEM_H

#include "learn/noisy.h"
#include "support/random.h"

enum { PROBLEM_SOURCES = 6, PROBLEM_VALUES = 4, PROBLEM_GROUPS = 400 };

typedef struct problem {
    learn_noisy noisy;
    learn_source sources[PROBLEM_SOURCES]; /* the first is the background, or what comes about by itself */
    double numbers[PROBLEM_SOURCES][4][PROBLEM_VALUES]; /* prior, chance, expected, worth */
    double truth[PROBLEM_SOURCES][PROBLEM_VALUES];
    learn_group groups[PROBLEM_GROUPS];
    uint32_t lists[PROBLEM_GROUPS][PROBLEM_SOURCES];
} problem;

typedef struct problem_plan {
    uint32_t causes, values;
    uint32_t jobs, most_causes; /* each job has 0 .. most_causes of them */
    double worth, missing;      /* of the book; share of answers nobody gave */
    bool odds;                  /* circumstances change those of source 0; two values */
} problem_plan;

/* The truth is drawn from what the book believes: Dirichlet(worth * book). */
void problem_make(problem *out, random_state *random, const problem_plan *plan);
/* Gamma(shape, 1): Marsaglia & Tsang 2000, with Gamma(a) = Gamma(a + 1) U^(1/a) for small shapes. */
double problem_gamma(random_state *random, double shape);
/* The slow and obvious way: log P(groups) + sum of prior log chance, each group summed over every combination
 * of draws, for any chances. */
double problem_log(const problem *of, double chance[PROBLEM_SOURCES][PROBLEM_VALUES]);

#endif
