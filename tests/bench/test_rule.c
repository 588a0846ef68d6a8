/* What rule formulas may call: each against its formula written out here, and against published figures. */
#include "bench/near.h"
#include "bench/rule.h"
#include "support/random.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define C(degrees) ((degrees) + 273.15)
#define MM 1e-3

static const cw_function *find(const char *name)
{
    for (const cw_function *f = cw_bench_functions(); f->name != NULL; f++)
        if (strcmp(f->name, name) == 0)
            return f;
    cr_assert_fail("there is no %s", name);
    return NULL;
}

static double call(const char *name, double a, double b, double c, double d)
{
    return find(name)->work((double[]){a, b, c, d});
}

#define NOTHING(...) cr_expect(isnan(call(__VA_ARGS__)))

/* --- the table itself --- */

Test(rule, every_function_is_named_once_and_its_dimensions_are_known)
{
    size_t count = 0;
    for (const cw_function *f = cw_bench_functions(); f->name != NULL; f++, count++) {
        cw_dimension dimension;
        cr_expect(cw_dimension_find(f->gives, &dimension), "%s", f->name);
        cr_expect_not_null(f->work);
        cr_expect_gt(strlen(f->means), 5u, "%s", f->name);
        for (const cw_function *g = cw_bench_functions(); g != f; g++)
            cr_expect_str_neq(f->name, g->name);
        char takes[200];
        snprintf(takes, sizeof takes, "%s", f->takes);
        size_t arguments = 0;
        for (char *rest = takes, *one; (one = strtok_r(rest, ",", &rest)) != NULL; arguments++) {
            char *colon = strchr(one, ':');
            cr_assert_not_null(colon, "%s: %s", f->name, one);
            cr_expect(cw_dimension_find(colon + 2, &dimension), "%s: '%s'", f->name, colon + 2);
        }
        cr_expect(arguments >= 1 && arguments <= 4, "%s", f->name);
    }
    cr_expect_eq(count, 28u);
}

/* The reference lists them in these words and in this order, and no others. */
Test(rule, the_reference_lists_every_function)
{
    FILE *file = fopen(CW_SOURCE_DIR "/rules/README.md", "rb");
    cr_assert_not_null(file);
    static char text[200000];
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    const char *at = strstr(text, "\n| function | gives | |\n| --- | --- | --- |\n");
    cr_assert_not_null(at);
    at = strchr(strchr(at + 1, '\n') + 1, '\n') + 1;
    for (const cw_function *f = cw_bench_functions(); f->name != NULL; f++) {
        char row[600];
        snprintf(row, sizeof row, "| `%s(%s)` | %s%s | %s |\n", f->name, f->takes, f->gives,
                 f->stepped ? ", in steps" : "", f->means);
        cr_assert(strncmp(at, row, strlen(row)) == 0, "wanted:\n%sfound:\n%.*s", row, (int)strcspn(at, "\n"),
                  at);
        at += strlen(row);
    }
    cr_expect_eq(*at, '\n');
}

/* --- published figures --- */

/* IEC 60028 as winding standards use it: (234.5 + t2) / (234.5 + t1). An instrument maker's printed example:
 * 200 mohm at 20 degC, 210 mohm later: 32.7 degC. */
Test(rule, copper)
{
    NEAR(call("resistance_at_20", 3.3, C(45), 0, 0), 3.3 * 254.5 / 279.5, 1e-12);
    NEAR(call("resistance_at", 3, C(20), C(100), 0), 3 * 334.5 / 254.5, 1e-12);
    NEAR(call("winding_temperature", 0.2, C(20), 0.21, 0), C(32.725), 1e-9);
    /* The rule of 0.393 % a kelvin at 20 degC says the same to a few parts in ten thousand. */
    NEAR(call("resistance_at_20", 3.3, C(45), 0, 0), 3.3 / (1 + 0.00393 * 25), 2e-4);
    NOTHING("resistance_at_20", -3.3, C(45), 0, 0);
    NOTHING("resistance_at_20", 3.3, C(-250), 0, 0);
    NOTHING("resistance_at", -1, C(20), C(30), 0);
    NOTHING("winding_temperature", 0, C(20), 0.21, 0);
    NOTHING("winding_temperature", 0.2, C(20), -0.21, 0);
}

