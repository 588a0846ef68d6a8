/* Which of several present causes made a finding: the chances of a noisy-MAX from cases in which the causes
 * are known and the finding was seen, by expectation-maximisation (Dempster, Laird & Rubin 1977).
 *
 * Each source present in a case (the background, a cause through its sign) draws a value, the largest shows
 * (rank/causes.h). Complete would be a case that also told every draw; then a source's chances would have the
 * posterior Dirichlet(prior + draws). Each step takes the draws as they are expected, given what showed and
 * the chances so far:
 *
 *     P(k drew u | largest is v) = p_k(u) P(largest of the others is v) / P(v)      u < v
 *                                  p_k(v) P(others at most v) / P(v)                u = v
 *
 * and then the chances that the expected draws and the prior make: (prior + expected) / (their sum). That
 * never lowers log P(cases) + sum of prior log p, whose maximum in logits this is; where every case has one
 * source alone it is the mean of the Dirichlet, at once.
 *
 * With two values and a source for "comes about by itself" the same holds of a cause that others lead to.
 * There circumstances multiply the odds of that source by `times`.
 *
 * Jobs in which nothing was wrong may be missing altogether, because nobody brings such a unit in. Of the
 * jobs of one kind, in which nothing is wrong with the chance P0, as many as came in stand for P0 / (1 - P0)
 * times as many that did not: they are expected in each step like the draws (Dempster, Laird & Rubin
 * 1977, 4.2: truncation). */
#ifndef CW_LEARN_NOISY_H
#define CW_LEARN_NOISY_H

#include "learn/spread.h"
#include <stdbool.h>

typedef struct learn_source {
    uint32_t values;
    const double
        *prior;       /* pseudo-cases of each value; a value of 0 is possible where chance starts above 0 */
    double *chance;   /* in: where to start from; out. 0 stays 0 */
    double *expected; /* out: draws by value */
    double *worth;    /* out: cases each chance is worth, prior and all */
    bool odds;        /* two values, and `times` of a group changes its odds */
    double cases;     /* out: in which it was present, those nobody brought in too */
    bool shared;      /* out: something about its draws was in doubt */
    uint32_t first_group, group_count; /* out: those that it comes first in */
} learn_source;

typedef struct learn_group {
    const uint32_t *sources; /* indices, different ones, at least one */
    uint32_t count, value;
    double times; /* 1; else the first source has `odds` */
    double cases; /* unseen: out */
    bool unseen;  /* stands for jobs nobody brought in: value 0, one source */
} learn_group;

/* Jobs of one kind that came in because something was wrong. */
typedef struct learn_came_in {
    double cases;
    const uint32_t *groups; /* indices: unseen ones, which together say that nothing was wrong */
    uint32_t count;
    double nothing; /* out: P0 */
} learn_came_in;

typedef struct learn_noisy {
    learn_source *sources;
    uint32_t source_count;
    learn_group *groups; /* where a source has odds: those with the same first source stand together */
    uint32_t group_count;
    learn_came_in *came_in; /* NULL: nothing is missing */
    uint32_t came_in_count;
    double impossible; /* out: cases that no source can have made; they count for nothing else */
    double objective;  /* out: of the chances before the last step */
    uint32_t steps;    /* out */
    bool settled;      /* out: no chance moved any more */
} learn_noisy;

#define LEARN_MOST_STEPS 20000u
/* One step. Returns how far the chance that moved most has moved. */
double learn_noisy_step(learn_noisy *of);
/* Steps until nothing moves, at most LEARN_MOST_STEPS; then what the chances are worth. CW_NO_MEMORY,
 * CW_LIMIT (too many values that could not be told apart). */
cw_status learn_noisy_run(learn_noisy *of, const cw_allocator *allocator);

#endif
