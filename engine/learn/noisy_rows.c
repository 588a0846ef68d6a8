/* Rows to the groups and sources of noisy.h. */
#include "learn/inside.h"
#include "learn/noisy.h"

#include <stdlib.h>

static int by_number(const void *a, const void *b)
{
    const uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return x < y ? -1 : x > y;
}

cw_status learn_makers(const sum *of, makers *out)
{
    size_t count = 0, kept = 0;
    for (size_t i = 0; i < of->count; i++)
        count += of->rows[i]->size - AT_MAKERS;
    uint32_t *all = CW_NEW_ARRAY(of->arena, uint32_t, count);
    if (all == NULL)
        return CW_NO_MEMORY;
    count = 0;
    for (size_t i = 0; i < of->count; i++)
        for (uint32_t k = AT_MAKERS; k < of->rows[i]->size; k++)
            all[count++] = numbers_of(of->learner, of->rows[i])[k];
    qsort(all, count, sizeof *all, by_number);
    for (size_t i = 0; i < count; i++)
        if (kept == 0 || all[kept - 1] != all[i])
            all[kept++] = all[i];
    *out = (makers){all, (uint32_t)kept, CW_NEW_ARRAY(of->arena, learn_source, kept)};
    return out->sources == NULL ? CW_NO_MEMORY : CW_OK;
}

static bool has_maker(const sum *of, const row *one, uint32_t maker)
{
    const uint32_t *numbers = numbers_of(of->learner, one);
    for (uint32_t k = AT_MAKERS; k < one->size; k++)
        if (numbers[k] == maker)
            return true;
    return false;
}

uint64_t learn_cases(const sum *of, uint32_t maker)
{
    uint64_t cases = 0;
    for (size_t i = 0; i < of->count; i++)
        cases += has_maker(of, of->rows[i], maker) ? of->rows[i]->cases : 0;
    return cases;
}

uint64_t learn_seen(const sum *of, uint32_t maker, uint32_t value)
{
    uint64_t cases = 0;
    for (size_t i = 0; i < of->count; i++)
        if (numbers_of(of->learner, of->rows[i])[AT_VALUE] == value && has_maker(of, of->rows[i], maker))
            cases += of->rows[i]->cases;
    return cases;
}

cw_status learn_source_from(const sum *of, makers *all, uint32_t i, const double *book, double worth,
                            uint32_t values, bool open)
{
    double *numbers = CW_NEW_ARRAY(of->arena, double, (size_t)values * 4);
    double whole = 0;
    if (numbers == NULL)
        return CW_NO_MEMORY;
    learn_source *source = &all->sources[i];
    *source = (learn_source){.values = values,
                             .prior = numbers,
                             .chance = numbers + values,
                             .expected = numbers + 2 * (size_t)values,
                             .worth = numbers + 3 * (size_t)values};
    for (uint32_t v = 0; v < values; v++) {
        numbers[v] = worth * book[v];
        source->chance[v] = book[v];
        if (open && book[v] <= 0 && learn_seen(of, all->numbers[i], v) > 0)
            source->chance[v] = 0.5 / worth;
        whole += source->chance[v];
    }
    for (uint32_t v = 0; v < values; v++)
        source->chance[v] /= whole;
    return CW_OK;
}

uint32_t learn_maker_index(const makers *all, uint32_t maker)
{
    const uint32_t *at = bsearch(&maker, all->numbers, all->count, sizeof *all->numbers, by_number);
    return at == NULL ? all->count : (uint32_t)(at - all->numbers);
}

cw_status learn_group_of(const sum *of, const makers *all, const row *one, learn_group *out)
{
    const uint32_t *numbers = numbers_of(of->learner, one);
    const uint32_t count = one->size - AT_MAKERS;
    uint32_t *sources = CW_NEW_ARRAY(of->arena, uint32_t, count);
    if (sources == NULL)
        return CW_NO_MEMORY;
    for (uint32_t k = 0; k < count; k++)
        sources[k] = learn_maker_index(all, numbers[AT_MAKERS + k]);
    *out = (learn_group){.sources = sources,
                         .count = count,
                         .value = numbers[AT_VALUE],
                         .times = times_of(numbers),
                         .cases = (double)one->cases};
    return CW_OK;
}

cw_status learn_noisy_sum(const sum *of, learn_noisy *noisy)
{
    const cw_status status = learn_noisy_run(noisy, &of->learner->allocator);
    of->out->impossible += (uint64_t)noisy->impossible;
    of->out->settled = of->out->settled && noisy->settled;
    return status;
}
