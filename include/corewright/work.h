/* The open unit, part by part: reuse, rework or replace, against which limit; what is still to be measured;
 * which later part is fitted in its place and what it costs; and whether what was complained of is explained.
 *
 * Owner and lifetime: the session's, until it next changes. Failures: CW_NO_MEMORY. A session of any stage
 * that ranks causes can be asked; with identify, or once a caution has ended the advice, all of it is empty.
 */
#ifndef COREWRIGHT_WORK_H
#define COREWRIGHT_WORK_H

#include "corewright/session.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_later_part {
    const char *part, *title;
    double cost; /* 0: not said */
} cw_later_part;

typedef struct cw_work_part {
    const char *part, *title;
    const char *verdict;     /* "reuse", "rework", "replace"; "open": not decided yet */
    const char *so_far;      /* open: the worst known, a verdict's word; NULL: nothing is */
    bool doubtful;           /* the worst known rests on a reading too near its limit, or is in dispute */
    bool disputed;           /* ... on things that cannot both be */
    bool always;             /* changed at every rebuild; its verdict is replace */
    const cw_fact_info *why; /* the conclusion that counts: the worst known; NULL: none does */
    const cw_check_info *const *measure; /* open: still to be measured, fewest minutes first */
    size_t measure_count;
    const char *const *untold; /* titles of verdicts that wait for what could not be told */
    size_t untold_count;
    const cw_later_part *later; /* what replaces it, step by step; the last is the newest */
    size_t later_count;
    double cost; /* of the newest; 0: not said */
} cw_work_part;

/* Parts with a verdict and those always changed, as a unit comes apart, then by name; not those on which no reading of this unit could
 * tell anything, such as another design of the same part. Of several verdicts on one part the worst known
 * counts. */
CW_API cw_status cw_session_work(cw_session *session, const cw_work_part **list, size_t *count);

typedef struct cw_work_sum {
    size_t reuse, rework, replace, open; /* parts; the doubtful among them */
    size_t doubtful;
    double cost;          /* of those to be replaced for sure */
    double at_most;       /* with those that are doubtful or open */
    size_t without_price; /* of those at most */
} cw_work_sum;
CW_API cw_status cw_session_work_sum(cw_session *session, const cw_work_sum **out);

/* A finding that is not normal, and the cause that accounts for it. A cause can where it shows this value at
 * least "sometimes" (30 of 100), or at least ten times as often as it is seen with nothing wrong. */
typedef struct cw_finding {
    const char *fact, *title;
    const char *value, *shown;
    const char *cause, *cause_title; /* the most probable one that can; NULL: none can */
    double probability;              /* that this one is present */
    bool explained;                  /* it is: at least even odds */
} cw_finding;

typedef struct cw_explained {
    const cw_finding *findings; /* by name of the fact */
    size_t count, unexplained;
    bool explained; /* there are findings, and each is explained */
} cw_explained;
CW_API cw_status cw_session_explained(cw_session *session, const cw_explained **out);

#ifdef __cplusplus
}
#endif

#endif
