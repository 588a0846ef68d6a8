#include "learn/shown.h"

#include <math.h>

enum { MOST_STEPS = 20000 };

/* P(it was the unit's own | v showed) */
static double own_share(const learn_shown *of, uint32_t v)
{
    const double own = of->clear * of->chance[v], all = own + of->blurred[v];
    return all > 0 ? own / all : 0;
}

static void expect(learn_shown *of)
{
    of->objective = 0;
    for (uint32_t v = 0; v < of->values; v++) {
        of->expected[v] = of->cases[v] * own_share(of, v);
        const double all = of->clear * of->chance[v] + of->blurred[v];
        if (of->cases[v] > 0 && all > 0)
            of->objective += of->cases[v] * log(all);
        if (of->prior[v] > 0 && of->chance[v] > 0)
            of->objective += of->prior[v] * log(of->chance[v]);
    }
}

static double whole_of(const learn_shown *of)
{
    double whole = 0;
    for (uint32_t v = 0; v < of->values; v++)
        whole += of->prior[v] + of->expected[v];
    return whole;
}

double learn_shown_step(learn_shown *of)
{
    double moved = 0;
    expect(of);
    const double whole = whole_of(of);
    for (uint32_t v = 0; v < of->values && whole > 0; v++) {
        const double chance = (of->prior[v] + of->expected[v]) / whole;
        moved = fmax(moved, fabs(chance - of->chance[v]));
        of->chance[v] = chance;
    }
    of->steps++;
    return moved;
}

/* A case that shows v tells of the own distribution only if it was the own, which has the variance s (1 - s).
 */
static void add_missing(const learn_shown *of, const uint32_t *numbers, learn_spread *spread)
{
    const size_t n = spread->count;
    for (uint32_t v = 0; v < of->values; v++) {
        const double share = own_share(of, v), doubt = of->cases[v] * share * (1 - share);
        for (uint32_t u = 0; u < of->values; u++)
            for (uint32_t w = 0; w < of->values; w++)
                if (numbers[u] != LEARN_NO_COORDINATE && numbers[w] != LEARN_NO_COORDINATE)
                    spread->missing[numbers[u] * n + numbers[w]] +=
                        doubt * ((u == v) - of->chance[u]) * ((w == v) - of->chance[w]);
    }
}

static cw_status work_out_worth(learn_shown *of, const cw_allocator *allocator, uint32_t *numbers)
{
    uint32_t count = 0;
    learn_spread spread;
    learn_spread_number(of->chance, of->values, &count, numbers);
    cw_status status = learn_spread_new(&spread, allocator, count);
    if (status == CW_OK) {
        learn_spread_complete(&spread, of->chance, of->values, numbers, whole_of(of));
        add_missing(of, numbers, &spread);
        status = learn_spread_solve(&spread);
    }
    for (uint32_t v = 0; v < of->values && status == CW_OK; v++)
        of->worth[v] = of->chance[v] > 0 ? learn_spread_worth(&spread, of->chance, of->values, numbers, v)
                                         : whole_of(of);
    learn_spread_free(&spread);
    return status;
}

static bool is_clear(const learn_shown *of)
{
    bool clear = of->clear >= 1;
    for (uint32_t v = 0; v < of->values; v++)
        clear = clear && of->blurred[v] <= 0;
    return clear;
}

cw_status learn_shown_run(learn_shown *of, const cw_allocator *allocator)
{
    static const double still = 1e-13;
    of->steps = 0;
    of->settled = false;
    while (!of->settled && of->steps < MOST_STEPS)
        of->settled = learn_shown_step(of) < still;
    expect(of);
    if (is_clear(of)) {
        for (uint32_t v = 0; v < of->values; v++)
            of->worth[v] = whole_of(of);
        return CW_OK;
    }
    uint32_t *numbers = cw_allocate(allocator, of->values * sizeof *numbers);
    if (numbers == NULL)
        return CW_NO_MEMORY;
    const cw_status status = work_out_worth(of, allocator, numbers);
    cw_release(allocator, numbers, of->values * sizeof *numbers);
    return status;
}
