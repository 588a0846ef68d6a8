/* What is inside a ball bearing of a designation: balls and their pitch circle. ISO 15 fixes the outside
 * alone, so only a few are known and the others are estimated. */
#ifndef CW_BENCH_SHAPE_H
#define CW_BENCH_SHAPE_H

#include "bench/bearing.h"
#include <stdbool.h>

/* *published: the shape is that of a published data set (6203, 6205); otherwise it is estimated: the pitch
 * circle midway between bore and outside, balls 0.293 (diameter series 2 and 3) or 0.265 (series 0) of the
 * room between them wide, filling 0.62 of the circle. That gives the balls known from memory for 6003,
 * 6201, 6202, 6204, 6206, 6302, 6303; makers differ, and one ball more or less moves every tone by an eighth.
 * Millimetres. NULL in, all zeros out. */
cw_bearing_shape cw_bearing_shape_of(const cw_bearing_size *size, bool *published);

#endif
