/* The number at the beginning of what somebody wrote. */
#include "quantity/inside.h"
#include <math.h>

#define NOWHERE SIZE_MAX

/* Significant digits on their way to a double: value = digits * 10^exponent. */
typedef struct figures {
    char digit[CW_DECIMAL_MAX];
    size_t count;
    long exponent;
    bool more; /* something other than 0 was left off */
} figures;

typedef struct reader {
    const char *text;
    size_t size;
    size_t begin; /* of the number, sign included */
    bool negative;
    figures figures;
    cw_number out;
} reader;

static bool is_digit(const reader *in, size_t at)
{
    return at < in->size && in->text[at] >= '0' && in->text[at] <= '9';
}

static bool is_mark(const reader *in, size_t at)
{
    return at < in->size && (in->text[at] == '.' || in->text[at] == ',');
}

static size_t digits_end(const reader *in, size_t at)
{
    while (is_digit(in, at))
        at++;
    return at;
}

static uint32_t point_at(const reader *in, size_t at, size_t *length)
{
    *length = cw_utf8_length(in->text + at, in->size - at);
    return *length > 0 ? cw_utf8_decode(in->text + at, in->size - at) : 0;
}

static void fail(reader *in, cw_reading_error error, size_t at, size_t length)
{
    in->out.error = error;
    in->out.at = at;
    in->out.length = length;
}

static void add_digit(figures *f, char digit, bool decimal)
{
    if (decimal)
        f->exponent--;
    if (digit == '0' && f->count == 0)
        return;
    if (f->count < CW_DECIMAL_MAX - 1) {
        f->digit[f->count++] = digit;
        return;
    }
    f->exponent++;
    if (digit != '0')
        f->more = true;
}

/* All digits of [from, to), those behind mark as decimals; anything between them is a group mark. */
static void add_digits(reader *in, size_t from, size_t to, size_t mark)
{
    for (size_t i = from; i < to; i++)
        if (is_digit(in, i))
            add_digit(&in->figures, in->text[i], i > mark);
}

static double round_figures(const figures *f, long shift)
{
    if (f->count == 0)
        return 0;
    figures copy = *f;
    copy.exponent += shift;
    if (copy.more) {
        copy.digit[copy.count++] = '1';
        copy.exponent--;
    }
    return cw_decimal_round(copy.digit, copy.count, copy.exponent);
}

/* Takes over what the figures say, as value and where short enough exactly. */
static void settle(reader *in)
{
    const figures *f = &in->figures;
    in->out.exact = f->count <= 19;
    if (!in->out.exact) {
        in->out.value = (in->negative ? -1 : 1) * round_figures(f, 0);
    } else {
        cw_ratio ratio = {0, 1, (int)f->exponent, in->negative};
        for (size_t i = 0; i < f->count; i++)
            ratio.n = ratio.n * 10 + (unsigned)(f->digit[i] - '0');
        in->out.ratio = ratio;
        in->out.value = cw_ratio_round(ratio);
    }
}

/* "1 500": one to three digits, then blank and exactly three, again and again. The last of several groups is
 * not one if it is the upper part of a fraction. Returns the end, from itself if there are no groups. */
static size_t blank_groups(const reader *in, size_t from)
{
    size_t end = digits_end(in, from);
    if (end - from < 1 || end - from > 3 || in->text[from] == '0')
        return from;
    size_t last = from;
    for (;;) {
        size_t blank = end < in->size ? cw_blank_length(in->text + end, in->size - end) : 0;
        size_t next = digits_end(in, end + blank);
        if (blank == 0 || next - (end + blank) != 3)
            return last;
        size_t length;
        uint32_t behind = point_at(in, next, &length);
        if (behind == '/' || behind == 0x2044 || behind == 0x2215)
            return last;
        end = last = next;
    }
}

/* Several marks: all but the last part thousands and are alike; the last parts thousands too if it is like
 * them, else it is the decimal mark. */
static void check_groups(reader *in, size_t from, size_t last, size_t end, size_t *mark)
{
    size_t at = digits_end(in, from);
    char sign = in->text[at];
    if (at - from < 1 || at - from > 3 || in->text[from] == '0')
        fail(in, CW_READING_NOT_A_NUMBER, at, 1);
    while (in->out.error == CW_READING_OK && at < last) {
        size_t next = digits_end(in, at + 1);
        if (in->text[at] != sign || next - at != 4)
            fail(in, CW_READING_NOT_A_NUMBER, at, 1);
        at = next;
    }
    if (in->text[last] != sign)
        return;
    *mark = NOWHERE;
    if (in->out.error == CW_READING_OK && end - last != 4)
        fail(in, CW_READING_NOT_A_NUMBER, last, 1);
}

/* "12.4", "1.500,5", "1,500,000", "5.", ".45": to the end of digits and marks. *mark is the decimal one,
 * NOWHERE if there is none. */
