#include "base/arena.h"
#include "base/vec.h"
#include <stdalign.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

/* With AddressSanitizer each piece is a block of its own, so that running over its end is seen at once. */
#if defined(__SANITIZE_ADDRESS__)
#define PIECEWISE 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define PIECEWISE 1
#endif
#endif
#ifndef PIECEWISE
#define PIECEWISE 0
#endif

enum { FIRST_BLOCK = 1024, LARGEST_BLOCK = 1 << 23 };

/* Objects are cut from the front and kept aligned; texts from the back, one close to the other. */
typedef struct block {
    struct block *next;
    size_t size;  /* bytes behind this head */
    size_t used;  /* of these at the front */
    size_t texts; /* and at the back */
    alignas(max_align_t) unsigned char bytes[];
} block;

/* Memory that somebody else asked for; the note of it is a piece of the arena. */
typedef struct adopted {
    struct adopted *next;
    void *memory;
    size_t size;
} adopted;

struct cw_arena {
    cw_allocator allocator;
    cw_allocator pieces; /* asks this arena */
    block *blocks;       /* pieces are cut from the first one */
    adopted *adopted;
    size_t next_size;
    size_t whole; /* bytes of all blocks at a reset that found several: the next one is to hold as much */
    size_t used;
};

/* A piece of the arena as an allocator gives it; what it takes the place of stays until the arena ends. */
static void *resize_piece(void *context, void *old, size_t old_size, size_t new_size)
{
    void *piece = new_size > 0 ? cw_arena_room(context, new_size, 1) : NULL;
    if (piece != NULL && old != NULL)
        memcpy(piece, old, old_size < new_size ? old_size : new_size);
    return piece;
}

cw_arena *cw_arena_new(const cw_allocator *allocator)
{
    cw_arena *arena = cw_allocate(allocator, sizeof *arena);
    if (arena != NULL)
        *arena =
            (cw_arena){.allocator = *allocator, .pieces = {resize_piece, arena}, .next_size = FIRST_BLOCK};
    return arena;
}

static void free_blocks(cw_arena *arena, block *first)
{
    while (first != NULL) {
        block *next = first->next;
        cw_release(&arena->allocator, first, sizeof *first + first->size);
        first = next;
    }
}

static void free_adopted(cw_arena *arena)
{
    for (const adopted *at = arena->adopted; at != NULL; at = at->next)
        cw_release(&arena->allocator, at->memory, at->size);
    arena->adopted = NULL;
}

void cw_arena_free(cw_arena *arena)
{
    if (arena == NULL)
        return;
    free_adopted(arena);
    free_blocks(arena, arena->blocks);
    cw_allocator allocator = arena->allocator;
    cw_release(&allocator, arena, sizeof *arena);
}

static bool one_is_kept(const cw_arena *arena)
{
    return !PIECEWISE && arena->blocks != NULL && arena->blocks->next == NULL;
}

void cw_arena_reset(cw_arena *arena)
{
    free_adopted(arena);
    arena->used = 0;
    if (one_is_kept(arena)) {
        arena->blocks->used = arena->blocks->texts = 0;
        return;
    }
    arena->whole = 0;
    for (const block *at = PIECEWISE ? NULL : arena->blocks; at != NULL; at = at->next)
        arena->whole += at->size; /* cannot overflow: they are all in memory */
    free_blocks(arena, arena->blocks);
    arena->blocks = NULL;
}

/* A fresh block of at least that size. A piece that would waste much of the block in use gets one for itself,
 * kept behind the first so that the rest of the first stays in use. */
static block *add_block(cw_arena *arena, size_t size)
{
    const bool first = arena->blocks == NULL && arena->whole > size;
    bool alone = PIECEWISE || (!first && size > arena->next_size / 4);
    size_t room = alone ? size : arena->next_size;
    if (first && room < arena->whole)
        room = arena->whole;
    size_t bytes;
    if (!cw_size_plus(room, sizeof(block), &bytes))
        return NULL;
    block *fresh = cw_allocate(&arena->allocator, bytes);
    if (fresh == NULL)
        return NULL;
    *fresh = (block){.size = room};
    if (alone && arena->blocks != NULL) {
        fresh->next = arena->blocks->next;
        arena->blocks->next = fresh;
    } else {
        fresh->next = arena->blocks;
        arena->blocks = fresh;
    }
    if (!alone && arena->next_size < LARGEST_BLOCK)
        arena->next_size *= 2;
    return fresh;
}

/* A block with so many bytes free. */
static block *block_with(cw_arena *arena, size_t size)
{
    block *first = arena->blocks;
    bool fits = !PIECEWISE && first != NULL && first->size - first->used - first->texts >= size;
    return fits ? first : add_block(arena, size);
}

/* In sanitizer builds the size is exact, else rounded up to keep the next piece aligned. */
static void *take(cw_arena *arena, size_t size)
{
    size_t rounded = size > 0 ? size : 1;
    if (!PIECEWISE) {
        if (!cw_size_plus(rounded, alignof(max_align_t) - 1, &rounded))
            return NULL;
        rounded -= rounded % alignof(max_align_t);
    }
    block *from = block_with(arena, rounded);
    if (from == NULL)
        return NULL;
    void *piece = from->bytes + from->used;
    from->used += rounded;
    arena->used += size;
    return piece;
}

/* size > 0 */
static char *take_text(cw_arena *arena, size_t size)
{
    block *from = block_with(arena, size);
    if (from == NULL)
        return NULL;
    from->texts += size;
    arena->used += size;
    return (char *)from->bytes + from->size - from->texts;
}

void *cw_arena_room(cw_arena *arena, size_t count, size_t size)
{
    size_t bytes;
    return cw_size_times(count, size, &bytes) ? take(arena, bytes) : NULL;
}

void *cw_arena_array(cw_arena *arena, size_t count, size_t size)
{
    void *piece = cw_arena_room(arena, count, size);
    if (piece != NULL)
        memset(piece, 0, count * size);
    return piece;
}

char *cw_arena_text(cw_arena *arena, const char *text, size_t size)
{
    size_t bytes;
    if (!cw_size_plus(size, 1, &bytes))
        return NULL;
    char *copy = take_text(arena, bytes);
    if (copy == NULL)
        return NULL;
    if (size > 0)
        memcpy(copy, text, size);
    copy[size] = '\0';
    return copy;
}

char *cw_arena_format(cw_arena *arena, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    int size = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    char *text = size < 0 ? NULL : take_text(arena, (size_t)size + 1);
    if (text != NULL)
        vsnprintf(text, (size_t)size + 1, format, again);
    va_end(again);
    return text;
}

bool cw_arena_adopt(cw_arena *arena, void *memory, size_t size)
{
    adopted *note = CW_NEW(arena, adopted);
    if (note == NULL)
        return false;
    *note = (adopted){arena->adopted, memory, size};
    arena->adopted = note;
    arena->used += size;
    return true;
}

const cw_allocator *cw_arena_pieces(const cw_arena *arena)
{
    return &arena->pieces;
}

const cw_allocator *cw_arena_allocator(const cw_arena *arena)
{
    return &arena->allocator;
}

void cw_arena_runs(const cw_arena *arena, cw_arena_run run, void *context)
{
    for (const block *at = arena->blocks; at != NULL; at = at->next) {
        if (at->used > 0)
            run(context, at->bytes, at->used);
        if (at->texts > 0)
            run(context, at->bytes + at->size - at->texts, at->texts);
    }
    for (const adopted *at = arena->adopted; at != NULL; at = at->next)
        run(context, at->memory, at->size);
}

size_t cw_arena_used(const cw_arena *arena)
{
    return arena->used;
}
