/* What the files of this room share; nobody else includes it. */
#ifndef CW_REVIEW_INSIDE_H
#define CW_REVIEW_INSIDE_H

#include "base/arena.h"
#include "base/vec.h"
#include "review/review.h"

typedef struct reviewer {
    const cw_model *model;
    const cw_allocator *allocator;
    cw_review_limits limits;
    cw_diags *diags;
    cw_arena *arena;              /* of this review */
    bool *asked;                  /* by atom: a check, line, cause or step hangs on it, beside the rules */
    struct review_search *search; /* NULL: the model is too large for one */
    uint64_t steps;               /* that are left to it */
    uint32_t unfinished;          /* pairs that it could not look through */
    bool no_memory;
} reviewer;

#define advise(r, diag, ...) cw_diag_help((r)->diags, (diag), __VA_ARGS__)

/* Zeroed, in the arena; NULL and no_memory on failure. */
void *review_take(reviewer *r, size_t count, size_t size);
/* The place is in a source that is to be spoken of. */
bool review_is_asked_for(const reviewer *r, cw_span span);
/* A warning; NULL when this code was said of this place already (`each` makes many of one), too. */
cw_diag *review_warn(reviewer *r, cw_code code, cw_span span, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* What another pack or the program made, not a rule that somebody wrote: 0, steps, data. */
bool review_is_written(const cw_model *model, const cw_rule *rule);
/* The rule that the atom serves, through steps: for a place to point at. 0 when it serves none. */
cw_rule_id review_user(const cw_model *model, cw_atom_id atom);
/* A quantity as people write it; "" when memory fails. */
const char *review_quantity(reviewer *r, double base, const cw_unit_info *unit);

/* The things to look at, each in a file of its own. */
void review_shadows(reviewer *r);
void review_limits(reviewer *r);
void review_either_way(reviewer *r);
void review_reads(reviewer *r);
void review_signs(reviewer *r);
void review_twice(reviewer *r);
void review_care(reviewer *r);
void review_sense(reviewer *r);
void review_conflicts(reviewer *r);

#endif
