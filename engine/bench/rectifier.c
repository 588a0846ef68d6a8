#include "bench/rectifier_inside.h"
#include <math.h>
#include <string.h>

#define GAMMA 0.29289321881345247560 /* 1 - sqrt(1/2): both stages of Alexander's scheme are damped by it */
#define TURN 6.28318530717958647693
#define CLOSED 1e-6

typedef struct bridge_walk {
    const cw_rectifier *about;
    bridge_net net;
    double step;                       /* s */
    double weight[WINDINGS];           /* A for V s put into a winding's stage; 0 if it is open */
    double current[WINDINGS];          /* A, out of terminal k */
    double change[WINDINGS][WINDINGS]; /* of current k by starting current j */
    double emf[WINDINGS];
    cw_rectified *out;
} bridge_walk;

static bool at_least(double x, double least)
{
    return isfinite(x) && x >= least;
}

static bool sound(const cw_rectifier *r)
{
    bool endless = r->battery_resistance == INFINITY;
    for (int k = 0; k < BRIDGE_DIODES; k++)
        if (r->diodes[k] > CW_PART_SHORTED)
            return false;
    for (int k = 0; k < WINDINGS; k++)
        if (r->windings[k] > CW_PART_SHORTED)
            return false;
    return at_least(r->emf, 0) && at_least(r->frequency, 1e-3) && at_least(r->resistance, 1e-6) &&
           at_least(r->inductance, 0) && (r->iron == INFINITY || at_least(r->iron, 1e-3)) &&
           cw_diode_sound(&r->diode) && r->diode.resistance >= 1e-5 && isfinite(r->battery) &&
           (endless || at_least(r->battery_resistance, 1e-6)) &&
           (r->load == INFINITY || at_least(r->load, 1e-6)) && r->winding <= CW_DELTA;
}

static void walk_start(bridge_walk *walk, const cw_rectifier *r, uint32_t steps, cw_rectified *out)
{
    *out = (cw_rectified){0};
    *walk = (bridge_walk){.about = r, .out = out, .step = 1 / (r->frequency * steps)};
    bridge_net *net = &walk->net;
    net->about = r;
    net->nodes = r->winding == CW_WYE ? NODES : STAR;
    double volts = r->emf + fabs(r->battery);
    net->enough = 1e-15 * volts * volts / (r->resistance + TURN * r->frequency * r->inductance);
    if (r->battery_resistance < INFINITY)
        net->v[PLUS] = r->battery;
    double each = GAMMA * walk->step; /* s, of a stage */
    for (int k = 0; k < WINDINGS; k++) {
        net->from[k] = r->winding == CW_WYE ? STAR : (k + 1) % WINDINGS;
        if (r->windings[k] == CW_PART_OPEN)
            continue;
        walk->weight[k] = 1 / (r->inductance + each * r->resistance);
        net->conductance[k] = each * walk->weight[k];
        net->across[k] = 1 / r->iron;
        if (r->windings[k] == CW_PART_SHORTED)
            net->across[k] += 1 / CW_RECTIFIER_SHORT;
    }
}

static double winding_volts(const bridge_walk *walk, int k, const double *v)
{
    return v[k] - v[walk->net.from[k]];
}

/* What the net answers to changes of the linkages (V s by starting current): the changes of the currents, and
 * of the volts left over on each winding's inductance. */
static void stage_change(const bridge_walk *walk, double linkage[][WINDINGS], double rest[][WINDINGS],
                         double change[][WINDINGS])
{
    for (int j = 0; j < WINDINGS; j++) {
        double v[NODES] = {0};
        for (int k = 0; k < WINDINGS; k++) {
            v[k] += walk->weight[k] * linkage[k][j];
            v[walk->net.from[k]] -= walk->weight[k] * linkage[k][j];
        }
        net_respond(&walk->net, v);
        for (int k = 0; k < WINDINGS; k++) {
            change[k][j] =
                walk->weight[k] * linkage[k][j] - walk->net.conductance[k] * winding_volts(walk, k, v);
            rest[k][j] = -winding_volts(walk, k, v) - walk->about->resistance * change[k][j];
        }
    }
}

/* One stage: the linkages (V s) reached so far, with what the stage itself adds. False when the net would not
 * settle. */
static bool stage(bridge_walk *walk, double turn, const double *linkage, double *rest, double *current)
{
    for (int k = 0; k < WINDINGS; k++) {
        walk->emf[k] = walk->about->emf * sin(TURN * (turn - k / 3.0));
        walk->net.source[k] = walk->weight[k] * (linkage[k] + GAMMA * walk->step * walk->emf[k]);
    }
    if (!net_settle(&walk->net))
        return false;
    for (int k = 0; k < WINDINGS; k++) {
        double volts = winding_volts(walk, k, walk->net.v);
        current[k] = walk->net.source[k] - walk->net.conductance[k] * volts;
        rest[k] = walk->emf[k] - volts - walk->about->resistance * current[k];
    }
    return true;
}

