#include "rank/inside.h"

#include <string.h>

void *rank_take(const cw_allocator *allocator, size_t count, size_t size, bool *failed)
{
    void *memory = cw_allocate(allocator, (count + 1) * size);
    if (memory == NULL)
        *failed = true;
    else
        memset(memory, 0, (count + 1) * size);
    return memory;
}

void rank_give(const cw_allocator *allocator, void *memory, size_t count, size_t size)
{
    if (memory != NULL)
        cw_release(allocator, memory, (count + 1) * size);
}

const cw_sign *rank_sign(const cw_model *model, cw_run signs, cw_fact_id fact)
{
    uint32_t low = signs.first, high = signs.first + signs.count;
    while (low < high) {
        const uint32_t middle = low + (high - low) / 2;
        if (model->signs[middle].fact < fact)
            low = middle + 1;
        else
            high = middle;
    }
    return low < signs.first + signs.count && model->signs[low].fact == fact ? &model->signs[low] : NULL;
}
