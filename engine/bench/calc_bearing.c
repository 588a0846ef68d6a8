/* The named calculations about bearings and the tones of a running unit. */
#include "bench/bearing.h"
#include "bench/belt.h"
#include "bench/calc_inside.h"
#include "bench/tone.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* -- bearing -- */

enum { NAME, BORE, OUTSIDE, WIDTH, WITHIN };
static const calc_key bearing_keys[] = {
    [NAME] = WRITTEN(CALC_TEXT, "name", "the designation on it", "a designation (6203, 6303-2RS)", ""),
    [BORE] = QUANTITY("bore", "length", CALC_ABOVE_0, "bore measured", "lengths (17 mm)", ""),
    [OUTSIDE] =
        QUANTITY("outside", "length", CALC_ABOVE_0, "outside diameter measured", "lengths (40 mm)", ""),
    [WIDTH] = QUANTITY("width", "length", CALC_ABOVE_0, "width measured", "lengths (12 mm)", ""),
    [WITHIN] = QUANTITY("within", "length", CALC_FROM_0, "how far a measure may be off", "lengths (0.3 mm)",
                        "0.3 mm"),
};

static cw_status say_bearing(cw_calc_result *out, const cw_bearing_size *size)
{
    calc_say(out, "name", "designation", "%s", size->name);
    cw_status status = calc_add(out, "bore", "bore", size->bore, "mm");
    if (status == CW_OK)
        status = calc_add(out, "outside", "outside diameter", size->outside, "mm");
    return status == CW_OK ? calc_add(out, "width", "width", size->width, "mm") : status;
}

static cw_status run_bearing(const calc_value *in, cw_calc_result *out)
{
    const cw_bearing_size *found[8];
    out->note =
        "Series 60, 62 and 63, bore codes 00 to 06. What follows the four figures (seals, clearance, grease) "
        "must be matched as well.";
    if (in[NAME].given) {
        const cw_bearing_size *size = cw_bearing_find(in[NAME].text);
        if (size == NULL)
            return calc_wrong(out, "it knows 6000 to 6006, 6200 to 6206 and 6300 to 6306",
                              "there is no bearing '%.*s' in the table", calc_cut(in[NAME].text),
                              in[NAME].text);
        return say_bearing(out, size);
    }
    if (!in[BORE].given && !in[OUTSIDE].given && !in[WIDTH].given)
        return calc_wrong(out, "give name, or what was measured of bore, outside and width",
                          "bearing wants a name or dimensions");
    size_t count = cw_bearing_match(in[BORE].number, in[OUTSIDE].number, in[WIDTH].number, in[WITHIN].number,
                                    found, COUNT(found));
    cw_status status = CW_OK;
    for (size_t i = 0; i < count && i < COUNT(found) && status == CW_OK; i++)
        status = say_bearing(out, found[i]);
    if (count == 0)
        calc_say(out, "name", "designation", "none of the table");
    if (count > COUNT(found))
        calc_say(out, "more", "others fit too", "%zu", count - COUNT(found));
    return status;
}

const calc calc_bearing = {{"bearing", "a ball bearing's dimensions from its designation, and back",
                            "bore='17 mm' outside='40 mm' width='12 mm'", COUNT(bearing_keys)},
                           bearing_keys,
                           run_bearing};

/* -- flaws -- */

enum { BALLS, BALL, PITCH, SPEED, ANGLE };
static const calc_key flaws_keys[] = {
    COUNT_OF("balls", 3, 100, "balls in the bearing", "a whole number (8)", NULL),
    QUANTITY("ball", "length", CALC_ABOVE_0, "diameter of a ball", "lengths (6.75 mm)", NULL),
    QUANTITY("pitch", "length", CALC_ABOVE_0, "diameter of the circle of ball centres", "lengths (28.5 mm)",
             NULL),
    QUANTITY("speed", "speed", CALC_ABOVE_0, "speed of the shaft", "rpm (3000 rpm)", NULL),
    QUANTITY("angle", "angle", CALC_FROM_0, "contact angle", "degrees (0 deg)", "0 deg"),
};

