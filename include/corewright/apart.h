/* What a pack cannot tell apart: for every two of its units, or causes, the cheapest checks that do, where, and
 * how surely; who stands together until one goes further; and the smallest set of checks that settles as much
 * as all of them. No session: it is said of the pack, with nothing told.
 *
 * Certainty is the chance of naming the right one of the two by the answers, both being as likely beforehand.
 *
 * Owner: whoever asked frees it; the pack must outlive it. Threads: a result is only read. Failures:
 * CW_NO_MEMORY; CW_NOT_FOUND for an unknown place; CW_BAD_CALL. */
#ifndef COREWRIGHT_APART_H
#define COREWRIGHT_APART_H

#include "corewright/pack.h"
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_apart_wish {
    bool causes;               /* else units */
    const char *const *places; /* checks done there count, no others */
    size_t place_count;        /* 0: all places */
    double sure;               /* the certainty that is wanted, above 0.5 and below 1; 0 = 0.95 */
} cw_apart_wish;

typedef struct cw_apart_member {
    const char *id, *title;
} cw_apart_member;

typedef struct cw_apart_check {
    const cw_check_info *check;
    const char *place; /* where it is done: the quickest to get to of those allowed */
} cw_apart_check;

typedef struct cw_apart_way {
    const cw_apart_check *checks; /* by place */
    size_t count;                 /* 0: there is no way */
    double minutes;               /* with the way to each place but the counter */
    double certainty;
    const char *place; /* of the last check; NULL without one */
} cw_apart_way;

typedef enum cw_apart_told {
    CW_APART_BY_ONE,     /* one look is sure enough: a check, or several that only tell something together */
    CW_APART_BY_SEVERAL, /* several looks together are */
    CW_APART_LESS_SURELY,
    CW_APART_BY_NOTHING
} cw_apart_told;

typedef struct cw_apart_two {
    size_t first, second; /* members */
    cw_apart_told told;
    cw_apart_way way;   /* the cheapest that is sure enough; where none is, the surest found */
    bool proven;        /* shown that none is cheaper; LESS_SURELY: that none is sure enough */
    bool circumstances; /* causes: circumstances shift or rule out the one and not the other, which the
                           certainty does not count */
} cw_apart_two;

typedef struct cw_apart_together {
    const size_t *members;
    size_t count;
    const char *only;   /* only looks that go to this place part them; NULL: nothing allowed does */
    cw_apart_way tells; /* the cheapest look that parts any two of them: with `only` among those allowed,
                           else anywhere. certainty: of the two that it parts best */
} cw_apart_together;

/* For each pair that is parted at these places at all the set holds a look that is sure enough, or nearly as
 * sure as the surest there. */
typedef struct cw_apart_smallest {
    const char *const *places; /* those of the wish; the counter where it names none */
    size_t place_count;
    const cw_apart_check *checks;
    size_t count, of; /* of: checks that tell anything there */
    double minutes;
    size_t at_least; /* proven: no such set has fewer */
    bool exact;      /* proven: none has fewer, and none of as many takes less time */
    uint64_t pairs;  /* parted there at all */
} cw_apart_smallest;

typedef struct cw_apart {
    bool causes;
    double sure;
    const cw_apart_member *members;
    size_t count;
    uint64_t pairs, told[4];   /* how many; by cw_apart_told */
    uint64_t one_at[4];        /* BY_ONE: by the place of the last check, as in cw_place_at */
    const cw_apart_two *list;  /* every two, in order; of more than 200 members the 1000 hardest to tell */
    size_t list_count;
    bool all;                         /* every pair is listed */
    const cw_apart_together *groups;  /* those that nothing allowed parts first */
    size_t group_count;
    cw_apart_smallest smallest;
    size_t left_out; /* looks with too many answers to be tried */
    bool cut_short;  /* the steps ran out: what was not looked at may tell more */
} cw_apart;

CW_API cw_status cw_pack_apart(const cw_pack *pack, const cw_apart_wish *wish, cw_apart **out);
CW_API void cw_apart_free(cw_apart *apart); /* NULL allowed */

#ifdef __cplusplus
}
#endif

#endif
