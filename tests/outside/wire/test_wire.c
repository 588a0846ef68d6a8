/* Wire gauges and copper against published tables and GNU Units' own wiregauge. */
#include "bench/cable.h"
#include "bench/winding.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define INCH 0.0254
#define FOOT 0.3048

static FILE *table(const char *name)
{
    char path[300], heading[100];
    snprintf(path, sizeof path, "%s/tests/outside/wire/%s", CW_SOURCE_DIR, name);
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file, "cannot read %s", path);
    cr_assert_not_null(fgets(heading, sizeof heading, file));
    return file;
}

static double per_metre(double area, double temperature)
{
    cw_cable cable = {area, 1, 1, temperature, 0};
    cw_cable_loss loss;
    cr_assert_eq(cw_cable_lose(&cable, 1, &loss), CW_OK);
    return loss.resistance;
}

/* Diameters as ASTM B258 prints them, ohms of a university's table: at 20 degC, not at 25 as one vendor
 * prints above the same figures. */
Test(wire, gauges_and_ohms)
{
    FILE *file = table("wire.csv");
    double gauge, ohm;
    char inch[16];
    int rows = 0;
    for (; fscanf(file, "%lf,%15[^,],%lf", &gauge, inch, &ohm) == 3; rows++) {
        double last = pow(10, -(double)strlen(strchr(inch, '.') + 1)); /* some are cut off, not rounded */
        cr_expect_leq(fabs(cw_gauge_diameter(gauge) / INCH - strtod(inch, NULL)), last, "gauge %g", gauge);
        double ours = per_metre(cw_gauge_area(gauge), CW_TWENTY) * 1000 * FOOT;
        cr_expect_leq(fabs(ours / ohm - 1), 2.5e-4, "gauge %g: %g", gauge, ours);
        cr_expect_gt(fabs(per_metre(cw_gauge_area(gauge), CW_TWENTY + 5) * 1000 * FOOT / ohm - 1), 0.015);
    }
    fclose(file);
    cr_assert_eq(rows, 6);
}

/* What a stranded cable may have at most lies above solid copper, by no more than a fifth. */
Test(wire, stranded_cable_has_a_little_more)
{
    FILE *file = table("stranded.csv");
    double area, most;
    int rows = 0;
    for (; fscanf(file, "%lf,%lf", &area, &most) == 2; rows++) {
        double solid = per_metre(area * 1e-6, CW_TWENTY) * 1000;
        cr_expect(most > solid && most < 1.2 * solid, "%g mm2: %g, at most %g", area, solid, most);
    }
    fclose(file);
    cr_assert_eq(rows, 9);
}

/* IEC 60228 prints 0.98 at 25 degC, 0.781 at 90 to bring a resistance back to 20 degC; it takes 0.004 for
 * 0.00393. */
Test(wire, copper_gets_worse_with_heat)
{
    cr_assert_leq(fabs(cw_copper_resistivity(CW_TWENTY) / cw_copper_resistivity(273.15 + 25) - 0.98), 2e-3);
    cr_assert_leq(fabs(cw_copper_resistivity(CW_TWENTY) / cw_copper_resistivity(273.15 + 90) - 0.781), 4e-3);
}

Test(wire, gauges_agree_with_gnu_units)
{
    for (int gauge = CW_GAUGE_THICKEST; gauge <= CW_GAUGE_THINNEST; gauge++) {
        char command[100], answer[80] = "";
        snprintf(command, sizeof command, "units --terse --output-format '%%.17g' 'wiregauge(%d)' m 2>&1",
                 gauge);
        FILE *pipe = popen(command, "r");
        cr_assert_not_null(pipe);
        cr_assert_not_null(fgets(answer, sizeof answer, pipe), "this test needs the Debian package 'units'");
        cr_assert_eq(pclose(pipe), 0, "this test needs the Debian package 'units': %s", answer);
        double theirs = strtod(answer, NULL);
        cr_expect_leq(fabs(cw_gauge_diameter(gauge) / theirs - 1), 1e-12, "gauge %d: units says %s", gauge,
                      answer);
    }
}
