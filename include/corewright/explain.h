/* The reasoning in words: how a good foreman would put it.
 *
 * Owner and lifetime: the session's, until it next changes. Failures: CW_NOT_FOUND, CW_NO_MEMORY. */
#ifndef COREWRIGHT_EXPLAIN_H
#define COREWRIGHT_EXPLAIN_H

#include "corewright/ranking.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Paragraphs about one line (its id; NULL = the first): what speaks for it and against, through which rules, why not the
 * runner-up, which single answer would change the winner. */
CW_API cw_status cw_session_why(cw_session *session, const char *id, const char *const **paragraphs, size_t *count);
/* How a fact came about, from the answers up, one line a step. */
CW_API cw_status cw_session_proof(cw_session *session, const char *fact, const char *const **lines, size_t *count);

#ifdef __cplusplus
}
#endif

#endif
