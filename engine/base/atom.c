#include "base/atom.h"
#include <stdbool.h>
#include <string.h>

typedef struct entry {
    const char *text;
    size_t size;
    uint64_t hash;
} entry;

struct cw_names {
    cw_arena *tables, *texts;
    entry *entries;  /* name n is entries[n - 1] */
    uint32_t *slots; /* 0 = free; a power of two of them, at most half taken */
    size_t slot_count;
    uint32_t count, capacity;
};

enum { FIRST_SLOTS = 64 };

/* FNV-1a, 64 bits (Fowler, Noll, Vo), folded so that the low bits hang on all. */
static uint64_t hash_of(const char *text, size_t size)
{
    uint64_t hash = 0xcbf29ce484222325U;
    for (size_t i = 0; i < size; i++) {
        hash ^= (unsigned char)text[i];
        hash *= 0x100000001b3U;
    }
    return hash ^ (hash >> 32);
}

cw_names *cw_names_new_apart(cw_arena *tables, cw_arena *texts)
{
    cw_names *names = CW_NEW(tables, cw_names);
    uint32_t *slots = CW_NEW_ARRAY(tables, uint32_t, FIRST_SLOTS);
    entry *entries = CW_NEW_ARRAY(tables, entry, FIRST_SLOTS / 2);
    if (names == NULL || slots == NULL || entries == NULL)
        return NULL;
    *names = (cw_names){tables, texts, entries, slots, FIRST_SLOTS, 0, FIRST_SLOTS / 2};
    return names;
}

cw_names *cw_names_new(cw_arena *arena)
{
    return cw_names_new_apart(arena, arena);
}

const cw_names *cw_names_keep(const cw_names *names, cw_arena *arena)
{
    cw_names *kept = CW_NEW(arena, cw_names);
    uint32_t *slots = CW_ROOM(arena, uint32_t, names->slot_count);
    entry *entries = CW_ROOM(arena, entry, names->count);
    if (kept == NULL || slots == NULL || entries == NULL)
        return NULL;
    memcpy(slots, names->slots, names->slot_count * sizeof *slots);
    memcpy(entries, names->entries, names->count * sizeof *entries);
    *kept = (cw_names){NULL, NULL, entries, slots, names->slot_count, names->count, names->count};
    return kept;
}

/* The slot that holds the name, or the free one where it belongs. */
static size_t slot_of(const cw_names *names, const char *text, size_t size, uint64_t hash)
{
    size_t mask = names->slot_count - 1;
    size_t slot = (size_t)hash & mask;
    for (; names->slots[slot] != 0; slot = (slot + 1) & mask) {
        const entry *at = &names->entries[names->slots[slot] - 1];
        if (at->hash == hash && at->size == size && (size == 0 || memcmp(at->text, text, size) == 0))
            break;
    }
    return slot;
}

/* Twice the room. The old tables stay in the arena: together they are smaller than the new one. */
static bool grow(cw_names *names)
{
    if (names->capacity > UINT32_MAX / 2)
        return false;
    uint32_t capacity = names->capacity * 2;
    size_t slot_count = (size_t)capacity * 2;
    entry *entries = CW_NEW_ARRAY(names->tables, entry, capacity);
    uint32_t *slots = CW_NEW_ARRAY(names->tables, uint32_t, slot_count);
    if (entries == NULL || slots == NULL)
        return false;
    memcpy(entries, names->entries, names->count * sizeof *entries);
    for (uint32_t i = 0; i < names->count; i++) {
        size_t slot = (size_t)entries[i].hash & (slot_count - 1);
        while (slots[slot] != 0)
            slot = (slot + 1) & (slot_count - 1);
        slots[slot] = i + 1;
    }
    names->entries = entries;
    names->slots = slots;
    names->slot_count = slot_count;
    names->capacity = capacity;
    return true;
}

uint32_t cw_names_add(cw_names *names, const char *text, size_t size)
{
    uint64_t hash = hash_of(text, size);
    size_t slot = slot_of(names, text, size, hash);
    if (names->slots[slot] != 0)
        return names->slots[slot];
    if (names->count == names->capacity) {
        if (!grow(names))
            return 0;
        slot = slot_of(names, text, size, hash);
    }
    const char *copy = cw_arena_text(names->texts, text, size);
    if (copy == NULL)
        return 0;
    names->entries[names->count] = (entry){copy, size, hash};
    names->slots[slot] = ++names->count;
    return names->count;
}

uint32_t cw_names_find(const cw_names *names, const char *text, size_t size)
{
    return names->slots[slot_of(names, text, size, hash_of(text, size))];
}

const char *cw_names_text(const cw_names *names, uint32_t name)
{
    return name == 0 || name > names->count ? "" : names->entries[name - 1].text;
}

uint32_t cw_names_count(const cw_names *names)
{
    return names->count;
}

void cw_names_places(const cw_names *names, cw_places *places)
{
    places->visit(places, &names->entries, CW_INTO_ARENA);
    places->visit(places, &names->slots, CW_INTO_ARENA);
    for (uint32_t i = 0; i < names->count; i++)
        places->visit(places, &names->entries[i].text, CW_INTO_ARENA);
}
