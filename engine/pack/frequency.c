#include "pack/frequency.h"

#include <string.h>

typedef struct word {
    const char *name;
    double chance;
} word;

static const word scale[] = {
#define CW_FREQUENCY(name, hundredths) {(name), (hundredths) / 100.0},
#include "pack/scale.def"
#undef CW_FREQUENCY
};

enum { WORDS = sizeof scale / sizeof scale[0], MOST_DIGITS = 15 };

static size_t skip_blanks(const char *text, size_t size, size_t at)
{
    while (at < size && text[at] == ' ')
        at++;
    return at;
}

/* Reads digits with at most one decimal point; 0 when there is no such number, else its length. A double
 * holds MOST_DIGITS decimal digits exactly, so the quotient is rounded once. */
static size_t read_number(const char *text, size_t size, double *out)
{
    double digits = 0, scale_down = 1;
    size_t at = 0, count = 0;
    bool point = false;
    for (; at < size; at++) {
        if (text[at] == '.' && !point) {
            point = true;
        } else if (text[at] >= '0' && text[at] <= '9') {
            digits = digits * 10 + (text[at] - '0');
            scale_down *= point ? 10 : 1;
            count++;
        } else {
            break;
        }
    }
    if (count == 0 || count > MOST_DIGITS || text[at - 1] == '.')
        return 0;
    *out = digits / scale_down;
    return at;
}

/* "17 of 20", "85 %" */
static bool read_share(const char *text, size_t size, double *out)
{
    double part, whole;
    size_t at = read_number(text, size, &part);
    if (at == 0)
        return false;
    size_t after = skip_blanks(text, size, at);
    if (after + 1 == size && text[after] == '%') {
        *out = part / 100;
        return part <= 100;
    }
    if (after == at || after + 3 > size || memcmp(text + after, "of ", 3) != 0)
        return false;
    after = skip_blanks(text, size, after + 3);
    size_t length = read_number(text + after, size - after, &whole);
    if (length == 0 || after + length != size || whole == 0 || part > whole)
        return false;
    *out = part / whole;
    return true;
}

bool cw_frequency_parse(const char *text, size_t size, double *out)
{
    for (size_t i = 0; i < WORDS; i++) {
        if (strlen(scale[i].name) == size && memcmp(scale[i].name, text, size) == 0) {
            *out = scale[i].chance;
            return true;
        }
    }
    return read_share(text, size, out);
}

const char *cw_frequency_word_at(size_t index)
{
    return index < WORDS ? scale[index].name : NULL;
}
