#include "base/checksum.h"
#include <criterion/criterion.h>
#include <string.h>

/* The published value over nothing with seed 0 is 99aa06d3014798d86001c324468d497f (xxHash's own test suite;
 * from memory). */
Test(checksum, of_nothing_is_the_published_one)
{
    const cw_checksum sum = cw_checksum_of("", 0, 0);
    cr_expect_eq(sum.high, UINT64_C(0x99aa06d3014798d8));
    cr_expect_eq(sum.low, UINT64_C(0x6001c324468d497f));
}

Test(checksum, hangs_on_every_bit_and_on_the_seed)
{
    unsigned char bytes[300];
    memset(bytes, 7, sizeof bytes);
    const cw_checksum sum = cw_checksum_of(bytes, sizeof bytes, 1);
    for (size_t bit = 0; bit < sizeof bytes * 8; bit++) {
        bytes[bit / 8] ^= (unsigned char)(1u << bit % 8);
        const cw_checksum other = cw_checksum_of(bytes, sizeof bytes, 1);
        cr_assert(other.low != sum.low && other.high != sum.high);
        bytes[bit / 8] ^= (unsigned char)(1u << bit % 8);
    }
    cr_expect_neq(cw_checksum_of(bytes, sizeof bytes, 2).low, sum.low);
}
