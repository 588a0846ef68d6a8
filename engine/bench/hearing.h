/* A recording of a running unit against the tones its parts can make: which part sounds.
 *
 * Rolling flaws strike, so they are looked for in how often the sound of a band swells (the spectrum of the
 * band's envelope), in every band, because which one rings is not known: Randall & Antoni (Mech. Syst. Signal
 * Process. 25, 2011). Steady tones (ripple, slots, fan) are looked for in the plain spectrum. Both are read
 * by orders, multiples of the rotor's turns. A source's score adds up how far the multiples of its tone stand
 * over their surroundings, each capped, so that one loud line does not make a series. */
#ifndef CW_BENCH_HEARING_H
#define CW_BENCH_HEARING_H

#include "base/arena.h"
#include "bench/spectrum.h"
#include "bench/tone.h"
#include <stdbool.h>

/* What a recording speaks for. */
typedef enum cw_sounding {
#define CW_SOURCE(name, what) CW_SOURCE_##name,
#include "bench/source.def"
#undef CW_SOURCE
    CW_SOURCE_COUNT
} cw_sounding;
const char *cw_sounding_name(cw_sounding source);
const char *cw_sounding_what(cw_sounding source); /* for people */
/* The source that a tone belongs to; CW_SOURCE_nothing for those that are there with a good one too
 * (engine, fan, slots, ripple). */
cw_sounding cw_sounding_of(cw_tone_kind kind);

/* One kind of tone, looked for. */
typedef struct cw_heard {
    cw_tone_kind kind;
    double expected;    /* Hz, of its first multiple */
    double frequency;   /* Hz, where it stands out most near there */
    double order;       /* frequency in turns of the rotor */
    double score;       /* 1: as much as chance hardly ever gives */
    double above;       /* dB of its strongest multiple over its surroundings */
    double amplitude;   /* of that multiple's line, in the spectrum it was found in */
    unsigned multiples; /* that stand out */
    unsigned loudest;   /* multiple */
    bool swells;        /* in the envelope, not in the plain spectrum */
    double low, high;   /* Hz, the band that swells */
    bool fault;         /* has a score of 1 and speaks for its source */
} cw_heard;

typedef struct cw_hearing {
    cw_heard heard[CW_TONE_COUNT]; /* the better of envelope and plain spectrum of each kind known; falling
                                      score */
    size_t count;
    cw_sounding source;   /* nothing: none with a score of 1 */
    size_t chief;         /* the one of heard that it rests on; count when there is none */
    cw_spectrum plain;    /* of the recording */
    cw_spectrum envelope; /* of the band that the first of those that swell is from, else of the loudest */
    double low, high;     /* Hz, that band */
    double rotor;         /* Hz, turns of the rotor */
} cw_hearing;

#define CW_HEARING_LEAST 1.0   /* s of recording, at least */
#define CW_HEARING_RATE 4000.0 /* samples a second, at least */

/* signal: samples, any scale. CW_BAD_CALL for a recording too short or slow, silence (all samples alike), or
 * what cw_tone_list refuses; CW_NO_MEMORY. */
cw_status cw_hearing_take(cw_arena *arena, const double *signal, size_t count, double rate,
                          const cw_tone_machine *machine, cw_hearing *out);

#endif
