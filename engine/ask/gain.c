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

/* What a class counts for beside the others that tell something. */
static double weight_of(const ask_class *class)
{
    return class->same ? 0 : class->weight * (class->new_evidence ? 1 : class->outcomes);
}

/* The class that adds no evidence keeps what the others leave, at least its share of the answers: the rules
 * do not say how often it comes, and a rule that misses its cue must not pass for news. */
static double idle_share(const ask_weighed *weighed, double all)
{
    double idle = 0;
    for (uint32_t i = 0; i < weighed->class_count; i++)
        if (weighed->classes[i].same)
            idle += (double)weighed->classes[i].outcomes / weighed->outcome_count;
    return idle > 0 ? fmax(idle, 1 - all) : 0;
}

void ask_expect(ask_weighed *weighed)
{
    double all = 0, gained = 0;
    for (uint32_t i = 0; i < weighed->class_count; i++) {
        double weight = weight_of(&weighed->classes[i]);
        all += weight;
        gained += weight * weighed->classes[i].bits;
    }
    weighed->bits = all > 0 ? (1 - idle_share(weighed, all)) * gained / all : 0;
}

void ask_class_chances(const ask_weighed *weighed, double *chance)
{
    double all = 0;
    for (uint32_t i = 0; i < weighed->class_count; i++)
        all += weight_of(&weighed->classes[i]);
    double idle = all > 0 ? idle_share(weighed, all) : 1;
    for (uint32_t i = 0; i < weighed->class_count; i++) {
        const ask_class *class = &weighed->classes[i];
        chance[i] = class->same ? idle : all > 0 ? (1 - idle) * weight_of(class) / all : 0;
    }
}
