/* One diode: current and slope from the volts across it. Both models rise everywhere, without a jump, which
 * is what the rectifier's solver leans on. */
#ifndef CW_BENCH_DIODE_H
#define CW_BENCH_DIODE_H

#include <stdbool.h>

typedef enum cw_diode_kind {
    CW_DIODE_EXPONENTIAL, /* i = saturation * (exp((v - i * resistance) / steepness) - 1) (Shockley 1949, with
                             the bulk in series) */
    CW_DIODE_STRAIGHT     /* nothing up to the threshold, a resistance beyond it */
} cw_diode_kind;

typedef struct cw_diode {
    cw_diode_kind kind;
    double saturation; /* A; exponential only, > 0 */
    double steepness;  /* V, emission coefficient times kT/q (25.85 mV at 300 K); exponential only, > 0 */
    double threshold;  /* V; straight only, >= 0 */
    double resistance; /* ohm, > 0 */
} cw_diode;

/* A press-fit silicon diode as alternators have it: about 1.04 V at 50 A. From memory, no single maker's
 * part. */
cw_diode cw_diode_silicon(void);
bool cw_diode_sound(const cw_diode *diode); /* the numbers are in their bounds */
/* Amps at v volts across it; *slope (A/V) >= 0. */
double cw_diode_current(const cw_diode *diode, double v, double *slope);
/* Volts across it at i amps, i above minus the saturation current (straight: i >= 0). */
double cw_diode_voltage(const cw_diode *diode, double i);

#endif
