/* Bits. */
#include "ask/inside.h"

#include <math.h>
#include <string.h>

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

/* -- Each a question of its own, yes or no -- */

static const double least_asked = 0x1p-900; /* what is less probable gains nothing that could be seen */

cw_status ask_beliefs_new(const double *chance, size_t count, cw_arena *arena, ask_beliefs *out)
{
    double *over = CW_NEW_ARRAY(arena, double, count), *over_rest = CW_NEW_ARRAY(arena, double, count);
    if (over == NULL || over_rest == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < count; i++) {
        const bool asked = chance[i] > least_asked && chance[i] < 1;
        over[i] = asked ? 1 / chance[i] : 0;
        over_rest[i] = asked ? 1 / (1 - chance[i]) : 0;
    }
    *out = (ask_beliefs){chance, over, over_rest};
    return CW_OK;
}

static double number_of(uint64_t bits)
{
    double number;
    memcpy(&number, &bits, sizeof number);
    return number;
}

static uint64_t bits_of(double number)
{
    uint64_t bits;
    memcpy(&bits, &number, sizeof bits);
    return bits;
}

/* (1 + x) log(1 + x) - x for x >= -1, in steps that a compiler can take for several numbers side by side.
 * With 1 + x = k m, k = 2^e, and m near 1, d = m - 1, s = d / (m + 1), q = s^2 / 3 + s^4 / 5 ..,
 *   log m = 2 s (1 + q),  m log m - d = d (s + (1 + s) q),
 *   (1 + x) log(1 + x) - x = k (m log m - d) + k m e log 2 - k + 1:
 * near 0 no figures are lost, for there k = 1 and all terms are small. d takes back what 1 + x has rounded.
 */
static inline double excess(double x)
{
    const double y = 1 + x;
    const uint64_t one = (uint64_t)1023 << 52, root_half = 0x3FE6A09E667F3BCD, units = (uint64_t)1075 << 52;
    const uint64_t e = (bits_of(y) - root_half + one) >> 52; /* with 1023 added */
    const double k = number_of(e << 52), over_k = number_of((2046 - e) << 52);
    const double exponent = number_of(units | e) - (0x1p52 + 1023);
    const double d = (y * over_k - 1) + (x - (y - 1)) * over_k, s = d / (2 + d), z = s * s;
    const double far = 1. / 11 + z * (1. / 13 + z * (1. / 15 + z * (1. / 17 + z * (1. / 19))));
    const double q = z * (1. / 3 + z * (1. / 5 + z * (1. / 7 + z * (1. / 9 + z * far))));
    return k * (d * (s + (1 + s) * q)) + y * exponent * 0.693147180559945309417 + (1 - k);
}

/* What moves, gathered so that it can be worked out side by side. With p before and p (1 + x) after, what yes
 * has lost or gained no has gained or lost, and the bits are p excess(x) and the same of no. */
enum { AT_ONCE = 64 };
typedef struct moves {
    double p[AT_ONCE], yes[AT_ONCE], no[AT_ONCE];
    size_t count;
    double nats;
} moves;

static void work_out(moves *m)
{
    double nats[AT_ONCE];
    for (size_t i = 0; i < m->count; i++)
        nats[i] = m->p[i] * excess(m->yes[i]) + (1 - m->p[i]) * excess(m->no[i]);
    for (size_t i = 0; i < m->count; i++)
        m->nats += nats[i];
    m->count = 0;
}

/* Most answers leave most causes alone, and what moves by less than rounding gains nothing: a share that
 * moves by x of itself gains about x squared. No branch, for nothing foretells it. */
static inline void gather(moves *m, const ask_beliefs *before, double after, size_t i)
{
    const double p = before->chance[i], by = after - p;
    m->p[m->count] = p;
    m->yes[m->count] = by * before->over[i];
    m->no[m->count] = -by * before->over_rest[i];
    m->count += (fabs(by) > 1e-11 * p) & (before->over[i] > 0);
    if (m->count == AT_ONCE)
        work_out(m);
}

double ask_gained_each(const ask_beliefs *before, const double *after, const uint32_t *among, size_t count)
{
    moves m = {.count = 0};
    for (size_t i = 0; i < count && among != NULL; i++)
        gather(&m, before, after[among[i]], among[i]);
    for (size_t i = 0; i < count && among == NULL; i++)
        gather(&m, before, after[i], i);
    work_out(&m);
    return m.nats / log(2);
}

double ask_gained_one(double before, double after)
{
    if (!(before > least_asked && before < 1))
        return 0;
    const double by = after - before;
    return (before * excess(by / before) + (1 - before) * excess(-by / (1 - before))) / log(2);
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
