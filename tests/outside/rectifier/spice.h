/* A bridge as a netlist, and what ngspice makes of it. */
#ifndef CW_TESTS_OUTSIDE_SPICE_H
#define CW_TESTS_OUTSIDE_SPICE_H

#include "bench/rectifier.h"

#define SPICE_ORDERS 12
/* Of a diode at the 27 degC that ngspice takes. */
#define SPICE_THERMAL 0.025864855

typedef struct spice_figures {
    double mean;
    double amplitude[SPICE_ORDERS + 1];
    double peak_to_peak;
} spice_figures;

/* Writes the netlist (exponential diodes only): `settle` periods, then ten that are measured. */
void spice_write(const char *path, const cw_rectifier *r, int settle);
/* Runs one. Fails the test when ngspice is missing or does not come to an end. */
spice_figures spice_run(const char *path);

#endif