/* turn: the fraction of the period at the step's beginning. */
static bool advance(bridge_walk *walk, double turn, double part)
{
    double inductance = walk->about->inductance;
    double between = (1 - GAMMA) * walk->step;
    double linkage[WINDINGS], rest[WINDINGS];
    double linkage_change[WINDINGS][WINDINGS], rest_change[WINDINGS][WINDINGS];
    double start[WINDINGS], start_change[WINDINGS][WINDINGS];
    for (int k = 0; k < WINDINGS; k++) {
        linkage[k] = start[k] = inductance * walk->current[k];
        for (int j = 0; j < WINDINGS; j++)
            linkage_change[k][j] = start_change[k][j] = inductance * walk->change[k][j];
    }
    if (!stage(walk, turn + GAMMA * part, linkage, rest, walk->current))
        return false;
    stage_change(walk, linkage_change, rest_change, walk->change);
    for (int k = 0; k < WINDINGS; k++) {
        linkage[k] = start[k] + between * rest[k];
        for (int j = 0; j < WINDINGS; j++)
            linkage_change[k][j] = start_change[k][j] + between * rest_change[k][j];
    }
    if (!stage(walk, turn + part, linkage, rest, walk->current))
        return false;
    stage_change(walk, linkage_change, rest_change, walk->change);
    return true;
}

typedef struct wave_sums {
    double least, most, square;
    double cosine[CW_RECTIFIER_ORDERS + 1], sine[CW_RECTIFIER_ORDERS + 1];
} wave_sums;

/* Adds what stands at the end of a step; `turn` is where in the period. */
static void add(const bridge_walk *walk, wave_sums *sums, double turn)
{
    const cw_rectifier *r = walk->about;
    cw_rectified *out = walk->out;
    const double *v = walk->net.v;
    double volts = v[PLUS];
    sums->least = fmin(sums->least, volts);
    sums->most = fmax(sums->most, volts);
    sums->square += volts * volts;
    double c = cos(TURN * turn), s = sin(TURN * turn);
    double ck = 1, sk = 0; /* of order k */
    for (int k = 0; k <= CW_RECTIFIER_ORDERS; k++) {
        sums->cosine[k] += volts * ck;
        sums->sine[k] += volts * sk;
        double next = ck * c - sk * s;
        sk = sk * c + ck * s;
        ck = next;
    }
    for (int k = 0; k < WINDINGS; k++) {
        double across = winding_volts(walk, k, v);
        out->given += walk->emf[k] * walk->current[k];
        out->copper += r->resistance * walk->current[k] * walk->current[k];
        out->iron += walk->net.across[k] * across * across;
        out->winding_current[k] += walk->current[k] * walk->current[k];
    }
    for (int k = 0; k < BRIDGE_DIODES; k++) {
        double across, slope;
        double current = net_diode(&walk->net, k, v, &across, &slope);
        out->diodes[k] += across * current;
    }
    double taken = volts / r->load + (volts - r->battery) / r->battery_resistance;
    out->mean_current += taken;
    out->output += volts * taken;
}

static void average(cw_rectified *out, const wave_sums *sums, uint32_t steps)
{
    double n = steps;
    for (int k = 0; k <= CW_RECTIFIER_ORDERS; k++)
        out->amplitude[k] = 2 / n * hypot(sums->cosine[k], sums->sine[k]);
    out->mean = sums->cosine[0] / n;
    out->amplitude[0] = out->mean;
    out->peak_to_peak = sums->most - sums->least;
    out->ripple = sqrt(fmax(0, sums->square / n - out->mean * out->mean));
    double *totals[] = {&out->given, &out->copper, &out->iron, &out->output, &out->mean_current};
    for (size_t i = 0; i < sizeof totals / sizeof *totals; i++)
        *totals[i] /= n;
    for (int k = 0; k < BRIDGE_DIODES; k++)
        out->diodes[k] /= n;
    for (int k = 0; k < WINDINGS; k++)
        out->winding_current[k] = sqrt(out->winding_current[k] / n);
}

/* One period from the currents that stand there; *largest: of the currents on the way. */
static bool period(bridge_walk *walk, uint32_t steps, double *wave, double *largest)
{
    cw_rectified *out = walk->out;
    uint32_t periods = out->periods + 1;
    *out = (cw_rectified){.periods = periods};
    wave_sums sums = {.least = INFINITY, .most = -INFINITY};
    memset(walk->change, 0, sizeof walk->change);
    *largest = 0;
    for (int k = 0; k < WINDINGS; k++)
        walk->change[k][k] = 1;
    for (uint32_t i = 0; i < steps; i++) {
        if (!advance(walk, (double)i / steps, 1.0 / steps))
            return false;
        add(walk, &sums, (i + 1.0) / steps);
        if (wave != NULL)
            wave[i] = walk->net.v[PLUS];
        for (int k = 0; k < WINDINGS; k++)
            *largest = fmax(*largest, fabs(walk->current[k]));
    }
    average(out, &sums, steps);
    return true;
}

