/* The three-phase bridge over time: wye or delta windings with resistance and inductance, six diodes, a
 * battery behind its resistance beside a load; any diode and any winding open or shorted. The steady state,
 * one electrical period.
 *
 *   wye, winding k:   star --(emf k, R, L)-- terminal k       emf k = peak * sin(2 pi (f t - k / 3))
 *   delta, winding k: terminal (k + 1) mod 3 --(emf k, R, L)-- terminal k
 *   terminal k --|>|-- plus (diode k),   minus --|>|-- terminal k (diode 3 + k)
 *   plus --[load]-- minus,   plus --[battery resistance]--(battery volts)-- minus
 *
 * Method: the currents of the windings are carried from step to step by the two-stage implicit Runge-Kutta
 * scheme of Alexander (SIAM J. Numer. Anal. 14, 1977; order 2, damps what is faster than a step, so that
 * neither commutation nor a switched-off bridge rings). Each stage is a net of conductances that only rise:
 * its node voltages are the one minimum of a convex function, found by Newton steps with a search along each,
 * from anywhere. The period's end as a function of its beginning is solved by Newton again, its derivative
 * being carried along (shooting: Aprille & Trick, Proc. IEEE 60, 1972). Effort is counted, never timed.
 *
 * Left out: saturation, salient poles, the exciter diodes of a diode trio, a filter condenser, and what the
 * field does when the regulator answers: the emf is what it is. */
#ifndef CW_BENCH_RECTIFIER_H
#define CW_BENCH_RECTIFIER_H

#include "bench/diode.h"
#include "corewright/status.h"
#include <stdint.h>

typedef enum cw_winding_kind { CW_WYE, CW_DELTA } cw_winding_kind;
/* A shorted winding is bridged from end to end; a winding grounded at its terminal is diode 3 + k shorted. */
typedef enum cw_part_state { CW_PART_GOOD, CW_PART_OPEN, CW_PART_SHORTED } cw_part_state;

typedef struct cw_rectifier {
    cw_winding_kind winding;
    double emf;        /* V, peak, of one winding; >= 0 */
    double frequency;  /* Hz, electrical; > 0 */
    double resistance; /* ohm of one winding; > 0 */
    double inductance; /* H of one winding; >= 0 */
    double iron;       /* ohm across each winding that is not open, for the iron's loss; INFINITY: none */
    cw_diode diode;
    double battery;            /* V */
    double battery_resistance; /* ohm, with the cable to it; INFINITY: no battery */
    double load;               /* ohm; INFINITY: none */
    cw_part_state diodes[6];   /* 0 to 2 feed plus, 3 to 5 minus */
    cw_part_state windings[3];
} cw_rectifier;

#define CW_RECTIFIER_SHORT 1e-3 /* ohm of whatever is shorted */
#define CW_RECTIFIER_LEAK 1e-6  /* A/V of every diode, open ones too */
#define CW_RECTIFIER_ORDERS                                                                                  \
    12                         /* amplitudes are given from 1 to this multiple of the electrical frequency   \
                                */
#define CW_RECTIFIER_STEPS 720 /* a good number of steps to a period: half a degree */
#define CW_RECTIFIER_LEAST 48
#define CW_RECTIFIER_MOST 65536
#define CW_RECTIFIER_PERIODS 200 /* at most */

typedef struct cw_rectified {
    double mean;                               /* V from plus to minus */
    double mean_current;                       /* A from the bridge into load and battery */
    double peak_to_peak;                       /* V */
    double ripple;                             /* V rms about the mean */
    double amplitude[CW_RECTIFIER_ORDERS + 1]; /* V peak of the multiples; [0] is the mean */
    double winding_current[3];                 /* A rms */
    /* W, means over the period: what the emf gives is what the others take. */
    double given, copper, iron, diodes[6], output; /* shorted windings' bridges count as iron */
    /* How it was got. */
    double mismatch;  /* largest difference of a winding's current between the period's ends, of the largest
                         current */
    uint32_t periods; /* run through */
    uint32_t solves;  /* of linear equations */
} cw_rectified;

/* CW_BAD_CALL when a number is out of its bounds, or steps (to a period) out of theirs; CW_LIMIT when the
 * period did not close to 1e-6 within CW_RECTIFIER_PERIODS (*out is filled then all the same). wave, unless
 * NULL: `steps` volts from plus to minus, from step 1 on. */
cw_status cw_rectifier_solve(const cw_rectifier *rectifier, uint32_t steps, double *wave, cw_rectified *out);
/* The same bridge with every part good. */
cw_rectifier cw_rectifier_healthy(const cw_rectifier *rectifier);

#endif
