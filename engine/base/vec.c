#include "base/vec.h"
#include <stdint.h>
#include <string.h>

_Bool cw_size_times(size_t a, size_t b, size_t *product)
{
    return !__builtin_mul_overflow(a, b, product);
}

_Bool cw_size_plus(size_t a, size_t b, size_t *sum)
{
    return !__builtin_add_overflow(a, b, sum);
}

static cw_status resize(cw_vec *vec, size_t capacity)
{
    size_t bytes;
    if (!cw_size_times(capacity, vec->item_size, &bytes))
        return CW_NO_MEMORY;
    void *items =
        vec->allocator->resize(vec->allocator->context, vec->items, vec->capacity * vec->item_size, bytes);
    if (items == NULL)
        return CW_NO_MEMORY;
    vec->items = items;
    vec->capacity = capacity;
    return CW_OK;
}

cw_status cw_vec_reserve(cw_vec *vec, size_t capacity)
{
    return capacity <= vec->capacity ? CW_OK : resize(vec, capacity);
}

void *cw_vec_add(cw_vec *vec)
{
    if (vec->count == vec->capacity) {
        size_t capacity = 8;
        if (vec->capacity > 0 && !cw_size_times(vec->capacity, 2, &capacity))
            return NULL;
        if (resize(vec, capacity) != CW_OK)
            return NULL;
    }
    void *item = (char *)vec->items + vec->count * vec->item_size;
    memset(item, 0, vec->item_size);
    vec->count++;
    return item;
}

void *cw_vec_give_away(cw_vec *vec, size_t *bytes)
{
    void *items = resize(vec, vec->count + 1) == CW_OK ? vec->items : NULL;
    if (items == NULL)
        return NULL;
    *bytes = vec->capacity * vec->item_size;
    memset((char *)items + vec->count * vec->item_size, 0, vec->item_size);
    *vec = (cw_vec){NULL, 0, 0, vec->item_size, vec->allocator};
    return items;
}

void cw_vec_dispose(cw_vec *vec)
{
    cw_release(vec->allocator, vec->items, vec->capacity * vec->item_size);
    *vec = (cw_vec){NULL, 0, 0, vec->item_size, vec->allocator};
}
