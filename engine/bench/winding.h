/* Copper and windings: resistance at a temperature, heating told by resistance, the rotor's current, turns
 * shorted, and the regulator's set point. Temperatures in kelvin on the scale. */
#ifndef CW_BENCH_WINDING_H
#define CW_BENCH_WINDING_H

/* Standard annealed copper at 20 degC, IEC 60028. */
#define CW_COPPER_RESISTIVITY 1.7241e-8 /* ohm m */
#define CW_COPPER_RISE 0.00393          /* of it, a kelvin */
#define CW_TWENTY 293.15                /* K */
/* Copper's resistance, drawn straight on, vanishes at -234.5 degC; machine standards (IEC 60034) take 235. */
#define CW_COPPER_ZERO (273.15 - 234.5)

/* ohm m of copper at a temperature; NAN below CW_COPPER_ZERO. */
double cw_copper_resistivity(double temperature);
/* What a copper winding measured at `from` has at `to`: R2 / R1 = (234.5 + t2) / (234.5 + t1). */
double cw_resistance_at(double resistance, double from, double to);
/* Mean temperature of a winding that had `cold` ohms at `at` and has `hot` now. */
double cw_winding_temperature(double cold, double at, double hot);
/* Its rise above the air there is now. */
double cw_winding_rise(double cold, double at, double hot, double air);

/* A through a rotor of that resistance (at 20 degC) when it has this temperature; drop: V lost in brushes. */
double cw_rotor_current(double volts, double resistance, double temperature, double drop);
/* Turns missing of the share of all turns, from the resistance measured at a temperature against that of a
 * good one at 20 degC: each turn has its share of the resistance, as in a coil of one wire. Negative when it
 * measures more than it should; a fault only if it is beyond the meter's error and the spread between good
 * ones. */
double cw_turns_shorted(double measured, double temperature, double good);

/* The regulator's volts at a temperature, from those at another and the slope in volts a kelvin. No slope
 * holds for all: -3 mV/K a cell (-18 mV/K for 12 V) is the battery's; workshop manuals print -10 and -3.5
 * mV/K. */
double cw_set_point(double volts, double at, double slope, double temperature);

#endif
