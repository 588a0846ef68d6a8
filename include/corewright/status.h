/* What a call came to. Control flow needs one small value; words for people travel apart, in diagnostics
 * (diag.h). Nothing is remembered between calls and nothing needs memory to be reported. */
#ifndef COREWRIGHT_STATUS_H
#define COREWRIGHT_STATUS_H

#include "corewright/export.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum cw_status {
    CW_OK = 0,
    CW_NO_MEMORY,    /* an allocation failed; nothing has changed */
    CW_BAD_CALL,     /* the caller broke a rule of the call (null, unknown id, out of range) */
    CW_BAD_INPUT,    /* the data is wrong; the diagnostics say what and where */
    CW_UNCLEAR,      /* an answer could mean two things; the diagnostics ask which */
    CW_LIMIT,        /* a stated limit is reached; the diagnostics name it */
    CW_CANNOT_READ,  /* file missing, no permission, device failed */
    CW_CANNOT_WRITE, /* disk full, no permission */
    CW_NOT_FOUND     /* nothing of that name */
} cw_status;

/* One line for people, never NULL, lives for ever. */
CW_API const char *cw_status_text(cw_status status);

#ifdef __cplusplus
}
#endif

#endif
