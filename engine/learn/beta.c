#include "learn/beta.h"

#include <math.h>

enum { MOST_TERMS = 100000, HALVINGS = 64 };

/* log(Gamma(x) / its Stirling approximation's leading terms) by Abramowitz & Stegun 6.1.41, moved up by the
 * recurrence 6.1.15 until seven terms give all digits. The C library's lgamma writes a global. */
static double log_gamma(double x)
{
    static const double half_log_two_pi = 0.91893853320467274178;
    double lower = 0;
    while (x < 15) {
        lower += log(x);
        x += 1;
    }
    const double y = 1 / (x * x);
    const double series =
        (1.0 / 12 -
         y * (1.0 / 360 -
              y * (1.0 / 1260 - y * (1.0 / 1680 - y * (1.0 / 1188 - y * (691.0 / 360360 - y / 156)))))) /
        x;
    return (x - 0.5) * log(x) - x + half_log_two_pi + series - lower;
}

/* Term n of the fraction 1 / (1 + d1 / (1 + d2 / (1 + ...))). */
static double term(double x, double a, double b, int n)
{
    const int half = n / 2;
    const double m = half;
    if (n % 2 == 0)
        return m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
    return -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
}

static double away_from_zero(double x)
{
    return fabs(x) < 1e-300 ? 1e-300 : x;
}

/* Converges fast for x < (a + 1) / (a + b + 2). */
static double fraction(double x, double a, double b)
{
    double up = 1, down = 1 / away_from_zero(1 + term(x, a, b, 1)), value = down;
    for (int n = 2; n < MOST_TERMS; n++) {
        const double d = term(x, a, b, n);
        down = 1 / away_from_zero(1 + d * down);
        up = away_from_zero(1 + d / up);
        value *= up * down;
        if (fabs(up * down - 1) < 1e-16)
            break;
    }
    return value;
}

double learn_beta_below(double x, double a, double b)
{
    if (!(x > 0))
        return 0;
    if (x >= 1)
        return 1;
    const double log_front = a * log(x) + b * log1p(-x) + log_gamma(a + b) - log_gamma(a) - log_gamma(b);
    if (x < (a + 1) / (a + b + 2))
        return exp(log_front) / a * fraction(x, a, b);
    return 1 - exp(log_front) / b * fraction(1 - x, b, a);
}

double learn_beta_quantile(double p, double a, double b)
{
    double low = 0, high = 1;
    if (a <= 0)
        return 0;
    if (b <= 0)
        return 1;
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = low + (high - low) / 2;
        if (learn_beta_below(middle, a, b) < p)
            low = middle;
        else
            high = middle;
    }
    return low + (high - low) / 2;
}
