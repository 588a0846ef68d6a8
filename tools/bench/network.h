/* A network of the scale published for a diagnostic system of internal medicine: 570 causes, 4,075 findings,
 * some 80 findings for each cause (Shwe et al. 1991). Which and how often is made of numbers alone, and the
 * sum over sets of positive findings (Heckerman 1989) is written here plainly, as a yardstick. */
#ifndef CW_BENCH_NETWORK_H
#define CW_BENCH_NETWORK_H

#include <stdbool.h>

enum {
    NET_CAUSES = 570,
    NET_FINDINGS = 4075,
    NET_SIGNS = 80,
    NET_PARTS = 30,
    NET_POSITIVE = 12,
    NET_NEGATIVE = 30,
    NET_NEAR = 200
};

/* How many of 1000 jobs have the cause; the k-th finding that it shows, and how many times of 100. */
unsigned network_seen(unsigned cause);
unsigned network_finding(unsigned cause, unsigned k);
unsigned network_shows(unsigned cause, unsigned k);

/* What is found: positive are shown by three of the causes, negative by none of these. */
typedef struct network_found {
    unsigned positive[NET_POSITIVE], negative[NET_NEGATIVE];
} network_found;
network_found network_case(void);
/* The first so many findings beside these: those that can be looked at where one is. */
bool network_is_near(const network_found *found, unsigned finding);

/* P(cause | found), by cause, with only the first so many of the positive findings. The terms alternate: with
 * all twelve they cancel down to a few figures, with three they do not. */
void network_plain(const network_found *found, unsigned positive, double *by_cause);

#endif
