/* Inside the room: what would be settled by a check, shared by settles.c and settles_claims.c. */
#ifndef CW_SESSION_SETTLES_H
#define CW_SESSION_SETTLES_H

#include "session/inside.h"

enum { SETTLES_NAMED = 3 }; /* at most so many are named in one sentence */

/* What a likely cause shows of a fact. */
typedef struct settles_shown {
    const cw_line *line;
    const cw_sign *sign;
} settles_shown;

struct cw_settler {
    const cw_session *session;
    cw_arena *arena;
    const cw_ranking *ranking;
    uint32_t *ids;    /* of the ranking's lines: units or causes */
    cw_run *shown_of; /* causes: by fact, in the order of the ranking */
    settles_shown *shown;
    uint32_t
        *first_line; /* causes: by fact, 1 + the place of the first line with a sign on it; 0 = none, ... */
    size_t lines_looked_at;          /* ... among the first ones, which are so many */
    uint32_t *atom_mark, *fact_mark; /* by id: the last `round` that reached it */
    uint32_t round;
    cw_fact_id *reached; /* facts that the check's answer can touch, itself first */
    size_t reached_count;
    cw_rule_id *formulas; /* rules that work a number out */
    size_t formula_count;
};

/* A value that would speak for a cause, and how much. */
typedef struct settles_claim {
    double weight;
    cw_fact_id fact;
    uint32_t value;
    const cw_line *line;
} settles_claim;

/* Turns the signs of the likely causes round; false when memory fails. */
bool cw_settler_list_shown(cw_settler *settler);
/* Adds what speaks for likely causes by a value of this fact that is still open, the strongest in front. */
void cw_settler_claim(const cw_settler *settler, cw_fact_id fact, settles_claim claims[SETTLES_NAMED],
                      size_t *count);

#endif
