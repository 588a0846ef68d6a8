/* The files that mutations start from. */
#ifndef CW_TESTS_SEEDS_H
#define CW_TESTS_SEEDS_H

#include "pack/pack.h"
#include <stddef.h>

/* All *.yaml files of one folder below the source tree. Owned by the caller; end with seeds_free. */
typedef struct seeds {
    cw_pack_file *files;
    size_t count;
} seeds;

seeds seeds_read(const char *folder);
void seeds_free(seeds *all);

#endif
