/* The open unit: what the two files about it share, and what the session keeps of it. */
#ifndef CW_SESSION_WORK_H
#define CW_SESSION_WORK_H

#include "corewright/work.h"
#include "session/inside.h"

typedef struct work_reply {
    const cw_work_part *parts;
    size_t part_count;
    cw_work_sum sum;
    cw_explained explained;
} work_reply;

/* explained.c: which findings a cause that is likely present accounts for. */
cw_status cw_work_explain(cw_session *session, cw_explained *out);

#endif
