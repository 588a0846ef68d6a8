/* The named calculations about the battery. */
#include "bench/battery.h"
#include "bench/calc_inside.h"
#include <math.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { VOLTS, TEMPERATURE, TABLE, SLOPE };
static const calc_key battery_keys[] = {
    [VOLTS] = QUANTITY("volts", "voltage", CALC_ABOVE_0, "volts of a 12 V battery after hours of rest",
                       "volts (12.45 V)", NULL),
    [TEMPERATURE] = QUANTITY("temperature", "temperature", CALC_TEMPERATURE, "how warm the battery is",
                             "temperatures (0 degC, 80 degF)", "80 degF"),
    [TABLE] = CHOICE("table", "usual|magazine", "which printed table", "usual or magazine", "usual"),
    [SLOPE] = QUANTITY("slope", "voltage", CALC_ANY, "how far rested volts rise with each kelvin",
                       "volts for a kelvin (2.5 mV)", "2.5 mV"),
};

static cw_status run_battery(const calc_value *in, cw_calc_result *out)
{
    const cw_charge_table *table = cw_charge_table_at((size_t)in[TABLE].number);
    double volts = in[VOLTS].number;
    if (volts > 15)
        return calc_wrong(out, "halve the volts of a 24 V pair, or measure each",
                          "no rested 12 V battery has so much");
    double charge = cw_battery_charge(table, volts, in[TEMPERATURE].number, in[SLOPE].number);
    cw_status status = calc_add(out, "charge", "charge", charge, "%");
    calc_say(out, "table", "by the table", "%s", table->about);
    out->note = volts < 10.5
                    ? "So few volts at rest are more likely a dead cell than an empty battery."
                    : "Rested for hours, without surface charge; it says nothing about what the battery "
                      "can still hold.";
    return status;
}

const calc calc_battery = {{"battery", "charge of a 12 V lead-acid battery from its rested volts",
                            "volts='12.45 V' temperature='5 degC'", COUNT(battery_keys)},
                           battery_keys,
                           run_battery};

enum { CAPACITY, AMPS, CHARGE, LEAST };
static const calc_key drain_keys[] = {
    [CAPACITY] =
        QUANTITY("capacity", "charge", CALC_ABOVE_0, "what the battery holds", "ampere hours (60 Ah)", NULL),
    [AMPS] = QUANTITY("amps", "current", CALC_ABOVE_0, "what is drawn all the time", "amps (50 mA)", NULL),
    [CHARGE] =
        QUANTITY("charge", "number", CALC_FROM_0, "how full it is at first", "a share (100 %)", "100 %"),
    [LEAST] = QUANTITY("least", "number", CALC_FROM_0, "how full it must be to start the engine",
                       "a share (50 %)", "50 %"),
};

static cw_status run_drain(const calc_value *in, cw_calc_result *out)
{
    if (in[CHARGE].number > 1 || in[LEAST].number > 1)
        return calc_wrong(out, "write 80 %, or 0.8", "a battery is never more than full");
    double lasts =
        cw_battery_lasts(in[CAPACITY].number, in[CHARGE].number, in[LEAST].number, in[AMPS].number);
    cw_status status = calc_add(out, "days", "days until it is down to that", lasts, "d");
    if (status == CW_OK)
        status = calc_add(out, "hours", "in hours", lasts, "h");
    out->note = "What the battery loses by itself comes on top; an old one holds less than it says.";
    return status;
}

const calc calc_drain = {
    {"drain", "how long a battery stands a steady drain", "capacity='60 Ah' amps='50 mA'", COUNT(drain_keys)},
    drain_keys,
    run_drain};
