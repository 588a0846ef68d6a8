/* madvise is no part of POSIX. */
#define _DEFAULT_SOURCE /* NOLINT(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */
#include "base/alloc.h"
#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/mman.h>

#define HUGE_PAGE ((size_t)1 << 21)
#define LARGE (2 * HUGE_PAGE)

/* A catalogue fills eighty megabytes, and for each page of 4 KiB that is touched first the kernel is entered:
 * a sixth of the time that loading takes. So large pieces ask for huge pages; where there are none it is a
 * piece like others. */
static void *large_piece(size_t size)
{
    void *piece = aligned_alloc(HUGE_PAGE, (size + HUGE_PAGE - 1) / HUGE_PAGE * HUGE_PAGE);
#ifdef MADV_HUGEPAGE
    if (piece != NULL)
        (void)madvise(piece, size, MADV_HUGEPAGE);
#endif
    return piece;
}

static void *system_resize(void *context, void *old, size_t old_size, size_t new_size)
{
    (void)context;
    (void)old_size;
    if (new_size == 0) {
        free(old);
        return NULL;
    }
    if (old == NULL && new_size >= LARGE && new_size <= SIZE_MAX - HUGE_PAGE)
        return large_piece(new_size);
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
