/* Values of settings, as people write them. */
#include "base/nearest.h"
#include "base/text.h"
#include "bench/cable.h"
#include "bench/calc_inside.h"
#include "quantity/quantity.h"
#include <assert.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { SHORT = 64 };

static cw_dimension dimension_of(const char *name)
{
    cw_dimension dimension = {0};
    bool found = cw_dimension_find(name, &dimension);
    assert(found);
    (void)found;
    return dimension;
}

static cw_status wrong(const calc_key *key, const char *text, const char *what, cw_calc_result *out)
{
    char help[200];
    snprintf(help, sizeof help, "%s takes %s", key->shown.name, key->shown.takes);
    return calc_wrong(out, help, "%s: '%.*s': %s", key->shown.name, calc_cut(text), text, what);
}

static cw_status in_bounds(const calc_key *key, const char *text, const calc_value *value,
                           cw_calc_result *out)
{
    if (!isfinite(value->number))
        return wrong(key, text, "this is no number to reckon with", out);
    if (value->number > key->over && value->number <= key->most)
        return CW_OK;
    if (value->number <= key->over && (key->over == 0 || key->over == -1e-300))
        return wrong(key, text, key->over == 0 ? "it must be above 0" : "it must not be below 0", out);
    return wrong(key, text, value->number <= key->over ? "this is too small" : "this is too large", out);
}

static cw_status read_quantity(const calc_key *key, const char *text, cw_dimension wanted, calc_value *value,
                               cw_calc_result *out)
{
    char buffer[64], other[64], what[160];
    cw_parsed parsed = cw_quantity_parse_as(text, strlen(text), wanted);
    bool plain = cw_dimension_equal(wanted, (cw_dimension){0});
    if (parsed.error != CW_READING_OK)
        return wrong(key, text, cw_reading_error_text(parsed.error), out);
    if (parsed.unit == NULL && !plain)
        return wrong(key, text, "the unit is missing", out);
    if (parsed.unit != NULL && !cw_dimension_equal(parsed.unit->dimension, wanted)) {
        snprintf(what, sizeof what, "these are %s, not %s",
                 cw_dimension_words(parsed.unit->dimension, buffer, sizeof buffer),
                 cw_dimension_words(wanted, other, sizeof other));
        return wrong(key, text, what, out);
    }
    value->number = parsed.base;
    return in_bounds(key, text, value, out);
}

static cw_status read_count(const calc_key *key, const char *text, calc_value *value, cw_calc_result *out)
{
    size_t figures = strspn(text, "0123456789");
    if (figures == 0 || figures > 6 || text[figures] != '\0')
        return wrong(key, text, "this is no whole number", out);
    value->number = 0;
    for (size_t i = 0; i < figures; i++)
        value->number = value->number * 10 + (text[i] - '0');
    return in_bounds(key, text, value, out);
}

static cw_status read_choice(const calc_key *key, const char *text, calc_value *value, cw_calc_result *out)
{
    cw_nearest nearest = cw_nearest_start(text);
    char candidates[8][24];
    size_t count = 0;
    for (const char *at = key->choices; *at != '\0' && count < 8; count++) {
        size_t size = strcspn(at, "|");
        snprintf(candidates[count], sizeof candidates[count], "%.*s", (int)size, at);
        if (strcmp(candidates[count], text) == 0) {
            value->number = (double)count;
            return CW_OK;
        }
        cw_nearest_try(&nearest, candidates[count]);
        at += size + (at[size] == '|');
    }
    cw_status status = wrong(key, text, "there is no such choice", out);
    if (nearest.best != NULL)
        snprintf(out->help, sizeof out->help, "did you mean '%s'?", nearest.best);
    return status;
}

/* Small letters without blanks; false when it is longer than any right word. */
static bool squeeze(const char *text, char *out)
{
    size_t size = 0;
    for (; *text != '\0'; text++) {
        if (*text == ' ')
            continue;
        if (size + 1 == SHORT)
            return false;
        out[size++] = (char)tolower((unsigned char)*text);
    }
    out[size] = '\0';
    return true;
}

