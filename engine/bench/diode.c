#include "bench/diode.h"
#include <math.h>

cw_diode cw_diode_silicon(void)
{
    return (cw_diode){CW_DIODE_EXPONENTIAL, 1e-9, 1.4 * 0.02585, 0, 3e-3};
}

bool cw_diode_sound(const cw_diode *diode)
{
    if (!(isfinite(diode->resistance) && diode->resistance > 0))
        return false;
    if (diode->kind == CW_DIODE_STRAIGHT)
        return isfinite(diode->threshold) && diode->threshold >= 0;
    return isfinite(diode->saturation) && diode->saturation > 0 && isfinite(diode->steepness) &&
           diode->steepness > 0;
}

/* u with u + ln u = x: the Wright omega function, by two steps of Fritsch, Shafer & Crowley (Communications
 * of the ACM 16, 1973, algorithm 443), whose error falls with the fourth power. */
static double omega(double x)
{
    if (x < -35) /* u adds less than rounding */
        return exp(x);
    double u = x > 1 ? x - log(x) : exp(x < -1 ? x : (2 * x - 2) / 3);
    for (int i = 0; i < 2; i++) {
        double rest = x - u - log(u);
        double ahead = 2 * (1 + u) * (1 + u + 2 * rest / 3);
        u *= 1 + rest / (1 + u) * (ahead - rest) / (ahead - 2 * rest);
    }
    return u;
}

/* With u = resistance * (i + saturation) / steepness the exponential law reads u + ln u = x. */
static double exponential(const cw_diode *d, double v, double *slope)
{
    double bulk = d->resistance * d->saturation;
    double u = omega(log(bulk / d->steepness) + (v + bulk) / d->steepness);
    *slope = u / (1 + u) / d->resistance;
    return d->steepness * u / d->resistance - d->saturation;
}

double cw_diode_current(const cw_diode *diode, double v, double *slope)
{
    if (diode->kind == CW_DIODE_EXPONENTIAL)
        return exponential(diode, v, slope);
    bool on = v > diode->threshold;
    *slope = on ? 1 / diode->resistance : 0;
    return on ? (v - diode->threshold) / diode->resistance : 0;
}

double cw_diode_voltage(const cw_diode *diode, double i)
{
    if (diode->kind == CW_DIODE_STRAIGHT)
        return diode->threshold + diode->resistance * i;
    return diode->steepness * log1p(i / diode->saturation) + diode->resistance * i;
}
