/* Which check is worth its minutes. For each open check that may be asked (stage, place, only_if, not answered, not already
 * concluded) every answer it can give is tried on a scratch chain, ranked, and weighed by its probability:
 *   units   bits = expected fall of the entropy over versions and "not listed"
 *   causes  bits = expected fall of the summed entropies of the causes, plus that of "unit at fault"
 * worth = bits / (minutes + 1 per change of place). Measured checks are split at the limits that rules and units
 * set (midpoints between units' nominals), each piece tried with a reading of its own. */
#ifndef CW_ASK_ASK_H
#define CW_ASK_ASK_H

#include "rank/causes.h"
#include "rank/identity.h"

typedef struct cw_proposal {
    cw_check_id check;
    cw_where place; /* the cheapest allowed */
    double minutes; /* with the change of place */
    double bits;
    double worth;   /* bits per minute */
} cw_proposal;

typedef struct cw_ask_limits {
    cw_stage stage;
    uint32_t places;     /* mask of allowed places; 0 = all */
    cw_where here;       /* where the person is now */
    double enough_bits;  /* a check below this is not worth asking (default 0.01) */
    double sure;         /* asking stops when the first line is this probable (default 0.97) */
    uint64_t max_steps;  /* counted, of all trials together; 0 = default */
} cw_ask_limits;

/* Hypotheses that nothing allowed tells apart. */
typedef struct cw_twins {
    const uint32_t *members; /* unit or cause ids, at least two, most probable first */
    uint32_t count;
    double probability;      /* together */
    cw_proposal tells;       /* the cheapest check, at any place, that would; check 0 if none does */
} cw_twins;

typedef struct cw_advice {
    const cw_proposal *checks; /* best worth first; ties by minutes, then name */
    size_t count;
    bool stop;                 /* nothing more is worth asking */
    enum { CW_STOP_NOT, CW_STOP_SURE, CW_STOP_NOTHING_HELPS, CW_STOP_CAUTION } why;
    const cw_twins *twins;
    size_t twins_count;
    bool cut_short;            /* max_steps was spent; what is listed is exact, the rest was not looked at */
} cw_advice;

typedef struct cw_asker cw_asker; /* scratch chain and tables of one session */
cw_status cw_asker_new(const cw_model *model, const cw_identity_tables *tables, const cw_allocator *allocator,
                       cw_asker **out);
void cw_asker_free(cw_asker *asker);

/* Lives in the arena. The chain is only read. */
cw_status cw_ask_next(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits, cw_arena *arena,
                      cw_advice *out);
/* True when the check may be asked: stage, place, only_if holds, neither answered nor concluded. */
bool cw_ask_open(const cw_chain *chain, cw_check_id check, const cw_ask_limits *limits);

#endif
