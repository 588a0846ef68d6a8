/* The smallest set of checks that covers every element. An element is covered by any one of its looks, and a
 * look is had when all of its checks are chosen. Fewest checks count first, then fewest minutes.
 *
 * Exact by branch and bound: on the element with the fewest looks left, one branch for each of them, those of
 * earlier branches being forbidden in later ones. Lower bound: elements whose open checks are disjoint need
 * a check each at least (a packing bound). Where the steps run out the greedy set is left, beside what was
 * proven at the root. */
#ifndef CW_ASK_COVER_H
#define CW_ASK_COVER_H

#include "base/arena.h"
#include "corewright/status.h"
#include <stdbool.h>

enum { CW_COVER_ITEMS = 16 }; /* most items of a look */
typedef struct cw_cover_look {
    const uint32_t *items; /* what it takes, numbers below item_count, each once; at least one */
    uint32_t count;
} cw_cover_look;

typedef struct cw_cover_task {
    uint32_t item_count;
    const double *minutes; /* by item, not below 0 */
    const cw_cover_look *looks;
    uint32_t look_count;
    const uint64_t *elements; /* element_count bit sets of cw_cover_words(look_count) words, none empty */
    uint32_t element_count;
    uint64_t max_steps; /* counted in elements looked at */
} cw_cover_task;

typedef struct cw_cover {
    bool *chosen; /* by item */
    uint32_t count;
    uint32_t at_least; /* no set that covers all has fewer; equal to count when exact */
    bool exact;        /* proven: none has fewer, and none of as many takes less time */
    uint64_t steps;
} cw_cover;

static inline uint32_t cw_cover_words(uint32_t bits)
{
    return (bits + 63) / 64;
}

/* Both live in the arena. CW_NO_MEMORY. */
cw_status cw_cover_solve(const cw_cover_task *task, cw_arena *arena, cw_cover *out);
/* One that covers all, without a search: the look that covers most for each check it still takes, again and
 * again; then what is not needed is left out, the dearest first. at_least is that of the root. */
cw_status cw_cover_greedy(const cw_cover_task *task, cw_arena *arena, cw_cover *out);

#endif
