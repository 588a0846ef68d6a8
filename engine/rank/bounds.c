#include "rank/bounds.h"

#include <assert.h>
#include <math.h>

static cw_cause_id shower(const bounds_view *view, uint32_t i)
{
    return view->net->shows[view->showing.first + i].cause;
}

static bool counts(const bounds_view *view, uint32_t i)
{
    return view->net->causes[shower(view, i)].possible;
}

void rank_bounds_view(bounds_view *view, const cw_evidence *seen)
{
    const cw_model *model = view->net->model;
    double below;
    view->most = rank_net_background(model, seen->fact, seen->value, &below);
    view->leak = view->most > 0 ? below / view->most : 0;
    view->showing = view->net->showing[seen->fact];
    for (uint32_t i = 0; i < view->showing.count; i++) {
        const cw_cause_id id = shower(view, i);
        view->cause_most[id] = rank_net_draws(model, id, seen->fact, seen->value, &below);
        view->ratio[id] = view->cause_most[id] > 0 ? below / view->cause_most[id] : 0;
    }
}

double rank_bounds_weakness(const bounds_view *view)
{
    double most = 1, ratio = 1;
    for (uint32_t i = 0; i < view->showing.count; i++)
        if (counts(view, i)) {
            most *= view->cause_most[shower(view, i)];
            ratio *= view->ratio[shower(view, i)];
        }
    const double high = 1 - view->leak * ratio;
    return high > 0 ? most * (1 - view->leak) / high : 1;
}

/* log(1 - exp(-z)). */
static double f(double z)
{
    return z < 0.5 ? log(-expm1(-z)) : log1p(-exp(-z));
}

/* How far a cause moves z; enough to make the finding all but sure where it always shows it. */
static double distance(const bounds_view *view, uint32_t i)
{
    const double r = view->ratio[shower(view, i)];
    return r > 0 ? fmin(-log(r), 40) : 40;
}

/* The part that is a product of itself. */
static void work_in_most(const bounds_view *view, network *net)
{
    net->log_factor += log(view->most);
    for (uint32_t i = 0; i < view->showing.count; i++)
        if (counts(view, i))
            net->causes[shower(view, i)].weight *= view->cause_most[shower(view, i)];
}

/* Where z is thought to be; away from 0, where there is no tangent. */
static double expected(const bounds_view *view, const double *by_cause)
{
    double z = -log(view->leak);
    for (uint32_t i = 0; i < view->showing.count; i++)
        if (counts(view, i))
            z += by_cause[shower(view, i)] * fmin(distance(view, i), 4);
    return fmin(fmax(z, 1e-9), 40);
}

void rank_bounds_above(const bounds_view *view, network *net, const double *by_cause)
{
    work_in_most(view, net);
    if (view->leak <= 0)
        return;
    const double z = expected(view, by_cause), slope = 1 / expm1(z);
    const double start = f(z) + slope * (-log(view->leak) - z);
    if (start >= 0)
        return; /* 1 is above it, too */
    net->log_factor += start;
    for (uint32_t i = 0; i < view->showing.count; i++) {
        if (!counts(view, i))
            continue;
        const double r = view->ratio[shower(view, i)];
        const double rise = r > 0 ? fmin(-slope * log(r), -start) : -start;
        net->causes[shower(view, i)].weight *= exp(rise);
    }
}

/* What a cause adds to the logarithm of the product below, present: q (f(z0 + d / q) - f(z0)). Without its
 * linear part, that is what its share should be in proportion to (a fixed point, in a few rounds). */
static void find_shares(const bounds_view *view, const double *by_cause, double z0)
{
    double sum = 0;
    for (uint32_t i = 0; i < view->showing.count; i++) {
        const cw_cause_id id = shower(view, i);
        view->share[id] = counts(view, i) ? (by_cause[id] + 1e-9) * -expm1(-distance(view, i)) : 0;
        sum += view->share[id];
    }
    for (int round = 0; round < 12 && sum > 0; round++) {
        double next = 0;
        for (uint32_t i = 0; i < view->showing.count; i++) {
            const cw_cause_id id = shower(view, i);
            const double q = view->share[id] / sum, d = distance(view, i);
            if (q < 1e-12) {
                view->share[id] = 0;
                continue;
            }
            const double z = z0 + d / q, slope = z < 700 ? 1 / expm1(z) : 0;
            const double gain = f(z) - d / q * slope - f(z0);
            view->share[id] = gain > 0 ? (by_cause[id] + 1e-9) * q * gain : 0;
            next += view->share[id];
        }
        sum = next;
    }
    for (uint32_t i = 0; i < view->showing.count && sum > 0; i++)
        view->share[shower(view, i)] /= sum;
}

/* Where the background never brings the finding about by itself: the likeliest to have done so, alone. */
static void share_with_one(const bounds_view *view, const double *by_cause)
{
    cw_cause_id best = 0;
    double most = -1;
    for (uint32_t i = 0; i < view->showing.count; i++) {
        const cw_cause_id id = shower(view, i);
        const double says = by_cause[id] * (1 - view->ratio[id]);
        view->share[id] = 0;
        if (counts(view, i) && says > most) {
            best = id;
            most = says;
        }
    }
    if (best != 0)
        view->share[best] = 1;
}

void rank_bounds_below(const bounds_view *view, network *net, const double *by_cause)
{
    work_in_most(view, net);
    if (view->leak <= 0)
        return;
    const double z0 = -log(view->leak);
    if (view->leak < 1)
        find_shares(view, by_cause, z0);
    else
        share_with_one(view, by_cause);
    double left = 1;
    for (uint32_t i = 0; i < view->showing.count; i++) {
        net_cause *cause = &net->causes[shower(view, i)];
        const double q = view->share[shower(view, i)], r = view->ratio[shower(view, i)];
        if (!counts(view, i) || q <= 0)
            continue;
        const double absent = pow(1 - view->leak, q);
        const double present = pow(1 - view->leak * (r > 0 ? pow(r, 1 / q) : 0), q);
        left -= q;
        cause->weight *= present;
        cause->lacks *= absent;
    }
    net->log_factor += left > 1e-15 ? left * log1p(-view->leak) : 0; /* nobody's share */
}

void rank_bounds_close(double above, double below, double log_ratio, double *probability, double *low,
                       double *high)
{
    const double ratio = exp(fmax(log_ratio, 0)); /* infinite where nothing holds from below */
    *low = isfinite(ratio) && below > 0 ? below / (below + ratio * (1 - above)) : 0;
    *high = isfinite(ratio) && below < 1 ? ratio * above / (ratio * above + (1 - below)) : 1;
    *low = fmin(fmax(*low, 0), 1);
    *high = fmin(fmax(*high, *low), 1);
    const double middle = isfinite(ratio) ? (above + below) / 2 : above;
    *probability = fmin(fmax(middle, *low), *high);
}
