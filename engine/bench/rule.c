#include "bench/rule.h"
#include "bench/battery.h"
#include "bench/bearing.h"
#include "bench/belt.h"
#include "bench/cable.h"
#include "bench/output.h"
#include "bench/winding.h"
#include <math.h>
#include <stdio.h>

/* The usual way to refuse: NAN unless the condition holds. */
static double only_if(bool holds, double value)
{
    return holds ? value : NAN;
}

/* --- copper and regulator --- */

static double do_resistance_at_20(const double *x)
{
    return only_if(x[0] >= 0, cw_resistance_at(x[0], x[1], CW_TWENTY));
}

static double do_resistance_at(const double *x)
{
    return only_if(x[0] >= 0, cw_resistance_at(x[0], x[1], x[2]));
}

static double do_winding_temperature(const double *x)
{
    return cw_winding_temperature(x[0], x[1], x[2]);
}

static double do_rotor_current(const double *x)
{
    return only_if(x[0] >= 0, cw_rotor_current(x[0], x[1], x[2], 0));
}

static double do_turns_shorted(const double *x)
{
    return cw_turns_shorted(x[0], x[1], x[2]);
}

static double do_winding_spread(const double *x)
{
    const double least = fmin(x[0], fmin(x[1], x[2]));
    return only_if(least > 0, (fmax(x[0], fmax(x[1], x[2])) - least) / least);
}

static double do_set_point_at(const double *x)
{
    return only_if(x[0] > 0, cw_set_point(x[0], x[1], x[2] / 10, x[3]));
}

/* --- cable --- */

static double do_gauge_area(const double *x)
{
    return only_if(x[0] >= CW_GAUGE_THICKEST && x[0] <= CW_GAUGE_THINNEST, cw_gauge_area(x[0]));
}

static double lost(double amps, double area, double length, double temperature, bool ohms)
{
    const cw_cable cable = {.area = area, .length = length, .sides = 1, .temperature = temperature};
    cw_cable_loss loss;
    if (cw_cable_lose(&cable, amps, &loss) != CW_OK)
        return NAN;
    return ohms ? loss.resistance : loss.drop;
}

static double do_cable_resistance(const double *x)
{
    return lost(0, x[0], x[1], x[2], true);
}

static double do_cable_drop(const double *x)
{
    return lost(x[0], x[1], x[2], x[3], false);
}

/* --- turning --- */

static double do_ribbed_ratio(const double *x)
{
    return cw_pulley_ratio(x[0], x[1], CW_BELT_LINE);
}

static double do_rotor_speed(const double *x)
{
    return only_if(x[0] >= 0 && x[1] > 0, x[0] * x[1]);
}

static double do_belt_slip(const double *x)
{
    return only_if(x[0] > 0 && x[1] > 0 && x[2] >= 0, 1 - x[2] / (x[0] * x[1]));
}

enum { MOST_PAIRS = 12 };

/* 0 when it is no number of pole pairs. */
static unsigned poles_of(double pairs)
{
    return pairs >= 1 && pairs <= MOST_PAIRS && pairs == floor(pairs) ? 2 * (unsigned)pairs : 0;
}

static double do_electrical_frequency(const double *x)
{
    return only_if(x[0] >= 0, cw_electrical_frequency(x[0], poles_of(x[1])));
}

static double do_speed_of_frequency(const double *x)
{
    return only_if(x[0] >= 0, cw_speed_from_frequency(x[0], poles_of(x[1])));
}

static double do_count_pole_pairs(const double *x)
{
    const double pairs = x[0] * 60 / x[1], whole = round(pairs);
    return only_if(x[1] > 0 && fabs(pairs - whole) <= 0.25 && poles_of(whole) > 0, whole);
}

/* --- output --- */

static double output(double speed, double cut_in, double low, double rated)
{
    cw_output_curve curve;
    if (cw_output_fit((cw_output_point){CW_LOW_SPEED, low}, (cw_output_point){CW_RATED_SPEED, rated}, cut_in,
                      &curve) != CW_OK)
        return NAN;
    return only_if(speed >= curve.cut_in, cw_output_at(&curve, speed));
}

static double do_output_at(const double *x)
{
    return output(x[0], NAN, x[1], x[2]);
}

static double do_output_above(const double *x)
{
    const double cut_in = x[1];
    if (!(cut_in > 0 && cut_in < CW_RATED_SPEED && x[2] > 0 && x[0] >= cut_in))
        return NAN;
    const double rated = 1 - (cut_in / CW_RATED_SPEED) * (cut_in / CW_RATED_SPEED);
    const cw_output_curve curve = {cut_in, x[2] / sqrt(rated), 0.5};
    return cw_output_at(&curve, x[0]);
}

static double do_output_between(const double *x)
{
    return only_if(isfinite(x[1]), output(x[0], x[1], x[2], x[3]));
}

static double do_speed_for_output(const double *x)
{
    cw_output_curve curve;
    if (cw_output_fit((cw_output_point){CW_LOW_SPEED, x[1]}, (cw_output_point){CW_RATED_SPEED, x[2]}, NAN,
                      &curve) != CW_OK)
        return NAN;
    return cw_output_speed(&curve, x[0]);
}

/* --- battery --- */

static double do_battery_charge(const double *x)
{
    return cw_battery_charge(cw_charge_table_at(0), x[0], x[1], CW_RESTED_SLOPE);
}

static double do_rested_volts(const double *x)
{
    return cw_battery_volts(cw_charge_table_at(0), x[0], x[1], CW_RESTED_SLOPE);
}

static double do_time_to_flat(const double *x)
{
    return cw_battery_lasts(x[0], x[1], x[2], x[3]);
}

/* --- bearing and belt --- */

#define BEARING_TOLERANCE 0.5e-3

static double do_bearing_number(const double *x)
{
    const cw_bearing_size *found;
    if (cw_bearing_match(x[0], x[1], x[2], BEARING_TOLERANCE, &found, 1) != 1)
        return NAN;
    double number = 0;
    for (const char *digit = found->name; *digit != '\0'; digit++)
        number = 10 * number + (*digit - '0');
    return number;
}

static const cw_bearing_size *bearing_of(double number)
{
    char name[16];
    if (!(number >= 1000 && number <= 9999 && number == floor(number)))
        return NULL;
    snprintf(name, sizeof name, "%04d", (int)number);
    return cw_bearing_find(name);
}

static double do_bearing_bore(const double *x)
{
    const cw_bearing_size *bearing = bearing_of(x[0]);
    return bearing != NULL ? bearing->bore : NAN;
}

static double do_bearing_outside(const double *x)
{
    const cw_bearing_size *bearing = bearing_of(x[0]);
    return bearing != NULL ? bearing->outside : NAN;
}

static double do_bearing_width(const double *x)
{
    const cw_bearing_size *bearing = bearing_of(x[0]);
    return bearing != NULL ? bearing->width : NAN;
}

static double do_belt_pitch(const double *x)
{
    const cw_belt_profile *profile = cw_belt_profile_of(x[0]);
    return profile != NULL ? profile->pitch : NAN;
}

const cw_function *cw_bench_functions(void)
{
    static const cw_function functions[] = {
#define CW_FUNCTION(name, takes, gives, stepped, means) {#name, takes, #gives, means, do_##name, stepped},
#include "bench/rule.def"
#undef CW_FUNCTION
        {0}};
    return functions;
}
