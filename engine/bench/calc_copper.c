/* The named calculations about copper: cable, windings, rotor, and the regulator's set point. */
#include "bench/cable.h"
#include "bench/calc_inside.h"
#include "bench/winding.h"
#include <math.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* -- cable -- */

enum { GAUGE, LENGTH, AMPS, SIDES, TEMPERATURE, JOINTS, DROP };
static const calc_key cable_keys[] = {
    [GAUGE] = WRITTEN(CALC_WIRE, "gauge", "how thick the cable is",
                      "a wire gauge or an area (8 AWG, 3/0 AWG, 10 mm2)", ""),
    [LENGTH] =
        QUANTITY("length", "length", CALC_ABOVE_0, "how long it is, one way", "lengths (6 ft, 1.8 m)", NULL),
    [AMPS] = QUANTITY("amps", "current", CALC_ABOVE_0, "what flows through it", "amps (90 A)", NULL),
    [SIDES] =
        COUNT_OF("sides", 1, 2, "2 for a round trip by the same cable, 1 for one side alone", "1 or 2", "2"),
    [TEMPERATURE] = QUANTITY("temperature", "temperature", CALC_TEMPERATURE, "how warm the copper is",
                             "temperatures (20 degC, 140 degF)", "20 degC"),
    [JOINTS] = QUANTITY("joints", "resistance", CALC_FROM_0, "what all joints together have",
                        "ohms (0.5 mohm)", "0 ohm"),
    [DROP] = QUANTITY("drop", "voltage", CALC_ABOVE_0, "volts that may be lost, to find the cable for it",
                      "volts (0.5 V, 300 mV)", ""),
};

static cw_status say_area(cw_calc_result *out, double area)
{
    double gauge = floor(cw_area_gauge(area) + 1e-9);
    cw_status status = calc_add(out, "needed_area", "copper needed", area, "mm2");
    if (gauge < CW_GAUGE_THICKEST)
        calc_say(out, "needed_gauge", "gauge needed", "thicker than 4/0 AWG");
    else if (gauge < 0)
        calc_say(out, "needed_gauge", "gauge needed", "%d/0 AWG", 1 - (int)gauge);
    else
        calc_say(out, "needed_gauge", "gauge needed", "%d AWG", (int)fmin(gauge, CW_GAUGE_THINNEST));
    return status;
}

static cw_status run_cable(const calc_value *in, cw_calc_result *out)
{
    cw_cable cable = {in[GAUGE].number, in[LENGTH].number, in[SIDES].number, in[TEMPERATURE].number,
                      in[JOINTS].number};
    cw_status status = CW_OK;
    if (!in[GAUGE].given && !in[DROP].given)
        return calc_wrong(out, "give gauge for the volts lost, drop for the cable needed, or both",
                          "cable wants 'gauge' or 'drop'");
    if (in[GAUGE].given) {
        cw_cable_loss loss;
        cw_cable_lose(&cable, in[AMPS].number, &loss);
        status = calc_add(out, "area", "copper", cable.area, "mm2");
        if (status == CW_OK)
            status = calc_add(out, "resistance", "resistance", loss.resistance, "mohm");
        if (status == CW_OK)
            status = calc_add(out, "drop", "volts lost", loss.drop, "V");
        if (status == CW_OK)
            status = calc_add(out, "heat", "heat in it", loss.heat, "W");
    }
    if (status == CW_OK && in[DROP].given) {
        double area = cw_cable_area(&cable, in[AMPS].number, in[DROP].number);
        if (isnan(area))
            return calc_wrong(out, "mend the joints, or allow more",
                              "the joints alone lose more than that drop");
        status = say_area(out, area);
    }
    out->note =
        "Least of a sound cable: strands may have a sixth more, and every joint adds its own. Whether a "
        "cable stands the heat is another question.";
    return status;
}

const calc calc_cable = {{"cable", "resistance and volts lost in a copper cable, or the cable for a drop",
                          "gauge=8AWG length='6 ft' amps='90 A'", COUNT(cable_keys)},
                         cable_keys,
                         run_cable};

/* -- resistance -- */

enum { OHMS, FROM, TO };
static const calc_key resistance_keys[] = {
    [OHMS] = QUANTITY("ohms", "resistance", CALC_ABOVE_0, "what was measured", "ohms (2.9 ohm)", NULL),
    [FROM] = QUANTITY("from", "temperature", CALC_TEMPERATURE, "how warm the winding was then",
                      "temperatures (60 degC)", NULL),
    [TO] = QUANTITY("to", "temperature", CALC_TEMPERATURE, "the temperature wanted", "temperatures (20 degC)",
                    "20 degC"),
};

static cw_status run_resistance(const calc_value *in, cw_calc_result *out)
{
    return calc_add(out, "resistance", "resistance there",
                    cw_resistance_at(in[OHMS].number, in[FROM].number, in[TO].number), "ohm");
}

const calc calc_resistance = {{"resistance", "a copper winding's resistance at another temperature",
                               "ohms='3.4 ohm' from='60 degC'", COUNT(resistance_keys)},
                              resistance_keys,
                              run_resistance};

/* -- heating -- */

