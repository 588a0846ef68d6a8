#include "quantity/inside.h"
#include <math.h>
#include <string.h>

static cw_parsed failed(cw_reading_error error, size_t at, size_t length)
{
    return (cw_parsed){
        .number = NAN, .base = NAN, .grouped = NAN, .error = error, .at = at, .length = length};
}

static cw_parsed finish(const cw_number *number, const cw_unit_info *unit, size_t size)
{
    cw_parsed out = {
        .number = number->value, .unit = unit, .base = number->value, .grouped = number->grouped};
    if (unit != NULL)
        out.base = number->exact ? cw_ratio_base_value(unit, number->ratio) : cw_to_base(unit, number->value);
    if (!isfinite(out.base))
        return failed(CW_READING_TOO_LARGE, 0, size);
    return out;
}

/* Bytes of a mark for feet that stands at the beginning, 0 if none does. */
static size_t feet_mark(const char *text, size_t size)
{
    static const char *const marks[] = {"'", "\xE2\x80\xB2", "\xE2\x80\x99", "ft.", "ft", "feet", "foot"};
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
        size_t length = strlen(marks[i]);
        if (length <= size && memcmp(text, marks[i], length) == 0)
            return length;
    }
    return 0;
}

/* 5' 3": a number with a mark for feet, and another number behind it. at is where the mark should be. False
 * if it is something else. */
static bool read_feet(const char *text, size_t size, const cw_number *feet, size_t at, cw_parsed *out)
{
    size_t mark = feet_mark(text + at, size - at);
    if (mark == 0)
        return false;
    size_t from = cw_skip_blanks(text, size, at + mark);
    if (from < size && text[from] == '-')
        from++;
    cw_number inches = cw_number_read(text + from, size - from);
    if (from == size || text[from] == '-' || text[from] == '+' || inches.error == CW_READING_NOT_A_NUMBER)
        return false;
    if (inches.error != CW_READING_OK) {
        *out = failed(inches.error, from + inches.at, inches.length);
        return true;
    }
    const cw_unit_info *inch = cw_unit_find("in", 2);
    size_t rest = cw_skip_blanks(text, size, from + inches.end);
    cw_plain plain = cw_plain_read(text + rest, size - rest);
    size_t used = 0;
    const cw_unit_info *unit = cw_plain_unit(&plain, NULL, &used);
    size_t end = rest < size ? cw_skip_blanks(text, size, rest + plain.start[used]) : rest;
    if (inches.unit != NULL || (rest < size && unit != inch) || end < size) {
        size_t wrong = unit == inch ? end : rest;
        *out = failed(unit == NULL && inches.unit == NULL ? CW_READING_UNKNOWN_UNIT : CW_READING_TRAILING,
                      wrong, size - wrong);
        return true;
    }
    double sign = signbit(feet->value) ? -1 : 1;
    cw_number sum = {.value = 12 * feet->value + sign * inches.value, .grouped = NAN};
    *out = finish(&sum, inch, size);
    return true;
}

/* What stands behind a number and is no unit. A word is probably meant as one; anything else is just too
 * much. */
static cw_parsed leftover(const char *text, size_t size, size_t at)
{
    static const char odd[] = "0123456789.,+-/*=<>()[]:;";
    if (strchr(odd, text[at]) != NULL && text[at] != '\0')
        return failed(CW_READING_TRAILING, at, size - at);
    return failed(CW_READING_UNKNOWN_UNIT, at, cw_word_end(text, size, at) - at);
}

