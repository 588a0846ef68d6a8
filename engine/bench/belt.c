#include "bench/belt.h"
#include <math.h>

#define PI 3.14159265358979323846

static const cw_belt_profile profiles[] = {
    {"PH", 1.60e-3, "ISO 9982", "office machines, household appliances"},
    {"PJ", 2.34e-3, "ISO 9982", "appliances, small machines"},
    {"PK", 3.56e-3, "ISO 9981", "engines: the ribbed belt of vehicles"},
    {"PL", 4.70e-3, "ISO 9982", "industrial drives"},
    {"PM", 9.40e-3, "ISO 9982", "heavy industrial drives"},
};
enum { PROFILES = sizeof profiles / sizeof *profiles };

const cw_belt_profile *cw_belt_profile_at(size_t index)
{
    return index < PROFILES ? &profiles[index] : NULL;
}

const cw_belt_profile *cw_belt_profile_of(double pitch)
{
    for (size_t i = 0; i < PROFILES; i++)
        if (fabs(pitch - profiles[i].pitch) <= profiles[i].pitch / 10)
            return &profiles[i];
    return NULL;
}

double cw_pulley_ratio(double driver, double driven, double line)
{
    return driver > 0 && driven > 0 && line >= 0 ? (driver + 2 * line) / (driven + 2 * line) : NAN;
}

double cw_effective_diameter(double over_balls)
{
    return over_balls - 0.990e-3;
}

double cw_belt_frequency(double diameter, double line, double speed, double length)
{
    return diameter > 0 && length > 0 && line >= 0 ? PI * (diameter + 2 * line) * speed / 60 / length : NAN;
}
