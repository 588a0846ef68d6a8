#include "quantity/quantity.h"
#include <math.h>

/* above: the value should lie above the limit, else below. */
static cw_truth one_limit(double limit, bool open, bool above, double value, double error)
{
    if (error > 0 && fabs(value - limit) < error)
        return CW_DOUBTFUL;
    if (value == limit)
        return open ? CW_NO : CW_YES;
    return (value > limit) == above ? CW_YES : CW_NO;
}

cw_truth cw_interval_holds(cw_interval interval, double value, double error)
{
    cw_truth low = one_limit(interval.low, interval.low_open, true, value, error);
    cw_truth high = one_limit(interval.high, interval.high_open, false, value, error);
    return low < high ? low : high;
}