/* Ohm's law by hand: 12 V over 3 ohm; over 3 x 334.5 / 254.5 when hot. */
Test(rule, rotor)
{
    NEAR(call("rotor_current", 12, 3, C(20), 0), 4, 1e-12);
    NEAR(call("rotor_current", 12, 3, C(100), 0), 4 * 254.5 / 334.5, 1e-12);
    NOTHING("rotor_current", 12, 0, C(20), 0);
    NOTHING("rotor_current", 12, -3, C(20), 0);
    NOTHING("rotor_current", -12, 3, C(20), 0);
    NEAR(call("turns_shorted", 2.7, C(20), 3, 0), 0.1, 1e-12);
    NEAR(call("turns_shorted", 3.3, C(20), 3, 0), -0.1, 1e-12);
    NOTHING("turns_shorted", -2.7, C(20), 3, 0);
    NOTHING("turns_shorted", 2.7, C(20), 0, 0);
    NEAR(call("winding_spread", 0.100, 0.105, 0.102, 0), 0.05, 1e-12);
    NEAR(call("winding_spread", 0.105, 0.102, 0.100, 0), 0.05, 1e-12);
    cr_expect_eq(call("winding_spread", 0.1, 0.1, 0.1, 0), 0);
    NOTHING("winding_spread", 0, 0.1, 0.1, 0);
    NOTHING("winding_spread", 0.1, 0.1, -0.1, 0);
}

/* ASTM B258: AWG 4 is 5.189 mm, 10 is 2.588 mm; ohm/km of solid copper at 20 degC from handbooks: AWG 4
 * 0.815, AWG 10 3.277. */
Test(rule, cable)
{
    NEAR(call("gauge_area", 4, 0, 0, 0), 3.14159265 / 4 * 5.189e-3 * 5.189e-3, 1e-3);
    NEAR(call("gauge_area", 10, 0, 0, 0), 3.14159265 / 4 * 2.588e-3 * 2.588e-3, 1e-3);
    NEAR(call("cable_resistance", call("gauge_area", 4, 0, 0, 0), 1000, C(20), 0), 0.815, 2e-3);
    NEAR(call("cable_resistance", call("gauge_area", 10, 0, 0, 0), 1000, C(20), 0), 3.277, 2e-3);
    /* 100 A through 2 m of 25 mm2: 1.7241e-8 x 2 / 25e-6 x 100 = 0.1379 V */
    NEAR(call("cable_drop", 100, 25e-6, 2, C(20)), 0.137928, 1e-6);
    NOTHING("gauge_area", 41, 0, 0, 0);
    NOTHING("gauge_area", -4, 0, 0, 0);
    NOTHING("cable_resistance", 0, 2, C(20), 0);
    NOTHING("cable_drop", 100, 25e-6, -2, C(20));
    NOTHING("cable_drop", 100, 25e-6, 2, C(-250));
}

/* A battery maker's page: 2.30 V a cell at 25 degC and -3 mV/K are 2.27 V at 35 degC; six cells 13.8 and
 * 13.62. */
Test(rule, set_point)
{
    NEAR(call("set_point_at", 13.8, C(25), -0.18, C(35)), 13.62, 1e-12);
    NOTHING("set_point_at", -13.8, C(25), -0.18, C(35));
}

/* Effective diameters 180 and 60 mm, the belt's line 2 mm outside on either side (ISO 9981): 184 / 64. */
Test(rule, belt_and_speed)
{
    NEAR(call("ribbed_ratio", 180 * MM, 60 * MM, 0, 0), 2.875, 1e-12);
    NEAR(call("rotor_speed", 2000, 2.875, 0, 0), 5750, 1e-12);
    NEAR(call("belt_slip", 2000, 2.875, 5635, 0), 0.02, 1e-9);
    NOTHING("ribbed_ratio", 180 * MM, 0, 0, 0);
    NOTHING("rotor_speed", 2000, 0, 0, 0);
    NOTHING("rotor_speed", -2000, 2.5, 0, 0);
    NOTHING("belt_slip", 0, 2.5, 100, 0);
    NOTHING("belt_slip", 100, 2.5, -1, 0);
}

