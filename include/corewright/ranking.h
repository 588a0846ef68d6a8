/* The ranking: which unit (identify), or which causes (every other stage), and how probable each.
 *
 * Owner and lifetime: the session's, until it next changes. Failures: CW_NO_MEMORY. */
#ifndef COREWRIGHT_RANKING_H
#define COREWRIGHT_RANKING_H

#include "corewright/session.h"

#ifdef __cplusplus
extern "C" {
#endif

/* An answer that speaks for or against a line. */
typedef struct cw_for_against {
    const char *check, *title;
    const char *value;       /* as given */
    const char *shown;
    const char *through;     /* what counted: the fact concluded from it, or the check itself */
    const char *through_shown; /* "AC ripple: high" */
    const char *rule;        /* the last rule between, NULL if the answer counted directly */
    const char *because, *source;
    double bits;             /* weight of evidence; positive speaks for */
    double without;          /* the line's probability without this answer */
} cw_for_against;

typedef struct cw_line {
    const char *id, *title;
    const char *part, *part_title; /* causes; NULL for units */
    const char *where;             /* causes: "unit", "vehicle", "installation"; NULL for units */
    const char *replaced_by, *replaced_by_title; /* units: a later version; NULL */
    const char *notes;             /* units: what to tell whoever has it in hand; causes: because. May be NULL */
    double probability, low, high; /* equal when exact */
    const cw_for_against *for_;    /* strongest first; only for the first cw_ranking.explained lines */
    const cw_for_against *against;
    size_t for_count, against_count;
} cw_line;

typedef struct cw_part_line {
    const char *part, *title, *where;
    double probability; /* any of its causes */
    /* Outside the part, what most probably led to it should it be at fault, and how probably; NULL and 0 where
       nothing listed leads there, the part is hardly at fault, or the sums are not exact. */
    const char *root, *root_title;
    double root_probability;
} cw_part_line;

/* Exactly these causes together, and no other: repairs come in sets. */
typedef struct cw_set_line {
    const char *const *causes, *const *titles; /* in the order of the pack's layers; none: nothing listed is wrong */
    size_t cause_count;
    double probability, low, high; /* equal when exact */
} cw_set_line;

/* A step of assembly that was done wrongly. */
typedef struct cw_slip {
    const char *step, *title, *mistake;
} cw_slip;

typedef struct cw_plan_line {
    const char *cause, *title;
    const char *const *replace, *const *look_also, *const *steps; /* titles of parts; sentences */
    size_t replace_count, look_also_count, step_count;
    const cw_slip *slips; /* what is done wrongly in assembly to make it, in the order of work */
    size_t slip_count;
    const char *root;  /* the cause that most likely led to it, NULL if none is more likely than not */
} cw_plan_line;

typedef struct cw_ranking {
    bool of_units;           /* identify */
    const cw_line *lines;    /* most probable first */
    size_t count;
    size_t explained;        /* lines with reasons */
    double not_listed;       /* units */
    double unit_at_fault, unit_at_fault_low, unit_at_fault_high; /* causes */
    double no_fault;         /* causes: no fault in the unit = 1 - unit_at_fault */
    double nothing_found;    /* causes: no listed cause at all, in the unit or outside */
    bool exact;
    bool possible;           /* false: the answers together fit nothing the packs know */
    bool stopped;            /* a caution ended the advice: lines, parts and plan are empty */
    const cw_part_line *parts; /* causes, most probable first */
    size_t part_count;
    const cw_set_line *sets; /* causes: the most probable, at most five */
    size_t set_count;
    bool sets_proven;        /* false: others may be as probable, for the search was cut short */
    const cw_plan_line *plan;  /* causes worth acting on, most probable first: at least even odds; or the first, if it is
                                  likelier than that nothing listed is wrong */
    size_t plan_count;
    bool firm;               /* shown that the first (of units: or that it is not listed) stays first when every
                                frequency is off by one word of the scale, all at their worst at once */
    const char *firm_rival, *firm_rival_title; /* if not: the line that may come first then, or "not_listed"; NULL: not
                                                  looked into */
    const char *deciding_check;  /* without this answer another line would be first; NULL */
    const char *deciding_instead; /* title of that line */
} cw_ranking;

/* Reasons are worked out for the first `explain` lines. */
CW_API cw_status cw_session_ranking(cw_session *session, size_t explain, const cw_ranking **out);
/* The lines and the events beside them alone, without reasons, parts, sets, plan and firmness, in a fraction of the
   time; the whole ranking where it has been worked out already. */
CW_API cw_status cw_session_lines(cw_session *session, const cw_ranking **out);

#ifdef __cplusplus
}
#endif

#endif
