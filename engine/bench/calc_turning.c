/* The named calculations about speed: output curve, pulleys and frequencies, belt. */
#include "bench/belt.h"
#include "bench/calc_inside.h"
#include "bench/output.h"
#include <math.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* -- output -- */

enum { LOW, LOW_SPEED, RATED, RATED_SPEED, CUT_IN, SPEED, AMPS };
static const calc_key output_keys[] = {
    [LOW] = QUANTITY("low", "current", CALC_ABOVE_0, "amps at the low speed", "amps (45 A)", NULL),
    [LOW_SPEED] = QUANTITY("low_speed", "speed", CALC_ABOVE_0, "that speed, of the rotor", "rpm (1500 rpm)",
                           "1500 rpm"),
    [RATED] = QUANTITY("rated", "current", CALC_ABOVE_0, "amps at the rated speed", "amps (90 A)", NULL),
    [RATED_SPEED] = QUANTITY("rated_speed", "speed", CALC_ABOVE_0, "that speed, of the rotor",
                             "rpm (6000 rpm)", "6000 rpm"),
    [CUT_IN] = QUANTITY("cut_in", "speed", CALC_ABOVE_0, "where output begins, if it is known",
                        "rpm (1050 rpm)", ""),
    [SPEED] = QUANTITY("speed", "speed", CALC_FROM_0, "rotor speed, to find the amps", "rpm (2500 rpm)", ""),
    [AMPS] = QUANTITY("amps", "current", CALC_FROM_0, "amps, to find the rotor speed", "amps (60 A)", ""),
};

static cw_status run_output(const calc_value *in, cw_calc_result *out)
{
    cw_output_curve curve;
    cw_output_point low = {in[LOW_SPEED].number, in[LOW].number};
    cw_output_point rated = {in[RATED_SPEED].number, in[RATED].number};
    if (cw_output_fit(low, rated, in[CUT_IN].number, &curve) != CW_OK)
        return calc_wrong(out, "amps must rise with speed, and cut-in lie below the low speed",
                          "no output curve runs through these points");
    cw_status status = calc_add(out, "cut_in", "output begins at", curve.cut_in, "rpm");
    if (status == CW_OK)
        status = calc_add(out, "most", "amps it never passes", curve.most, "A");
    if (status == CW_OK && in[SPEED].given)
        status = calc_add(out, "amps", "amps at that speed", cw_output_at(&curve, in[SPEED].number), "A");
    if (status == CW_OK && in[AMPS].given) {
        double speed = cw_output_speed(&curve, in[AMPS].number);
        if (isnan(speed))
            calc_say(out, "speed", "speed for those amps", "none: it never gives so much");
        else
            status = calc_add(out, "speed", "speed for those amps", speed, "rpm");
    }
    out->note = "At one voltage and one warmth: a hot unit gives less (one workshop manual prints 41 A hot, "
                "50 A cold at 2500 rpm).";
    return status;
}

const calc calc_output = {{"output", "amps against speed between two known points",
                           "low='45 A' rated='90 A' speed='2500 rpm'", COUNT(output_keys)},
                          output_keys,
                          run_output};

/* -- pulley -- */

enum { DRIVER, DRIVEN, LINE, RATIO, ENGINE, ROTOR, POLES };
static const calc_key pulley_keys[] = {
    [DRIVER] = QUANTITY("driver", "length", CALC_ABOVE_0, "effective diameter of the crankshaft's pulley",
                        "lengths (180 mm)", ""),
    [DRIVEN] = QUANTITY("driven", "length", CALC_ABOVE_0, "effective diameter of the unit's pulley",
                        "lengths (60 mm)", ""),
    [LINE] =
        QUANTITY("line", "length", CALC_FROM_0, "how far outside the effective diameter the belt's line runs",
                 "lengths (2 mm)", "2 mm"),
    [RATIO] = QUANTITY("ratio", "number", CALC_ABOVE_0,
                       "rotor turns for one of the crankshaft, if it is known", "a number (2.8)", ""),
    [ENGINE] = QUANTITY("engine", "speed", CALC_FROM_0, "speed of the crankshaft", "rpm (750 rpm)", ""),
    [ROTOR] = QUANTITY("rotor", "speed", CALC_FROM_0, "speed of the rotor", "rpm (6000 rpm)", ""),
    [POLES] = COUNT_OF("poles", 2, 64, "poles of the rotor, both kinds counted", "a whole number (12)", ""),
};

