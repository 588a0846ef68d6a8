/* Belts and pulleys: ribbed profiles by their pitch, ratios by pitch diameters, how often a belt comes round.
 */
#ifndef CW_BENCH_BELT_H
#define CW_BENCH_BELT_H

#include <stddef.h>

typedef struct cw_belt_profile {
    const char *name;     /* "PK" */
    double pitch;         /* m from rib to rib */
    const char *standard; /* "ISO 9981" */
    const char *use;      /* for people */
} cw_belt_profile;

/* PH, PJ, PL and PM are ISO 9982, PK is ISO 9981 (automotive); pitches as printed in a page on ISO 9982. NULL
 * past the end. */
const cw_belt_profile *cw_belt_profile_at(size_t index);
/* The profile whose pitch lies nearest to one measured over the ribs (a width over n ribs by n), NULL when
 * none lies within a tenth: they are a third and more apart. */
const cw_belt_profile *cw_belt_profile_of(double pitch);

/* The belt's effective line runs this much outside the pulley's effective diameter on either side (PK: 2 mm,
 * nominal, ISO 9981), so a pitch diameter is the effective one and twice that. */
#define CW_BELT_LINE 2e-3
/* Turns of the driven pulley for one of the driver's, from their effective diameters in m: (driver + 2 line)
 * / (driven + 2 line), without slip. Not driver / driven: 180 and 60 mm give 2.875, not 3. NAN unless both
 * are above 0. */
double cw_pulley_ratio(double driver, double driven, double line);
/* Effective diameter from the diameter over balls in the grooves (PK: less 0.990 mm; SAE J1459:2022). */
double cw_effective_diameter(double over_balls);
/* Hz at which one spot of a belt passes, length (effective, m) by the pulley's effective diameter and rpm. */
double cw_belt_frequency(double diameter, double line, double speed, double length);

#endif