/* f = pairs x rpm / 60: six pairs at 6000 rpm are 600 Hz. */
Test(rule, frequency)
{
    NEAR(call("electrical_frequency", 6000, 6, 0, 0), 600, 1e-12);
    NEAR(call("speed_of_frequency", 600, 6, 0, 0), 6000, 1e-12);
    cr_expect_eq(call("count_pole_pairs", 600, 6000, 0, 0), 6);
    cr_expect_eq(call("count_pole_pairs", 620, 6000, 0, 0), 6);
    cr_expect_eq(call("count_pole_pairs", 800, 6000, 0, 0), 8);
    NOTHING("count_pole_pairs", 650, 6000, 0, 0);
    NOTHING("count_pole_pairs", 20, 6000, 0, 0);
    NOTHING("count_pole_pairs", 1300, 6000, 0, 0);
    NOTHING("count_pole_pairs", 600, 0, 0, 0);
    NOTHING("electrical_frequency", 6000, 6.5, 0, 0);
    NOTHING("electrical_frequency", 6000, 0, 0, 0);
    NOTHING("electrical_frequency", -1, 6, 0, 0);
    NOTHING("speed_of_frequency", 600, 13, 0, 0);
    NOTHING("speed_of_frequency", -600, 6, 0, 0);
}

/* amps = most x sqrt(1 - (cut_in / speed)^2): the points themselves, and 0 at the cut-in. */
Test(rule, output)
{
    NEAR(call("output_at", 1500, 45, 90, 0), 45, 1e-12);
    NEAR(call("output_at", 6000, 45, 90, 0), 90, 1e-12);
    NEAR(call("output_between", 1500, 1100, 45, 90), 45, 1e-12);
    NEAR(call("output_between", 6000, 1100, 45, 90), 90, 1e-12);
    NEAR(call("output_above", 6000, 1100, 90, 0), 90, 1e-12);
    cr_expect_eq(call("output_above", 1100, 1100, 90, 0), 0);
    cr_expect_eq(call("output_between", 1100, 1100, 45, 90), 0);
    NOTHING("output_above", 1000, 1100, 90, 0);
    NOTHING("output_between", 1000, 1100, 45, 90);
    NOTHING("output_at", 1000, 45, 90, 0); /* its cut-in is 1307 rpm */
    NOTHING("output_at", 3000, 95, 90, 0);
    NOTHING("output_at", 3000, -45, 90, 0);
    NOTHING("output_above", 3000, 6500, 90, 0);
    NOTHING("output_above", 3000, 1100, -90, 0);
    NEAR(call("speed_for_output", call("output_at", 2500, 45, 90, 0), 45, 90, 0), 2500, 1e-9);
    NOTHING("speed_for_output", 500, 45, 90, 0);
    NOTHING("speed_for_output", -5, 45, 90, 0);
}

/* The published table of rested volts at 80 degF: 12.65, 12.45, 12.24, 12.06, 11.89 V. */
Test(rule, battery)
{
    static const double volts[] = {12.65, 12.45, 12.24, 12.06, 11.89}, charge[] = {1, 0.75, 0.5, 0.25, 0};
    const double warm = (80 + 459.67) * 5 / 9;
    for (int i = 0; i < 5; i++) {
        NEAR(call("battery_charge", volts[i], warm, 0, 0), charge[i], 1e-4);
        NEAR(call("rested_volts", charge[i], warm, 0, 0), volts[i], 1e-4);
    }
    NEAR(call("battery_charge", 12.45 - 0.025, warm - 10, 0, 0), 0.75, 1e-4); /* 2.5 mV for each K */
    /* 60 Ah, three quarters full, down to a quarter with 50 mA: 600 h, 25 days */
    NEAR(call("time_to_flat", 60 * 3600, 0.75, 0.25, 0.05), 25.0 * 86400, 1e-12);
    cr_expect(!isfinite(call("time_to_flat", 60 * 3600, 0.75, 0.25, 0)), "without a drain it never is");
    NOTHING("time_to_flat", -60, 0.75, 0.25, 0.05);
    NOTHING("time_to_flat", 60, 1.75, 0.25, 0.05);
    NOTHING("battery_charge", -12, warm, 0, 0);
    NOTHING("rested_volts", 1.2, warm, 0, 0);
}

