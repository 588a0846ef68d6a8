/* Each name is stored once and known by a number from 1; 0 is "no such name". Linear probing over a table of
 * numbers; the texts live in the arena handed in. */
#ifndef CW_BASE_ATOM_H
#define CW_BASE_ATOM_H

#include "base/arena.h"
#include "base/places.h"
#include <stddef.h>
#include <stdint.h>

typedef struct cw_names cw_names;

/* Lives in the arena; texts and numbers stay valid as long as it does. NULL when memory fails. */
cw_names *cw_names_new(cw_arena *arena);
/* The texts alone live in `texts`. */
cw_names *cw_names_new_apart(cw_arena *tables, cw_arena *texts);
/* A copy to look up in, as small as can be: its tables live in the arena, the texts where they were. */
const cw_names *cw_names_keep(const cw_names *names, cw_arena *arena);
/* The name's number, made if new; 0 when memory fails. */
uint32_t cw_names_add(cw_names *names, const char *text, size_t size);
/* The name's number, 0 if unknown. */
uint32_t cw_names_find(const cw_names *names, const char *text, size_t size);
const char *cw_names_text(const cw_names *names, uint32_t name); /* "" for 0 */
uint32_t cw_names_count(const cw_names *names);
/* Every pointer within one that was kept. */
void cw_names_places(const cw_names *names, cw_places *places);

#endif
