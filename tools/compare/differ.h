/* What is different in how two versions of the packs explain one case: rules that conclude something else,
 * signs that count more or less, units and causes that are commoner or rarer before anything is told. */
#ifndef TOOLS_COMPARE_DIFFER_H
#define TOOLS_COMPARE_DIFFER_H

#include "trial/trial.h"

typedef enum differs {
    DIFFERS_LINE, /* a unit or cause that only one version knows */
    DIFFERS_FACT, /* what rules conclude */
    DIFFERS_SEEN, /* how common it is before anything is told */
    DIFFERS_SIGN  /* how much an answer speaks for or against a line */
} differs;

typedef struct difference {
    differs kind;
    bool follows; /* from something else that differs, so it is not where it began: a fact, or, of a sign that
                     says the same in both versions when nothing else is told, what competes with it */
    double size;  /* bits; to sort by */
    /* owned; NULL where it does not belong to the kind */
    char *line;                /* LINE, SEEN, SIGN: name of the unit or cause */
    char *fact, *title;        /* FACT: the fact; SIGN: the fact or check that counted */
    char *check;               /* SIGN: the check that was answered */
    char *was, *now;           /* FACT: value for people; NULL: it is not concluded */
    char *was_rule, *now_rule; /* FACT, SIGN */
    bool was_open, now_open;   /* FACT: in doubt or in dispute, so that it counts neither way */
    bool in_old, in_new;       /* LINE */
    double before, after;      /* SIGN: bits for it; SEEN: probability */
} difference;

typedef struct differences {
    difference *list; /* owned; what began it first, then by size */
    size_t count, room;
} differences;

/* One version of the packs, one case. */
typedef struct differ_side {
    const cw_pack *pack;
    cw_session *session;
    const cw_ranking *untold; /* of a session of that stage with nothing told */
    const trial_score *score;
} differ_side;

/* Looks at what came first on either side, and at the truth. */
cw_status differ_find(const differ_side *was, const differ_side *now, differences *out);
void differ_free(differences *list);

#endif
