/* What the files of this room share: arrays by id, and a sign looked up. Nobody outside rank/ includes this.
 */
#ifndef CW_RANK_INSIDE_H
#define CW_RANK_INSIDE_H

#include "base/alloc.h"
#include "model/model.h"

/* Arrays by id: count + 1 zeroed entries; a failure sticks in *failed. */
void *rank_take(const cw_allocator *allocator, size_t count, size_t size, bool *failed);
void rank_give(const cw_allocator *allocator, void *memory, size_t count, size_t size);

/* The sign on a fact in a run of signs that is sorted by fact; NULL if there is none. */
const cw_sign *rank_sign(const cw_model *model, cw_run signs, cw_fact_id fact);

#endif
