#include "spice.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static void write_winding(FILE *out, const cw_rectifier *r, int k)
{
    char end = "abc"[k];
    char start = r->winding == CW_WYE ? 's' : "abc"[(k + 1) % 3];
    if (r->windings[k] != CW_PART_OPEN) {
        fprintf(out, "V%d e%d %c SIN(0 %.9g %.9g 0 0 %d)\n", k, k, start, r->emf, r->frequency, -120 * k);
        fprintf(out, "R%d e%d m%d %.9g\n", k, k, k, r->resistance);
        fprintf(out, "L%d m%d %c %.9g\n", k, k, end, fmax(r->inductance, 1e-12));
        fprintf(out, "Rf%d %c %c %.9g\n", k, end, start, r->iron);
    }
    if (r->windings[k] == CW_PART_SHORTED)
        fprintf(out, "Rx%d %c %c %.9g\n", k, end, start, CW_RECTIFIER_SHORT);
}

static void write_diode(FILE *out, const cw_rectifier *r, int k)
{
    char terminal = "abc"[k % 3];
    char anode = k < 3 ? terminal : '0';
    char cathode = k < 3 ? 'p' : terminal;
    if (r->diodes[k] == CW_PART_GOOD)
        fprintf(out, "D%d %c %c DX\n", k, anode, cathode);
    else
        fprintf(out, "RD%d %c %c %.9g\n", k, anode, cathode,
                r->diodes[k] == CW_PART_OPEN ? 1 / CW_RECTIFIER_LEAK : CW_RECTIFIER_SHORT);
    fprintf(out, "Rleak%d %c %c %.9g\n", k, anode, cathode, 1 / CW_RECTIFIER_LEAK);
}

void spice_write(const char *path, const cw_rectifier *r, int settle)
{
    double period = 1 / r->frequency;
    FILE *out = fopen(path, "w");
    cr_assert_not_null(out, "cannot write %s", path);
    fprintf(out, "* three-phase bridge\n.model DX D(IS=%.9g N=%.9g RS=%.9g CJO=2n)\n", r->diode.saturation,
            r->diode.steepness / SPICE_THERMAL, r->diode.resistance);
    for (int k = 0; k < 3; k++)
        write_winding(out, r, k);
    for (int k = 0; k < 6; k++)
        write_diode(out, r, k);
    if (r->battery_resistance < INFINITY)
        fprintf(out, "Rbat p bp %.9g\nVbat bp 0 %.9g\n", r->battery_resistance, r->battery);
    if (r->load < INFINITY)
        fprintf(out, "Rload p 0 %.9g\n", r->load);
    if (r->winding == CW_WYE)
        fputs("Rstar s 0 1g\n", out);
    fprintf(out, ".options method=gear reltol=1e-5\n.control\ntran %.9g %.9g %.9g %.9g\nlet vo=v(p)\n",
            period / 1000, (settle + 10) * period, settle * period, period / 1500);
    fprintf(out, "meas tran vmean avg vo from=%.9g to=%.9g\nmeas tran vpp pp vo from=%.9g to=%.9g\n",
            settle * period, (settle + 10) * period, settle * period, (settle + 10) * period);
    fprintf(out,
            "set nfreqs=13\nset fourgridsize=4000\nset polydegree=1\nfourier %.9g vo\nquit 0\n.endc\n.end\n",
            r->frequency);
    cr_assert_eq(fclose(out), 0);
}

spice_figures spice_run(const char *path)
{
    char command[600], line[400];
    snprintf(command, sizeof command, "ngspice -b '%s' 2>/dev/null", path);
    FILE *pipe = popen(command, "r");
    cr_assert_not_null(pipe);
    spice_figures figures = {.mean = NAN, .peak_to_peak = NAN};
    int seen = 0;
    while (fgets(line, sizeof line, pipe) != NULL) {
        int order;
        double at, size;
        if (sscanf(line, " vmean = %lf", &size) == 1)
            figures.mean = size;
        else if (sscanf(line, " vpp = %lf", &size) == 1)
            figures.peak_to_peak = size;
        else if (sscanf(line, " %d %lf %lf", &order, &at, &size) == 3 && order == seen &&
                 seen <= SPICE_ORDERS)
            figures.amplitude[seen++] = size;
    }
    cr_assert_eq(pclose(pipe), 0, "this test needs the Debian package 'ngspice'; %s", path);
    cr_assert_eq(seen, SPICE_ORDERS + 1, "ngspice says too little about %s", path);
    cr_assert(isfinite(figures.mean));
    return figures;
}
