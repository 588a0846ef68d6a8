/* What a microphone and a scope tell: a recording of a running unit against the tones of its parts, and the ripple on its
 * output against the state of its diodes and phases.
 *
 * Owner: results are the caller's to free. Threads: one call at a time in a program (the transform keeps tables for all).
 * Failures: CW_BAD_CALL, CW_NO_MEMORY. Neither needs a pack or a session; the answers fit the checks of charging-basics. */
#ifndef COREWRIGHT_SIGNAL_H
#define COREWRIGHT_SIGNAL_H

#include "corewright/pack.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A ball bearing's inside: how many balls, diameters of a ball and of the circle of their centres in one unit, contact
 * angle in degrees. balls 0: not known. */
typedef struct cw_balls {
    unsigned balls;
    double ball, pitch, contact_angle;
} cw_balls;

/* From a designation ("6203", "6203-2RS"). *published: from a published table, otherwise estimated from the outer
 * dimensions, and a ball more or less moves every tone by an eighth. CW_NOT_FOUND for a bearing that no table has. */
CW_API cw_status cw_balls_of(const char *bearing, cw_balls *out, bool *published);

/* A belt's passing, in Hz: length and effective diameter of the unit's pulley in m, rotor in rpm. NAN for what cannot be. */
CW_API double cw_belt_passing(double length, double diameter, double rotor);

typedef struct cw_listen_setup {
    double speed;       /* rpm of the engine, or of the rotor with ratio 1 */
    double ratio;       /* turns of the rotor for one of the engine */
    double speed_share; /* how far the rotor's speed may be off, as a share: 0.015 for a good reading */
    double belt;        /* Hz at which the belt comes round; NAN: not known */
    unsigned poles;     /* of the rotor, both kinds counted; 0: not known, and so on */
    unsigned slots, blades;
    cw_balls front, rear; /* bearings at the pulley and at the slip rings */
} cw_listen_setup;

typedef struct cw_lines {
    const double *amplitude; /* of a steady tone on that line, in the signal's unit */
    size_t count;
    double step; /* Hz */
} cw_lines;

typedef struct cw_sound_tone {
    const char *name, *what;    /* "front_outer", for people */
    double expected, frequency; /* Hz: where it should be, where it stands out most near there */
    double order;               /* frequency in turns of the rotor */
    double score;               /* 1 and more: not by chance */
    double above;               /* dB over its surroundings */
    unsigned multiples;         /* of four that stand out; 1 where one tone is all there is to look for */
    bool swells;                /* found in how the sound of a band swells, not in the sound itself */
    double low, high;           /* Hz, that band */
    bool fault;                 /* speaks for its source; otherwise a good unit has it too */
} cw_sound_tone;

typedef struct cw_sound {
    const char *source, *says; /* "bearing", for people: the answer to check sound_source */
    const cw_sound_tone *chief; /* it rests on this one; NULL when nothing stands out */
    const cw_sound_tone *tones; /* falling score */
    size_t count;
    cw_lines plain, envelope;   /* spectra: of the recording, and of how one band swells */
    double low, high;           /* Hz, that band */
    double rotor, seconds;      /* turns a second; length */
} cw_sound;

/* samples: at least a second, at 4000 a second or more; not all alike. */
CW_API cw_status cw_listen(const cw_settings *settings, const double *samples, size_t count, double rate,
                           const cw_listen_setup *setup, cw_sound **out);
CW_API void cw_sound_free(cw_sound *sound); /* NULL allowed */

typedef struct cw_scope_setup {
    double frequency;   /* Hz, electrical: pole pairs times turns a second; NAN: found in the trace itself */
    double speed_share; /* how far that may be off, as a share */
} cw_scope_setup;

/* What an unknown frequency is taken to lie between, nearly always: Hz. */
#define CW_SCOPE_LOW 100.0
#define CW_SCOPE_HIGH 2000.0
#define CW_SCOPE_LEAST 64  /* samples */
#define CW_SCOPE_ORDERS 18

typedef struct cw_ripple {
    const char *state;   /* "healthy", "diode_open", "diode_shorted", "phase_open" or "unclear": the answer to check
                            ripple_orders, unless it is unclear */
    const char *says;    /* for people */
    const char *doubt;   /* why it is unclear, for people; "" when it is not */
    const char *likeliest, *next; /* the two states that fit best; "" without lines */
    double odds;         /* how many times likelier the first of them is */
    double frequency;    /* Hz, electrical, as the likeliest state has it; NAN: no lines */
    double amplitude[CW_SCOPE_ORDERS + 1]; /* V peak at multiples of it */
    double noise;        /* V: what noise alone gives one of them */
    double lean;         /* skewness of the wave: negative for round tops over sharp bottoms */
    double mean, rms, peak_to_peak; /* V; rms about the mean */
    double periods;
} cw_ripple;

/* time: s, rising, of any spacing; volts with or without their mean. */
CW_API cw_status cw_scope(const cw_settings *settings, const double *time, const double *volts, size_t count,
                          const cw_scope_setup *setup, cw_ripple *out);

#ifdef __cplusplus
}
#endif

#endif
