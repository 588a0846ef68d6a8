/* The net of one stage: all its elements take more current at more volts, so the currents into the nodes are
 * the gradient of a convex function of the node voltages, and its second derivative is symmetric and
 * positive. */
#include "bench/rectifier_inside.h"
#include <math.h>
#include <string.h>

double net_diode(const bridge_net *net, int k, const double *v, double *across, double *slope)
{
    int terminal = k % WINDINGS;
    *across = k < WINDINGS ? v[terminal] - v[PLUS] : -v[terminal];
    double current = 0;
    *slope = 0;
    if (net->about->diodes[k] == CW_PART_GOOD)
        current = cw_diode_current(&net->about->diode, *across, slope);
    else if (net->about->diodes[k] == CW_PART_SHORTED)
        *slope = 1 / CW_RECTIFIER_SHORT;
    if (net->about->diodes[k] == CW_PART_SHORTED)
        current = *across / CW_RECTIFIER_SHORT;
    *slope += CW_RECTIFIER_LEAK;
    return current + CW_RECTIFIER_LEAK * *across;
}

/* An element from node a to node b (-1: minus) that takes `current` and `slope` more of it a volt. */
static void stamp(double *bend, double *gradient, int a, int b, double current, double slope)
{
    if (a >= 0) {
        gradient[a] += current;
        bend[a * NODES + a] += slope;
    }
    if (b >= 0) {
        gradient[b] -= current;
        bend[b * NODES + b] += slope;
    }
    if (a >= 0 && b >= 0) {
        bend[a * NODES + b] -= slope;
        bend[b * NODES + a] -= slope;
    }
}

/* Currents out of each node, and how they change. */
static void look(const bridge_net *net, const double *v, double *gradient, double *bend)
{
    memset(gradient, 0, NODES * sizeof *gradient);
    memset(bend, 0, sizeof *bend * NODES * NODES);
    for (int k = 0; k < WINDINGS; k++) {
        double slope = net->conductance[k] + net->across[k];
        double current = (v[k] - v[net->from[k]]) * slope - net->source[k];
        stamp(bend, gradient, k, net->from[k], current, slope);
    }
    for (int k = 0; k < BRIDGE_DIODES; k++) {
        double across, slope;
        double current = net_diode(net, k, v, &across, &slope);
        if (k < WINDINGS)
            stamp(bend, gradient, k, PLUS, current, slope);
        else
            stamp(bend, gradient, -1, k - WINDINGS, current, slope);
    }
    double load = 1 / net->about->load;
    double battery = 1 / net->about->battery_resistance;
    stamp(bend, gradient, PLUS, -1, load * v[PLUS] + battery * (v[PLUS] - net->about->battery),
          load + battery);
}

/* bend = L D L^T in place. Minus hangs on the rest by every diode's leak, so no pivot vanishes but by
 * rounding. */
static void factor(double *bend, int n)
{
    for (int j = 0; j < n; j++) {
        for (int k = 0; k < j; k++)
            bend[j * NODES + j] -= bend[j * NODES + k] * bend[j * NODES + k] * bend[k * NODES + k];
        if (!(bend[j * NODES + j] > CW_RECTIFIER_LEAK / 1024))
            bend[j * NODES + j] = CW_RECTIFIER_LEAK / 1024;
        for (int i = j + 1; i < n; i++) {
            for (int k = 0; k < j; k++)
                bend[i * NODES + j] -= bend[i * NODES + k] * bend[j * NODES + k] * bend[k * NODES + k];
            bend[i * NODES + j] /= bend[j * NODES + j];
        }
    }
}

void net_respond(const bridge_net *net, double *x)
{
    const double *bend = net->bend;
    for (int i = 0; i < net->nodes; i++)
        for (int k = 0; k < i; k++)
            x[i] -= bend[i * NODES + k] * x[k];
    for (int i = 0; i < net->nodes; i++)
        x[i] /= bend[i * NODES + i];
    for (int i = net->nodes - 1; i >= 0; i--)
        for (int k = i + 1; k < net->nodes; k++)
            x[i] -= bend[k * NODES + i] * x[k];
}

static double dot(const double *a, const double *b, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++)
        sum += a[i] * b[i];
    return sum;
}

/* The slope of the convex function along the step, `part` of it from v; the voltages there are left in at,
 * with their gradient and bend. */
static double slope_along(bridge_net *net, const double *step, double part, double *at, double *gradient)
{
    for (int i = 0; i < net->nodes; i++)
        at[i] = net->v[i] + part * step[i];
    look(net, at, gradient, net->bend);
    return dot(gradient, step, net->nodes);
}

/* Between a part where the function still falls and one where it rises again: by false position with the
 * Illinois halving to where it falls less than half as steeply as at the start. */
static void search_between(bridge_net *net, const double *step, double start, double slope_high, double *at,
                           double *gradient)
{
    double low = 0, high = 1;
    double slope_low = start;
    int side = 0;
    for (int i = 0; i < 60; i++) {
        double part = low + (high - low) * slope_low / (slope_low - slope_high);
        if (!(part > low && part < high))
            part = (low + high) / 2;
        double slope = slope_along(net, step, part, at, gradient);
        if (slope <= 0 && slope >= 0.5 * start)
            return;
        if (slope < 0) {
            low = part;
            slope_low = slope;
            slope_high = side == -1 ? slope_high / 2 : slope_high;
            side = -1;
        } else {
            high = part;
            slope_high = slope;
            slope_low = side == 1 ? slope_low / 2 : slope_low;
            side = 1;
        }
    }
    slope_along(net, step, low, at, gradient);
}

/* Goes along the step as far as the function falls for certain: all the way where it has levelled out there.
 */
static void search(bridge_net *net, const double *step, double start, double *gradient)
{
    double at[NODES] = {0};
    double slope = slope_along(net, step, 1, at, gradient);
    if (slope > -0.1 * start)
        search_between(net, step, start, slope, at, gradient);
    memcpy(net->v, at, sizeof at);
}

bool net_settle(bridge_net *net)
{
    double gradient[NODES];
    double step[NODES];
    look(net, net->v, gradient, net->bend);
    for (int tries = 0; tries < 200; tries++) {
        factor(net->bend, net->nodes);
        net->solves++;
        for (int i = 0; i < net->nodes; i++)
            step[i] = -gradient[i];
        net_respond(net, step);
        double start = dot(gradient, step, net->nodes);
        if (!(-start > net->enough)) {
            for (int i = 0; i < net->nodes; i++)
                net->v[i] += step[i];
            return isfinite(start);
        }
        search(net, step, start, gradient);
    }
    return false;
}
