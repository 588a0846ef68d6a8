/* The functions of the bench, written out once more from their meaning in rules/README.md. */
#include "checker/inside.h"

#include <math.h>
#include <string.h>

static const double zero = 273.15, pi = 3.14159265358979323846;

/* Copper by the 234.5 degC rule. */
static double warmth(double kelvin)
{
    const double sum = 234.5 + (kelvin - zero);
    return sum > 0 ? sum : NAN;
}

static double positive(double x)
{
    return x > 0 ? x : NAN;
}

static double not_below_zero(double x)
{
    return x >= 0 ? x : NAN;
}

static double winding(const char *name, const double *x)
{
    if (strcmp(name, "resistance_at_20") == 0)
        return not_below_zero(x[0]) * 254.5 / warmth(x[1]);
    if (strcmp(name, "resistance_at") == 0)
        return not_below_zero(x[0]) * warmth(x[2]) / warmth(x[1]);
    if (strcmp(name, "winding_temperature") == 0)
        return positive(x[2]) / positive(x[0]) * warmth(x[1]) - 234.5 + zero;
    if (strcmp(name, "rotor_current") == 0)
        return not_below_zero(x[0]) / (positive(x[1]) * warmth(x[2]) / 254.5);
    if (strcmp(name, "turns_shorted") == 0)
        return 1 - not_below_zero(x[0]) * 254.5 / warmth(x[1]) / positive(x[2]);
    if (strcmp(name, "winding_spread") == 0)
        return fmax(fmax(x[0], x[1]), x[2]) / positive(fmin(fmin(x[0], x[1]), x[2])) - 1;
    return positive(x[0]) + x[2] * (x[3] - x[1]) / 10; /* set_point_at */
}

static double cable(const char *name, const double *x)
{
    const bool drop = strcmp(name, "cable_drop") == 0;
    const double *of = drop ? x + 1 : x;
    if (strcmp(name, "gauge_area") == 0)
        return x[0] < -3 || x[0] > 40 ? NAN : pi / 4 * pow(0.127e-3 * pow(92, (36 - x[0]) / 39), 2);
    const double ohms = isnan(warmth(of[2])) ? NAN
                                             : 1.7241e-8 * (1 + 0.00393 * (of[2] - zero - 20)) *
                                                   positive(of[1]) / positive(of[0]);
    return drop ? x[0] * ohms : ohms;
}

static double pairs_of(double x)
{
    return x >= 1 && x <= 12 && x == floor(x) ? x : NAN;
}

static double turning(const char *name, const double *x)
{
    if (strcmp(name, "ribbed_ratio") == 0)
        return (positive(x[0]) + 2 * 2e-3) / (positive(x[1]) + 2 * 2e-3);
    if (strcmp(name, "rotor_speed") == 0)
        return not_below_zero(x[0]) * positive(x[1]);
    if (strcmp(name, "belt_slip") == 0)
        return 1 - not_below_zero(x[2]) / (positive(x[0]) * positive(x[1]));
    if (strcmp(name, "electrical_frequency") == 0)
        return not_below_zero(x[0]) / 60 * pairs_of(x[1]);
    if (strcmp(name, "speed_of_frequency") == 0)
        return not_below_zero(x[0]) * 60 / pairs_of(x[1]);
    for (double pairs = 1; pairs <= 12; pairs++) /* count_pole_pairs */
        if (x[1] > 0 && fabs(x[0] * 60 / x[1] - pairs) <= 0.25)
            return pairs;
    return NAN;
}

/* amps = most (1 - (cut_in / speed)^2)^bend */
static double curve(double speed, double cut_in, double bend, double rated)
{
    const double share = 1 - cut_in * cut_in / (speed * speed);
    return speed < cut_in ? NAN : rated * pow(share / (1 - cut_in * cut_in / 36e6), bend);
}

/* The cut-in speed of a round machine with these amps at 1500 and 6000 rpm, found by halving. */
static double cut_in_of(double low, double rated)
{
    double below = 0, above = 1500;
    if (!(low > 0 && rated > low))
        return NAN;
    for (int i = 0; i < 200; i++) {
        const double middle = (below + above) / 2;
        if (curve(1500, middle, 0.5, rated) > low)
            below = middle;
        else
            above = middle;
    }
    return below > 0 ? below : NAN;
}

static double output(const char *name, const double *x)
{
    if (strcmp(name, "output_at") == 0)
        return curve(x[0], cut_in_of(x[1], x[2]), 0.5, x[2]);
    if (strcmp(name, "output_above") == 0)
        return x[1] > 0 && x[1] < 6000 ? curve(x[0], x[1], 0.5, positive(x[2])) : NAN;
    if (strcmp(name, "output_between") == 0) {
        const double low = positive(x[2]), rated = positive(x[3]);
        if (!(x[1] > 0 && x[1] < 1500 && rated > low))
            return NAN;
        const double square = x[1] * x[1];
        return curve(x[0], x[1], log(low / rated) / log((1 - square / 2.25e6) / (1 - square / 36e6)), rated);
    }
    const double cut_in = cut_in_of(x[1], x[2]); /* speed_for_output */
    const double share = not_below_zero(x[0]) / x[2] * sqrt(1 - cut_in * cut_in / 36e6);
    return share < 1 ? cut_in / sqrt(1 - share * share) : NAN;
}

