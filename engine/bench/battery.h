/* The 12 V lead-acid battery: charge from its rested volts, and how long a drain lets it live. */
#ifndef CW_BENCH_BATTERY_H
#define CW_BENCH_BATTERY_H

#include <stddef.h>

/* Tables of rested volts that are printed differ, most below half charge, so each has its name. */
typedef struct cw_charge_point {
    double volts, charge; /* charge: 1 is full */
} cw_charge_point;

typedef struct cw_charge_table {
    const char *name, *about;
    double temperature; /* K at which it holds */
    const cw_charge_point *points;
    size_t count; /* falling volts, at least two points */
} cw_charge_table;

const cw_charge_table *cw_charge_table_at(size_t index); /* NULL past the end; the first is the usual one */
const cw_charge_table *cw_charge_table_find(const char *name);

/* How far the rested volts of six cells rise with their warmth: two battery makers' pages print 2.5 mV a
 * kelvin. Two others print 24 mV for 10 degF (4.3 mV/K), made from the hydrometer's table; the cells' own emf
 * alone gives 1.2 (from memory). At 0 degC these differ by 0.08 V, a third of the way from full to half: let
 * a cold battery warm up. */
#define CW_RESTED_SLOPE 2.5e-3 /* V/K */

/* Charge, between 0 and 1, from volts rested for some hours at a temperature (K); straight between the
 * points. The reading is brought to the table's temperature by taking away slope * (temperature - table's).
 * Full above the first point, empty below the last. NAN for what is no reading. */
double cw_battery_charge(const cw_charge_table *table, double volts, double temperature, double slope);
/* The other way: rested volts at that charge, NAN outside 0 to 1. */
double cw_battery_volts(const cw_charge_table *table, double charge, double temperature, double slope);

/* Seconds until the charge has come from `charge` down to `least` (shares of capacity, A s) under a steady
 * drain of `amps`: at small currents the rated ampere hours hold. What the battery loses by itself is left
 * out. 0 when it is there already, INFINITY without a drain, NAN for bad numbers. */
double cw_battery_lasts(double capacity, double charge, double least, double amps);

#endif