cw_parsed cw_long_read(const char *text, size_t size, const cw_dimension *wanted)
{
    cw_number number = cw_number_read(text, size);
    if (number.error != CW_READING_OK)
        return failed(number.error, number.at, number.length);
    size_t at = cw_skip_blanks(text, size, number.end);
    const cw_unit_info *unit = NULL;
    if (number.unit != NULL) {
        unit = cw_unit_find(number.unit, strlen(number.unit));
    } else if (at < size) {
        cw_parsed feet;
        if (read_feet(text, size, &number, at, &feet))
            return feet;
        cw_plain plain = cw_plain_read(text + at, size - at);
        size_t used;
        unit = cw_plain_unit(&plain, wanted, &used);
        if (unit == NULL)
            return leftover(text, size, at);
        at = cw_skip_blanks(text, size, at + plain.start[used]);
    }
    if (at < size)
        return failed(CW_READING_TRAILING, at, size - at);
    return finish(&number, unit, size);
}

static cw_parsed parse(const char *text, size_t size, const cw_dimension *wanted)
{
    cw_parsed out;
    return cw_short_read(text, size, wanted, &out) ? out : cw_long_read(text, size, wanted);
}

cw_parsed cw_quantity_parse(const char *text, size_t size)
{
    return parse(text, size, NULL);
}

cw_parsed cw_quantity_parse_as(const char *text, size_t size, cw_dimension wanted)
{
    return parse(text, size, &wanted);
}

cw_parsed cw_parsed_as(cw_parsed parsed, cw_dimension wanted)
{
    if (parsed.error != CW_READING_OK || parsed.unit == NULL ||
        cw_dimension_equal(parsed.unit->dimension, wanted))
        return parsed;
    const char *symbol = parsed.unit->symbol;
    const cw_unit_info *unit = cw_unit_find_as(symbol, strlen(symbol), wanted);
    if (unit != parsed.unit) {
        parsed.unit = unit;
        parsed.base = cw_to_base(unit, parsed.number);
    }
    return parsed;
}

/* The two sides of a joining word that stands in [at, at + length). */
static cw_parsed_pair split(const char *text, size_t size, size_t at, size_t length)
{
    size_t behind = at + length;
    cw_parsed_pair pair = {parse(text, at, NULL), parse(text + behind, size - behind, NULL), true};
    pair.second.at += pair.second.error != CW_READING_OK ? behind : 0;
    return pair;
}

static cw_parsed_pair unsplit(const char *text, size_t size)
{
    return (cw_parsed_pair){parse(text, size, NULL), failed(CW_READING_EMPTY, size, 0), false};
}

cw_parsed_pair cw_quantity_parse_range(const char *text, size_t size)
{
    size_t end;
    for (size_t at = cw_skip_blanks(text, size, 0); at < size; at = cw_skip_blanks(text, size, end)) {
        end = cw_word_end(text, size, at);
        if (end - at == 2 && memcmp(text + at, "to", 2) == 0)
            return split(text, size, at, 2);
    }
    return unsplit(text, size);
}

cw_parsed_pair cw_quantity_parse_tolerance(const char *text, size_t size)
{
    static const char *const marks[] = {"+/-", "+-", "\xC2\xB1"};
    const size_t count = sizeof marks / sizeof *marks;
    for (size_t at = 0; at < size; at++)
        for (size_t i = text[at] == '+' || text[at] == '\xC2' ? 0 : count; i < count; i++) {
            size_t length = strlen(marks[i]);
            if (length <= size - at && memcmp(text + at, marks[i], length) == 0)
                return split(text, size, at, length);
        }
    return unsplit(text, size);
}

const char *cw_reading_error_text(cw_reading_error error)
{
    switch (error) {
    case CW_READING_OK:
        return "nothing is wrong";
    case CW_READING_EMPTY:
        return "there is no number here";
    case CW_READING_NOT_A_NUMBER:
        return "this is no number";
    case CW_READING_UNKNOWN_UNIT:
        return "this unit is not known";
    case CW_READING_TRAILING:
        return "this is too much behind the number and its unit";
    case CW_READING_TOO_LARGE:
        return "this number is too large";
    case CW_READING_ZERO_DIVIDE:
        return "nothing can be divided by zero";
    }
    return "unknown error";
}
