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
    double minutes;  /* with the way to the place; where it opens the unit, with closing it again */
    bool opens;      /* the unit is opened for it, which cannot be undone */
    double bits;     /* expected information */
    double expected; /* with this one first: identify, minutes until the unit is as good as certain; triage,
                        what the job costs on average (see cw_ways). Below 0: not worked out */
    const cw_check_info
        *with;       /* it tells something only together with this one, to be done next; NULL = by itself */
    const char *why; /* a sentence: what it settles */
    const char *part, *part_title; /* teardown: the part that is decided on by it; NULL otherwise */
    const char *line, *line_title; /* proof: the line of the sheet that is decided by it; identify: the line
                                      of the description that it tells; NULL otherwise */
} cw_next_check;

typedef enum cw_stop_reason {
    CW_GO_ON,
    CW_SURE_ENOUGH,   /* the first line is as good as certain */
    CW_NOTHING_HELPS, /* no check allowed here would change much */
    CW_CAUTION_STOPS, /* a caution ended the advice */
    CW_COSTS_MORE     /* every check costs more than it saves: repair, or hand back (see cw_ways) */
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

/* One thing that can be done at once: the same parts changed, or another unit put in place of this one. */
typedef struct cw_repair_line {
    const char *what;                          /* "changing the rectifier" */
    const char *const *causes, *const *titles; /* that it cures, most probable first */
    size_t cause_count;
    bool exchange;        /* of the whole unit */
    double probability;   /* that it cures by itself */
    double minutes;       /* of work */
    double parts;         /* in the shop's money, as far as prices are known */
    const char *no_price; /* title of a part whose price is not; NULL: all are */
    double cost;          /* of work and parts, in the measure of cw_ways */
} cw_repair_line;

/* Triage: what the ways to go on come to on average, to the end of the job. One fault at a time, or two
 * likely ones together. A repair that does not cure, or mends one of two, is followed by what is best then; a
 * job handed back uncured comes back. */
typedef struct cw_ways {
    bool known; /* false: the packs do not say what a repair takes, or too much is open; `words` say which */
    bool money; /* costs are the shop's money; false: minutes, and parts are not counted */
    const char *best;              /* "test", "repair", "hand_back"; NULL when not known */
    double test;                   /* with the first check of cw_next first; below 0: none tells anything */
    double repair;                 /* with the first of `repairs` made now; below 0: none is worth it */
    double hand_back;              /* as it is; below 0: the packs do not say what a comeback costs */
    const cw_repair_line *repairs; /* in the order that costs least */
    size_t repair_count;
    size_t worth_count; /* behind so many of them it costs less to hand back what is left */
    const char *words;  /* a sentence or two */
} cw_ways;

typedef struct cw_next {
    const cw_next_check *checks; /* best first */
    size_t count;
    cw_stop_reason stop;
    const char *stop_words; /* a sentence */
    const cw_alike *alike;
    size_t alike_count;
    const cw_ways *ways; /* NULL: not triage, or nothing to decide */
    bool cut_short; /* the step budget ran out before every check was weighed: those stand last, with the bits
                       that each would have if nothing else had been seen */
} cw_next;

CW_API cw_status cw_session_next(cw_session *session, const cw_next **out);

/* An answer that a check can give now, and how likely it is. */
typedef struct cw_foreseen {
    const char *answer; /* ready for cw_session_answer; of a measured check a reading in the middle of the
                           stretch, of a stamped one a text of the kind that is spoken of */
    const char *shown;  /* for people: a choice's title, or the answer */
    double low, high;   /* measures: the stretch, in the check's unit; the outermost reach to infinity */
    const char *low_shown, *high_shown; /* the same for people, "96 mm"; NULL where it is infinite */
    size_t group;                       /* answers of one group come to the same */
    double chance;                      /* all of them sum to 1 */
} cw_foreseen;

/* In order of asking, or of size. None where nothing told of the check would make a difference, the answers
 * so far fit nothing, or the step budget runs out. CW_NOT_FOUND: no such check. CW_BAD_CALL: it is answered
 * already, or is about the unit in hand. */
CW_API cw_status cw_session_foresee(cw_session *session, const char *check, const cw_foreseen **list,
                                    size_t *count);

#ifdef __cplusplus
}
#endif

#endif
