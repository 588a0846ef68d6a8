#include "network.h"

#include <stdint.h>
#include <string.h>

/* One finding in fifty is seen without any cause: what a pack says by default. */
#define LEAK 0.02

static unsigned number(unsigned a, unsigned b)
{
    uint64_t x = ((uint64_t)a << 32 | b) + 0x9E3779B97F4A7C15U;
    x = (x ^ x >> 30) * 0xBF58476D1CE4E5B9U;
    x = (x ^ x >> 27) * 0x94D049BB133111EBU;
    return (unsigned)(x >> 40);
}

unsigned network_seen(unsigned cause)
{
    return 1 + number(cause, 1000) % 20;
}

/* Steps that come back only after all findings: 4,075 is 5 x 5 x 163. */
unsigned network_finding(unsigned cause, unsigned k)
{
    unsigned step = 1 + number(cause, 1001) % (NET_FINDINGS - 1);
    while (step % 5 == 0 || step % 163 == 0)
        step++;
    return (unsigned)((number(cause, 1002) + (uint64_t)step * k) % NET_FINDINGS);
}

unsigned network_shows(unsigned cause, unsigned k)
{
    return 5 + number(cause, k) % 91;
}

static double shows(unsigned cause, unsigned finding)
{
    for (unsigned k = 0; k < NET_SIGNS; k++)
        if (network_finding(cause, k) == finding)
            return network_shows(cause, k) / 100.0;
    return 0;
}

static bool is_in(const unsigned *list, unsigned count, unsigned finding)
{
    for (unsigned i = 0; i < count; i++)
        if (list[i] == finding)
            return true;
    return false;
}

network_found network_case(void)
{
    network_found out;
    memset(&out, 0, sizeof out);
    unsigned count = 0;
    for (unsigned i = 0; count < NET_POSITIVE; i++) {
        const unsigned finding = network_finding(100 * (i % 3), i);
        if (!is_in(out.positive, count, finding))
            out.positive[count++] = finding;
    }
    count = 0;
    for (unsigned i = 0; count < NET_NEGATIVE; i++) {
        const unsigned finding = number(i, 77) % NET_FINDINGS;
        const bool shown = shows(0, finding) > 0 || shows(100, finding) > 0 || shows(200, finding) > 0;
        if (!shown && !is_in(out.negative, count, finding))
            out.negative[count++] = finding;
    }
    return out;
}

bool network_is_near(const network_found *found, unsigned finding)
{
    unsigned before = finding;
    for (unsigned i = 0; i < NET_POSITIVE; i++)
        before -= found->positive[i] < finding;
    for (unsigned i = 0; i < NET_NEGATIVE; i++)
        before -= found->negative[i] < finding;
    return before < NET_NEAR && !is_in(found->positive, NET_POSITIVE, finding) &&
           !is_in(found->negative, NET_NEGATIVE, finding);
}

/* Of one cause: absent, and present without showing the positive findings of a set or any negative one. */
static double present_part(const double *misses, double weight, unsigned set)
{
    for (unsigned i = 0; i < NET_POSITIVE; i++)
        if (set >> i & 1)
            weight *= misses[i];
    return weight;
}

void network_plain(const network_found *found, unsigned positive, double *by_cause)
{
    static double misses[NET_CAUSES][NET_POSITIVE], weight[NET_CAUSES], own[NET_CAUSES], present[NET_CAUSES];
    double whole = 0;
    for (unsigned c = 0; c < NET_CAUSES; c++) {
        own[c] = network_seen(c) / 1000.0;
        weight[c] = own[c];
        by_cause[c] = 0;
        for (unsigned i = 0; i < NET_POSITIVE; i++)
            misses[c][i] = 1 - shows(c, found->positive[i]);
        for (unsigned i = 0; i < NET_NEGATIVE; i++)
            weight[c] *= 1 - shows(c, found->negative[i]);
    }
    for (unsigned set = 0; set < 1u << positive; set++) {
        double term = 1;
        for (unsigned i = 0; i < positive; i++)
            term *= set >> i & 1 ? -(1 - LEAK) : 1;
        for (unsigned c = 0; c < NET_CAUSES; c++) {
            present[c] = present_part(misses[c], weight[c], set);
            term *= 1 - own[c] + present[c];
        }
        whole += term;
        for (unsigned c = 0; c < NET_CAUSES; c++)
            by_cause[c] += term * present[c] / (1 - own[c] + present[c]);
    }
    for (unsigned c = 0; c < NET_CAUSES; c++)
        by_cause[c] /= whole;
}
