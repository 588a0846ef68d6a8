/* A session: one job in hand at one stage. Answers go in, facts, conflicts and cautions come out.
 *
 * Owner: the caller frees it; the pack must outlive it. Threads: one at a time. Lifetime: every list a call hands
 * out belongs to the session and is valid until the next call that changes it (answer, withdraw, places). Failures
 * change nothing. */
#ifndef COREWRIGHT_SESSION_H
#define COREWRIGHT_SESSION_H

#include "corewright/pack.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_session cw_session;

/* The words for stages and places, in order; NULL past the end. */
CW_API const char *cw_stage_at(size_t index);
CW_API const char *cw_place_at(size_t index);

/* stage: "identify", "triage", "teardown", "proof". CW_NOT_FOUND for another word. */
CW_API cw_status cw_session_new(const cw_pack *pack, const char *stage, cw_session **out);
CW_API void cw_session_free(cw_session *session); /* NULL allowed */
CW_API const char *cw_session_stage(const cw_session *session);

/* Limits where checks may be done; count 0 lifts the limit. CW_NOT_FOUND for an unknown place. */
CW_API cw_status cw_session_places(cw_session *session, const char *const *places, size_t count);
/* Where the person is now, so that a change of place can be weighed. */
CW_API cw_status cw_session_here(cw_session *session, const char *place);

/* An answer as typed: "5 1/4 in", "glow", "y", "can't tell". tool and place may be NULL. A changed answer replaces
 * the old one. CW_NOT_FOUND: no such check. CW_BAD_INPUT, CW_UNCLEAR (could be two things: the message asks which; its
 * `suggestion` below says what would be taken): *messages says what and shows the spot; the caller frees it. */
CW_API cw_status cw_session_answer(cw_session *session, const char *check, const char *text, const char *tool,
                                   const char *place, cw_messages **messages);
/* After CW_UNCLEAR: the answer that was most likely meant, ready to be given ("5.25 in"); NULL otherwise. */
CW_API const char *cw_session_suggestion(const cw_session *session);
/* CW_NOT_FOUND when it was not answered. */
CW_API cw_status cw_session_withdraw(cw_session *session, const char *check);

typedef struct cw_given {
    const char *check, *title;
    cw_answer_kind kind;
    const char *value;      /* printed so that it reads back the same: "glow", "133.35 mm", "can't tell" */
    const char *shown;      /* for people: "glows dimly", "133.4 mm" */
    const char *unit;       /* measures; NULL otherwise */
    double number;          /* counts; measures, in `unit`; 0 otherwise */
    const char *tool;       /* measures: the tool taken, where the check names tools; NULL otherwise */
    const char *place;      /* where it was done, NULL if not said */
    bool cant_tell;
} cw_given;
/* In the order given. */
CW_API cw_status cw_session_answers(cw_session *session, const cw_given **given, size_t *count);

/* What was concluded, and how. */
typedef struct cw_fact_info {
    const char *fact, *title, *value, *shown; /* shown: the value's title, or the quantity for people */
    const char *rule;        /* name of the rule */
    const char *because, *source;
    const char *const *from; /* "ripple = 0.7 V": what the rule rested on, for people */
    const char *const *from_facts; /* the same as names of facts; beside from; NULL for several together */
    const bool *from_absent;       /* beside from: it counted that this is *not* so */
    size_t from_count;
    bool doubtful;           /* rests on a reading too near a limit, or on a version where only the family is known: neither yes nor no */
    bool contested;          /* rests on a conflict: counts neither way */
} cw_fact_info;
/* Concluded facts, each after those it rests on. */
CW_API cw_status cw_session_facts(cw_session *session, const cw_fact_info **facts, size_t *count);

typedef struct cw_conflict_side {
    const char *value;
    const char *rule;        /* NULL: an answer */
    const char *because;
    const char *const *proof; /* lines for people, from the answers up */
    size_t proof_count;
} cw_conflict_side;
typedef struct cw_conflict_info {
    const char *fact, *title;
    const cw_conflict_side *sides;
    size_t side_count;
} cw_conflict_info;
CW_API cw_status cw_session_conflicts(cw_session *session, const cw_conflict_info **conflicts, size_t *count);

/* Cautions that rules have raised. */
CW_API cw_status cw_session_cautions(cw_session *session, const cw_caution_info *const **cautions, size_t *count);

/* Free words ("lamp glows a bit at night, squeals cold") to suggested answers, for the person to confirm. Checks that
 * are already answered are left out. */
typedef struct cw_hint_info {
    const char *say;         /* "the charge lamp glows dimly" */
    const char *check, *answer; /* ready for cw_session_answer */
    const char *answer_shown;
    size_t start, end;       /* the words that said so, bytes */
} cw_hint_info;
CW_API cw_status cw_session_hints(cw_session *session, const char *words, const cw_hint_info **hints, size_t *count);

#ifdef __cplusplus
}
#endif

#endif
