/* Columns of the table of units: by finite fact, what each version shows. Nobody outside rank/ includes this.
 */
#ifndef CW_RANK_COLUMN_H
#define CW_RANK_COLUMN_H

#include "base/places.h"
#include "rank/inside.h"

/* Fills tables->columns, which live in the arena; false without memory. */
bool rank_columns_make(cw_identity_tables *tables, cw_arena *arena, cw_arena *scratch);
void rank_columns_places(const cw_identity_tables *tables, cw_places *places);

#endif