static bool shape_of(const calc_value *in, double angle, cw_bearing_shape *out)
{
    *out = (cw_bearing_shape){in[BALLS].given ? (unsigned)in[BALLS].number : 0, in[BALL].number,
                              in[PITCH].number, angle};
    cw_bearing_tones tones;
    return cw_bearing_listen(out, &tones) == CW_OK;
}

static cw_status no_shape(cw_calc_result *out)
{
    return calc_wrong(out,
                      "balls (3 or more), ball and pitch belong together; a ball is smaller than the pitch",
                      "there is no such bearing");
}

static cw_status run_flaws(const calc_value *in, cw_calc_result *out)
{
    cw_bearing_shape shape;
    cw_bearing_tones tones;
    if (!shape_of(in, in[ANGLE].number, &shape) || cw_bearing_listen(&shape, &tones) != CW_OK)
        return no_shape(out);
    double turns = in[SPEED].number / 60;
    const struct {
        const char *name, *label;
        double multiple;
    } lines[] = {{"outer", "a flaw in the outer ring", tones.outer},
                 {"inner", "a flaw in the inner ring", tones.inner},
                 {"ball", "a flaw in a ball", tones.ball * 2},
                 {"cage", "the cage", tones.cage}};
    cw_status status = CW_OK;
    for (size_t i = 0; i < COUNT(lines) && status == CW_OK; i++)
        status = calc_add(out, lines[i].name, lines[i].label, lines[i].multiple * turns, "Hz");
    out->note = "A flaw in a ball meets both rings in each of its turns, so twice its turns are given. Balls "
                "slip: look "
                "two percent to either side.";
    return status;
}

const calc calc_flaws = {{"flaws", "what a damaged bearing repeats",
                          "balls=8 ball='6.75 mm' pitch='28.5 mm' speed='3000 rpm'", COUNT(flaws_keys)},
                         flaws_keys,
                         run_flaws};

/* -- tones -- */

enum {
    T_BALLS,
    T_BALL,
    T_PITCH,
    T_REAR,
    T_ENGINE = 6,
    T_RATIO,
    T_POLES,
    T_SLOTS,
    T_BLADES,
    T_DRIVEN,
    T_LENGTH,
    T_SHARE,
    T_RESOLUTION,
    T_TONE
};
static const calc_key tones_keys[] = {
    COUNT_OF("balls", 3, 100, "balls in the pulley-end bearing", "a whole number (8)", ""),
    QUANTITY("ball", "length", CALC_ABOVE_0, "diameter of a ball", "lengths (6.75 mm)", ""),
    QUANTITY("pitch", "length", CALC_ABOVE_0, "diameter of the circle of ball centres", "lengths (28.5 mm)",
             ""),
    COUNT_OF("rear_balls", 3, 100, "balls in the ring-end bearing", "a whole number (8)", ""),
    QUANTITY("rear_ball", "length", CALC_ABOVE_0, "diameter of a ball", "lengths (6.75 mm)", ""),
    QUANTITY("rear_pitch", "length", CALC_ABOVE_0, "diameter of the circle of ball centres",
             "lengths (28.5 mm)", ""),
    [T_ENGINE] = QUANTITY("engine", "speed", CALC_ABOVE_0, "speed of the crankshaft", "rpm (1500 rpm)", NULL),
    [T_RATIO] = QUANTITY("ratio", "number", CALC_ABOVE_0, "rotor turns for one of the crankshaft",
                         "a number (2.8)", NULL),
    [T_POLES] = COUNT_OF("poles", 2, 64, "poles of the rotor, both kinds counted", "a whole number (12)", ""),
    [T_SLOTS] = COUNT_OF("slots", 3, 400, "slots of the stator", "a whole number (36)", ""),
    [T_BLADES] = COUNT_OF("blades", 2, 100, "blades of the fan", "a whole number (11)", ""),
    [T_DRIVEN] = QUANTITY("driven", "length", CALC_ABOVE_0, "effective diameter of the unit's pulley",
                          "lengths (60 mm)", ""),
    [T_LENGTH] =
        QUANTITY("belt", "length", CALC_ABOVE_0, "effective length of the belt", "lengths (1697 mm)", ""),
    [T_SHARE] = QUANTITY("speed_error", "number", CALC_FROM_0, "how far the speed may be off",
                         "a share (1 %)", "1 %"),
    [T_RESOLUTION] = QUANTITY("step", "frequency", CALC_ABOVE_0,
                              "how far a reading of the spectrum may be off", "hertz (1 Hz)", "1 Hz"),
    [T_TONE] = QUANTITY("tone", "frequency", CALC_ABOVE_0,
                        "the tone to be explained; all are listed without it", "hertz (460 Hz)", ""),
};

