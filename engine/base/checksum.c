#include "base/checksum.h"
#include <xxhash.h>

cw_checksum cw_checksum_of(const void *bytes, size_t size, uint64_t seed)
{
    const XXH128_hash_t sum = XXH3_128bits_withSeed(bytes, size, seed);
    return (cw_checksum){sum.low64, sum.high64};
}
