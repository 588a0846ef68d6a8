/* Which unit: exactly one version is true, or the unit is not listed.
 *
 * P(unit | evidence) is proportional to share(unit) * product over evidence of L(e | unit); share is `seen`
 * over the sum, times (1 - not_listed). For one piece of evidence on fact f, with s = swapped, b = blunders
 * of its check (both 0 for a fact without a check):
 *   finite   n values; own(v) = the sign's chance; a unit without a sign on f: avg(v), the seen-weighted mean
 *            over those that have one; not listed: avg(v) / 2 + 1 / (2 n).
 *            L = (1 - b) * ((1 - s) * own(v) + s * avg(v)) + b / n
 *   measure  w = width of the range; own(x) = normal density of mean, sqrt(sd^2 + error^2), which is
 *            never taken under 1e-9 w.
 *            L = (1 - b) * ((1 - s) * own(x) + s / w) + b / w; without a sign, and not listed: 1 / w.
 *   stamped  c = 0.01 if any known pattern of any unit matches the text, else 0.99. A unit with a pattern
 *            that matches: own = its chance (the largest); with patterns, none of which matches:
 *            own = (1 - sum of chances) * c; without, and not listed: own = c.
 *            L = (1 - b) * ((1 - s) * own + s * c) + b / 2
 * Computed in logarithms, normalised once. Evidence that nothing allows (only without blunders) leaves the
 * shares as they are. */
#ifndef CW_RANK_IDENTITY_H
#define CW_RANK_IDENTITY_H

#include "rank/evidence.h"

typedef struct cw_identity {
    uint32_t count;            /* versions */
    const cw_unit_id *units;   /* versions, most probable first; ties by `seen`, then by id */
    const double *probability; /* beside units */
    double not_listed;
} cw_identity;

/* Fixed parts (averages) are worked out once per model. */
typedef struct cw_identity_tables cw_identity_tables;
cw_status cw_identity_tables_new(const cw_model *model, const cw_allocator *allocator,
                                 cw_identity_tables **out);
void cw_identity_tables_free(cw_identity_tables *tables);

/* Lives in the arena. */
cw_status cw_identity_rank(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count,
                           cw_arena *arena, cw_identity *out);
/* L(e | unit); unit 0 = not listed. */
double cw_identity_likelihood(const cw_identity_tables *tables, const cw_evidence *evidence, cw_unit_id unit);
/* The logarithms for all: entry 0 for not listed, then the versions in order of id. */
void cw_identity_log_likelihoods(const cw_identity_tables *tables, const cw_evidence *evidence, double *logs);
/* The same, not as logarithms: 0 where a density is too small. */
void cw_identity_likelihoods(const cw_identity_tables *tables, const cw_evidence *evidence, double *out);
/* Chance of each value of a finite fact for a unit (0 = not listed), swaps and blunders mixed in. */
void cw_identity_chances(const cw_identity_tables *tables, cw_fact_id fact, cw_unit_id unit, double *chances);
/* Sum of probabilities of the versions below a unit (itself if a version). */
double cw_identity_below(const cw_model *model, const cw_identity *identity, cw_unit_id unit);

#endif