enum { COLD, AT, HOT, AIR };
static const calc_key heating_keys[] = {
    [COLD] = QUANTITY("cold", "resistance", CALC_ABOVE_0, "resistance before", "ohms (200 mohm)", NULL),
    [AT] = QUANTITY("at", "temperature", CALC_TEMPERATURE, "the winding's temperature before",
                    "temperatures (20 degC)", "20 degC"),
    [HOT] = QUANTITY("hot", "resistance", CALC_ABOVE_0, "resistance after", "ohms (210 mohm)", NULL),
    [AIR] = QUANTITY("air", "temperature", CALC_TEMPERATURE, "the air's temperature after",
                     "temperatures (25 degC)", "20 degC"),
};

static cw_status run_heating(const calc_value *in, cw_calc_result *out)
{
    double now = cw_winding_temperature(in[COLD].number, in[AT].number, in[HOT].number);
    if (!(now < 2000))
        return calc_wrong(out, "were both measured on the same winding?", "no winding gets that hot");
    cw_status status = calc_add(out, "temperature", "mean temperature of the winding", now, "degC");
    return status == CW_OK ? calc_add(out, "rise", "above the air", now - in[AIR].number, "K") : status;
}

const calc calc_heating = {{"heating", "how warm a copper winding has become, from its resistance",
                            "cold='200 mohm' at='20 degC' hot='210 mohm' air='25 degC'", COUNT(heating_keys)},
                           heating_keys,
                           run_heating};

/* -- rotor -- */

enum { R_VOLTS, R_OHMS, R_AT, R_RUNNING, R_BRUSHES, R_GOOD };
static const calc_key rotor_keys[] = {
    [R_VOLTS] = QUANTITY("volts", "voltage", CALC_ABOVE_0, "volts on the field", "volts (12 V)", "12 V"),
    [R_OHMS] =
        QUANTITY("ohms", "resistance", CALC_ABOVE_0, "resistance between the rings", "ohms (2.9 ohm)", NULL),
    [R_AT] = QUANTITY("at", "temperature", CALC_TEMPERATURE, "how warm it was when measured",
                      "temperatures (20 degC)", "20 degC"),
    [R_RUNNING] = QUANTITY("running", "temperature", CALC_TEMPERATURE,
                           "how warm it is when the current flows", "temperatures (120 degC)", "20 degC"),
    [R_BRUSHES] =
        QUANTITY("brushes", "voltage", CALC_FROM_0, "volts lost in both brushes", "volts (1 V)", "0 V"),
    [R_GOOD] =
        QUANTITY("good", "resistance", CALC_ABOVE_0, "what a good one has at 20 degC", "ohms (3 ohm)", ""),
};

static cw_status run_rotor(const calc_value *in, cw_calc_result *out)
{
    double cold = cw_resistance_at(in[R_OHMS].number, in[R_AT].number, CW_TWENTY);
    double amps = cw_rotor_current(in[R_VOLTS].number, cold, in[R_RUNNING].number, in[R_BRUSHES].number);
    cw_status status = calc_add(out, "cold_resistance", "resistance at 20 degC", cold, "ohm");
    if (status == CW_OK)
        status = calc_add(out, "current", "field current", amps, "A");
    if (status == CW_OK && in[R_GOOD].given) {
        double missing = cw_turns_shorted(in[R_OHMS].number, in[R_AT].number, in[R_GOOD].number);
        status = calc_add(out, "turns_missing", "turns missing, by resistance", fmax(0, missing), "%");
        out->note =
            "Good rotors of one design differ by a few percent, and so do meters at a few ohms: what is "
            "within that is no short.";
    }
    return status;
}

const calc calc_rotor = {{"rotor", "field current, resistance at 20 degC, shorted turns",
                          "ohms='2.9 ohm' volts='12 V' at='25 degC' good='3.2 ohm'", COUNT(rotor_keys)},
                         rotor_keys,
                         run_rotor};

/* -- setpoint -- */

enum { S_VOLTS, S_AT, S_SLOPE, S_TEMPERATURE };
static const calc_key setpoint_keys[] = {
    [S_VOLTS] = QUANTITY("volts", "voltage", CALC_ABOVE_0, "what it regulates to", "volts (14.4 V)", NULL),
    [S_AT] = QUANTITY("at", "temperature", CALC_TEMPERATURE, "at which temperature", "temperatures (20 degC)",
                      "20 degC"),
    [S_SLOPE] =
        QUANTITY("slope", "voltage", CALC_ANY, "volts more for each kelvin warmer, negative where they fall",
                 "volts for a kelvin (-10 mV)", NULL),
    [S_TEMPERATURE] = QUANTITY("temperature", "temperature", CALC_TEMPERATURE, "the temperature wanted",
                               "temperatures (80 degC)", NULL),
};

static cw_status run_setpoint(const calc_value *in, cw_calc_result *out)
{
    out->note = "No slope holds for all regulators: workshop manuals print -10 and -3.5 mV for a kelvin.";
    return calc_add(
        out, "volts", "regulated volts there",
        cw_set_point(in[S_VOLTS].number, in[S_AT].number, in[S_SLOPE].number, in[S_TEMPERATURE].number), "V");
}

const calc calc_setpoint = {{"setpoint", "regulated volts at another temperature",
                             "volts='14.4 V' slope='-10 mV' temperature='80 degC'", COUNT(setpoint_keys)},
                            setpoint_keys,
                            run_setpoint};
