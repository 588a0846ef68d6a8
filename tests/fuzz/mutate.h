/* One text, changed a little at random: the slips of a hurried person, and the malice of a hostile one. */
#ifndef CW_TESTS_MUTATE_H
#define CW_TESTS_MUTATE_H

#include "support/random.h"
#include <stddef.h>

/* A changed copy, for the caller to free; *size is its length. */
char *mutate(random_state *random, const char *text, size_t text_size, size_t *size);

#endif
