/* Random numbers for tests: xorshift64* (Marsaglia 2003, Vigna 2016), the same on every machine for one seed.
 */
#ifndef CW_TESTS_RANDOM_H
#define CW_TESTS_RANDOM_H

#include <stdint.h>
#include <string.h>

typedef struct random_state {
    uint64_t x; /* never 0 */
} random_state;

static inline random_state random_start(uint64_t seed)
{
    return (random_state){seed != 0 ? seed : 0x9E3779B97F4A7C15U};
}

static inline uint64_t random_next(random_state *state)
{
    state->x ^= state->x >> 12;
    state->x ^= state->x << 25;
    state->x ^= state->x >> 27;
    return state->x * 0x2545F4914F6CDD1DU;
}

/* 0 .. below - 1; below must not be 0. The slight bias of the remainder does not matter in tests. */
static inline uint32_t random_below(random_state *state, uint32_t below)
{
    return (uint32_t)((random_next(state) >> 32) % below);
}

/* In [0, 1). */
static inline double random_unit(random_state *state)
{
    return (double)(random_next(state) >> 11) * 0x1.0p-53;
}

static inline double random_between(random_state *state, double low, double high)
{
    return low + (high - low) * random_unit(state);
}

/* Any finite double, all sizes equally often. */
static inline double random_double(random_state *state)
{
    for (;;) {
        uint64_t bits = random_next(state);
        double x;
        memcpy(&x, &bits, sizeof x);
        if (x - x == 0)
            return x;
    }
}

#endif
