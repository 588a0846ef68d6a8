#include "pack/duplicates.h"

#include <string.h>

enum { FEW = 16 };

void duplicates_init(duplicates *keys, const cw_allocator *allocator)
{
    *keys = (duplicates){.allocator = allocator};
}

bool duplicates_start(duplicates *keys, size_t most)
{
    keys->count = 0;
    keys->size = 0;
    size_t needed = FEW;
    if (most > FEW) {
        while (needed < most * 2)
            needed *= 2;
        keys->size = needed;
    }
    if (needed > keys->capacity) {
        const cw_node **slots = cw_allocate(keys->allocator, needed * sizeof *slots);
        if (slots == NULL)
            return false;
        cw_release(keys->allocator, keys->slots, keys->capacity * sizeof *slots);
        keys->slots = slots;
        keys->capacity = needed;
    }
    if (keys->size > 0)
        memset(keys->slots, 0, keys->size * sizeof *keys->slots);
    return true;
}

static bool same(const cw_node *a, const cw_node *b)
{
    return a->size == b->size && memcmp(a->text, b->text, a->size) == 0;
}

/* FNV-1a, 64 bits (Fowler, Noll, Vo). */
static size_t hash(const cw_node *key)
{
    uint64_t value = 0xcbf29ce484222325U;
    for (size_t i = 0; i < key->size; i++)
        value = (value ^ (unsigned char)key->text[i]) * 0x100000001b3U;
    return (size_t)(value ^ value >> 32);
}

const cw_node *duplicates_add(duplicates *keys, const cw_node *key)
{
    if (keys->size == 0) {
        for (size_t i = 0; i < keys->count; i++)
            if (same(keys->slots[i], key))
                return keys->slots[i];
        keys->slots[keys->count++] = key;
        return NULL;
    }
    size_t at = hash(key) & (keys->size - 1);
    while (keys->slots[at] != NULL) {
        if (same(keys->slots[at], key))
            return keys->slots[at];
        at = (at + 1) & (keys->size - 1);
    }
    keys->slots[at] = key;
    return NULL;
}

void duplicates_dispose(duplicates *keys)
{
    cw_release(keys->allocator, keys->slots, keys->capacity * sizeof *keys->slots);
    *keys = (duplicates){.allocator = keys->allocator};
}
