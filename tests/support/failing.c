#include "support/failing.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Every piece carries its size in front, so that a caller who tells a wrong one is caught. */
#define HEAD 16

static void check_size(const char *piece, size_t told)
{
    size_t size = 0;
    memcpy(&size, piece - HEAD, sizeof size);
    if (size != told) {
        fprintf(stderr, "failing allocator: told %zu bytes, the piece has %zu\n", told, size);
        abort();
    }
}

static bool grant(failing *memory)
{
    memory->requests++;
    if (memory->allowed == FAILING_NEVER)
        return true;
    if (memory->allowed > 0) {
        memory->allowed--;
        return true;
    }
    memory->refused = true;
    if (memory->once)
        memory->allowed = FAILING_NEVER;
    return false;
}

static void *failing_resize(void *context, void *old, size_t old_size, size_t new_size)
{
    failing *memory = context;
    if ((old == NULL) != (old_size == 0)) {
        fprintf(stderr, "failing allocator: old piece and old size do not fit together\n");
        abort();
    }
    if (old != NULL)
        check_size(old, old_size);
    if (new_size == 0) {
        if (old != NULL) {
            memory->bytes -= old_size;
            memory->pieces--;
            free((char *)old - HEAD);
        }
        return NULL;
    }
    if (new_size > SIZE_MAX - HEAD || !grant(memory))
        return NULL;
    /* Always moves: stale pointers into the old piece are then seen by AddressSanitizer. */
    char *fresh = malloc(new_size + HEAD);
    if (fresh == NULL)
        return NULL;
    memcpy(fresh, &new_size, sizeof new_size);
    if (old != NULL) {
        memcpy(fresh + HEAD, old, old_size < new_size ? old_size : new_size);
        free((char *)old - HEAD);
    } else {
        memory->pieces++;
    }
    memory->bytes = memory->bytes - old_size + new_size;
    return fresh + HEAD;
}

void failing_start(failing *memory, size_t allowed)
{
    *memory = (failing){.allocator = {failing_resize, memory}, .allowed = allowed};
}

void failing_start_once(failing *memory, size_t allowed)
{
    failing_start(memory, allowed);
    memory->once = true;
}

size_t failing_bytes(const failing *memory)
{
    return memory->bytes;
}
