/* Reading UTF-8 as RFC 3629 has it: no overlong forms, no surrogates, nothing above U+10FFFF. */
#include "base/text.h"

#include <stdint.h>
#include <string.h>

/* The sequence's length, 0 if it is broken. */
static size_t sequence(const unsigned char *s, size_t size)
{
    unsigned char lead = s[0];
    size_t length = lead < 0x80 ? 1 : lead >= 0xC2 && lead <= 0xDF ? 2 : lead >= 0xE0 && lead <= 0xEF ? 3 : 4;
    if (length == 1)
        return 1;
    if (lead < 0xC2 || lead > 0xF4 || size < length)
        return 0;
    /* The second byte's range is narrower behind four leads (RFC 3629, section 4). */
    unsigned char low = lead == 0xE0 ? 0xA0 : lead == 0xF0 ? 0x90 : 0x80;
    unsigned char high = lead == 0xED ? 0x9F : lead == 0xF4 ? 0x8F : 0xBF;
    if (s[1] < low || s[1] > high)
        return 0;
    for (size_t i = 2; i < length; i++)
        if (s[i] < 0x80 || s[i] > 0xBF)
            return 0;
    return length;
}

size_t cw_utf8_length(const char *bytes, size_t size)
{
    if (size == 0)
        return 0;
    size_t length = sequence((const unsigned char *)bytes, size);
    return length > 0 ? length : 1;
}

uint32_t cw_utf8_decode(const char *bytes, size_t size)
{
    if (size == 0)
        return 0xFFFD;
    const unsigned char *s = (const unsigned char *)bytes;
    switch (sequence(s, size)) {
    case 1:
        return s[0];
    case 2:
        return (s[0] & 0x1FU) << 6 | (s[1] & 0x3FU);
    case 3:
        return (s[0] & 0x0FU) << 12 | (s[1] & 0x3FU) << 6 | (s[2] & 0x3FU);
    case 4:
        return (s[0] & 0x07U) << 18 | (s[1] & 0x3FU) << 12 | (s[2] & 0x3FU) << 6 | (s[3] & 0x3FU);
    default:
        return 0xFFFD;
    }
}

/* Eight bytes at once while all are ASCII: what is written in packs mostly is. */
static size_t ascii_run(const char *bytes, size_t size)
{
    size_t i = 0;
    uint64_t eight = 0;
    for (; size - i >= sizeof eight; i += sizeof eight) {
        memcpy(&eight, bytes + i, sizeof eight);
        if ((eight & 0x8080808080808080U) != 0)
            break;
    }
    return i;
}

size_t cw_utf8_error(const char *bytes, size_t size)
{
    size_t i = 0;
    while (i < size) {
        i += ascii_run(bytes + i, size - i);
        if (i == size)
            break;
        size_t length = sequence((const unsigned char *)bytes + i, size - i);
        if (length == 0)
            return i;
        i += length;
    }
    return size;
}
