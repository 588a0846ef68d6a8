/* Bench calculations by name, from what people write: cable, windings, output, pulleys, bearings, battery,
 * rectifier.
 *
 * They need no pack and no session. Nothing is kept between calls; results are the caller's. Threads: any. */
#ifndef COREWRIGHT_CALC_H
#define COREWRIGHT_CALC_H

#include "corewright/status.h"
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_calc {
    const char *name;
    const char *does;    /* for people, one line */
    const char *example; /* its settings as a shell takes them: "gauge=8AWG length='6 ft' amps='90 A'" */
    size_t key_count;
} cw_calc;

typedef struct cw_calc_key {
    const char *name;
    const char *means; /* for people, one line */
    const char *takes; /* what is written: "lengths", "a whole number", "wye or delta" */
    const char *usual; /* what is taken when the key is left out, as it would be written; "": nothing; NULL:
                          the key must be given */
} cw_calc_key;

/* In a fixed order; NULL past the end. Live for ever. */
CW_API const cw_calc *cw_calc_at(size_t index);
CW_API const cw_calc *cw_calc_find(const char *name); /* NULL if there is none */
CW_API const cw_calc_key *cw_calc_key_at(const cw_calc *calc, size_t index);

#define CW_CALC_LINES 72
#define CW_CALC_WORDS 120

typedef struct cw_calc_line {
    const char *name;          /* "drop"; several lines of one kind (tones) share one */
    const char *label;         /* for people: "volts lost" */
    double value;              /* in the unit; NAN where the line is words only */
    const char *unit;          /* "V"; "" for a plain number or words */
    char words[CW_CALC_WORDS]; /* for people: "0.62 V" */
} cw_calc_line;

typedef struct cw_calc_result {
    cw_calc_line lines[CW_CALC_LINES];
    size_t count;
    const char *note;  /* what to bear in mind with these figures, or NULL */
    char problem[240]; /* when it went wrong: what is wrong, one line */
    char help[240];    /* what to do about it; "" for nothing */
} cw_calc_result;

/* settings: "key=value" each, quantities with their units ("length=6 ft"). CW_NOT_FOUND: no calculation of
 * that name; CW_BAD_INPUT: a setting is wrong or missing, or such values have no answer; CW_NO_MEMORY;
 * CW_BAD_CALL: NULL. In the first two cases out->problem and out->help say what and how. */
CW_API cw_status cw_calc_run(const char *name, const char *const *settings, size_t count,
                             cw_calc_result *out);

#ifdef __cplusplus
}
#endif

#endif