static size_t read_marks(reader *in, size_t from, size_t *mark)
{
    size_t end = digits_end(in, from);
    size_t count = 0;
    *mark = NOWHERE;
    while (is_mark(in, end) && is_digit(in, end + 1)) {
        *mark = end;
        end = digits_end(in, end + 1);
        count++;
    }
    if (count == 0 && end > from && is_mark(in, end) && in->text[end] == '.' && !is_mark(in, end + 1))
        *mark = end++;
    if (count > 1)
        check_groups(in, from, *mark, end, mark);
    size_t before = *mark != NOWHERE ? *mark - from : 0;
    bool thousands = count == 1 && *mark != NOWHERE && in->text[*mark] == ',' && end - *mark == 4;
    if (thousands && before >= 1 && before <= 3 && in->text[from] != '0')
        in->out.grouped = 0; /* worked out when all has been read */
    return end;
}

/* Reads digits, groups and decimal mark; *whole: digits only. */
static size_t read_digits(reader *in, size_t from, bool *whole)
{
    size_t mark = NOWHERE;
    size_t end = blank_groups(in, from);
    if (end == from)
        end = read_marks(in, from, &mark);
    else if (is_mark(in, end) && is_digit(in, end + 1)) {
        mark = end;
        end = digits_end(in, end + 1);
    }
    add_digits(in, from, end, mark);
    *whole = mark == NOWHERE;
    return end;
}

static size_t sign_length(const reader *in, size_t at, bool *negative)
{
    size_t length;
    uint32_t c = point_at(in, at, &length);
    *negative =
        c == '-' || c == 0x2212 || c == 0x2013; /* minus sign; the dash that some keyboards make of it */
    return *negative || c == '+' ? length : 0;
}

static size_t slash_length(const reader *in, size_t at)
{
    size_t length;
    uint32_t c = point_at(in, at, &length);
    return c == '/' || c == 0x2044 || c == 0x2215 ? length : 0;
}

/* ½ and its like; 0 if none stands here. */
static size_t vulgar_length(const reader *in, size_t at, uint64_t *n, uint64_t *d)
{
    static const struct {
        uint32_t c;
        uint8_t n, d;
    } fractions[] = {{0xBC, 1, 4},    {0xBD, 1, 2},   {0xBE, 3, 4},   {0x2150, 1, 7}, {0x2151, 1, 9},
                     {0x2152, 1, 10}, {0x2153, 1, 3}, {0x2154, 2, 3}, {0x2155, 1, 5}, {0x2156, 2, 5},
                     {0x2157, 3, 5},  {0x2158, 4, 5}, {0x2159, 1, 6}, {0x215A, 5, 6}, {0x215B, 1, 8},
                     {0x215C, 3, 8},  {0x215D, 5, 8}, {0x215E, 7, 8}};
    size_t length;
    uint32_t c = point_at(in, at, &length);
    for (size_t i = 0; i < sizeof fractions / sizeof *fractions; i++)
        if (fractions[i].c == c) {
            *n = fractions[i].n;
            *d = fractions[i].d;
            return length;
        }
    return 0;
}

/* Digits [from, to) of a fraction; more than nine make no sense there and would not fit. */
static uint64_t short_number(reader *in, size_t from, size_t to)
{
    uint64_t value = 0;
    if (to - from > 9)
        fail(in, CW_READING_TOO_LARGE, from, to - from);
    else
        for (size_t i = from; i < to; i++)
            value = value * 10 + (uint64_t)(in->text[i] - '0');
    return value;
}

static void set_fraction(reader *in, uint64_t whole, uint64_t n, uint64_t d)
{
    in->out.ratio = (cw_ratio){(cw_wide)whole * d + n, d, 0, in->negative};
    in->out.exact = true;
    in->out.value = cw_ratio_round(in->out.ratio);
}

/* "3/8" at from, its whole part before it. Returns its end, from itself if there is no fraction. */
static size_t read_slashed(reader *in, size_t from, uint64_t whole)
{
    size_t slash = digits_end(in, from);
    size_t below = slash + slash_length(in, slash);
    size_t end = digits_end(in, below);
    if (slash == from || below == slash || end == below)
        return from;
    uint64_t n = short_number(in, from, slash);
    uint64_t d = short_number(in, below, end);
    if (in->out.error == CW_READING_OK && d == 0)
        fail(in, CW_READING_ZERO_DIVIDE, below, end - below);
    if (in->out.error == CW_READING_OK)
        set_fraction(in, whole, n, d);
    return end;
}

