/* Two independent draws joined: something is drawn when either side has drawn it. One bit:
 *   (x0, x1) with (m0, m1)  =  (x0 m0, x0 m1 + x1 (m0 + m1))
 * and so on for each half of more bits: three products of half the size, none of them negative. */
#include "rank/sweep_inside.h"

void rank_merge(const double *x, const double *m, uint32_t bits, double *out, double *room)
{
    if (bits == 0) {
        out[0] = x[0] * m[0];
        return;
    }
    if (bits == 1) {
        out[1] = x[0] * m[1] + x[1] * (m[0] + m[1]);
        out[0] = x[0] * m[0];
        return;
    }
    const size_t half = (size_t)1 << (bits - 1);
    double *sum = room, *part = out;
    for (size_t s = 0; s < half; s++)
        sum[s] = m[s] + m[half + s];
    rank_merge(x + half, sum, bits - 1, out + half, room + half);
    rank_merge(x, m + half, bits - 1, part, room);
    for (size_t s = 0; s < half; s++)
        out[half + s] += part[s];
    rank_merge(x, m, bits - 1, out, room);
}

void rank_unmerge(const double *y, const double *m, uint32_t bits, double *out, double *room)
{
    if (bits == 0) {
        out[0] = y[0] * m[0];
        return;
    }
    if (bits == 1) {
        out[0] = y[0] * m[0] + y[1] * m[1];
        out[1] = y[1] * (m[0] + m[1]);
        return;
    }
    const size_t half = (size_t)1 << (bits - 1);
    double *sum = room, *part = out + half;
    rank_unmerge(y, m, bits - 1, out, room);
    rank_unmerge(y + half, m + half, bits - 1, part, room);
    for (size_t s = 0; s < half; s++)
        out[s] += part[s];
    for (size_t s = 0; s < half; s++)
        sum[s] = m[s] + m[half + s];
    rank_unmerge(y + half, sum, bits - 1, out + half, room + half);
}
