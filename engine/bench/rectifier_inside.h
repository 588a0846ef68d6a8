/* Inside the rectifier: the net of one stage of one step, and what solves it. */
#ifndef CW_BENCH_RECTIFIER_INSIDE_H
#define CW_BENCH_RECTIFIER_INSIDE_H

#include "bench/rectifier.h"

/* Nodes: terminals 0 to 2, plus, the star point (wye only). Minus is where volts are counted from. */
enum { PLUS = 3, STAR = 4, NODES = 5, WINDINGS = 3, BRIDGE_DIODES = 6 };

typedef struct bridge_net {
    const cw_rectifier *about;
    int nodes;                    /* 5 for a wye, 4 for a delta */
    int from[WINDINGS];           /* a winding's node at the start of its arrow, its end is terminal k */
    double across[WINDINGS];      /* A/V beside a winding: iron, a short */
    double conductance[WINDINGS]; /* A/V of a winding in this stage, 0 if open */
    double source[WINDINGS];      /* A into terminal k in this stage at no volts */
    double bend[NODES * NODES];   /* second derivative at the voltages last looked at, then its factor */
    double v[NODES];
    double enough; /* W: a Newton step that promises less is the last */
    uint32_t solves;
} bridge_net;

/* Brings v to the minimum for the conductances and sources that stand in the net; `bend` is left factored
 * there. False when 200 steps did not do. */
bool net_settle(bridge_net *net);
/* x becomes the solution of bend x = x, of a net that is settled. */
void net_respond(const bridge_net *net, double *x);
/* Volts and A/V of diode k at these voltages; its current. */
double net_diode(const bridge_net *net, int k, const double *v, double *across, double *slope);

#endif
