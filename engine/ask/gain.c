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

/* (1 + x) log(1 + x) - x; near 0 by its series, where the difference would lose its figures. */
static double excess(double x)
{
    const double x2 = x * x;
    if (fabs(x) < 0x1p-6)
        return x2 * (0.5 - x * (1. / 6 - x * (1. / 12) +
                                x2 * (1. / 20 - x * (1. / 30) + x2 * (1. / 42 - x * (1. / 56)))));
    return x > -1 ? (1 + x) * log(1 + x) - x : 1;
}

cw_status ask_beliefs_new(const double *chance, size_t count, cw_arena *arena, ask_beliefs *out)
{
    double *over = CW_NEW_ARRAY(arena, double, count), *over_rest = CW_NEW_ARRAY(arena, double, count);
    if (over == NULL || over_rest == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        over[i] = chance[i] > 0 && chance[i] < 1 ? 1 / chance[i] : 0;
        over_rest[i] = chance[i] > 0 && chance[i] < 1 ? 1 / (1 - chance[i]) : 0;
    }
    *out = (ask_beliefs){chance, over, over_rest};
    return CW_OK;
}

/* With p before and p (1 + x) after, what yes has lost or gained no has gained or lost, and the bits are
 * p excess(x) and the same of no. Most answers leave most causes alone, and what moves by less than rounding
 * gains nothing: a share that moves by x of itself gains about x squared. */
double ask_gained_each(const ask_beliefs *before, const double *after, size_t count)
{
    double nats = 0;
    for (size_t i = 0; i < count; i++) {
        const double p = before->chance[i], moved = after[i] - p;
        if (fabs(moved) > 1e-11 * p && before->over[i] > 0)
            nats += p * excess(moved * before->over[i]) + (1 - p) * excess(-moved * before->over_rest[i]);
    }
    return nats / log(2);
}

double ask_gained_one(double before, double after)
{
    const double over = before > 0 && before < 1 ? 1 / before : 0,
                 over_rest = over > 0 ? 1 / (1 - before) : 0;
    return ask_gained_each(&(ask_beliefs){&before, &over, &over_rest}, &after, 1);
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
