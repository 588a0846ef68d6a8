/* Numbers with dimension and unit. Inside the engine every value is in the coherent base unit of its dimension
 * (SI, with these exceptions by trade habit: speed in rpm, charge in Ah, angle in degrees); units exist only at the edges.
 *
 * A value carries its standard uncertainty (one standard deviation, JCGM 100:2008 2.3.1) beside it. */
#ifndef CW_QUANTITY_QUANTITY_H
#define CW_QUANTITY_QUANTITY_H

#include "base/text.h"
#include "corewright/status.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Exponents of length, mass, time, current, temperature, and three counted ones: turn (rpm), angle (deg), plus the
 * mark that tells a temperature on a scale from a difference. Two dimensions are the same when all are equal. */
typedef struct cw_dimension {
    int8_t length, mass, time, current, temperature, turn, angle;
    int8_t on_scale; /* 1 for a temperature that is a point on the scale (20 degC), 0 otherwise */
} cw_dimension;

/* dimension.def: name as written in packs ("length"), exponents. unit.def: symbol, other spellings, dimension,
 * factor, offset, printed form. */
bool cw_dimension_find(const char *name, cw_dimension *out);
/* "voltage"; for one without a name its exponents in base units, as "V ohm". Lives for ever or in buffer. */
const char *cw_dimension_name(cw_dimension dimension, char *buffer, size_t size);
bool cw_dimension_equal(cw_dimension a, cw_dimension b);
/* The i-th name, NULL past the end: for nearest-word help. */
const char *cw_dimension_at(size_t index);

typedef struct cw_unit_info {
    const char *symbol; /* canonical, as printed: "mm", "degC", "\"" never */
    cw_dimension dimension;
    double factor; /* base value = value * factor + offset */
    double offset;
} cw_unit_info;

/* Any accepted spelling, capital letters significant only where they must be (mA, MA; mohm, Mohm). NULL if
 * unknown. */
const cw_unit_info *cw_unit_find(const char *symbol, size_t size);
const cw_unit_info *cw_unit_at(size_t index); /* NULL past the end */
double cw_to_base(const cw_unit_info *unit, double value);
double cw_from_base(const cw_unit_info *unit, double base);

/* What a reader found in a text. */
typedef enum cw_reading_error {
    CW_READING_OK,
    CW_READING_EMPTY,
    CW_READING_NOT_A_NUMBER,
    CW_READING_UNKNOWN_UNIT,
    CW_READING_TRAILING,  /* something after number and unit */
    CW_READING_TOO_LARGE, /* not finite */
    CW_READING_ZERO_DIVIDE
} cw_reading_error;

typedef struct cw_parsed {
    double number;            /* as written, in its unit */
    const cw_unit_info *unit; /* NULL: a bare number */
    cw_reading_error error;
    size_t at, length; /* the spot that is wrong (bytes) */
} cw_parsed;

/* Reads what people write: 5 1/4" · 5-1/4 in · 5.25in · 133mm · 13,3 cm · 12.4 · 450 mV · .45 VAC · 14V4 · 1 500 rpm ·
 * 1.5k rpm · 70 degF · 3/8 in · -12 °C · 5' 3" · ½ in · 1e3 ohm · 4k7 ohm. A comma is a decimal mark, unless it
 * groups thousands (1,500 rpm: exactly three digits follow and one to three non-zero-led digits stand before: then it
 * is grouping only if a second group or a decimal point follows too; else a decimal comma). Never uses the locale. */
cw_parsed cw_quantity_parse(const char *text, size_t size);

/* A band as written in packs: "60 mm to 200 mm", "112 mm +/- 0.8 mm" ("±" too). */
typedef struct cw_parsed_pair {
    cw_parsed first, second;
    bool ok; /* the joining word was found */
} cw_parsed_pair;
cw_parsed_pair cw_quantity_parse_range(const char *text, size_t size);     /* A to B */
cw_parsed_pair cw_quantity_parse_tolerance(const char *text, size_t size); /* A +/- B */

/* The shortest decimal that reads back as the same double, then a blank and the symbol: print then parse is exact.
 * unit NULL prints the base value bare. */
void cw_quantity_print(cw_text *out, double base, const cw_unit_info *unit);
/* For people: rounded to what the error bears (two figures of the error), else to four figures. */
void cw_quantity_show(cw_text *out, double base, double error, const cw_unit_info *unit);

/* Beyond the limit? Doubtful when the limit lies within the reading error of the reading (|x - limit| < error;
 * an exact reading is never doubtful). */
typedef enum cw_truth { CW_NO, CW_DOUBTFUL, CW_YES } cw_truth;

typedef struct cw_interval {
    double low, high;         /* -INFINITY and INFINITY for open ends */
    bool low_open, high_open; /* the limit itself does not belong */
} cw_interval;
/* Both limits are asked; the weaker verdict counts. */
cw_truth cw_interval_holds(cw_interval interval, double value, double error);

#endif
