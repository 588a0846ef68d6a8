/* What cannot be told apart: for every two units, or causes, of a pack the looks that part them when nothing
 * has been told yet.
 *
 * A *look* is a check, or several that only tell something together (a reading, and what says where its limit
 * lies). Its answers are tried on a scratch chain: readings in pieces as in ask.h, in the middle of a piece,
 * so that one nearer to a limit than its error stays doubtful; answers that lead to the same evidence are one
 * outcome. P(outcome | member) is the product of what its signs say, each reading once; what the answers do
 * not bring out is one outcome more, and where they come to more than all they are scaled. Units: signs with
 * production, reading error, blunders and swaps (rank/identity.h). Causes: this one alone against that one
 * alone, each beside the background, neither having led to another. A look at a check that no rule reads
 * needs no chain: values by their chances, sizes as normal distributions, cut where they cross; texts by the
 * patterns of both.
 *
 * *Certainty* that a look parts a from b: that the likelier of the two is the right one, both being as likely
 * beforehand: (1 + V) / 2, V = half the sum over outcomes of |P(o | a) - P(o | b)|, the total variation.
 *
 * Several looks count as independent given the member. They go together when no evidence and no check but
 * those that only set the stage is in both, and of what is swapped together one look alone counts. Outcomes
 * of several are merged where they speak for a to the same 128th: the certainty of a set is never overstated
 * by that. Cheapest set that reaches `sure`: branch and bound in counted nodes, by minutes; a set can reach
 * it only if the sum of -log B, B = sum of sqrt(P(o | a) P(o | b)), is at least -log(1 - (2 sure - 1)^2) / 2
 * (Kailath 1967; Bhattacharyya 1943), which bounds what is still to come.
 *
 * Minutes: of each check once, at the quickest of the places allowed, and the way to each place but the
 * counter once.
 *
 * Not counted: how often units or causes come in; how often a circumstance holds that shifts a cause or rules
 * it out, which no pack says; that a cause has led to another; data of the unit in hand. */
#ifndef CW_ASK_APART_H
#define CW_ASK_APART_H

#include "ask/ask.h"

#define CW_APART_SURE 0.95
#define CW_APART_STEPS 2000000000u
#define CW_APART_COVER_STEPS 20000000u /* of these, for one smallest set */
enum {
    CW_APART_ALL = 200,   /* up to so many members every pair is listed */
    CW_APART_WORST = 1000 /* of more: the pairs that are hardest to part */
};

typedef struct cw_apart_limits {
    cw_about about;
    uint32_t places;    /* mask of places allowed; 0 = all */
    double sure;        /* between 0.5 and 1; 0 = CW_APART_SURE */
    uint64_t max_steps; /* 0 = CW_APART_STEPS */
} cw_apart_limits;

typedef struct cw_apart_set {
    const cw_check_id *checks; /* in the order of doing: by place, then id */
    const cw_where *places;    /* beside checks */
    uint32_t count;
    double minutes, certainty;
    cw_where place; /* of the last one */
} cw_apart_set;

/* ONE: a single look reaches `sure`. SEVERAL: several together do. HARDLY: all together do not. NOT: nothing
 * allowed parts them at all. */
typedef enum cw_apart_how { CW_APART_ONE, CW_APART_SEVERAL, CW_APART_HARDLY, CW_APART_NOT } cw_apart_how;

typedef struct cw_apart_pair {
    uint32_t a, b; /* indices of members, a < b */
    cw_apart_how how;
    cw_apart_set set; /* ONE, SEVERAL: the cheapest that reaches `sure`; HARDLY: the surest found */
    bool proven;      /* ONE, SEVERAL: none is cheaper. HARDLY: no set is sure enough */
    bool shifted;     /* a circumstance shifts, or rules out, one of them and not the other */
} cw_apart_pair;

/* Members that stand together until one goes further. */
typedef struct cw_apart_group {
    const uint32_t *members; /* indices */
    uint32_t count;
    cw_where only;      /* only looks that take this place part them; CW_WHERE_COUNT: nothing allowed does */
    cw_apart_set tells; /* the cheapest look anywhere that parts any two of them; count 0: none. certainty: of
                           the pair that it parts best */
} cw_apart_group;

/* The smallest set of checks at the places (those allowed; the counter alone where all are) that settles as
 * much as all of them there: for each pair a look that is sure, or within a fiftieth of the V of the surest.
 */
typedef struct cw_apart_cover {
    uint32_t places;
    const cw_check_id *checks; /* by id */
    const cw_where *at;        /* beside checks */
    uint32_t count, of;        /* of: checks that part any two there */
    double minutes;
    uint32_t at_least; /* no such set has fewer */
    bool exact;        /* none has fewer, and none of as many takes fewer minutes */
    uint64_t pairs;    /* that are parted there at all */
} cw_apart_cover;

typedef struct cw_apart_result {
    const uint32_t *members; /* unit or cause ids, in order of id */
    uint32_t count;
    uint64_t pairs[CW_APART_NOT + 1];  /* how many of each kind */
    uint64_t by_place[CW_WHERE_COUNT]; /* ONE: where the look ends */
    const cw_apart_pair *list;         /* all, by a, then b; of many the hardest: worst first */
    uint32_t list_count;
    bool all;                     /* every pair is listed */
    const cw_apart_group *groups; /* CW_WHERE_COUNT first, then by place; largest first */
    uint32_t group_count;
    cw_apart_cover cover;
    uint32_t look_count;
    uint32_t left_out; /* looks of too many answers together to be tried */
    bool cut_short;    /* the steps ran out: looks or sets that were not tried may tell more */
    uint64_t steps;
} cw_apart_result;

/* Lives in the arena. CW_NO_MEMORY. */
cw_status cw_ask_apart(cw_asker *asker, const cw_apart_limits *limits, cw_arena *arena, cw_apart_result *out);

#endif
