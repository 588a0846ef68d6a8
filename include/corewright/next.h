/* What to look at next, and why; or that nothing more is worth asking, and what cannot be told apart.
 *
 * Owner and lifetime: the session's, until it next changes. Failures: CW_NO_MEMORY. */
#ifndef COREWRIGHT_NEXT_H
#define COREWRIGHT_NEXT_H

#include "corewright/session.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_next_check {
    const cw_check_info *check;
    const char *place;
    double minutes; /* with the change of place */
    double bits;    /* expected information */
    const cw_check_info
        *with;       /* it tells something only together with this one, to be done next; NULL = by itself */
    const char *why; /* a sentence: what it settles */
    const char *part, *part_title; /* teardown: the part that is decided on by it; NULL otherwise */
    const char *line, *line_title; /* proof: the line of the sheet that is decided by it; identify: the line of the
                                      description that it tells; NULL otherwise */
} cw_next_check;

typedef enum cw_stop_reason {
    CW_GO_ON,
    CW_SURE_ENOUGH,   /* the first line is as good as certain */
    CW_NOTHING_HELPS, /* no check allowed here would change much */
    CW_CAUTION_STOPS  /* a caution ended the advice */
} cw_stop_reason;

typedef struct cw_alike { /* what cannot be told apart with the checks allowed */
    const char *const *ids, *const *titles;
    size_t count;
    double probability; /* units: of any of them; causes: of the first */
    const cw_check_info
        *tells; /* the cheapest check anywhere that would (one left open, where no other does), or NULL */
    const char *tells_place;
    double tells_minutes;
} cw_alike;

typedef struct cw_next {
    const cw_next_check *checks; /* best first */
    size_t count;
    cw_stop_reason stop;
    const char *stop_words; /* a sentence */
    const cw_alike *alike;
    size_t alike_count;
    bool cut_short; /* the step budget ran out before every check was weighed: those stand last, with the bits
                       that each would have if nothing else had been seen */
} cw_next;

CW_API cw_status cw_session_next(cw_session *session, const cw_next **out);

#ifdef __cplusplus
}
#endif

#endif
