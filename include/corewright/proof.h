/* The proof sheet of a rebuilt unit, line by line: passed, failed, or still open; and what the sheet comes
 * to.
 *
 * Owner and lifetime: the session's, until it next changes. Failures: CW_NO_MEMORY. A session of any stage
 * that ranks causes can be asked; with identify, or once a caution has ended the advice, the sheet is empty.
 */
#ifndef COREWRIGHT_PROOF_H
#define COREWRIGHT_PROOF_H

#include "corewright/session.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A reading that a line rests on, measured or stamped; a circumstance also where it was not asked, because
 * the unit in hand or a rule told it. */
typedef struct cw_proof_reading {
    const char *check, *title;
    cw_answer_kind kind; /* CW_ANSWER_MEASURE or CW_ANSWER_TEXT */
    const char *shown;   /* "52 A" */
    bool circumstance;   /* it only set the stage: temperature, what is stamped on the plate */
} cw_proof_reading;

typedef struct cw_proof_line {
    const char *fact, *title;
    const char *verdict; /* "pass", "fail"; "open": not decided yet */
    bool doubtful;       /* a reading too near its limit, or in dispute; the verdict is the worst it may be */
    bool disputed;       /* ... on things that cannot both be */
    bool needed;         /* without it the sheet is not passed */
    const cw_fact_info *why;             /* the conclusion that counts; NULL: there is none */
    const cw_check_info *const *measure; /* open: still to be measured, in the order of the bench */
    size_t measure_count;
    const cw_check_info *const *untold; /* open: what would have told and could not be told */
    size_t untold_count;
    const cw_proof_reading *readings; /* behind the conclusion */
    size_t reading_count;
} cw_proof_line;

/* In the order of the sheet. Not those that do not concern the unit in hand: lines for another design. */
CW_API cw_status cw_session_proof_lines(cw_session *session, const cw_proof_line **list, size_t *count);

typedef struct cw_proof_sum {
    const char *result; /* "failed": any line is, for sure; else "doubtful": any line is; else "open": a
                           needed line is, or there is no line at all; else "passed" */
    size_t passed, failed, doubtful, open; /* lines; the last: needed ones */
} cw_proof_sum;
CW_API cw_status cw_session_proof_sum(cw_session *session, const cw_proof_sum **out);

#ifdef __cplusplus
}
#endif

#endif
