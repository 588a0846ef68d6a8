#include "bench/output.h"
#include <math.h>
#include <stddef.h>

static double reach(double cut_in, double speed)
{
    return (1 - cut_in / speed) * (1 + cut_in / speed);
}

/* bend 1/2: with q the ratio of the amps squared, q = (1 - (c/low)^2) / (1 - (c/high)^2), solved for c. */
static double cut_in_of(cw_output_point low, cw_output_point high)
{
    double q = (low.amps / high.amps) * (low.amps / high.amps);
    return sqrt((1 - q) / (1 / (low.speed * low.speed) - q / (high.speed * high.speed)));
}

cw_status cw_output_fit(cw_output_point low, cw_output_point high, double cut_in, cw_output_curve *out)
{
    if (out == NULL || !(low.speed > 0 && high.speed > low.speed && low.amps > 0 && high.amps > low.amps) ||
        !isfinite(high.speed) || !isfinite(high.amps))
        return CW_BAD_CALL;
    cw_output_curve curve = {.cut_in = cut_in, .bend = 0.5};
    if (isnan(cut_in))
        curve.cut_in = cut_in_of(low, high);
    if (!(curve.cut_in > 0 && curve.cut_in < low.speed))
        return CW_BAD_CALL;
    if (!isnan(cut_in))
        curve.bend = log(low.amps / high.amps) / log(reach(cut_in, low.speed) / reach(cut_in, high.speed));
    curve.most = high.amps / pow(reach(curve.cut_in, high.speed), curve.bend);
    if (!isfinite(curve.most))
        return CW_BAD_CALL;
    *out = curve;
    return CW_OK;
}

double cw_output_at(const cw_output_curve *curve, double speed)
{
    if (!(speed > curve->cut_in))
        return isnan(speed) ? NAN : 0;
    return curve->most * pow(reach(curve->cut_in, speed), curve->bend);
}

double cw_output_speed(const cw_output_curve *curve, double amps)
{
    if (!(amps >= 0 && amps < curve->most))
        return NAN;
    return curve->cut_in / sqrt(1 - pow(amps / curve->most, 1 / curve->bend));
}

double cw_electrical_frequency(double speed, unsigned poles)
{
    return poles >= 2 && poles % 2 == 0 ? speed * poles / 120 : NAN;
}

double cw_speed_from_frequency(double frequency, unsigned poles)
{
    return poles >= 2 && poles % 2 == 0 ? frequency * 120 / poles : NAN;
}
