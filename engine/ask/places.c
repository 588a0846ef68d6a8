/* Every pointer of an advice, for images (model/image.h). */
#include "ask/ask.h"

void cw_advice_places(const cw_advice *advice, cw_places *places)
{
    places->visit(places, &advice->checks, CW_INTO_ARENA);
    places->visit(places, &advice->twins, CW_INTO_ARENA);
    places->visit(places, &advice->costing.repairs, CW_INTO_ARENA);
    for (size_t i = 0; i < advice->twins_count; i++)
        places->visit(places, &advice->twins[i].members, CW_INTO_ARENA);
    for (uint32_t i = 0; i < advice->costing.repair_count; i++)
        places->visit(places, &advice->costing.repairs[i].causes, CW_INTO_ARENA);
}
