/* Keys that stand twice in one map, found without comparing all with all. */
#ifndef CW_PACK_DUPLICATES_H
#define CW_PACK_DUPLICATES_H

#include "pack/yaml.h"

typedef struct duplicates {
    const cw_allocator *allocator;
    const cw_node **slots; /* linear probing; few keys are simply listed */
    size_t capacity;       /* slots there is room for */
    size_t size;           /* slots in use for this map: a power of two, or 0 for a list */
    size_t count;
} duplicates;

void duplicates_init(duplicates *keys, const cw_allocator *allocator);
/* A new map with at most that many keys. False when memory fails. */
bool duplicates_start(duplicates *keys, size_t most);
/* The equal key that was added before, or NULL: then this one is noted. */
const cw_node *duplicates_add(duplicates *keys, const cw_node *key);
void duplicates_dispose(duplicates *keys);

#endif
