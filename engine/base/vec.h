/* Growing arrays of plain structs. Growth is checked for overflow and bounded by a limit that the caller
 * names in its own message. */
#ifndef CW_BASE_VEC_H
#define CW_BASE_VEC_H

#include "base/alloc.h"
#include "corewright/status.h"
#include <stddef.h>

/* An array of items of one size, owned by an allocator. Zero it with CW_VEC_INIT. */
typedef struct cw_vec {
    void *items;
    size_t count;
    size_t capacity;
    size_t item_size;
    const cw_allocator *allocator;
} cw_vec;

#define CW_VEC_INIT(alloc, type) ((cw_vec){NULL, 0, 0, sizeof(type), (alloc)})
/* The i-th item as a pointer to its type. */
#define CW_VEC_AT(vec, type, i) (&((type *)(vec)->items)[i])

/* Appends one zeroed item and returns it; NULL when memory fails (the array is unchanged). Pointers to items
 * are valid until the next growth. */
void *cw_vec_add(cw_vec *vec);
/* Room for at least that many items. */
cw_status cw_vec_reserve(cw_vec *vec, size_t capacity);
/* The items, one zeroed item behind them and no room beyond, are the caller's from here on, and the vector is
 * empty. NULL when memory fails: then it holds what it held. */
void *cw_vec_give_away(cw_vec *vec, size_t *bytes);
void cw_vec_dispose(cw_vec *vec);

/* product and sum of sizes; false on overflow. */
_Bool cw_size_times(size_t a, size_t b, size_t *product);
_Bool cw_size_plus(size_t a, size_t b, size_t *sum);

#endif
