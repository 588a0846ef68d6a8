/* Ripple of random bridges, solved by ngspice on netlists written here, and what a scope makes of it. */
#ifndef CW_TESTS_OUTSIDE_RIPPLE_WAVES_H
#define CW_TESTS_OUTSIDE_RIPPLE_WAVES_H

#include "support/random.h"
#include <stddef.h>

enum { WAVES_FAULTS = 4, WAVES_MOST = 8192 };
extern const char *const wave_faults[WAVES_FAULTS]; /* as scope names them */

typedef struct wave {
    double frequency; /* Hz, electrical */
    double mean, rms; /* V */
    double time[WAVES_MOST], volts[WAVES_MOST];
    size_t count;
} wave;

/* A bridge of random source, battery, cable, load and speed with that fault, 20 periods of its steady state.
 * The test fails when ngspice does. */
void wave_solve(random_state *random, int fault, wave *out);
/* As a scope shows it: a stretch from anywhere, of 3.5 to 18 periods, 40 to 300 samples a period; noise of 2
 * to 20 % of the ripple, sample times off by up to 0.3 of their distance, a speed that wanders by up to 0.5
 * %, coupled DC or AC. */
void wave_capture(random_state *random, const wave *from, wave *out);

#endif
