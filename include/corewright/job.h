/* Case files: read, put into a session, written safely.
 *
 * Owner: the caller frees a case. Threads: a case is only read once made. Failures: CW_BAD_INPUT with messages,
 * CW_CANNOT_READ, CW_CANNOT_WRITE, CW_NO_MEMORY. */
#ifndef COREWRIGHT_JOB_H
#define COREWRIGHT_JOB_H

#include "corewright/session.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_case cw_case;

typedef struct cw_case_answer {
    const char *check, *value, *tool, *place; /* tool, place may be NULL */
} cw_case_answer;

/* A line of the description as it must come out: a value as cw_description_line.value has it, or one of the words
 * dispute, doubtful, missing. */
typedef struct cw_case_line {
    const char *fact, *value;
} cw_case_line;

/* What was answered before the unit was rebuilt: kept with the job, and counted no more. */
typedef struct cw_case_earlier {
    const char *stage;
    const char *complaint; /* NULL when nothing was said */
    const cw_case_answer *answers;
    size_t answer_count;
} cw_case_earlier;

typedef struct cw_case_info {
    const char *name, *stage, *source, *complaint; /* NULL when not said */
    const cw_case_answer *answers;                 /* in the order of the file */
    size_t answer_count;
    const cw_case_earlier *earlier;                /* the longest ago first */
    size_t earlier_count;
    const char *const *places;
    size_t place_count;
    const char *const *units; /* outcome: any of these versions is right; "not_listed" too */
    size_t unit_count;
    const char *const *causes; /* outcome */
    size_t cause_count;
    bool causes_said; /* outcome: what was wrong is known, also that nothing was: `causes: []` */
    const char *const *accept; /* outcome: other causes that a fair judge counts as right */
    size_t accept_count;
    const char *proof;        /* outcome: what the proof sheet must come to, a word of cw_proof_sum's result; NULL */
    const char *const *lines; /* outcome: the lines of it that fail or are in doubt, facts */
    size_t line_count;
    const cw_case_line *description; /* outcome: lines of the description */
    size_t description_count;
} cw_case_info;

/* name: as shown in messages. text: the file's content. */
CW_API cw_status cw_case_parse(const cw_settings *settings, const char *name, const char *text, size_t size,
                               cw_messages **messages, cw_case **out);
CW_API cw_status cw_case_read(const cw_settings *settings, const char *path, cw_messages **messages, cw_case **out);
CW_API const cw_case_info *cw_case_get(const cw_case *job);
CW_API void cw_case_free(cw_case *job); /* NULL allowed */

/* What came of bringing a case to another stage. */
typedef struct cw_carried {
    const char *from;         /* the stage it was at; NULL: it was at the session's already */
    size_t kept, set_aside;   /* answers */
} cw_carried;

/* Brings the case to the session's stage. Its places, which were said for the other stage, go. Among identify, triage and
 * teardown, and from proof to any of them, all answers are kept. On the way to proof the unit is rebuilt: answers to checks
 * that are not lasting, and the complaint, are set aside into `earlier`. The same strings stay valid. CW_NO_MEMORY: nothing
 * has changed. */
CW_API cw_status cw_case_carry(cw_case *job, const cw_session *session, cw_carried *out);

/* Gives the case's places and answers to a session. Every answer that is wrong is reported with its place in the file; the
 * right ones are given all the same. CW_BAD_INPUT if any was wrong, or if it is at another stage than the session. CW_NO_MEMORY: there are no messages, and the places and the
 * answers given before memory ran out stay given. */
CW_API cw_status cw_case_apply(const cw_case *job, cw_session *session, cw_messages **messages);

/* Writes a case file: stage, answers and places of the session, the rest (name, source, complaint, earlier, outcome) of `about`, which may
 * be NULL. To a new file beside it first, then renamed over it, so that a full disk or a cut never leaves half a case. */
CW_API cw_status cw_case_save(cw_session *session, const char *path, const cw_case_info *about, cw_messages **messages);

#ifdef __cplusplus
}
#endif

#endif
