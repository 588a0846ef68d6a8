#include "base/sha256.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <string.h>

static void expect(const void *bytes, size_t size, const char *hex)
{
    cw_sha256 sha;
    char out[65];
    cw_sha256_start(&sha);
    cw_sha256_add(&sha, bytes, size);
    cw_sha256_end(&sha, out);
    cr_assert_str_eq(out, hex);
}

/* The examples that NIST publishes with FIPS 180-4, and the digest of nothing. */
Test(sha256, published_examples)
{
    expect("abc", 3, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    const char *two_blocks = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    expect(two_blocks, strlen(two_blocks),
           "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    expect("", 0, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    static char million[1000000];
    memset(million, 'a', sizeof million);
    expect(million, sizeof million, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

Test(sha256, pieces_give_the_same_as_the_whole)
{
    random_state random = random_start(3);
    static unsigned char bytes[5000];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (unsigned char)random_next(&random);
    cw_sha256 whole;
    char expected[65];
    cw_sha256_start(&whole);
    cw_sha256_add(&whole, bytes, sizeof bytes);
    cw_sha256_end(&whole, expected);
    for (int round = 0; round < 50; round++) {
        cw_sha256 sha;
        char out[65];
        cw_sha256_start(&sha);
        for (size_t at = 0; at < sizeof bytes;) {
            size_t part = random_below(&random, 200);
            if (part > sizeof bytes - at)
                part = sizeof bytes - at;
            cw_sha256_add(&sha, bytes + at, part);
            at += part;
        }
        cw_sha256_end(&sha, out);
        cr_assert_str_eq(out, expected);
    }
}
