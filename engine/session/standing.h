/* What is known of a decision: a verdict on a part, a line of the proof sheet. */
#ifndef CW_SESSION_STANDING_H
#define CW_SESSION_STANDING_H

#include "session/inside.h"

typedef struct cw_standing {
    cw_fact_id fact; /* 0: nothing is known */
    uint32_t value;  /* the worst of those it may be */
    bool doubtful, disputed;
} cw_standing;

cw_standing cw_stand(const cw_session *session, cw_fact_id fact);
/* The conclusion behind it, of those in cw_session_facts; NULL when nothing is known. */
const cw_fact_info *cw_stand_why(const cw_session *session, const cw_standing *standing,
                                 const cw_fact_info *facts, size_t count);

#endif