static cw_status run_pulley(const calc_value *in, cw_calc_result *out)
{
    double ratio = in[RATIO].number;
    double rotor = in[ROTOR].number;
    cw_status status = CW_OK;
    if (in[DRIVER].given && in[DRIVEN].given && !in[RATIO].given)
        ratio = cw_pulley_ratio(in[DRIVER].number, in[DRIVEN].number, in[LINE].number);
    if (in[ENGINE].given && in[ROTOR].given)
        return calc_wrong(out, "give one, the other follows", "'engine' and 'rotor' are both given");
    if (isnan(ratio) && !(in[ROTOR].given && in[POLES].given))
        return calc_wrong(out, "give driver and driven, or ratio", "the ratio of the pulleys is missing");
    if (in[POLES].given && fmod(in[POLES].number, 2) != 0)
        return calc_wrong(out, "poles come in pairs: count both kinds", "an odd number of poles");
    if (!isnan(ratio))
        status = calc_add(out, "ratio", "rotor turns for one of the crankshaft", ratio, "");
    if (in[ENGINE].given) {
        rotor = in[ENGINE].number * ratio;
        status = status == CW_OK ? calc_add(out, "rotor", "rotor speed", rotor, "rpm") : status;
    } else if (in[ROTOR].given && !isnan(ratio) && status == CW_OK) {
        status = calc_add(out, "engine", "engine speed", rotor / ratio, "rpm");
    }
    if (status == CW_OK && in[POLES].given && !isnan(rotor))
        status = calc_add(out, "frequency", "electrical frequency",
                          cw_electrical_frequency(rotor, (unsigned)in[POLES].number), "Hz");
    out->note = isnan(ratio) || in[RATIO].given ? NULL
                                                : "The speed follows the belt's line, not the effective "
                                                  "diameters; a belt that slips turns the rotor slower.";
    return status;
}

const calc calc_pulley = {{"pulley", "pulley ratio, rotor and engine speed, electrical frequency",
                           "driver='180 mm' driven='60 mm' engine='750 rpm' poles=12", COUNT(pulley_keys)},
                          pulley_keys,
                          run_pulley};

/* -- belt -- */

enum { WIDTH, RIBS, PITCH };
static const calc_key belt_keys[] = {
    [WIDTH] = QUANTITY("width", "length", CALC_ABOVE_0, "over all ribs", "lengths (21.4 mm)", ""),
    [RIBS] = COUNT_OF("ribs", 1, 60, "how many ribs", "a whole number (6)", ""),
    [PITCH] = QUANTITY("pitch", "length", CALC_ABOVE_0, "from rib to rib, instead of width and ribs",
                       "lengths (3.56 mm)", ""),
};

static cw_status run_belt(const calc_value *in, cw_calc_result *out)
{
    double pitch = in[PITCH].given ? in[PITCH].number : in[WIDTH].number / in[RIBS].number;
    if (isnan(pitch))
        return calc_wrong(out, "give width and ribs, or pitch", "belt wants the pitch of the ribs");
    cw_status status = calc_add(out, "pitch", "from rib to rib", pitch, "mm");
    const cw_belt_profile *profile = cw_belt_profile_of(pitch);
    if (profile == NULL) {
        calc_say(out, "profile", "profile", "none within a tenth of that");
    } else {
        calc_say(out, "profile", "profile", "%s (%s): %s", profile->name, profile->standard, profile->use);
        if (in[RIBS].given)
            calc_say(out, "marking", "marked", "%d%s and the length in mm", (int)in[RIBS].number,
                     profile->name);
    }
    return status;
}

const calc calc_belt = {
    {"belt", "profile of a ribbed belt or pulley from its pitch", "width='21.4 mm' ribs=6", COUNT(belt_keys)},
    belt_keys,
    run_belt};
