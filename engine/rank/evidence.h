/* What counts as evidence right now, each reading once. A finite fact with a known value (not doubtful, in
 * conflict, contested or context) that units or causes have signs on is a candidate; so is a measured or
 * stamped check that units have signs on and whose value is known. Where two candidates rest on a common
 * reading (context checks aside), only the most specific counts: more readings behind it; then more rules
 * between (the deeper conclusion); then more signs on it; then the name. */
#ifndef CW_RANK_EVIDENCE_H
#define CW_RANK_EVIDENCE_H

#include "base/arena.h"
#include "chain/chain.h"

typedef struct cw_evidence {
    cw_fact_id fact;
    uint32_t value;       /* finite facts */
    double number, error; /* measures */
    bool between;         /* measures, when asking ahead: the reading lies between low and high */
    double low, high;     /* (infinite at the ends), `number` is one of many */
    const char *text;     /* stamped */
    cw_fact_id yields_to; /* 0: counts. Else: the fact that counts in its place */
} cw_evidence;

typedef enum cw_about { CW_ABOUT_UNITS, CW_ABOUT_CAUSES } cw_about;

/* In order of fact id, one piece per fact; lives in the arena, texts too. */
cw_status cw_evidence_collect(const cw_chain *chain, cw_about about, cw_arena *arena, const cw_evidence **out,
                              size_t *count);

/* For whoever collects often: the facts that can be candidates, in order of their ids, found once. */
typedef struct cw_evidence_facts {
    cw_about about;
    const cw_fact_id *ids;
    size_t count;
} cw_evidence_facts;
cw_status cw_evidence_find_facts(const cw_model *model, cw_about about, cw_arena *arena,
                                 cw_evidence_facts *out);
cw_status cw_evidence_collect_among(const cw_chain *chain, const cw_evidence_facts *facts, cw_arena *arena,
                                    const cw_evidence **out, size_t *count);

#endif
