#include "learn/spread.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

void learn_spread_number(const double *chance, uint32_t values, uint32_t *next, uint32_t *numbers)
{
    uint32_t likeliest = 0;
    for (uint32_t v = 1; v < values; v++)
        if (chance[v] > chance[likeliest])
            likeliest = v;
    for (uint32_t v = 0; v < values; v++)
        numbers[v] = v == likeliest || chance[v] <= 0 ? LEARN_NO_COORDINATE : (*next)++;
}

static size_t bytes_of(const learn_spread *spread)
{
    return (size_t)spread->count * spread->count * sizeof(double);
}

cw_status learn_spread_new(learn_spread *spread, const cw_allocator *allocator, uint32_t count)
{
    *spread = (learn_spread){.allocator = allocator, .count = count};
    if (count > LEARN_MOST_COORDINATES)
        return CW_LIMIT;
    if (count == 0)
        return CW_OK;
    spread->complete = cw_allocate(allocator, bytes_of(spread));
    spread->missing = cw_allocate(allocator, bytes_of(spread));
    spread->inverse = cw_allocate(allocator, bytes_of(spread));
    if (spread->complete != NULL && spread->missing != NULL && spread->inverse != NULL) {
        memset(spread->complete, 0, bytes_of(spread));
        memset(spread->missing, 0, bytes_of(spread));
        return CW_OK;
    }
    learn_spread_free(spread);
    return CW_NO_MEMORY;
}

void learn_spread_free(learn_spread *spread)
{
    double *const all[] = {spread->complete, spread->missing, spread->inverse};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++)
        if (all[i] != NULL)
            cw_release(spread->allocator, all[i], bytes_of(spread));
    *spread = (learn_spread){.allocator = spread->allocator};
}

void learn_spread_complete(learn_spread *spread, const double *chance, uint32_t values,
                           const uint32_t *numbers, double cases)
{
    const size_t n = spread->count;
    for (uint32_t u = 0; u < values; u++)
        for (uint32_t w = 0; w < values; w++)
            if (numbers[u] != LEARN_NO_COORDINATE && numbers[w] != LEARN_NO_COORDINATE)
                spread->complete[numbers[u] * n + numbers[w]] +=
                    cases * ((u == w ? chance[u] : 0) - chance[u] * chance[w]);
}

/* The lower triangle of complete - share * missing becomes L, with L L' = it (Cholesky); false where it is
 * not positive definite. */
static bool decompose(learn_spread *spread, double share)
{
    const size_t n = spread->count;
    double *l = spread->inverse;
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k <= i; k++) {
            const double whole = spread->complete[i * n + k];
            double left = whole - share * spread->missing[i * n + k];
            for (size_t m = 0; m < k; m++)
                left -= l[i * n + m] * l[k * n + m];
            if (i == k && !(left > 1e-12 * whole))
                return false;
            l[i * n + k] = i == k ? sqrt(left) : left / l[k * n + k];
        }
    return true;
}

/* From L to the inverse of L L', in place: first that of L, then its transpose times itself. */
static void invert(learn_spread *spread)
{
    const size_t n = spread->count;
    double *l = spread->inverse;
    for (size_t k = 0; k < n; k++) {
        l[k * n + k] = 1 / l[k * n + k];
        for (size_t i = k + 1; i < n; i++) {
            double sum = 0;
            for (size_t m = k; m < i; m++)
                sum -= l[i * n + m] * l[m * n + k];
            l[i * n + k] = sum / l[i * n + i];
        }
    }
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k <= i; k++) {
            double sum = 0;
            for (size_t m = i; m < n; m++)
                sum += l[m * n + i] * l[m * n + k];
            l[i * n + k] = sum; /* row i is read no more: what follows reads rows below */
        }
    for (size_t i = 0; i < n; i++)
        for (size_t k = i + 1; k < n; k++)
            l[i * n + k] = l[k * n + i];
}

cw_status learn_spread_solve(learn_spread *spread)
{
    static const double shares[] = {1, 1 - 1e-6, 0.999, 0.9, 0};
    for (size_t i = 0; i < sizeof shares / sizeof *shares && spread->count > 0; i++)
        if (decompose(spread, shares[i])) {
            invert(spread);
            return CW_OK;
        }
    return spread->count == 0 ? CW_OK : CW_LIMIT;
}

double learn_spread_worth(const learn_spread *spread, const double *chance, uint32_t values,
                          const uint32_t *numbers, uint32_t value)
{
    const size_t n = spread->count;
    double variance = 0;
    for (uint32_t u = 0; u < values; u++)
        for (uint32_t w = 0; w < values; w++)
            if (numbers[u] != LEARN_NO_COORDINATE && numbers[w] != LEARN_NO_COORDINATE)
                variance += ((u == value) - chance[u]) * ((w == value) - chance[w]) *
                            spread->inverse[numbers[u] * n + numbers[w]];
    variance *= chance[value] * chance[value];
    return variance > 0 ? chance[value] * (1 - chance[value]) / variance : 0;
}
