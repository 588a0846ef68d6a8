/* Inside the room: what twins.c and its helpers share. */
#ifndef CW_ASK_TWINS_H
#define CW_ASK_TWINS_H

#include "ask/inside.h"

#include <math.h>

#define ASK_ALIKE 1e-9 /* difference of likelihoods against the larger, of chances */

/* Suspects that nothing tells apart so far; more than one. */
typedef struct ask_group {
    uint32_t *members; /* as in suspects */
    uint32_t count;
} ask_group;

/* What the answers of a check say of two suspects; of a column: what members show of it by their signs, one
 * row of values for each, in the check arena. */
bool ask_parted(const ask_class *class, uint32_t a, uint32_t b);
double *ask_column_shows(const ask_call *call, cw_fact_id fact, const uint32_t *members, uint32_t count);
bool ask_parted_in_column(const double *shows, uint32_t values, uint32_t a, uint32_t b);

/* differ.c: facts that could still be brought to light, and whether two suspects differ on them. */
typedef struct ask_look {
    ask_call *call;
    const ask_footing *footing;
    const cw_chain *chain;
    ask_reach reach;
    double *chances[2]; /* room for the values of a fact */
} ask_look;
/* In the call arena. */
cw_status ask_look_new(ask_call *call, const ask_footing *footing, uint32_t places, bool left_open_too,
                       ask_look *out);
/* Something could tell them apart yet. */
bool ask_could_part(const ask_look *look, uint32_t a, uint32_t b);
/* By fact: the first member and another differ on it, causes by so much at one of its values, units at all
 * (1); 0: they do not. */
void ask_mark_differing(const ask_look *look, const ask_group *group, double *differs);

/* teller.c: the cheapest check that would tell them apart, at any place; the looks are made when first
 * needed.
 */
cw_status ask_name_teller(ask_call *call, const ask_footing *footing, ask_look wide[2],
                          const ask_group *group, cw_proposal *tells);

#endif
