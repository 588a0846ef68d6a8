#include "bench/battery.h"
#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const cw_charge_point council[] = {{12.65, 1}, {12.45, 0.75}, {12.24, 0.5}, {12.06, 0.25}, {11.89, 0}};
/* Its flat end is not printed. */
static const cw_charge_point magazine[] = {{12.66, 1}, {12.45, 0.75}, {12.30, 0.5}, {12.15, 0.25}};

static const cw_charge_table tables[] = {
    {"usual", "12.65 V full, 11.89 V flat, at 80 degF", (80 + 459.67) * 5 / 9, council, COUNT(council)},
    {"magazine", "12.66 V full, 12.15 V at a quarter, as a magazine prints it", (80 + 459.67) * 5 / 9, magazine,
     COUNT(magazine)},
};

const cw_charge_table *cw_charge_table_at(size_t index)
{
    return index < COUNT(tables) ? &tables[index] : NULL;
}

const cw_charge_table *cw_charge_table_find(const char *name)
{
    for (size_t i = 0; i < COUNT(tables); i++)
        if (strcmp(tables[i].name, name) == 0)
            return &tables[i];
    return NULL;
}

double cw_battery_charge(const cw_charge_table *table, double volts, double temperature, double slope)
{
    double v = volts - slope * (temperature - table->temperature);
    if (!isfinite(v) || volts < 0)
        return NAN;
    const cw_charge_point *p = table->points;
    if (v >= p[0].volts)
        return p[0].charge;
    for (size_t i = 1; i < table->count; i++)
        if (v >= p[i].volts)
            return p[i].charge +
                   (p[i - 1].charge - p[i].charge) * (v - p[i].volts) / (p[i - 1].volts - p[i].volts);
    return p[table->count - 1].charge;
}

double cw_battery_volts(const cw_charge_table *table, double charge, double temperature, double slope)
{
    const cw_charge_point *p = table->points;
    if (!(charge >= p[table->count - 1].charge && charge <= p[0].charge))
        return NAN;
    size_t i = 1;
    while (charge < p[i].charge)
        i++;
    double v =
        p[i].volts + (p[i - 1].volts - p[i].volts) * (charge - p[i].charge) / (p[i - 1].charge - p[i].charge);
    return v + slope * (temperature - table->temperature);
}

double cw_battery_lasts(double capacity, double charge, double least, double amps)
{
    if (!(capacity > 0 && charge >= 0 && charge <= 1 && least >= 0 && least <= 1 && amps >= 0))
        return NAN;
    if (charge <= least)
        return 0;
    return amps > 0 ? capacity * (charge - least) / amps : INFINITY;
}
