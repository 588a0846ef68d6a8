/* The beta distribution: its distribution function and its quantiles. Plain functions, any thread.
 *
 * I_x(a, b) by its continued fraction (DLMF 8.17.22), summed with Lentz's method as modified by Thompson and
 * Barnett (1986, J. Comput. Phys. 64, 490-509); the quantile by halving. */
#ifndef CW_LEARN_BETA_H
#define CW_LEARN_BETA_H

/* a, b above 0; x is taken into [0, 1]. */
double learn_beta_below(double x, double a, double b);
/* The x below which lies the share p of Beta(a, b), to about 1e-15. A parameter of 0 (or less) puts all
 * at that end: a = 0 gives 0, b = 0 gives 1. */
double learn_beta_quantile(double p, double a, double b);

#endif
