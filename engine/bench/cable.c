#include "bench/cable.h"
#include "bench/winding.h"
#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#define PI 3.14159265358979323846

double cw_gauge_diameter(double gauge)
{
    return 0.127e-3 * pow(92, (36 - gauge) / 39);
}

double cw_gauge_area(double gauge)
{
    double diameter = cw_gauge_diameter(gauge);
    return PI / 4 * diameter * diameter;
}

double cw_area_gauge(double area)
{
    return 36 - 39 * log(sqrt(area * 4 / PI) / 0.127e-3) / log(92);
}

static bool sound(const cw_cable *cable)
{
    return cable->length > 0 && isfinite(cable->length) && cable->sides >= 1 && isfinite(cable->sides) &&
           cable->joints >= 0 && isfinite(cable->joints) && cw_copper_resistivity(cable->temperature) > 0;
}

cw_status cw_cable_lose(const cw_cable *cable, double amps, cw_cable_loss *out)
{
    if (cable == NULL || out == NULL || !sound(cable) || !(cable->area > 0) || !isfinite(amps))
        return CW_BAD_CALL;
    double length = cable->length * cable->sides;
    out->resistance = cw_copper_resistivity(cable->temperature) * length / cable->area + cable->joints;
    out->drop = out->resistance * amps;
    out->heat = out->drop * amps;
    return CW_OK;
}

double cw_cable_area(const cw_cable *cable, double amps, double drop)
{
    double left = drop - cable->joints * amps;
    if (!sound(cable) || !(amps > 0 && left > 0))
        return NAN;
    return cw_copper_resistivity(cable->temperature) * cable->length * cable->sides * amps / left;
}
