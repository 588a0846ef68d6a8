/* Which tone of a measured spectrum belongs to what, at a given speed: crankshaft, belt, rotor, fan, slots,
 * ripple, bearings. Several may share a tone (36 slots and 12 poles put slots and ripple on one): all are
 * given, none is guessed at. */
#ifndef CW_BENCH_TONE_H
#define CW_BENCH_TONE_H

#include "bench/bearing.h"
#include <stdint.h>

typedef enum cw_tone_kind {
#define CW_TONE(name, what, wander, harmonics) CW_TONE_##name,
#include "bench/tone.def"
#undef CW_TONE
    CW_TONE_COUNT
} cw_tone_kind;

const char *cw_tone_name(cw_tone_kind kind); /* "front_outer" */
const char *cw_tone_what(cw_tone_kind kind); /* for people */

typedef struct cw_tone_machine {
    double rotor;    /* rpm; > 0 */
    double ratio;    /* rotor turns for one of the crankshaft; NAN: not known, no crank tone */
    double belt;     /* Hz at which the belt comes round (belt.h); NAN: not known */
    unsigned poles;  /* 0: not known, no electrical tones */
    unsigned slots;  /* of the stator; 0: not known */
    unsigned blades; /* of the fan; 0: not known */
    const cw_bearing_shape *front, *rear; /* NULL: not known */
    double speed_share;                   /* how far the speed may be off, as a share (0.01 is 1 %) */
    double resolution; /* Hz: how far a reading of the spectrum may be off, its line spacing or so */
} cw_tone_machine;

typedef struct cw_tone {
    cw_tone_kind kind;
    unsigned harmonic; /* from 1; of `ball` twice its turns are 1, for a flaw meets both rings in each */
    double frequency;  /* Hz where it should be */
    double tolerance;  /* Hz to either side in which it may be found: speed, wander and resolution added up */
} cw_tone;

#define CW_TONE_MOST 64 /* as many as one machine has, all harmonics */

/* All tones, rising. CW_BAD_CALL for a speed not above 0, negative tolerances, a ratio not above 0 or a
 * bearing cw_bearing_listen refuses. out has CW_TONE_MOST places. */
cw_status cw_tone_list(const cw_tone_machine *machine, cw_tone *out, size_t *count);
/* Those among them that may be the tone at `frequency`, best (least off for its tolerance) first; their
 * count. out has CW_TONE_MOST places. */
size_t cw_tone_match(const cw_tone *tones, size_t count, double frequency, cw_tone *out);

#endif
