/* Columns of the table of units: by finite fact, what each version shows. Nobody outside rank/ includes this.
 */
#ifndef CW_RANK_COLUMN_H
#define CW_RANK_COLUMN_H

#include "rank/inside.h"

/* Fills tables->columns; false without memory, and what is made is left to rank_columns_free. */
bool rank_columns_make(cw_identity_tables *tables);
void rank_columns_free(cw_identity_tables *tables);

#endif
