#include "waves.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define PI 3.14159265358979323846
#define SEEN 2e-3 /* V rms: less ripple than this no scope shows; other values are drawn then */

const char *const wave_faults[WAVES_FAULTS] = {"healthy", "diode_open", "diode_shorted", "phase_open"};

static double normal(random_state *random)
{
    double radius = sqrt(-2 * log(random_unit(random) + 1e-300));
    return radius * cos(2 * PI * random_unit(random));
}

static double log_between(random_state *random, double low, double high)
{
    return exp(random_between(random, log(low), log(high)));
}

static void write_diodes(FILE *file, random_state *random, int fault)
{
    unsigned bad = random_below(random, 6);
    fprintf(file, ".model DX D(IS=1e-9 N=1.4 RS=%g CJO=2n)\n", random_between(random, 2e-3, 6e-3));
    for (unsigned k = 0; k < 6; k++) {
        char phase = "abc"[k % 3], from = k < 3 ? phase : 'n', to = k < 3 ? 'p' : phase;
        if (k == bad && fault == 1)
            fprintf(file, "RD%u %c %c 1meg\n", k, from, to);
        else if (k == bad && fault == 2)
            fprintf(file, "RD%u %c %c 2m\n", k, from, to);
        else
            fprintf(file, "D%u %c %c DX\n", k, from, to);
    }
}

/* A wye of three windings, no two quite alike, with the iron's loss across each. */
static void write_windings(FILE *file, random_state *random, int fault, double emf, double frequency)
{
    double resistance = log_between(random, 10e-3, 80e-3), turn = random_between(random, 0, 360);
    double inductance = random_between(random, 0.05, 0.5) / (2 * PI * frequency);
    unsigned open = random_below(random, 3);
    for (unsigned k = 0; k < 3; k++) {
        char c = "abc"[k];
        double ohms = fault == 3 && k == open ? 1e6 : resistance * (1 + 0.01 * normal(random));
        fprintf(file, "V%c e%c 0 SIN(0 %g %g 0 0 %g)\nR%c e%c m%c %g\nL%c m%c %c %g\nRf%c %c 0 100\n", c, c,
                emf * (1 + 0.005 * normal(random)), frequency, turn - 120.0 * k, c, c, c, ohms, c, c, c,
                inductance, c, c);
    }
}

static void write_netlist(const char *path, const char *data, random_state *random, int fault,
                          double frequency)
{
    double battery = random_between(random, 12, 13.2), period = 1 / frequency;
    double emf = (battery + 1.4) / 1.65 * random_between(random, 1.25, 2.2);
    FILE *file = fopen(path, "w");
    cr_assert_not_null(file);
    fputs("* three-phase bridge\n", file);
    write_windings(file, random, fault, emf, frequency);
    write_diodes(file, random, fault);
    if (random_below(random, 10) != 0) /* one in ten runs without a battery */
        fprintf(file, "Rbat p bp %g\nVbat bp n %g\n", log_between(random, 5e-3, 60e-3), battery);
    fprintf(file, "Rload p n %g\n.options method=gear reltol=1e-3\n.control\n", log_between(random, 0.25, 3));
    fprintf(file, "tran %g %g %g %g\n", period / 200, 28 * period, 8 * period, period / 200);
    fprintf(file, "linearize v(p) v(n)\nlet vo=v(p)-v(n)\nwrdata %s vo\nquit 0\n.endc\n.end\n", data);
    cr_assert_eq(fclose(file), 0);
}

static void read_data(const char *path, wave *out)
{
    FILE *file = fopen(path, "r");
    cr_assert_not_null(file, "this test needs the Debian package 'ngspice'");
    out->count = 0;
    while (out->count < WAVES_MOST &&
           fscanf(file, "%lf %lf", &out->time[out->count], &out->volts[out->count]) == 2)
        out->count++;
    fclose(file);
    cr_assert_gt(out->count, 3000, "ngspice says too little");
    out->mean = out->rms = 0;
    for (size_t i = 0; i < out->count; i++)
        out->mean += out->volts[i] / (double)out->count;
    for (size_t i = 0; i < out->count; i++)
        out->rms += (out->volts[i] - out->mean) * (out->volts[i] - out->mean) / (double)out->count;
    out->rms = sqrt(out->rms);
}

void wave_solve(random_state *random, int fault, wave *out)
{
    static const double pairs[] = {5, 6, 6, 6, 7, 8};
    char folder[] = "/tmp/cw-ripple-XXXXXX", netlist[64], data[64], command[160];
    cr_assert_not_null(mkdtemp(folder));
    snprintf(netlist, sizeof netlist, "%s/net.cir", folder);
    snprintf(data, sizeof data, "%s/out.txt", folder);
    snprintf(command, sizeof command, "ngspice -b %s >/dev/null 2>&1", netlist);
    do {
        out->frequency = log_between(random, 1800, 9000) / 60 * pairs[random_below(random, 6)];
        write_netlist(netlist, data, random, fault, out->frequency);
        cr_assert_eq(system(command), 0, "this test needs the Debian package 'ngspice'");
        read_data(data, out);
    } while (out->rms < SEEN);
    unlink(netlist);
    unlink(data);
    rmdir(folder);
}

/* Volts at a time, straight between samples. */
static double at(const wave *from, double time)
{
    double place =
        (time - from->time[0]) / (from->time[from->count - 1] - from->time[0]) * (double)(from->count - 1);
    size_t k = place > 0 ? (size_t)place : 0;
    k = k > from->count - 2 ? from->count - 2 : k;
    while (k > 0 && from->time[k] > time)
        k--;
    while (k < from->count - 2 && from->time[k + 1] < time)
        k++;
    double share = (time - from->time[k]) / (from->time[k + 1] - from->time[k]);
    return from->volts[k] + (from->volts[k + 1] - from->volts[k]) * share;
}

void wave_capture(random_state *random, const wave *from, wave *out)
{
    double period = 1 / from->frequency;
    double periods = random_between(random, 3.5, 18), samples = log_between(random, 40, 300);
    double begin = from->time[0] + (0.2 + random_unit(random)) * period, step = period / samples;
    double noise = from->rms * random_between(random, 0.02, 0.2),
           jitter = random_between(random, 0, 0.3) * step;
    double wander = random_between(random, 0, 0.005),
           pace = 2 * PI * from->frequency * random_between(random, 0.02, 0.15);
    double turn = random_between(random, 0, 2 * PI), taken = random_below(random, 2) != 0 ? from->mean : 0;
    *out = (wave){.frequency = from->frequency, .rms = from->rms, .mean = from->mean - taken};
    for (size_t i = 0; i < (size_t)(periods * samples) && i < WAVES_MOST; i++) {
        double time = begin + step * (double)i;
        double real = time + jitter * (2 * random_unit(random) - 1) + wander / pace * sin(pace * time + turn);
        out->time[i] = time;
        out->volts[i] = at(from, real) + noise * normal(random) - taken;
        out->count++;
    }
}