/* x with (1 - change) x = gap, by elimination with the largest pivot of each column. */
static bool solve_gap(const bridge_walk *walk, const double *gap, double *x)
{
    double a[WINDINGS][WINDINGS + 1];
    for (int i = 0; i < WINDINGS; i++) {
        for (int j = 0; j < WINDINGS; j++)
            a[i][j] = (i == j) - walk->change[i][j];
        a[i][WINDINGS] = gap[i];
    }
    for (int j = 0; j < WINDINGS; j++) {
        int pivot = j;
        for (int i = j + 1; i < WINDINGS; i++)
            if (fabs(a[i][j]) > fabs(a[pivot][j]))
                pivot = i;
        if (!(fabs(a[pivot][j]) > 1e-9))
            return false;
        for (int c = j; c <= WINDINGS; c++) {
            double kept = a[j][c];
            a[j][c] = a[pivot][c];
            a[pivot][c] = kept;
        }
        for (int i = 0; i < WINDINGS; i++) {
            double times = i == j ? 0 : a[i][j] / a[j][j];
            for (int c = j; c <= WINDINGS; c++)
                a[i][c] -= times * a[j][c];
        }
    }
    for (int i = 0; i < WINDINGS; i++)
        x[i] = a[i][WINDINGS] / a[i][i];
    return true;
}

/* The search for the currents that come back after a period. */
typedef struct closing {
    double start[WINDINGS], gap[WINDINGS], step[WINDINGS]; /* the best so far, and where it points */
    double distance;                                       /* how far apart its ends are, A */
    double share;                                          /* of the step that is tried */
} closing;

/* Takes the period just run from `start`, and says where the next is to begin: a Newton step on, or a smaller
 * share of the last step if that led no nearer; if no share does, the period's end, for losses draw all
 * starts together. */
static void close_in(bridge_walk *walk, closing *best, const double *start)
{
    double gap[WINDINGS];
    for (int k = 0; k < WINDINGS; k++)
        gap[k] = walk->current[k] - start[k];
    double distance = hypot(hypot(gap[0], gap[1]), gap[2]);
    if (distance < best->distance) {
        best->distance = distance;
        best->share = 1;
        memcpy(best->start, start, sizeof best->start);
        memcpy(best->gap, gap, sizeof gap);
        if (!solve_gap(walk, gap, best->step))
            memcpy(best->step, gap, sizeof gap);
    } else {
        best->share /= 4;
    }
    if (best->share < 1.0 / 64) {
        best->share = 1;
        best->distance = INFINITY;
        memcpy(best->step, best->gap, sizeof best->gap);
    }
    for (int k = 0; k < WINDINGS; k++)
        walk->current[k] = best->start[k] + best->share * best->step[k];
}

cw_status cw_rectifier_solve(const cw_rectifier *rectifier, uint32_t steps, double *wave, cw_rectified *out)
{
    if (rectifier == NULL || out == NULL || steps < CW_RECTIFIER_LEAST || steps > CW_RECTIFIER_MOST ||
        !sound(rectifier))
        return CW_BAD_CALL;
    bridge_walk walk;
    walk_start(&walk, rectifier, steps, out);
    closing best = {.distance = INFINITY};
    double volts = rectifier->emf + fabs(rectifier->battery);
    double small =
        1e-4 * volts / (rectifier->resistance + TURN * rectifier->frequency * rectifier->inductance);
    while (out->periods < CW_RECTIFIER_PERIODS) {
        double start[WINDINGS];
        double largest;
        memcpy(start, walk.current, sizeof start);
        if (!period(&walk, steps, wave, &largest))
            break;
        double widest = 0;
        for (int k = 0; k < WINDINGS; k++)
            widest = fmax(widest, fabs(walk.current[k] - start[k]));
        out->mismatch = largest + small > 0 ? widest / (largest + small) : 0;
        out->solves = walk.net.solves;
        if (out->mismatch <= CLOSED)
            return CW_OK;
        close_in(&walk, &best, start);
    }
    return CW_LIMIT;
}

cw_rectifier cw_rectifier_healthy(const cw_rectifier *rectifier)
{
    cw_rectifier healthy = *rectifier;
    memset(healthy.diodes, 0, sizeof healthy.diodes);
    memset(healthy.windings, 0, sizeof healthy.windings);
    return healthy;
}
