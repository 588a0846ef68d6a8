/* Copper cable: from gauge or cross-section to resistance, volts lost and heat.
 *
 * The resistance is that of solid copper of the stated cross-section. A stranded cable sold by square
 * millimetres may have up to about a sixth more (IEC 60228 class 5 allows 13.3 ohm/km where solid 1.5 mm2
 * has 11.5), and joints add their own: what is computed here is the least a sound cable loses. */
#ifndef CW_BENCH_CABLE_H
#define CW_BENCH_CABLE_H

#include "corewright/status.h"

/* American wire gauge, ASTM B258: 0.127 mm x 92^((36 - n) / 39). Gauges 0, 2/0, 3/0, 4/0 are 0, -1, -2, -3.
 */
#define CW_GAUGE_THICKEST (-3)
#define CW_GAUGE_THINNEST 40
double cw_gauge_diameter(double gauge); /* m */
double cw_gauge_area(double gauge);     /* m2 */
double cw_area_gauge(double area); /* the gauge of that cross-section, as a rule between two whole ones */

typedef struct cw_cable {
    double area;        /* m2, of one conductor */
    double length;      /* m, one way */
    double sides;       /* 1: out only; 2: out and back by the same cable, a round trip */
    double temperature; /* K, of the copper */
    double joints;      /* ohm, all together; 0 if unknown */
} cw_cable;

typedef struct cw_cable_loss {
    double resistance; /* ohm */
    double drop;       /* V */
    double heat;       /* W */
} cw_cable_loss;

/* CW_BAD_CALL: area or length not above 0, sides below 1, a negative joint, or copper colder than it can be.
 */
cw_status cw_cable_lose(const cw_cable *cable, double amps, cw_cable_loss *out);
/* m2 needed to lose no more than `drop` volts at these amps; the cable's own area is not looked at. NAN when
 * its joints alone lose more, or where cw_cable_lose would say CW_BAD_CALL. */
double cw_cable_area(const cw_cable *cable, double amps, double drop);

#endif
