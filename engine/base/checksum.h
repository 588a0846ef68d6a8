/* A checksum that finds damage: XXH3, 128 bits (by libxxhash), at the speed of memory. It is no proof against
 * somebody who means harm; sha256.h is. */
#ifndef CW_BASE_CHECKSUM_H
#define CW_BASE_CHECKSUM_H

#include <stddef.h>
#include <stdint.h>

typedef struct cw_checksum {
    uint64_t low, high;
} cw_checksum;

cw_checksum cw_checksum_of(const void *bytes, size_t size, uint64_t seed);

#endif
