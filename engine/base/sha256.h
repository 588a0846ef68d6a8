/* SHA-256 of packs, as 64 hexadecimal digits (FIPS 180-4, by nettle). */
#ifndef CW_BASE_SHA256_H
#define CW_BASE_SHA256_H

#include <stddef.h>
#include <stdint.h>

typedef struct cw_sha256 {
    uint64_t state[24]; /* room for nettle's struct sha256_ctx; checked in sha256.c */
} cw_sha256;

void cw_sha256_start(cw_sha256 *sha);
void cw_sha256_add(cw_sha256 *sha, const void *bytes, size_t size);
void cw_sha256_end(cw_sha256 *sha, char hex[65]);

#endif
