/* What the rooms above the session need beyond the public headers: case files give answers whose words stand
 * in a file, and want messages that point into it. */
#ifndef CW_SESSION_DOOR_H
#define CW_SESSION_DOOR_H

#include "base/diag.h"
#include "corewright/session.h"
#include "model/model.h"

/* An answer as somebody wrote it, and where. */
typedef struct cw_spoken {
    const char *text;
    size_t size;
    cw_span span;             /* where the text stands */
    bool literal;             /* the source holds the text byte for byte, so a spot within it can be shown */
    const char *tool, *place; /* NULL when not said */
    cw_span tool_span, place_span;
} cw_spoken;

/* Reads the answer and gives it. CW_OK; CW_BAD_INPUT, CW_UNCLEAR, CW_LIMIT with one error in diags;
 * CW_NO_MEMORY. On failure nothing has changed but the session's suggestion. */
cw_status cw_session_take(cw_session *session, cw_check_id check, const cw_spoken *spoken, cw_diags *diags);

const cw_model *cw_session_model(const cw_session *session);
const cw_allocator *cw_session_allocator(const cw_session *session);
/* The places allowed, as a mask; 0 = all. */
uint32_t cw_session_place_mask(const cw_session *session);

/* Turns diagnostics into a list for the caller. *out stays NULL when there are none. CW_OK or CW_NO_MEMORY
 * (also when one of the diagnostics was lost for want of memory). */
cw_status cw_messages_make(const cw_allocator *allocator, const cw_sources *sources, const cw_diags *diags,
                           cw_messages **out);

/* The allocator behind a caller's settings. */
cw_allocator cw_settings_allocator(const cw_settings *settings);

#endif
