/* Bits. */
#include "ask/inside.h"

#include <math.h>

static double part(double before, double after)
{
    return after > 0 && before > 0 ? after * log2(after / before) : 0;
}

/* One distribution over another. */
double ask_gained(const double *before, const double *after, size_t count)
{
    double bits = 0;
    for (size_t i = 0; i < count; i++)
        bits += part(before[i], after[i]);
    return fmax(bits, 0);
}

/* Each entry a question of its own, yes or no. Most answers leave most causes alone, and what moves by less
 * than rounding gains nothing, so the logarithms are saved: a share that moves by x of itself gains about x
 * squared. */
double ask_gained_each(const double *before, const double *after, size_t count)
{
    double bits = 0;
    for (size_t i = 0; i < count; i++)
        if (fabs(after[i] - before[i]) > 1e-11 * before[i])
            bits += fmax(part(before[i], after[i]) + part(1 - before[i], 1 - after[i]), 0);
    return bits;
}

/* The class that adds no evidence keeps what the others leave, at least its share of the answers: the rules
 * do not say how often it comes, and a rule that misses its cue must not pass for news. */
void ask_expect(ask_weighed *weighed)
{
    double all = 0, gained = 0, idle = 0;
    for (uint32_t i = 0; i < weighed->class_count; i++) {
        const ask_class *class = &weighed->classes[i];
        if (class->same) {
            idle += (double)class->outcomes / weighed->outcome_count;
            continue;
        }
        double weight = class->weight * (class->new_evidence ? 1 : class->outcomes);
        all += weight;
        gained += weight * class->bits;
    }
    if (idle > 0)
        idle = fmax(idle, 1 - all);
    weighed->bits = all > 0 ? (1 - idle) * gained / all : 0;
}
