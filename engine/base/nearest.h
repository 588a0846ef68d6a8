/* The nearest right word for a misspelt one: optimal string alignment distance (Damerau 1964, adjacent swaps
 * count once), capital letters, '-' and '_' and blanks alike. */
#ifndef CW_BASE_NEAREST_H
#define CW_BASE_NEAREST_H

#include <stdbool.h>
#include <stddef.h>

/* Feed candidates one after the other; best stays NULL unless one is within a third of the word's length
 * (at least 1). Ties go to the first in alphabet, so the outcome does not depend on order. */
typedef struct cw_nearest {
    const char *word;
    const char *best;
    size_t distance;
} cw_nearest;

cw_nearest cw_nearest_start(const char *word);
void cw_nearest_try(cw_nearest *nearest, const char *candidate);
size_t cw_edit_distance(const char *a, const char *b, size_t limit); /* limit + 1 when farther */

#endif