/* ISO 15: 6203 is 17 x 40 x 12 mm, 6303 17 x 47 x 14, 6003 17 x 35 x 10. */
Test(rule, bearings_both_ways)
{
    static const struct {
        double number, bore, outside, width;
    } known[] = {{6203, 17, 40, 12}, {6303, 17, 47, 14}, {6003, 17, 35, 10},
                 {6201, 12, 32, 10}, {6305, 25, 62, 17}, {6000, 10, 26, 8}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        cr_expect_eq(
            call("bearing_number", known[i].bore * MM, known[i].outside * MM, known[i].width * MM, 0),
            known[i].number);
        NEAR(call("bearing_bore", known[i].number, 0, 0, 0), known[i].bore * MM, 1e-12);
        NEAR(call("bearing_outside", known[i].number, 0, 0, 0), known[i].outside * MM, 1e-12);
        NEAR(call("bearing_width", known[i].number, 0, 0, 0), known[i].width * MM, 1e-12);
    }
    cr_expect_eq(call("bearing_number", 17.4 * MM, 39.6 * MM, 12.4 * MM, 0), 6203);
    NOTHING("bearing_number", 17 * MM, 40 * MM, 13 * MM, 0);
    NOTHING("bearing_number", 17 * MM, 35 * MM, 8 * MM, 0); /* 16003 */
    NOTHING("bearing_bore", 6203.5, 0, 0, 0);
    NOTHING("bearing_bore", 6299, 0, 0, 0);
    NOTHING("bearing_outside", -6203, 0, 0, 0);
    NOTHING("bearing_width", 1e300, 0, 0, 0);
}

/* ISO 9981 and 9982: PK 3.56, PJ 2.34, PL 4.70 mm. */
Test(rule, belt_pitch)
{
    NEAR(call("belt_pitch", 3.5 * MM, 0, 0, 0), 3.56 * MM, 1e-12);
    NEAR(call("belt_pitch", 2.4 * MM, 0, 0, 0), 2.34 * MM, 1e-12);
    NEAR(call("belt_pitch", 4.6 * MM, 0, 0, 0), 4.70 * MM, 1e-12);
    NOTHING("belt_pitch", 3 * MM, 0, 0, 0);
}

/* --- random ones against the formula written out --- */

enum { ROUNDS = 2000 };

Test(rule, random_windings_and_cables)
{
    random_state r = random_start(501);
    for (int i = 0; i < ROUNDS; i++) {
        const double ohms = random_between(&r, 0.01, 20), t1 = random_between(&r, -40, 200),
                     t2 = random_between(&r, -40, 200), other = random_between(&r, 0.01, 20),
                     third = random_between(&r, 0.01, 20), volts = random_between(&r, 0, 30);
        NEAR(call("resistance_at_20", ohms, C(t1), 0, 0), ohms * 254.5 / (234.5 + t1), 1e-11);
        NEAR(call("resistance_at", ohms, C(t1), C(t2), 0), ohms * (234.5 + t2) / (234.5 + t1), 1e-11);
        NEAR(call("winding_temperature", ohms, C(t1), other, 0), C(other / ohms * (234.5 + t1) - 234.5),
             1e-11);
        NEAR(call("rotor_current", volts, ohms, C(t1), 0), volts / (ohms * (234.5 + t1) / 254.5), 1e-11);
        NEAR(call("turns_shorted", ohms, C(t1), other, 0), 1 - ohms * 254.5 / (234.5 + t1) / other, 1e-9);
        double sorted[] = {ohms, other, third};
        for (int a = 0; a < 2; a++)
            for (int b = 0; b < 2; b++)
                if (sorted[b] > sorted[b + 1]) {
                    const double swap = sorted[b];
                    sorted[b] = sorted[b + 1];
                    sorted[b + 1] = swap;
                }
        NEAR(call("winding_spread", ohms, other, third, 0), sorted[2] / sorted[0] - 1, 1e-9);
        const double area = random_between(&r, 0.5, 120), length = random_between(&r, 0.1, 20),
                     amps = random_between(&r, 0, 300), gauge = random_between(&r, -3, 40);
        const double per_metre = 0.017241 / area * (1 + 0.00393 * (t1 - 20));
        NEAR(call("cable_resistance", area * 1e-6, length, C(t1), 0), per_metre * length, 1e-11);
        NEAR(call("cable_drop", amps, area * 1e-6, length, C(t1)), per_metre * length * amps, 1e-11);
        NEAR(call("gauge_area", gauge, 0, 0, 0),
             3.14159265358979 / 4 * pow(0.127e-3 * pow(92, (36 - gauge) / 39), 2), 1e-11);
        const double slope = random_between(&r, -0.3, 0.1);
        NEAR(call("set_point_at", 14.2, C(t1), slope, C(t2)), 14.2 + slope * (t2 - t1) / 10, 1e-11);
    }
}

