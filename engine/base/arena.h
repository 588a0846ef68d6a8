/* An arena owns many small pieces and frees them at once. Each has one named owner: a pack being read, a
 * compiled model, a session, one reply. Pieces never move. In sanitizer builds every piece is its own
 * allocation, so overruns are seen. */
#ifndef CW_BASE_ARENA_H
#define CW_BASE_ARENA_H

#include "base/alloc.h"
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef struct cw_arena cw_arena;

/* NULL when memory fails. The allocator is copied. */
cw_arena *cw_arena_new(const cw_allocator *allocator);
void cw_arena_free(cw_arena *arena); /* NULL allowed */
/* Empties it and keeps its memory as one block, so that whoever fills it again and again, never fuller than
 * before, asks for no more. (That block is asked for when first needed: a reset cannot fail.) */
void cw_arena_reset(cw_arena *arena);

/* Zeroed memory aligned for any object; NULL when memory fails or count * size overflows. Zero bytes give a
 * valid pointer. */
void *cw_arena_array(cw_arena *arena, size_t count, size_t size);
/* The same, not cleared: for what is filled at once. */
void *cw_arena_room(cw_arena *arena, size_t count, size_t size);
/* A copy with a terminating NUL; NULL when memory fails. */
char *cw_arena_text(cw_arena *arena, const char *text, size_t size);
/* printf into the arena; NULL when memory fails. */
char *cw_arena_format(cw_arena *arena, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Memory that came from the arena's allocator, so many bytes, is the arena's from here on, as if it had
 * handed them out. False when memory fails: then it is the caller's still. */
bool cw_arena_adopt(cw_arena *arena, void *memory, size_t size);

const cw_allocator *cw_arena_allocator(const cw_arena *arena);
/* Gives pieces of the arena and takes none back: for a text or list that grows while others are made beside
 * it. What it outgrows stays behind, about as much again as it becomes. */
const cw_allocator *cw_arena_pieces(const cw_arena *arena);
/* What has been handed out, as runs of bytes in no order; together they hold every piece whole. */
typedef void (*cw_arena_run)(void *context, const void *bytes, size_t size);
void cw_arena_runs(const cw_arena *arena, cw_arena_run run, void *context);
/* Bytes handed out so far, for tests and figures. */
size_t cw_arena_used(const cw_arena *arena);

#define CW_NEW(arena, type) ((type *)cw_arena_array((arena), 1, sizeof(type)))
#define CW_ROOM(arena, type, count) ((type *)cw_arena_room((arena), (count), sizeof(type)))
#define CW_NEW_ARRAY(arena, type, count) ((type *)cw_arena_array((arena), (count), sizeof(type)))

#endif
