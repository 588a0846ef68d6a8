/* Between the files of the named calculations: what a key is, what was read, how a result is written. */
#ifndef CW_BENCH_CALC_INSIDE_H
#define CW_BENCH_CALC_INSIDE_H

#include "corewright/calc.h"
#include <stdbool.h>

typedef enum calc_kind {
    CALC_QUANTITY, /* number: in the base unit */
    CALC_COUNT,    /* a whole number */
    CALC_CHOICE,   /* number: which of the words */
    CALC_WIRE,     /* "8 AWG", "10 mm2"; number: m2 */
    CALC_HENRY,    /* "50 uH"; number: H */
    CALC_PARTS,    /* "a+ b": diodes and windings; number: a bit each, see calc_read_parts */
    CALC_TEXT
} calc_kind;

typedef struct calc_key {
    cw_calc_key shown;
    calc_kind kind;
    const char *dimension; /* CALC_QUANTITY */
    double over, most;     /* the number must be greater than over and not above most */
    const char *choices;   /* CALC_CHOICE: "wye|delta" */
} calc_key;

#define CALC_ANY (-1e300), 1e300
#define CALC_ABOVE_0 0, 1e300
#define CALC_FROM_0 (-1e-300), 1e300
#define CALC_TEMPERATURE 100, 1000 /* K; copper's rule ends at 38.65 */

typedef struct calc_value {
    bool given;       /* by the caller, or by what is usual */
    double number;    /* NAN where nothing is given, and for CALC_TEXT */
    const char *text; /* as written */
} calc_value;

typedef struct calc {
    cw_calc shown; /* first: the pointers handed out point here */
    const calc_key *keys;
    cw_status (*run)(const calc_value *in, cw_calc_result *out);
} calc;

/* Rows of a calculation's keys. bounds: one of the pairs above. */
#define QUANTITY(name, dimension, bounds, means, takes, usual)                                               \
    {                                                                                                        \
        {name, means, takes, usual}, CALC_QUANTITY, dimension, bounds, NULL                                  \
    }
#define COUNT_OF(name, least, most, means, takes, usual)                                                     \
    {                                                                                                        \
        {name, means, takes, usual}, CALC_COUNT, NULL, (least)-1, most, NULL                                 \
    }
#define CHOICE(name, choices, means, takes, usual)                                                           \
    {                                                                                                        \
        {name, means, takes, usual}, CALC_CHOICE, NULL, CALC_ANY, choices                                    \
    }
#define WRITTEN(kind, name, means, takes, usual)                                                             \
    {                                                                                                        \
        {name, means, takes, usual}, kind, NULL, CALC_FROM_0, NULL                                           \
    }

/* How much of a text a message shows: at most 60 bytes of whole letters. */
int calc_cut(const char *text);
/* Reads one value; problem and help are filled when it is wrong. */
cw_status calc_read(const calc_key *key, const char *text, calc_value *value, cw_calc_result *out);
/* Bits of CALC_PARTS: 0 to 2 diodes a+ b+ c+, 3 to 5 diodes a- b- c-, 6 to 8 windings a b c. */
#define CALC_PART_BITS 9

/* One line more of a result: a number (base unit) to be shown in a unit, "" for a plain number; words. Lines
 * beyond the room are left out. */
cw_status calc_add(cw_calc_result *out, const char *name, const char *label, double base, const char *symbol);
void calc_say(cw_calc_result *out, const char *name, const char *label, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* Returns CW_BAD_INPUT, for `return calc_wrong(out, ...)`. */
cw_status calc_wrong(cw_calc_result *out, const char *help, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

extern const calc calc_cable, calc_resistance, calc_heating, calc_rotor, calc_setpoint, calc_battery,
    calc_drain;
extern const calc calc_output, calc_pulley, calc_belt, calc_bearing, calc_flaws, calc_tones, calc_rectifier;

#endif
