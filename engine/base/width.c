/* Columns on a terminal. The C library's wcwidth hangs on the host program's locale, so we carry the ranges.
 */
#include "base/text.h"

typedef struct range {
    uint32_t first, last;
} range;

#define CW_ZERO(first, last) {first, last},
#define CW_WIDE(first, last)
static const range zero[] = {
#include "base/width.def"
};
#undef CW_ZERO
#undef CW_WIDE

#define CW_ZERO(first, last)
#define CW_WIDE(first, last) {first, last},
static const range wide[] = {
#include "base/width.def"
};
#undef CW_ZERO
#undef CW_WIDE

static bool within(uint32_t c, const range *ranges, size_t count)
{
    size_t low = 0;
    size_t high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (c > ranges[middle].last)
            low = middle + 1;
        else if (c < ranges[middle].first)
            high = middle;
        else
            return true;
    }
    return false;
}

static size_t width_of(uint32_t c)
{
    if (c < 0x300)
        return 1;
    if (within(c, zero, sizeof zero / sizeof *zero))
        return 0;
    return within(c, wide, sizeof wide / sizeof *wide) ? 2 : 1;
}

size_t cw_display_width(const char *bytes, size_t size)
{
    size_t width = 0;
    size_t length;
    for (size_t i = 0; i < size; i += length) {
        bool ascii = (unsigned char)bytes[i] < 0x80; /* nearly all, and lines can be long */
        length = ascii ? 1 : cw_utf8_length(bytes + i, size - i);
        width += ascii ? 1 : width_of(cw_utf8_decode(bytes + i, size - i));
    }
    return width;
}
