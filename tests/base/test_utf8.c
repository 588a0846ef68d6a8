#include "base/text.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

/* RFC 3629, section 3, written out. */
static size_t encode(uint32_t c, char out[4])
{
    if (c < 0x80) {
        out[0] = (char)c;
        return 1;
    }
    size_t length = c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
    static const unsigned char lead[] = {0, 0, 0xC0, 0xE0, 0xF0};
    for (size_t i = length - 1; i > 0; i--, c >>= 6)
        out[i] = (char)(0x80 | (c & 0x3F));
    out[0] = (char)(lead[length] | c);
    return length;
}

static bool is_character(uint32_t c)
{
    return c <= 0x10FFFF && (c < 0xD800 || c > 0xDFFF);
}

Test(utf8, every_code_point_there_and_back)
{
    for (uint32_t c = 0; c < 0x120000; c++) {
        char bytes[4];
        size_t length = encode(c, bytes);
        if (is_character(c)) {
            cr_assert_eq(cw_utf8_length(bytes, length), length);
            cr_assert_eq(cw_utf8_decode(bytes, length), c);
            cr_assert_eq(cw_utf8_error(bytes, length), length);
        } else {
            cr_assert_eq(cw_utf8_length(bytes, length), 1);
            cr_assert_eq(cw_utf8_decode(bytes, length), 0xFFFD);
            cr_assert_eq(cw_utf8_error(bytes, length), 0);
        }
    }
}

/* The shortest valid sequence at the beginning, by trying all code points of that length: 0 if there is none.
 */
static size_t slow_length(const char *bytes, size_t size)
{
    unsigned char lead = (unsigned char)bytes[0];
    size_t length = lead < 0x80             ? 1
                    : (lead & 0xE0) == 0xC0 ? 2
                    : (lead & 0xF0) == 0xE0 ? 3
                    : (lead & 0xF8) == 0xF0 ? 4
                                            : 0;
    if (length == 0 || length > size)
        return 0;
    uint32_t c = length == 1 ? lead : lead & (0x7FU >> length);
    for (size_t i = 1; i < length; i++)
        c = c << 6 | ((unsigned char)bytes[i] & 0x3FU);
    char again[4];
    bool same = is_character(c) && encode(c, again) == length && memcmp(again, bytes, length) == 0;
    return same ? length : 0;
}

Test(utf8, random_bytes_against_decoding_and_encoding_again)
{
    static const unsigned char likely[] = {0x00, 0x41, 0x7F, 0x80, 0x8F, 0x90, 0x9F, 0xA0, 0xBF,
                                           0xC0, 0xC1, 0xC2, 0xDF, 0xE0, 0xE1, 0xEC, 0xED, 0xEE,
                                           0xEF, 0xF0, 0xF1, 0xF3, 0xF4, 0xF5, 0xF8, 0xFF};
    random_state random = random_start(5);
    for (int round = 0; round < 200000; round++) {
        size_t size = 1 + random_below(&random, 6);
        char *bytes = malloc(size); /* of the exact size, so that AddressSanitizer sees a step too far */
        for (size_t i = 0; i < size; i++)
            bytes[i] = (char)likely[random_below(&random, sizeof likely)];
        size_t bad = 0;
        while (bad < size && slow_length(bytes + bad, size - bad) > 0)
            bad += slow_length(bytes + bad, size - bad);
        cr_assert_eq(cw_utf8_error(bytes, size), bad);
        size_t first = slow_length(bytes, size);
        cr_assert_eq(cw_utf8_length(bytes, size), first > 0 ? first : 1);
        cr_assert(first > 0 || cw_utf8_decode(bytes, size) == 0xFFFD);
        free(bytes);
    }
}

Test(utf8, nothing_has_no_length)
{
    cr_assert_eq(cw_utf8_length("x", 0), 0);
    cr_assert_eq(cw_utf8_decode("x", 0), 0xFFFD);
    cr_assert_eq(cw_utf8_error("x", 0), 0);
}

Test(utf8, display_width_by_eye)
{
    static const struct {
        const char *text;
        size_t width;
    } cases[] = {
        {"", 0},
        {"rotor", 5},
        {"w\xC3\xB6rn", 4},
        {"wo\xCC\x88rn", 4},             /* o and a combining diaeresis */
        {"\xE6\x95\xB4\xE6\xB5\x81", 4}, /* two wide signs */
        {"\xEA\xB0\x80", 2},             /* a Hangul syllable */
        {"\xE1\x84\x80\xE1\x85\xA1", 2}, /* the same from its parts */
        {"\xEF\xBD\xB1", 1},             /* half-width kana */
        {"\xEF\xBC\xA1", 2},             /* full-width A */
        {"\xE2\x80\x8B", 0},             /* zero width space */
        {"\xEF\xBB\xBF", 0},             /* byte order mark */
        {"\xF0\x9F\x94\xA7", 2},         /* a spanner */
        {"\xCE\xA9", 1},                 /* omega */
        {"a\tb", 3},                     /* shown as one blank */
        {"\xFF\xFE", 2},                 /* each shown as one replacement sign */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        cr_assert_eq(cw_display_width(cases[i].text, strlen(cases[i].text)), cases[i].width, "case %zu", i);
}

/* Long texts of mostly ASCII, with one broken byte anywhere or none. */
Test(utf8, one_broken_byte_in_a_long_text_is_found)
{
    random_state random = random_start(25);
    for (int round = 0; round < 20000; round++) {
        size_t size = random_below(&random, 60);
        char *bytes = malloc(size + (size == 0));
        memset(bytes, 'a', size);
        for (size_t i = 0; i + 1 < size; i += 2 + random_below(&random, 30))
            memcpy(bytes + i, "\xC3\xB6", 2);
        size_t bad = random_below(&random, (uint32_t)size + 1);
        bool inside = bad > 0 && bad < size && (unsigned char)bytes[bad] == 0xB6;
        if (bad < size)
            bytes[bad] = (char)0xFF;
        cr_assert_eq(cw_utf8_error(bytes, size), inside ? bad - 1 : bad);
        free(bytes);
    }
}
