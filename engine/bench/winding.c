#include "bench/winding.h"
#include <math.h>

double cw_copper_resistivity(double temperature)
{
    if (!(temperature > CW_COPPER_ZERO))
        return NAN;
    return CW_COPPER_RESISTIVITY * (1 + CW_COPPER_RISE * (temperature - CW_TWENTY));
}

double cw_resistance_at(double resistance, double from, double to)
{
    if (!(from > CW_COPPER_ZERO && to > CW_COPPER_ZERO))
        return NAN;
    return resistance * (to - CW_COPPER_ZERO) / (from - CW_COPPER_ZERO);
}

double cw_winding_temperature(double cold, double at, double hot)
{
    if (!(at > CW_COPPER_ZERO && cold > 0 && hot > 0))
        return NAN;
    return hot / cold * (at - CW_COPPER_ZERO) + CW_COPPER_ZERO;
}

double cw_winding_rise(double cold, double at, double hot, double air)
{
    return cw_winding_temperature(cold, at, hot) - air;
}

double cw_rotor_current(double volts, double resistance, double temperature, double drop)
{
    double warm = cw_resistance_at(resistance, CW_TWENTY, temperature);
    return warm > 0 && drop >= 0 ? fmax(0, volts - drop) / warm : NAN;
}

double cw_turns_shorted(double measured, double temperature, double good)
{
    return good > 0 && measured >= 0 ? 1 - cw_resistance_at(measured, temperature, CW_TWENTY) / good : NAN;
}

double cw_set_point(double volts, double at, double slope, double temperature)
{
    return volts + slope * (temperature - at);
}
