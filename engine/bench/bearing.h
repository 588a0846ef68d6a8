/* Ball bearings: dimensions from a designation and back, and what a damaged one repeats in a turn. */
#ifndef CW_BENCH_BEARING_H
#define CW_BENCH_BEARING_H

#include "corewright/status.h"
#include <stddef.h>

typedef struct cw_bearing_size {
    const char *name;            /* "6203" */
    double bore, outside, width; /* m */
} cw_bearing_size;

/* bearing.def in its order; NULL past the end. */
const cw_bearing_size *cw_bearing_at(size_t index);
/* By designation. What follows the four figures (seals, clearance: 6203-2RS/C3) does not change these
 * dimensions; blanks and letters before them are passed over. NULL when the table has no such bearing: 16003
 * is not 6003. */
const cw_bearing_size *cw_bearing_find(const char *name);
/* All whose three dimensions lie within `tolerance` (m) of those measured, in the table's order; a dimension
 * that was not measured is NAN. At most `room` are written; the count of all is returned. Bore and outside
 * alone do not settle it: 6003 and 16003 differ in width alone. */
size_t cw_bearing_match(double bore, double outside, double width, double tolerance,
                        const cw_bearing_size **out, size_t room);
/* Bore in m from the last two figures: 00 to 03 are 10, 12, 15, 17 mm, 04 to 96 five times the code; else
 * NAN. */
double cw_bearing_bore(unsigned code);

typedef struct cw_bearing_shape {
    unsigned balls; /* >= 3 */
    double ball,
        pitch; /* diameters of a ball and of the circle of their centres, in one unit; ball < pitch */
    double contact_angle; /* deg, 0 for a radial load on a deep groove bearing */
} cw_bearing_shape;

/* Multiples of the shaft's speed, outer ring at rest, no slip (any text on bearing vibration; Randall &
 * Antoni, Mech. Syst. Signal Process. 25, 2011). A flaw in a ball meets both rings in each of the ball's
 * turns, so what is heard is twice `ball`: some published tables print that double. */
typedef struct cw_bearing_tones {
    double cage;  /* turns of the cage */
    double outer; /* balls over a spot of the outer ring */
    double inner; /* the same of the inner: always more than outer, both together = balls */
    double ball;  /* turns of a ball about itself */
} cw_bearing_tones;
cw_status cw_bearing_listen(const cw_bearing_shape *shape, cw_bearing_tones *out);

#endif
