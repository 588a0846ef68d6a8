/* The bridge against ngspice, a program that shares nothing with us: the netlists in this folder, whose
 * figures are printed in printed.csv, and others written at random. */
#include "spice.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const int orders[] = {1, 2, 3, 6};
enum { ORDERS = sizeof orders / sizeof *orders };

/* The bridge a file of this folder stands for, by its name. */
static cw_rectifier by_name(const char *name)
{
    cw_rectifier r = {.winding = CW_WYE, .frequency = 500, .battery_resistance = INFINITY};
    if (strncmp(name, "ideal", 5) == 0) {
        r.emf = 100;
        r.resistance = 1e-3;
        r.iron = INFINITY;
        r.diode = (cw_diode){CW_DIODE_EXPONENTIAL, 1e-12, 0.02 * SPICE_THERMAL, 0, 1e-4};
        r.load = 10;
    } else {
        r.emf = 14;
        r.resistance = 30e-3;
        r.inductance = 50e-6;
        r.iron = 100;
        r.diode = (cw_diode){CW_DIODE_EXPONENTIAL, 1e-9, 1.4 * SPICE_THERMAL, 0, 3e-3};
        bool battery = strncmp(name, "battery", 7) == 0;
        r.load = battery ? 0.7 : 0.5;
        r.battery = 12.6;
        r.battery_resistance = battery ? 20e-3 : INFINITY;
    }
    const char *fault = strchr(name, '_') + 1;
    if (strcmp(fault, "open_phase") == 0)
        r.windings[0] = CW_PART_OPEN;
    else if (strcmp(fault, "healthy") != 0)
        r.diodes[0] = strcmp(fault, "shorted_diode") == 0 ? CW_PART_SHORTED : CW_PART_OPEN;
    if (strcmp(fault, "open_two_same_bank") == 0)
        r.diodes[1] = CW_PART_OPEN;
    if (strcmp(fault, "open_two_same_leg") == 0)
        r.diodes[3] = CW_PART_OPEN;
    return r;
}

/* A printed figure stands for what rounds to it; beyond that, `share` of it or of the scale. */
static void expect_printed(const char *what, double got, const char *printed, double share, double scale)
{
    char *end;
    double wanted = strtod(printed, &end);
    if (end == printed)
        return;
    const char *point = strchr(printed, '.');
    double last = point == NULL ? 1 : pow(10, -(double)(end - point - 1));
    double allowed = last / 2 + share * fmax(fabs(wanted), scale);
    cr_expect(fabs(got - wanted) <= allowed, "%s: %g, printed %s", what, got, printed);
}

/* name,mean,mean_current,ripple,peak_to_peak,f,2f,3f,6f */
static void compare_row(char *row)
{
    char *cells[9];
    char what[256];
    for (int i = 0; i < 9; i++) {
        cells[i] = row;
        row += strcspn(row, ",\n");
        *row++ = '\0';
    }
    cw_rectifier r = by_name(cells[0]);
    cw_rectified out;
    cr_assert_eq(cw_rectifier_solve(&r, CW_RECTIFIER_STEPS, NULL, &out), CW_OK);
    double scale = 0;
    for (int i = 0; i < ORDERS; i++)
        scale = fmax(scale, out.amplitude[orders[i]]);
    double got[] = {out.mean, out.mean_current, out.ripple, out.peak_to_peak};
    const char *names[] = {"mean", "mean current", "ripple", "peak to peak"};
    const double share[] = {1e-3, 5e-3, 5e-3, 1e-2};
    for (int i = 0; i < 4; i++) {
        snprintf(what, sizeof what, "%s, %s", cells[0], names[i]);
        expect_printed(what, got[i], cells[i + 1], share[i], 0);
    }
    for (int i = 0; i < ORDERS; i++) {
        snprintf(what, sizeof what, "%s, order %d", cells[0], orders[i]);
        expect_printed(what, out.amplitude[orders[i]], cells[i + 5], 5e-3, scale);
    }
}

Test(spice, printed_figures)
{
    FILE *file = fopen(CW_SOURCE_DIR "/tests/outside/rectifier/printed.csv", "r");
    cr_assert_not_null(file);
    char row[200];
    int rows = 0;
    cr_assert_not_null(fgets(row, sizeof row, file));
    for (; fgets(row, sizeof row, file) != NULL; rows++)
        compare_row(row);
    fclose(file);
    cr_assert_eq(rows, 15);
}

