/* What can be said of a compiled pack without running a case: rules that another makes needless, answers that
 * set rules against each other, what nobody reads, gives or can tell apart, signs that would count twice,
 * limits closer than the reading error, checks without a method or a caution. Nothing here is an error; it
 * costs several times what loading does, so only who asks for it pays. */
#ifndef CW_REVIEW_REVIEW_H
#define CW_REVIEW_REVIEW_H

#include "base/diag.h"
#include "model/model.h"

/* 0 anywhere: as the room thinks right. The effort of the search for conflicts is in counted steps. */
typedef struct cw_review_limits {
    uint32_t sources;    /* only the first so many are spoken of; 0 = all */
    uint64_t pair_steps; /* for two rules */
    uint64_t steps;      /* for all of them */
} cw_review_limits;

/* Adds warnings to diags, unsorted. Only CW_NO_MEMORY can go wrong. */
cw_status cw_review(const cw_model *model, const cw_allocator *allocator, cw_review_limits limits,
                    cw_diags *diags);

#endif
