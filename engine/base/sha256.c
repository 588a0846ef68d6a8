#include "base/sha256.h"
#include <nettle/sha2.h>
#include <string.h>

_Static_assert(sizeof(struct sha256_ctx) <= sizeof(cw_sha256), "cw_sha256 has no room for nettle's state");

/* nettle's state is copied in and out: looking at our bytes through its type would break the aliasing rules.
 */
static struct sha256_ctx load(const cw_sha256 *sha)
{
    struct sha256_ctx state;
    memcpy(&state, sha->state, sizeof state);
    return state;
}

static void store(cw_sha256 *sha, const struct sha256_ctx *state)
{
    memcpy(sha->state, state, sizeof *state);
}

void cw_sha256_start(cw_sha256 *sha)
{
    struct sha256_ctx state;
    memset(&state, 0, sizeof state);
    sha256_init(&state);
    store(sha, &state);
}

void cw_sha256_add(cw_sha256 *sha, const void *bytes, size_t size)
{
    struct sha256_ctx state = load(sha);
    sha256_update(&state, size, bytes);
    store(sha, &state);
}

void cw_sha256_end(cw_sha256 *sha, char hex[65])
{
    static const char digits[] = "0123456789abcdef";
    struct sha256_ctx state = load(sha);
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(&state, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++) {
        hex[2 * i] = digits[digest[i] >> 4];
        hex[2 * i + 1] = digits[digest[i] & 15];
    }
    hex[64] = '\0';
    store(sha, &state);
}
