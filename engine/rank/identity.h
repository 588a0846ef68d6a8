/* Which unit: exactly one version is true, or the unit is not listed.
 *
 * P(unit | evidence) is proportional to share(unit) * product over groups g of L_g(unit); share is `seen`
 * over the sum, times (1 - not_listed). Evidence whose checks are swapped together (the same swap_group)
 * forms one group, every other piece a group of its own: an earlier rebuild has swapped all of a group or
 * none of it. With E_g the evidence of the group, s = swapped, b = blunders of a piece's check (all 0 for a
 * fact without a check):
 *
 *   L_g(u) = (1 - s) * product over e in E_g of ((1 - b) * own(e, u) + b * even(e))
 *          +      s  * product over e in E_g of ((1 - b) * avg(e)    + b * even(e))
 *
 * avg is what the catalogue shows: the seen-weighted mean of own over the versions that have a sign on the
 * fact (even, where none has; c for texts). What was swapped in came off some other unit.
 *   finite   n values; own = the sign's chance of the value, avg without a sign; even = 1 / n
 *   measure  w = width of the range; own = normal density of mean, sqrt(sd^2 + error^2), which is never taken
 *            under 1e-9 w; avg without a sign; even = 1 / w. A reading that is only known to lie between two
 *            limits: the same integrated between them
 *   stamped  c = 0.01 if any known pattern of any unit matches the text, else 0.99. A unit with a pattern
 * that matches: own = its chance (the largest); with patterns, none of which matches: own = (1 - sum of
 *            chances) * c; without: own = c. even = 1/2
 * Not listed: own = avg / 2 + even / 2, for texts c, and no swap: what has come off a unit nobody knows is as
 * unknown as what was on it. L_g is then the first product alone, without (1 - s).
 *
 * That a unit without a sign on a measure, too, looks like the average and not like anything at all in the
 * range keeps kinds alike: else a unit would pay for each size it does not state as much as for a wrong one.
 *
 * Computed in logarithms, normalised once. Evidence that nothing allows (only without blunders) leaves the
 * shares as they are. */
#ifndef CW_RANK_IDENTITY_H
#define CW_RANK_IDENTITY_H

#include "base/places.h"
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
/* The same in somebody's arena, that of the model or one that goes before it: to be kept with the model in an
 * image, which finds their pointers by this walk. */
cw_status cw_identity_tables_in(const cw_model *model, cw_arena *arena, cw_identity_tables **out);
void cw_identity_tables_places(const cw_identity_tables *tables, cw_places *places);
/* Those that were kept, which must outlive them, for the model that they were kept with; to be freed. */
cw_status cw_identity_tables_over(const cw_identity_tables *kept, const cw_model *model,
                                  const cw_allocator *allocator, cw_identity_tables **out);

/* Lives in the arena. */
cw_status cw_identity_rank(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count,
                           cw_arena *arena, cw_identity *out);
/* Whether the first (0 = not listed) stays first when every frequency it rests on is off by one word of the
 * scale, all at their worst at once: shown to hold. If not, *rival: what may come first then (0 = not
 * listed). What it takes it takes from the arena. */
cw_status cw_identity_firm(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count,
                           cw_unit_id first, cw_arena *arena, bool *firm, cw_unit_id *rival);
/* Arrays "by line" hold one number for not listed, then one for each version in order of id.
 *
 * What each shows, blunders mixed in: *own by line if nothing was swapped, *average for any version if it
 * was.
 */
void cw_identity_shown(const cw_identity_tables *tables, const cw_evidence *evidence, double *own,
                       double *average);
/* Log L of the group that evidence[at] opens, by line; false, and nothing, when an earlier piece has opened
 * it or the piece does not count. `swapped` (may be NULL), by line: P(the group was swapped | unit, its
 * evidence). `room` is as long as they are. */
bool cw_identity_log_likelihoods(const cw_identity_tables *tables, const cw_evidence *evidence, size_t count,
                                 size_t at, double *logs, double *swapped, double *room);
/* s of the fact's check: the chance of a swap before there is evidence. */
double cw_identity_swapped(const cw_identity_tables *tables, cw_fact_id fact);
/* Chance of each value of a finite fact for a unit (0 = not listed), where its swap has this chance; blunders
 * mixed in. */
void cw_identity_chances(const cw_identity_tables *tables, cw_fact_id fact, cw_unit_id unit, double swapped,
                         double *chances);
/* How many additions cw_identity_gain takes for a finite fact that units have signs on; 0 for any other. */
uint32_t cw_identity_column(const cw_identity_tables *tables, cw_fact_id fact);
/* Most kinds of sign on one fact: so much room cw_identity_gain wants. */
uint32_t cw_identity_widest(const cw_identity_tables *tables);
/* Expected information of such a fact, of whose swap no evidence speaks, in bits; chance by line. For answers
 * v
 *
 *   sum over v, u of p(u) P(v|u) log(P(v|u) / P(v)) = sum over u of p(u) S(u) - sum over v of P(v) log P(v)
 *
 * S(u), the sum over v of P(v|u) log P(v|u), hangs on the sign alone: one addition for each version with a
 * sign is all that depends on their number. */
double cw_identity_gain(const cw_identity_tables *tables, cw_fact_id fact, const double *chance,
                        double *room);
/* Sum of probabilities of the versions below a unit (itself if a version). */
double cw_identity_below(const cw_model *model, const cw_identity *identity, cw_unit_id unit);

#endif
