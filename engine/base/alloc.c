#include "base/alloc.h"
#include <assert.h>
#include <stdlib.h>

static void *system_resize(void *context, void *old, size_t old_size, size_t new_size)
{
    (void)context;
    (void)old_size;
    if (new_size == 0) {
        free(old);
        return NULL;
    }
    return realloc(old, new_size);
}

const cw_allocator cw_system_allocator = {system_resize, NULL};

void *cw_allocate(const cw_allocator *allocator, size_t size)
{
    assert(size > 0);
    return allocator->resize(allocator->context, NULL, 0, size);
}

void cw_release(const cw_allocator *allocator, void *memory, size_t size)
{
    if (memory != NULL)
        allocator->resize(allocator->context, memory, size, 0);
}
