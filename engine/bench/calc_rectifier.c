/* The named calculation of the three-phase bridge. */
#include "bench/calc_inside.h"
#include "bench/rectifier.h"
#include <math.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

enum { WINDING, EMF, FREQUENCY, OHMS, HENRY, DIODE, BATTERY, BATTERY_OHMS, LOAD, OPEN, SHORTED };
static const calc_key rectifier_keys[] = {
    [WINDING] = CHOICE("winding", "wye|delta", "how the three windings are joined", "wye or delta", "wye"),
    [EMF] = QUANTITY("emf", "voltage", CALC_ABOVE_0, "peak volts one winding makes without load",
                     "volts (14 V)", "14 V"),
    [FREQUENCY] = QUANTITY("frequency", "frequency", CALC_ABOVE_0, "electrical frequency (see pulley)",
                           "hertz (500 Hz)", "500 Hz"),
    [OHMS] = QUANTITY("ohms", "resistance", CALC_ABOVE_0, "resistance of one winding", "ohms (30 mohm)",
                      "30 mohm"),
    [HENRY] =
        WRITTEN(CALC_HENRY, "inductance", "inductance of one winding", "an inductance (50 uH)", "50 uH"),
    [DIODE] = CHOICE("diode", "silicon|ideal", "the diodes' law", "silicon or ideal", "silicon"),
    [BATTERY] = QUANTITY("battery", "voltage", CALC_FROM_0, "the battery's own volts; 0 V for none",
                         "volts (12.6 V)", "12.6 V"),
    [BATTERY_OHMS] = QUANTITY("battery_ohms", "resistance", CALC_ABOVE_0,
                              "resistance of the battery and its cable", "ohms (20 mohm)", "20 mohm"),
    [LOAD] = QUANTITY("load", "resistance", CALC_ABOVE_0, "the load beside the battery", "ohms (0.7 ohm)",
                      "0.7 ohm"),
    [OPEN] = WRITTEN(CALC_PARTS, "open", "what is open of diodes a+ to c- and windings a to c",
                     "diodes and windings ('a+ b-', 'c')", ""),
    [SHORTED] = WRITTEN(CALC_PARTS, "shorted", "what is shorted", "diodes and windings ('a+ b-', 'c')", ""),
};

static void set_parts(cw_rectifier *r, const calc_value *value, cw_part_state state)
{
    unsigned bits = value->given ? (unsigned)value->number : 0;
    for (int k = 0; k < CALC_PART_BITS; k++)
        if ((bits >> k & 1) != 0)
            *(k < 6 ? &r->diodes[k] : &r->windings[k - 6]) = state;
}

static cw_rectifier read_bridge(const calc_value *in)
{
    cw_rectifier r = {.winding = in[WINDING].number == 0 ? CW_WYE : CW_DELTA,
                      .emf = in[EMF].number,
                      .frequency = in[FREQUENCY].number,
                      .resistance = in[OHMS].number,
                      .inductance = in[HENRY].number,
                      .iron = INFINITY,
                      .battery = in[BATTERY].number,
                      .battery_resistance = in[BATTERY].number > 0 ? in[BATTERY_OHMS].number : INFINITY,
                      .load = in[LOAD].number};
    r.diode = in[DIODE].number == 0 ? cw_diode_silicon() : (cw_diode){CW_DIODE_STRAIGHT, 0, 0, 0, 1e-5};
    set_parts(&r, &in[OPEN], CW_PART_OPEN);
    set_parts(&r, &in[SHORTED], CW_PART_SHORTED);
    return r;
}

static double share(double part, double whole)
{
    return whole > 0 ? part / whole : NAN;
}

/* What rounding leaves of a line that is not there is no line. */
static double line(const cw_rectified *r, int order)
{
    return r->amplitude[order] > 1e-7 * fabs(r->mean) ? r->amplitude[order] : 0;
}

static cw_status show(cw_calc_result *out, const cw_rectified *r, const cw_rectified *healthy)
{
    const struct {
        const char *name, *label;
        double value;
        const char *unit;
    } lines[] = {
        {"mean", "mean volts", r->mean, "V"},
        {"mean_share", "of a healthy bridge", share(r->mean, healthy->mean), "%"},
        {"current", "mean amps", r->mean_current, "A"},
        {"current_share", "of a healthy bridge", share(r->mean_current, healthy->mean_current), "%"},
        {"peak_to_peak", "ripple, peak to peak", r->peak_to_peak, "V"},
        {"ripple", "ripple, as an AC meter reads it", r->ripple, "V"},
        {"order_1", "once an electrical period", line(r, 1), "V"},
        {"order_2", "twice", line(r, 2), "V"},
        {"order_3", "three times", line(r, 3), "V"},
        {"order_6", "six times", line(r, 6), "V"},
        {"healthy_peak_to_peak", "ripple of a healthy bridge, peak to peak", healthy->peak_to_peak, "V"}};
    cw_status status = CW_OK;
    for (size_t i = 0; i < COUNT(lines) && status == CW_OK; i++)
        if (!isnan(lines[i].value))
            status = calc_add(out, lines[i].name, lines[i].label, lines[i].value, lines[i].unit);
    return status;
}

static cw_status run_rectifier(const calc_value *in, cw_calc_result *out)
{
    cw_rectifier r = read_bridge(in);
    cw_rectifier good = cw_rectifier_healthy(&r);
    cw_rectified found, healthy;
    if (in[OPEN].given && in[SHORTED].given &&
        ((unsigned)in[OPEN].number & (unsigned)in[SHORTED].number) != 0)
        return calc_wrong(out, NULL, "one part is both open and shorted");
    cw_status status = cw_rectifier_solve(&r, CW_RECTIFIER_STEPS, NULL, &found);
    if (status == CW_OK)
        status = cw_rectifier_solve(&good, CW_RECTIFIER_STEPS, NULL, &healthy);
    if (status != CW_OK)
        return calc_wrong(out, "take figures nearer to a unit on a bench",
                          "no steady state is found for such figures");
    out->note = "Ripple depends on battery, cable and place: compare lines with each other, not volts alone. "
                "The field "
                "is taken as it is; a regulator would answer.";
    return show(out, &found, &healthy);
}

const calc calc_rectifier = {{"rectifier",
                              "the three-phase bridge: output and ripple, with anything open or shorted",
                              "open=a+ battery='12.6 V' load='0.7 ohm'", COUNT(rectifier_keys)},
                             rectifier_keys,
                             run_rectifier};
