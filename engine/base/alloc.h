/* The one way memory is asked for. The caller of the library hands an allocator in (settings); it is always
 * told the old size, so tests can count exactly and can make the n-th request fail. */
#ifndef CW_BASE_ALLOC_H
#define CW_BASE_ALLOC_H

#include <stddef.h>

/* new_size 0 frees and returns NULL; otherwise like realloc: NULL means failure and old stays valid.
 * old is NULL exactly when old_size is 0. Must be thread safe if sessions run on several threads. */
typedef struct cw_allocator {
    void *(*resize)(void *context, void *old, size_t old_size, size_t new_size);
    void *context;
} cw_allocator;

/* malloc, realloc, free; large pieces on huge pages where the system has them. */
extern const cw_allocator cw_system_allocator;

/* NULL on failure; the memory is not cleared. */
void *cw_allocate(const cw_allocator *allocator, size_t size);
void cw_release(const cw_allocator *allocator, void *memory, size_t size);

#endif