static cw_status say_tone(cw_calc_result *out, const cw_tone *tone)
{
    size_t before = out->count;
    cw_status status =
        calc_add(out, cw_tone_name(tone->kind), cw_tone_what(tone->kind), tone->frequency, "Hz");
    if (out->count > before && tone->harmonic > 1) {
        char *words = out->lines[before].words;
        size_t used = strlen(words);
        snprintf(words + used, CW_CALC_WORDS - used, " (%u-fold)", tone->harmonic);
    }
    return status;
}

static cw_status run_tones(const calc_value *in, cw_calc_result *out)
{
    cw_bearing_shape front, rear;
    bool has_front = in[T_BALLS].given || in[T_BALL].given || in[T_PITCH].given;
    bool has_rear = in[T_REAR].given || in[T_REAR + 1].given || in[T_REAR + 2].given;
    if ((has_front && !shape_of(in, 0, &front)) || (has_rear && !shape_of(in + T_REAR, 0, &rear)))
        return no_shape(out);
    if (in[T_POLES].given && fmod(in[T_POLES].number, 2) != 0)
        return calc_wrong(out, "poles come in pairs: count both kinds", "an odd number of poles");
    double rotor = in[T_ENGINE].number * in[T_RATIO].number;
    cw_tone_machine machine = {
        .rotor = rotor,
        .ratio = in[T_RATIO].number,
        .belt = cw_belt_frequency(in[T_DRIVEN].number, CW_BELT_LINE, rotor, in[T_LENGTH].number),
        .poles = in[T_POLES].given ? (unsigned)in[T_POLES].number : 0,
        .slots = in[T_SLOTS].given ? (unsigned)in[T_SLOTS].number : 0,
        .blades = in[T_BLADES].given ? (unsigned)in[T_BLADES].number : 0,
        .front = has_front ? &front : NULL,
        .rear = has_rear ? &rear : NULL,
        .speed_share = in[T_SHARE].number,
        .resolution = in[T_RESOLUTION].number,
    };
    cw_tone tones[CW_TONE_MOST], fit[CW_TONE_MOST];
    size_t count;
    cw_status status = cw_tone_list(&machine, tones, &count);
    if (status != CW_OK)
        return calc_wrong(out, NULL, "there is no such machine");
    const cw_tone *shown = tones;
    if (in[T_TONE].given) {
        count = cw_tone_match(tones, count, in[T_TONE].number, fit);
        shown = fit;
    }
    for (size_t i = 0; i < count && status == CW_OK; i++)
        status = say_tone(out, &shown[i]);
    if (count == 0)
        calc_say(out, "none", "that tone", "nothing that was told turns or repeats so");
    out->note =
        "Tones that lie together cannot be told apart at one speed: try another, and see which moves along.";
    return status;
}

const calc calc_tones = {{"tones", "which tone of a running unit belongs to what",
                          "engine='1500 rpm' ratio=2.8 poles=12 slots=36 tone='420 Hz'", COUNT(tones_keys)},
                         tones_keys,
                         run_tones};
