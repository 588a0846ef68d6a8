/* Two independent draws joined: something is drawn when either side has drawn it. One bit:
 *   (x0, x1) with (m0, m1)  =  (x0 m0, x0 m1 + x1 (m0 + m1))
 * and so on for each half of more bits: three products of half the size, none of them negative. Each entry is
 * one number for each lane. */
#include "rank/sweep_inside.h"

void rank_merge(const double *x, const double *m, uint32_t bits, uint32_t lanes, double *out, double *room)
{
    if (bits == 0) {
        for (uint32_t k = 0; k < lanes; k++)
            out[k] = x[k] * m[k];
        return;
    }
    if (bits == 1) {
        for (uint32_t k = 0; k < lanes; k++) {
            out[lanes + k] = x[k] * m[lanes + k] + x[lanes + k] * (m[k] + m[lanes + k]);
            out[k] = x[k] * m[k];
        }
        return;
    }
    const size_t half = ((size_t)1 << (bits - 1)) * lanes;
    double *sum = room, *part = out;
    for (size_t s = 0; s < half; s++)
        sum[s] = m[s] + m[half + s];
    rank_merge(x + half, sum, bits - 1, lanes, out + half, room + half);
    rank_merge(x, m + half, bits - 1, lanes, part, room);
    for (size_t s = 0; s < half; s++)
        out[half + s] += part[s];
    rank_merge(x, m, bits - 1, lanes, out, room);
}

void rank_unmerge(const double *y, const double *m, uint32_t bits, uint32_t lanes, double *out, double *room)
{
    if (bits == 0) {
        for (uint32_t k = 0; k < lanes; k++)
            out[k] = y[k] * m[k];
        return;
    }
    if (bits == 1) {
        for (uint32_t k = 0; k < lanes; k++) {
            out[k] = y[k] * m[k] + y[lanes + k] * m[lanes + k];
            out[lanes + k] = y[lanes + k] * (m[k] + m[lanes + k]);
        }
        return;
    }
    const size_t half = ((size_t)1 << (bits - 1)) * lanes;
    double *sum = room, *part = out + half;
    rank_unmerge(y, m, bits - 1, lanes, out, room);
    rank_unmerge(y + half, m + half, bits - 1, lanes, part, room);
    for (size_t s = 0; s < half; s++)
        out[s] += part[s];
    for (size_t s = 0; s < half; s++)
        sum[s] = m[s] + m[half + s];
    rank_unmerge(y + half, sum, bits - 1, lanes, out + half, room + half);
}