Test(rule, random_speeds_and_output)
{
    random_state r = random_start(502);
    size_t between = 0;
    for (int i = 0; i < ROUNDS; i++) {
        const double driver = random_between(&r, 0.1, 0.25), driven = random_between(&r, 0.04, 0.09),
                     engine = random_between(&r, 500, 6000), ratio = random_between(&r, 1, 4),
                     rotor = random_between(&r, 600, 18000);
        NEAR(call("ribbed_ratio", driver, driven, 0, 0), (driver + 0.004) / (driven + 0.004), 1e-12);
        NEAR(call("rotor_speed", engine, ratio, 0, 0), engine * ratio, 1e-12);
        NEAR(call("belt_slip", engine, ratio, rotor, 0), (engine * ratio - rotor) / (engine * ratio), 1e-9);
        const double pairs = 1 + random_below(&r, 12);
        NEAR(call("electrical_frequency", rotor, pairs, 0, 0), rotor / 60 * pairs, 1e-12);
        NEAR(call("speed_of_frequency", rotor, pairs, 0, 0), rotor * 60 / pairs, 1e-12);
        const double off = random_between(&r, -0.24, 0.24);
        cr_expect_eq(call("count_pole_pairs", rotor / 60 * (pairs + off), rotor, 0, 0), pairs);

        const double cut_in = random_between(&r, 700, 1400), rated = random_between(&r, 30, 200);
        double wanted = rated * sqrt((1 - pow(cut_in / rotor, 2)) / (1 - pow(cut_in / 6000, 2)));
        const double low = rated * sqrt((1 - pow(cut_in / 1500, 2)) / (1 - pow(cut_in / 6000, 2)));
        if (rotor < cut_in) {
            NOTHING("output_above", rotor, cut_in, rated, 0);
            continue;
        }
        NEAR(call("output_above", rotor, cut_in, rated, 0), wanted, 1e-9);
        if (rotor > cut_in + 1) {
            NEAR(call("output_at", rotor, low, rated, 0), wanted, 1e-6);
            NEAR(call("speed_for_output", wanted, low, rated, 0), rotor, 1e-6);
        }
        /* another bend: amps = most x (1 - (cut_in / speed)^2)^bend */
        const double bend = random_between(&r, 0.3, 0.9), most = random_between(&r, 40, 200);
        const double at_low = most * pow(1 - pow(cut_in / 1500, 2), bend),
                     at_rated = most * pow(1 - pow(cut_in / 6000, 2), bend);
        wanted = most * pow(1 - pow(cut_in / rotor, 2), bend);
        NEAR(call("output_between", rotor, cut_in, at_low, at_rated), wanted, 1e-6);
        between++;
    }
    cr_expect_gt(between, ROUNDS / 2u);
}

Test(rule, random_batteries_and_bearings)
{
    static const double bores[] = {10, 12, 15, 17, 20, 25, 30};
    random_state r = random_start(503);
    for (int i = 0; i < ROUNDS; i++) {
        const double capacity = random_between(&r, 20, 200), full = random_between(&r, 0.5, 1),
                     least = random_between(&r, 0, 0.5), drain = random_between(&r, 0.005, 5),
                     t = random_between(&r, -30, 50);
        NEAR(call("time_to_flat", capacity * 3600, full, least, drain),
             capacity * (full - least) / drain * 3600, 1e-9);
        const double charge = random_between(&r, 0, 1);
        NEAR(call("battery_charge", call("rested_volts", charge, C(t), 0, 0), C(t), 0, 0), charge, 1e-9);
        const unsigned code = random_below(&r, 7), series = (unsigned[]){0, 2, 3}[random_below(&r, 3)];
        const double number = 6000 + 100 * series + code;
        const double bore = call("bearing_bore", number, 0, 0, 0),
                     outside = call("bearing_outside", number, 0, 0, 0),
                     width = call("bearing_width", number, 0, 0, 0);
        NEAR(bore, bores[code] * MM, 1e-12); /* ISO 15: the bore hangs on the last two figures alone */
        const double off = 0.49 * MM;
        cr_expect_eq(call("bearing_number", bore + random_between(&r, -off, off),
                          outside + random_between(&r, -off, off), width + random_between(&r, -off, off), 0),
                     number);
        static const double pitches[] = {1.60, 2.34, 3.56, 4.70, 9.40};
        const double pitch = pitches[random_below(&r, 5)] * MM;
        NEAR(call("belt_pitch", pitch * random_between(&r, 0.905, 1.095), 0, 0, 0), pitch, 1e-12);
    }
}
