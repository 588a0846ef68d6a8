/* Output current against speed, and the speeds and frequencies around it.
 *
 * At constant volts a claw-pole alternator is an emf and a reactance that both grow with speed, so
 * amps = most * (1 - (cut_in / speed)^2)^bend with bend 1/2 for the round machine without resistance
 * (textbook phasor, no source needed: E^2 = V^2 + (X I)^2); resistance, saturation and the rectifier move the
 * bend a little, and three known points fix it. Speeds in rpm of the rotor, unless said otherwise. */
#ifndef CW_BENCH_OUTPUT_H
#define CW_BENCH_OUTPUT_H

#include "corewright/status.h"

/* Where rated currents are stated (ISO 8854:2012, from memory). */
#define CW_LOW_SPEED 1500.0
#define CW_RATED_SPEED 6000.0

typedef struct cw_output_curve {
    double cut_in; /* rpm: no output up to here */
    double most;   /* A, which it approaches at the highest speeds */
    double bend;
} cw_output_curve;

typedef struct cw_output_point {
    double speed, amps;
} cw_output_point;

/* Through two points, the first the slower: with a known cut-in speed (below the first) the bend follows;
 * with cut_in NAN the bend is 1/2 and the cut-in follows. CW_BAD_CALL when no such curve runs through them:
 * speeds or amps that do not rise, or amps that rise faster than speed squared allows. */
cw_status cw_output_fit(cw_output_point low, cw_output_point high, double cut_in, cw_output_curve *out);
/* Amps at a speed, 0 up to the cut-in. */
double cw_output_at(const cw_output_curve *curve, double speed);
/* The speed that gives these amps; NAN for what it never gives. */
double cw_output_speed(const cw_output_curve *curve, double amps);

/* poles counts both kinds, 12 in six pairs. Hz from rpm; NAN unless poles is even and at least 2. */
double cw_electrical_frequency(double speed, unsigned poles);
double cw_speed_from_frequency(double frequency, unsigned poles);

#endif
