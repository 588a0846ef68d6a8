/* Reassembly: the steps for the unit in hand in the order of work, each with its cautions, the mistake that is made
 * there, and the comeback that the mistake makes.
 *
 * Owner and lifetime: the session's, until it next changes. Failures: CW_NO_MEMORY. A session of any stage can be
 * asked; once a caution has ended the advice, there are none. */
#ifndef COREWRIGHT_STEPS_H
#define COREWRIGHT_STEPS_H

#include "corewright/work.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_comeback {
    const char *cause, *title;
} cw_comeback;

typedef struct cw_step_info {
    const char *step, *title;
    const char *action;            /* what to do, in sentences */
    const char *part, *part_title; /* NULL: of no one part */
    const char *verdict; /* "reuse", "rework", "replace": decided on the part; NULL: nothing is, or it has no part */
    bool doubtful;       /* the verdict is */
    const char *fitted;  /* verdict replace: title of the newest part, which goes in; NULL otherwise */
    const cw_caution_info *const *cautions; /* to be shown before the step */
    size_t caution_count;
    const char *tool, *figure, *picture; /* NULL: not said; figure with its unit: "4 N m to 6 N m" */
    const char *mistake;                 /* NULL: none is told */
    const cw_comeback *comes_back_as;
    size_t comeback_count;
    const char *because, *source; /* because may be NULL */
    const char *instead_of, *instead_of_title; /* the general step whose place it takes; NULL */
    bool perhaps;          /* not known yet whether it applies to the unit in hand, or in doubt */
    const char *condition; /* perhaps: what it applies to, in words; NULL otherwise */
    const cw_check_info *const *tells; /* perhaps: what would tell, fewest minutes first */
    size_t tell_count;
} cw_step_info;

typedef struct cw_steps {
    const cw_step_info *list; /* in the order of work; those that do not apply are left out */
    size_t count;
    size_t perhaps; /* of these */
    bool stopped;   /* a caution ended the advice */
} cw_steps;

CW_API cw_status cw_session_steps(cw_session *session, const cw_steps **out);

#ifdef __cplusplus
}
#endif

#endif
