/* The unit in hand in standard terms, under the headings of the packs: each line with how it is known, and what would
 * tell those that are missing. Enough to order parts by and to begin a new family from, where no list has the unit.
 *
 * Owner and lifetime: the session's, until it next changes. Failures: CW_NO_MEMORY. A session of any stage can be
 * asked; once a caution has ended the advice there are no headings. */
#ifndef COREWRIGHT_DESCRIPTION_H
#define COREWRIGHT_DESCRIPTION_H

#include "corewright/session.h"

#ifdef __cplusplus
extern "C" {
#endif

/* How a line is known. */
typedef enum cw_known_by {
    CW_KNOWN_BY_NOTHING,  /* missing */
    CW_KNOWN_BY_ANSWER,
    CW_KNOWN_BY_RULE,     /* why says which */
    CW_KNOWN_BY_UNIT,     /* what the packs know of the unit in hand; why says of which */
    CW_KNOWN_BY_CONFLICT  /* things that cannot both be: both are told, neither is taken */
} cw_known_by;

/* A check that would tell a missing line. */
typedef struct cw_teller {
    const cw_check_info *check;
    const char *place;
    double minutes; /* with the change of place */
} cw_teller;

/* Something the line rests on that an earlier rebuild or an owner may have changed. */
typedef struct cw_swap_risk {
    const cw_check_info *check;
    double share; /* of the units that come in; above 0 */
} cw_swap_risk;

typedef struct cw_description_line {
    const char *fact, *title;
    const char *value;        /* reads back the same; NULL: not known, in dispute, or several are possible */
    const char *shown;        /* for people; of several possible ones all: "M8 or M10"; NULL: not known */
    cw_known_by by;
    const cw_fact_info *why;  /* CW_KNOWN_BY_RULE, CW_KNOWN_BY_UNIT */
    const cw_conflict_info *conflict; /* CW_KNOWN_BY_CONFLICT */
    const char *tool;         /* CW_KNOWN_BY_ANSWER, measures */
    bool doubtful;            /* rests on a reading too near a limit */
    bool contested;           /* rests on something that is in dispute */
    const cw_swap_risk *swaps; /* likeliest first */
    size_t swap_count;
    bool untold;              /* missing, and all that would have told it was left open: "can't tell" */
    const cw_teller *tellers; /* missing: fewest minutes first; any place; at least one */
    size_t teller_count;
} cw_description_line;

typedef struct cw_description_heading {
    const char *heading, *title;
    const cw_description_line *lines; /* in the order of the pack; those that do not concern this unit are left out */
    size_t count;
} cw_description_heading;

typedef struct cw_description {
    bool unlisted; /* identify: "not listed" leads, or no family of the list has even odds */
    const cw_description_heading *headings; /* in the order of telling; those without lines are left out */
    size_t count;
    size_t known, missing; /* lines */
} cw_description;

CW_API cw_status cw_session_description(cw_session *session, const cw_description **out);

#ifdef __cplusplus
}
#endif

#endif