/* What may follow whole digits [from, end): "/8", " 1/4", "-1/4", "½". Returns the new end, or end. */
static size_t read_fraction(reader *in, size_t from, size_t end)
{
    size_t after = read_slashed(in, from, 0);
    if (after != from)
        return after;
    size_t length;
    uint32_t c = point_at(in, end, &length);
    bool hyphen = c == '-' || c == 0x2010 || c == 0x2011 || c == 0x2013;
    size_t next = hyphen ? end + length : cw_skip_blanks(in->text, in->size, end);
    uint64_t n;
    uint64_t d;
    size_t vulgar = vulgar_length(in, next, &n, &d);
    bool slashed = next > end && slash_length(in, digits_end(in, next)) > 0 && is_digit(in, next);
    if (vulgar == 0 && !slashed)
        return end;
    if (in->figures.count > 9) {
        fail(in, CW_READING_TOO_LARGE, from, end - from);
        return end;
    }
    uint64_t whole = 0;
    for (size_t i = 0; i < in->figures.count; i++)
        whole = whole * 10 + (uint64_t)(in->figures.digit[i] - '0');
    if (vulgar > 0) {
        set_fraction(in, whole, n, d);
        return next + vulgar;
    }
    after = read_slashed(in, next, whole);
    return after != next ? after : end;
}

/* "14V4", "4k7": the letter stands where the decimal mark would. Returns the new end, or end. */
static size_t read_infix(reader *in, size_t end)
{
    if (end >= in->size || !is_digit(in, end + 1))
        return end;
    int power = 0;
    switch (in->text[end]) {
    case 'V':
    case 'v':
        in->out.unit = "V";
        break;
    case 'A':
    case 'a':
        in->out.unit = "A";
        break;
    case 'R':
    case 'r':
        in->out.unit = "ohm";
        break;
    case 'k':
    case 'K':
        power = 3;
        break;
    case 'M':
        power = 6;
        break;
    default:
        return end;
    }
    size_t after = digits_end(in, end + 1);
    add_digits(in, end + 1, after, end);
    in->figures.exponent += power;
    return after;
}

/* "e3", "E-05". Returns the new end, or end. */
static size_t read_exponent(reader *in, size_t end)
{
    if (end >= in->size || (in->text[end] != 'e' && in->text[end] != 'E'))
        return end;
    bool negative = false;
    size_t from = end + 1;
    if (from < in->size)
        from += sign_length(in, from, &negative);
    size_t after = digits_end(in, from);
    if (after == from)
        return end;
    long exponent = 0;
    for (size_t i = from; i < after; i++)
        if (exponent < 100000)
            exponent = exponent * 10 + (in->text[i] - '0');
    in->figures.exponent += negative ? -exponent : exponent;
    return after;
}

/* "1.5k rpm": k before a blank or the end. K alone is the kelvin, so it must stand before a unit. */
static size_t read_thousand(reader *in, size_t end)
{
    if (end >= in->size || (in->text[end] != 'k' && in->text[end] != 'K'))
        return end;
    size_t next = cw_skip_blanks(in->text, in->size, end + 1);
    bool parted = next == in->size || next > end + 1;
    if (!parted || (in->text[end] == 'K' && next == in->size))
        return end;
    in->figures.exponent += 3;
    return end + 1;
}

static void read_number(reader *in, size_t from)
{
    uint64_t n;
    uint64_t d;
    size_t vulgar = vulgar_length(in, from, &n, &d);
    if (vulgar > 0) {
        set_fraction(in, 0, n, d);
        in->out.end = from + vulgar;
        return;
    }
    bool whole;
    size_t end = read_digits(in, from, &whole);
    if (end == from)
        fail(in, CW_READING_NOT_A_NUMBER, in->begin, cw_word_end(in->text, in->size, in->begin) - in->begin);
    if (in->out.error != CW_READING_OK)
        return;
    size_t after = read_exponent(in, end);
    if (after == end && whole) {
        after = read_fraction(in, from, end);
        if (after != end || in->out.error != CW_READING_OK) {
            in->out.end = after;
            return;
        }
        after = read_infix(in, end);
    }
    if (after == end)
        after = read_thousand(in, end);
    in->out.end = after;
    settle(in);
    if (!isnan(in->out.grouped))
        in->out.grouped = (in->negative ? -1 : 1) * round_figures(&in->figures, 3);
}

cw_number cw_number_read(const char *text, size_t size)
{
    reader in = {.text = text, .size = size, .out = {.grouped = NAN}};
    in.begin = cw_skip_blanks(text, size, 0);
    if (in.begin == size) {
        fail(&in, CW_READING_EMPTY, 0, size);
        return in.out;
    }
    size_t sign = sign_length(&in, in.begin, &in.negative);
    read_number(&in, sign > 0 ? cw_skip_blanks(text, size, in.begin + sign) : in.begin);
    if (in.out.error == CW_READING_OK && !isfinite(in.out.value))
        fail(&in, CW_READING_TOO_LARGE, in.begin, in.out.end - in.begin);
    return in.out;
}