static void compare(const cw_rectifier *r, const spice_figures *theirs, const char *what)
{
    cw_rectified ours;
    cr_assert_eq(cw_rectifier_solve(r, CW_RECTIFIER_STEPS, NULL, &ours), CW_OK);
    cr_expect(fabs(ours.mean - theirs->mean) <= 0.01 * fabs(theirs->mean), "%s: mean %g, ngspice %g", what,
              ours.mean, theirs->mean);
    double scale = 0;
    for (int i = 0; i < ORDERS; i++)
        scale = fmax(scale, theirs->amplitude[orders[i]]);
    for (int i = 0; i < ORDERS; i++)
        cr_expect(fabs(ours.amplitude[orders[i]] - theirs->amplitude[orders[i]]) <= 0.03 * scale,
                  "%s: order %d is %g, ngspice %g (largest %g)", what, orders[i], ours.amplitude[orders[i]],
                  theirs->amplitude[orders[i]], scale);
}

/* The netlists that lie here, run anew. */
Test(spice, stored_netlists)
{
    static const char *const names[] = {"battery_healthy",    "battery_open_diode",   "battery_shorted_diode",
                                        "battery_open_phase", "nobattery_open_diode", "ideal_open_diode"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[300];
        snprintf(path, sizeof path, "%s/tests/outside/rectifier/%s.cir", CW_SOURCE_DIR, names[i]);
        cw_rectifier r = by_name(names[i]);
        spice_figures theirs = spice_run(path);
        compare(&r, &theirs, names[i]);
    }
}

static double ten(random_state *random, double low, double high)
{
    return pow(10, random_between(random, low, high));
}

static void break_something(random_state *random, cw_rectifier *r)
{
    cw_part_state how = random_below(random, 2) == 0 ? CW_PART_OPEN : CW_PART_SHORTED;
    switch (random_below(random, 5)) {
    case 0:
        break;
    case 1:
    case 2:
        r->diodes[random_below(random, 6)] = how;
        break;
    case 3:
        r->windings[random_below(random, 3)] = how;
        break;
    default:
        r->diodes[random_below(random, 6)] = CW_PART_OPEN;
        r->diodes[random_below(random, 6)] = how;
    }
}

/* 12 and 24 V units from idle to top speed, wye and delta, on and off the battery. */
static cw_rectifier draw(random_state *random, int *settle)
{
    cw_rectifier r = {.winding = random_below(random, 2) == 0 ? CW_WYE : CW_DELTA};
    double system = random_below(random, 3) == 0 ? 25.2 : 12.6;
    r.frequency = ten(random, 2, 3.2);
    r.resistance = ten(random, -2, -0.7);
    r.inductance = random_below(random, 5) == 0 ? 0 : r.resistance / r.frequency * ten(random, -2, 0.3);
    r.emf = system * random_between(random, 0.8, 2);
    if (r.winding == CW_DELTA)
        r.emf *= sqrt(3);
    r.iron = ten(random, 1.5, 2.5);
    r.diode = (cw_diode){CW_DIODE_EXPONENTIAL, ten(random, -12, -8),
                         random_between(random, 1, 1.8) * SPICE_THERMAL, 0, ten(random, -3, -2)};
    r.battery = system;
    r.battery_resistance = random_below(random, 4) == 0 ? INFINITY : ten(random, -2, -0.7);
    r.load = ten(random, -0.5, 1);
    break_something(random, &r);
    *settle = 10 + (int)ceil(12 * r.inductance / r.resistance * r.frequency);
    return r;
}

static void compare_random(uint64_t seed, int cases)
{
    random_state random = random_start(seed);
    for (int i = 0; i < cases; i++) {
        char path[300];
        char what[40];
        int settle;
        cw_rectifier r = draw(&random, &settle);
        snprintf(path, sizeof path, "%s/results/bridge-%d-%d.cir", CW_BINARY_DIR, (int)seed, i);
        snprintf(what, sizeof what, "case %d of seed %d", i, (int)seed);
        spice_write(path, &r, settle);
        spice_figures theirs = spice_run(path);
        compare(&r, &theirs, what);
        unlink(path);
    }
}

Test(spice, random_bridges_a)
{
    compare_random(101, 20);
}

Test(spice, random_bridges_b)
{
    compare_random(102, 20);
}

Test(spice, random_bridges_c)
{
    compare_random(103, 20);
}
