/* Patterns that pcre2 is sure to take, known without asking it: the syntax that nearly all patterns keep to
 * (pcre2pattern), nothing in it that depends on what stands elsewhere. */
#include "base/pattern.h"
#include "base/text.h"

#include <string.h>

enum { DEEPEST = 32, MOST_TIMES_DIGITS = 3 };

/* What a repeat behind it may be. */
typedef enum piece {
    NO_REPEAT, /* nothing, a bar, a place (^ \b), a repeat */
    ANY_REPEAT,
    SIGN_REPEAT /* ? * + alone: {9} would copy a whole group */
} piece;

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_punctuation(char c)
{
    return c > ' ' && c < 0x7f && !is_letter(c) && !is_digit(c);
}

/* What stands behind a backslash and is one character or a class of them. */
static bool escapes_one(char c)
{
    return is_punctuation(c) || (c != '\0' && strchr("dDsSwW", c) != NULL);
}

static bool is_range(char low, char high)
{
    return low <= high && ((is_digit(low) && is_digit(high)) ||
                           (is_letter(low) && is_letter(high) && (low & 0x20) == (high & 0x20)));
}

/* "[.a.]", "[:a:]", "[=a=]": a name of POSIX; [.,] is none. */
static bool is_posix_name(const char *text, size_t size)
{
    return size > 3 && strchr(".:=", text[1]) != NULL && text[size - 2] == text[1];
}

/* Bytes of the class that opens at text[0], 0 if it is not plain. */
static size_t class_size(const char *text, size_t size)
{
    if (size < 2 || text[1] == '\0')
        return 0;
    size_t at = text[1] == '^' ? 2 : 1, first = at;
    while (at < size && (text[at] != ']' || at == first)) {
        size_t item = text[at] == '\\' ? 2 : 1;
        if (text[at] == '[' || text[at] == ']' || at + item >= size ||
            (item == 2 && !escapes_one(text[at + 1])))
            return 0;
        bool dash = text[at + item] == '-' && at + item + 1 < size && text[at + item + 1] != ']';
        if (dash && (item == 2 || !is_range(text[at], text[at + 2])))
            return 0;
        at += dash ? 3 : item;
    }
    return at < size && !is_posix_name(text, at + 1) ? at + 1 : 0;
}

/* Bytes of "{2}", "{2,}" or "{2,5}" at text[0], 0 if it is something else. */
static size_t times_size(const char *text, size_t size)
{
    unsigned limits[2] = {0, UINT32_MAX};
    size_t at = 1;
    for (int i = 0; i < 2; i++) {
        size_t from = at;
        for (unsigned value = 0; at < size && is_digit(text[at]); at++)
            limits[i] = value = value * 10 + (unsigned)(text[at] - '0');
        bool open = i == 1 && at == from;
        if (at - from > MOST_TIMES_DIGITS || (at == from && !open) || at >= size)
            return 0;
        if (text[at] == '}')
            return i == 0 || limits[0] <= limits[1] ? at + 1 : 0;
        if (text[at++] != ',')
            return 0;
    }
    return 0;
}

/* Bytes of the bracket that opens at text[0], 0 if it is no plain one. */
static size_t bracket_size(const char *text, size_t size, bool *ahead)
{
    *ahead = false;
    if (size < 2 || text[1] == '*')
        return 0;
    if (text[1] != '?')
        return 1;
    *ahead = size > 2 && (text[2] == '=' || text[2] == '!');
    return size > 2 && (*ahead || text[2] == ':') ? 3 : 0;
}

/* Bytes of "(?<!x)" or "(?<=x)", x one character or class; 0 if it is something else. */
static size_t behind_size(const char *text, size_t size)
{
    if (size < 6 || memcmp(text, "(?<", 3) != 0 || (text[3] != '!' && text[3] != '='))
        return 0;
    const char *what = text + 4;
    const bool escaped = what[0] == '\\' && escapes_one(what[1]);
    const size_t length = what[0] == '['                            ? class_size(what, size - 4)
                          : escaped                                 ? 2
                          : is_letter(what[0]) || is_digit(what[0]) ? 1
                                                                    : 0;
    return length > 0 && 4 + length < size && what[length] == ')' ? 4 + length + 1 : 0;
}

/* Bytes of one piece that is no bracket, 0 if it is not plain; *last is what stands before it, then the
 * piece. */
static size_t piece_size(const char *text, size_t size, piece *last)
{
    size_t length = 1;
    piece found = ANY_REPEAT;
    switch (*text) {
    case '\\':
        length = 2;
        if (size < 2 || !(escapes_one(text[1]) || text[1] == 'b' || text[1] == 'B'))
            return 0;
        found = text[1] == 'b' || text[1] == 'B' ? NO_REPEAT : ANY_REPEAT;
        break;
    case '[':
        length = class_size(text, size);
        break;
    case '^':
    case '$':
    case '|':
        found = NO_REPEAT;
        break;
    case '?':
    case '*':
    case '+':
    case '{':
        if (*last == NO_REPEAT || (*text == '{' && *last == SIGN_REPEAT))
            return 0;
        length = *text == '{' ? times_size(text, size) : 1;
        if (length > 0 && length < size && (text[length] == '?' || text[length] == '+'))
            length++;
        found = NO_REPEAT;
        break;
    case ']':
    case '}':
    case '\0':
        return 0;
    default:
        break;
    }
    *last = found;
    return length;
}

bool cw_pattern_is_plain(const char *text, size_t size)
{
    bool ahead[DEEPEST];
    size_t depth = 0;
    piece last = NO_REPEAT;
    if (size > CW_PATTERN_MAX_SIZE || cw_utf8_error(text, size) < size)
        return false;
    for (size_t at = 0, length; at < size; at += length) {
        if (is_letter(text[at]) || text[at] == ' ') { /* most of the text */
            length = 1;
            last = ANY_REPEAT;
        } else if (text[at] == '(' && (length = behind_size(text + at, size - at)) > 0) {
            last = NO_REPEAT;
        } else if (text[at] == '(') {
            if (depth == DEEPEST)
                return false;
            length = bracket_size(text + at, size - at, &ahead[depth++]);
            last = NO_REPEAT;
        } else if (text[at] == ')') {
            if (depth == 0)
                return false;
            length = 1;
            last = ahead[--depth] ? NO_REPEAT : SIGN_REPEAT;
        } else {
            length = piece_size(text + at, size - at, &last);
        }
        if (length == 0)
            return false;
    }
    return depth == 0;
}