static double battery(const char *name, const double *x)
{
    static const double volts[] = {11.89, 12.06, 12.24, 12.45, 12.65};
    const double warm = 2.5e-3 * (x[1] - 5.0 / 9 * (80 + 459.67));
    if (strcmp(name, "battery_charge") == 0) {
        const double v = not_below_zero(x[0]) - warm;
        double charge = v >= volts[4] ? 1 : 0;
        for (int i = 0; i < 4; i++)
            if (v >= volts[i] && v < volts[i + 1])
                charge = 0.25 * (i + (v - volts[i]) / (volts[i + 1] - volts[i]));
        return isnan(v) ? NAN : charge;
    }
    if (strcmp(name, "rested_volts") == 0) {
        for (int i = 0; i < 4; i++)
            if (x[0] >= 0.25 * i && x[0] <= 0.25 * (i + 1))
                return volts[i] + (x[0] / 0.25 - i) * (volts[i + 1] - volts[i]) + warm;
        return NAN;
    }
    if (!(x[0] > 0 && x[1] >= 0 && x[1] <= 1 && x[2] >= 0 && x[2] <= 1 && x[3] >= 0)) /* time_to_flat */
        return NAN;
    return x[1] <= x[2] ? 0 : x[0] * (x[1] - x[2]) / x[3];
}

/* Outside and width in mm of diameter series 0, 2, 3 with bores 10, 12, 15, 17, 20, 25, 30 mm (ISO 15). */
static const double bores[] = {10, 12, 15, 17, 20, 25, 30};
static const double rings[3][7][2] = {{{26, 8}, {28, 8}, {32, 9}, {35, 10}, {42, 12}, {47, 12}, {55, 13}},
                                      {{30, 9}, {32, 10}, {35, 11}, {40, 12}, {47, 14}, {52, 15}, {62, 16}},
                                      {{35, 11}, {37, 12}, {42, 13}, {47, 14}, {52, 15}, {62, 17}, {72, 19}}};
static const double series[] = {6000, 6200, 6300};

static double rolling(const char *name, const double *x)
{
    static const double pitches[] = {1.60e-3, 2.34e-3, 3.56e-3, 4.70e-3, 9.40e-3};
    for (int i = 0; i < 5 && strcmp(name, "belt_pitch") == 0; i++)
        if (fabs(x[0] - pitches[i]) <= pitches[i] / 10)
            return pitches[i];
    for (int s = 0; s < 3; s++)
        for (int b = 0; b < 7; b++) {
            const double size[] = {bores[b] / 1000, rings[s][b][0] / 1000, rings[s][b][1] / 1000};
            if (strcmp(name, "bearing_number") == 0) {
                if (fabs(x[0] - size[0]) < 0.5e-3 + 1e-12 && fabs(x[1] - size[1]) < 0.5e-3 + 1e-12 &&
                    fabs(x[2] - size[2]) < 0.5e-3 + 1e-12)
                    return series[s] + b;
            } else if (x[0] == series[s] + b) {
                return strcmp(name, "bearing_bore") == 0      ? size[0]
                       : strcmp(name, "bearing_outside") == 0 ? size[1]
                       : strcmp(name, "bearing_width") == 0   ? size[2]
                                                              : NAN;
            }
        }
    return NAN;
}

typedef struct bench_function {
    const char *name;
    double (*of)(const char *name, const double *x);
    bool stepped;
} bench_function;

static const bench_function functions[] = {
    {"resistance_at_20", winding, false},
    {"resistance_at", winding, false},
    {"winding_temperature", winding, false},
    {"rotor_current", winding, false},
    {"turns_shorted", winding, false},
    {"winding_spread", winding, false},
    {"set_point_at", winding, false},
    {"gauge_area", cable, false},
    {"cable_resistance", cable, false},
    {"cable_drop", cable, false},
    {"ribbed_ratio", turning, false},
    {"rotor_speed", turning, false},
    {"belt_slip", turning, false},
    {"electrical_frequency", turning, false},
    {"speed_of_frequency", turning, false},
    {"count_pole_pairs", turning, true},
    {"output_at", output, false},
    {"output_above", output, false},
    {"output_between", output, false},
    {"speed_for_output", output, false},
    {"battery_charge", battery, false},
    {"rested_volts", battery, false},
    {"time_to_flat", battery, false},
    {"bearing_number", rolling, true},
    {"bearing_bore", rolling, true},
    {"bearing_outside", rolling, true},
    {"bearing_width", rolling, true},
    {"belt_pitch", rolling, true},
};

bool ck_bench_value(const char *name, const double *x, double *out, bool *stepped)
{
    for (size_t i = 0; i < sizeof functions / sizeof functions[0]; i++) {
        if (strcmp(functions[i].name, name) != 0)
            continue;
        *out = functions[i].of(name, x);
        *stepped = functions[i].stepped;
        return true;
    }
    return false;
}
