/* Random networks of causes, as plain numbers for outside programs and as a model for the engine. */
#ifndef CW_TESTS_SUMS_NETWORK_H
#define CW_TESTS_SUMS_NETWORK_H

#include "rank/causes.h"
#include "support/random.h"

enum { SUMS_CAUSES = 40, SUMS_FINDINGS = 30, SUMS_VALUES = 3, SUMS_LINKS = 120, SUMS_SIGNS = 600 };

typedef struct sums_link {
    uint32_t from, to; /* causes, from 0 */
    double chance;
} sums_link;

typedef struct sums_sign {
    uint32_t cause, finding;
    double chances[SUMS_VALUES];
} sums_sign;

typedef struct sums_finding {
    uint32_t values, seen;
    double background[SUMS_VALUES];
} sums_finding;

typedef struct sums_network {
    uint32_t cause_count, finding_count, link_count, sign_count;
    double own[SUMS_CAUSES];
    sums_finding findings[SUMS_FINDINGS];
    sums_link links[SUMS_LINKS];
    sums_sign signs[SUMS_SIGNS];
} sums_network;

/* Any cause may lead to any later one and show any finding, both so many times in a hundred. */
void sums_dense(sums_network *net, random_state *random, uint32_t causes, uint32_t findings);
/* Yes-or-no findings of at most four causes each, at most two causes that lead to one. */
void sums_sparse(sums_network *net, random_state *random, uint32_t causes, uint32_t findings);

/* The engine's answer: by cause. Returns P(evidence); below 0 if it was not exact. */
double sums_rank(const sums_network *net, double *by_cause);
/* Whether the first cause is said to be firm. */
bool sums_firm(const sums_network *net);
/* Within so many steps, with bounds. */
void sums_bounds(const sums_network *net, uint64_t steps, double *low, double *high);

#endif
