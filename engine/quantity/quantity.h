/* Numbers with dimension and unit. Inside the engine every value is in the coherent base unit of its
 * dimension: SI, but turning speed counts in rpm and angle in degrees, as dimensions of their own. (Charge is
 * in ampere seconds, or current times time would not be charge.) Units exist only at the edges.
 *
 * A value carries its standard uncertainty (one standard deviation, JCGM 100:2008 2.3.1) beside it. */
#ifndef CW_QUANTITY_QUANTITY_H
#define CW_QUANTITY_QUANTITY_H

#include "base/places.h"
#include "base/text.h"
#include "corewright/status.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Exponents of length, mass, time, current, temperature, and three counted ones: turn (rpm), angle (deg),
 * plus the mark that tells a temperature on a scale from a difference. Two dimensions are the same when all
 * are equal. */
typedef struct cw_dimension {
    int8_t length, mass, time, current, temperature, turn, angle;
    int8_t on_scale; /* 1 for a temperature that is a point on the scale (20 degC), 0 otherwise */
} cw_dimension;

/* The dimension with this name ("length"), as packs write it; false if there is none. dimension.def lists
 * them. */
bool cw_dimension_find(const char *name, cw_dimension *out);
/* "voltage"; for one without a name its base units, as "kg m s^-2". Lives for ever or in buffer (64 bytes
 * will do; cut if longer). */
const char *cw_dimension_name(cw_dimension dimension, char *buffer, size_t size);
/* What people call it when speaking of several: "volts", "lengths". As above where there is no name. */
const char *cw_dimension_words(cw_dimension dimension, char *buffer, size_t size);
bool cw_dimension_equal(cw_dimension a, cw_dimension b);
/* The i-th name, NULL past the end: for nearest-word help. */
const char *cw_dimension_at(size_t index);

typedef struct cw_unit_info {
    const char *symbol; /* canonical, as printed: "mm", "degC", "\"" never */
    cw_dimension dimension;
    double factor; /* base value = value * factor + offset, to rounding; cw_to_base is exact */
    double offset; /* in the base unit */
} cw_unit_info;

/* Any accepted spelling, capital letters significant only where they must be (mA, MA; mohm, Mohm). NULL if
 * unknown. K is a temperature difference here, C a coulomb, F a farad, lb a mass: see cw_unit_as. */
const cw_unit_info *cw_unit_find(const char *symbol, size_t size);
/* The same, but where a spelling can mean several units (K, C, F, lb), that of the wanted dimension. */
const cw_unit_info *cw_unit_find_as(const char *symbol, size_t size, cw_dimension wanted);
const cw_unit_info *cw_unit_at(size_t index); /* NULL past the end */

/* How large a unit is, more than can be seen of it here, and every pointer within: a copy of that many bytes
 * stands for the unit as long as its texts are there. */
size_t cw_unit_size(void);
void cw_unit_places(const cw_unit_info *unit, cw_places *places);

/* The number is taken as the shortest decimal that stands for it, converted exactly, rounded once: 5.25 in,
 * 133.35 mm and 13.335 cm are the same base value to the last bit. Both rise with their argument. unit must
 * come from this room, or be a copy. */
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
    double number;            /* as written, in its unit; 5' 3" is 63 in */
    const cw_unit_info *unit; /* NULL: a bare number */
    double base;              /* in the base unit; the bare number itself where there is no unit. Equal to
                                 cw_to_base(unit, number) unless more than 15 digits are written; then this one is right */
    double grouped; /* 1,500: the number (in its unit) if the comma were to group thousands; else NAN */
    cw_reading_error error;
    size_t at, length; /* the spot that is wrong (bytes) */
} cw_parsed;

/* Reads what people write: 5 1/4" · 5-1/4 in · 5.25in · 133mm · 13,3 cm · 12.4 · 450 mV · .45 VAC · 14V4 · 1
 * 500 rpm · 1.5k rpm · 70 degF · 3/8 in · -12 °C · 5' 3" · ½ in · 1e3 ohm · 4k7 ohm. A comma is a decimal
 * mark, unless it groups thousands (1,500 rpm: exactly three digits follow and one to three non-zero-led
 * digits stand before: then it is grouping only if a second group or a decimal point follows too; else a
 * decimal comma). Never uses the locale. */
cw_parsed cw_quantity_parse(const char *text, size_t size);
/* The same where it is known what is waited for: 70 F is degF, 300 K a point on the scale, 40 lb a force. A
 * unit of another dimension is still read; the caller compares. */
cw_parsed cw_quantity_parse_as(const char *text, size_t size, cw_dimension wanted);
/* A reading already made, its unit taken as one of the wanted dimension where the spelling can mean that too.
 */
cw_parsed cw_parsed_as(cw_parsed parsed, cw_dimension wanted);

/* A band as written in packs: "60 mm to 200 mm", "112 mm +/- 0.8 mm" ("±" too). Spots count from the start of
 * the whole text. Units are taken as written: a bare half stays bare, a tolerance in K belongs to a point in
 * degC. */
typedef struct cw_parsed_pair {
    cw_parsed first, second;
    bool ok; /* the joining word was found; else first is the whole text read as one quantity */
} cw_parsed_pair;
cw_parsed_pair cw_quantity_parse_range(const char *text, size_t size);     /* A to B */
cw_parsed_pair cw_quantity_parse_tolerance(const char *text, size_t size); /* A +/- B */
/* One line for people that says what is wrong ("this unit is not known"). */
const char *cw_reading_error_text(cw_reading_error error);

/* The shortest decimal that reads back as the same base value (parsed.base), then a blank and the symbol:
 * print then parse is exact. Where that cannot be written in the unit (beyond 1e15 K in degF) the base unit
 * is taken. unit NULL prints the base value bare. */
void cw_quantity_print(cw_text *out, double base, const cw_unit_info *unit);
/* For people: rounded to what the error bears (the decimal place of the error's second figure; JCGM
 * 100:2008 7.2.6), else, error 0, to four figures. Zeros at the end behind the decimal mark are left off. */
void cw_quantity_show(cw_text *out, double base, double error, const cw_unit_info *unit);

/* Beyond the limit? Doubtful when the limit lies within the reading error of the reading (|x - limit| <
 * error; an exact reading is never doubtful). */
typedef enum cw_truth { CW_NO, CW_DOUBTFUL, CW_YES } cw_truth;

typedef struct cw_interval {
    double low, high;         /* -INFINITY and INFINITY for open ends */
    bool low_open, high_open; /* the limit itself does not belong */
} cw_interval;
/* Both limits are asked; the weaker verdict counts. */
cw_truth cw_interval_holds(cw_interval interval, double value, double error);

#endif