/* "8awg", "awg8", "#8", "8ga", "3/0awg", "000awg": the figures of a gauge cut out; NULL when it is none. */
static char *gauge_figures(char *text)
{
    static const char *const marks[] = {"awg", "gauge", "ga", "#"};
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++) {
        size_t size = strlen(marks[i]);
        size_t all = strlen(text);
        if (strncmp(text, marks[i], size) == 0)
            return text + size;
        if (all > size && strcmp(text + all - size, marks[i]) == 0) {
            text[all - size] = '\0';
            return text;
        }
    }
    return NULL;
}

static bool read_gauge(const char *figures, double *gauge)
{
    size_t all = strlen(figures);
    size_t noughts = strspn(figures, "0");
    if (noughts == all && all >= 1 && all <= 4)
        *gauge = 1 - (double)all;
    else if (all == 3 && figures[0] >= '1' && figures[0] <= '4' && strcmp(figures + 1, "/0") == 0)
        *gauge = 1 - (figures[0] - '0');
    else if (all <= 2 && noughts == 0 && strspn(figures, "0123456789") == all && all > 0)
        *gauge = all == 1 ? figures[0] - '0' : (figures[0] - '0') * 10 + (figures[1] - '0');
    else
        return false;
    return *gauge <= CW_GAUGE_THINNEST;
}

static cw_status read_wire(const calc_key *key, const char *text, calc_value *value, cw_calc_result *out)
{
    char squeezed[SHORT] = "";
    double gauge;
    char *figures = squeeze(text, squeezed) ? gauge_figures(squeezed) : NULL;
    if (figures != NULL) {
        if (!read_gauge(figures, &gauge))
            return wrong(key, text, "there is no such gauge, 4/0 to 40", out);
        value->number = cw_gauge_area(gauge);
        return CW_OK;
    }
    cw_parsed parsed = cw_quantity_parse(text, strlen(text));
    if (parsed.error == CW_READING_OK && parsed.unit == NULL)
        return wrong(key, text, "gauge or square millimetres? AWG or mm2 is wanted behind it", out);
    return read_quantity(key, text, dimension_of("area"), value, out);
}

static cw_status read_henry(const calc_key *key, const char *text, calc_value *value, cw_calc_result *out)
{
    static const struct {
        const char *word;
        double factor;
    } units[] = {{"\xc2\xb5H", 1e-6}, {"\xce\xbcH", 1e-6}, {"uH", 1e-6}, {"mH", 1e-3}, {"H", 1}};
    size_t all = strlen(text);
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        size_t size = strlen(units[i].word);
        if (all <= size || strcmp(text + all - size, units[i].word) != 0)
            continue;
        cw_parsed parsed = cw_quantity_parse(text, all - size);
        if (parsed.error != CW_READING_OK || parsed.unit != NULL)
            break;
        value->number = parsed.base * units[i].factor;
        return in_bounds(key, text, value, out);
    }
    return wrong(key, text, "this is no inductance", out);
}

/* Words of a letter for the phase, with + or - for a diode beside it, parted by blanks or commas. */
static cw_status read_parts(const calc_key *key, const char *text, calc_value *value, cw_calc_result *out)
{
    unsigned bits = 0;
    for (const char *at = text; *at != '\0';) {
        size_t size = strcspn(at, " ,");
        int phase = size > 0 ? tolower((unsigned char)*at) - 'a' : 0;
        if (phase < 0 || phase > 2 || size > 2 || (size == 2 && at[1] != '+' && at[1] != '-'))
            return wrong(key, text, "there is no such part", out);
        if (size > 0)
            bits |= 1u << (size == 1 ? 6 + phase : at[1] == '+' ? phase : 3 + phase);
        at += size + (at[size] != '\0');
    }
    value->number = bits;
    return CW_OK;
}

cw_status calc_read(const calc_key *key, const char *text, calc_value *value, cw_calc_result *out)
{
    value->given = true;
    value->text = text;
    switch (key->kind) {
    case CALC_QUANTITY:
        return read_quantity(key, text, dimension_of(key->dimension), value, out);
    case CALC_COUNT:
        return read_count(key, text, value, out);
    case CALC_CHOICE:
        return read_choice(key, text, value, out);
    case CALC_WIRE:
        return read_wire(key, text, value, out);
    case CALC_HENRY:
        return read_henry(key, text, value, out);
    case CALC_PARTS:
        return read_parts(key, text, value, out);
    case CALC_TEXT:
        break;
    }
    return *text != '\0' ? CW_OK : wrong(key, text, "nothing is written", out);
}
