/* Units told by a finite check that no rule reads: its information is that of a column of the table, for no
 * answer changes anything but what is believed (cw_identity_gain). Where evidence has spoken of a swap that
 * the check would be part of, each answer is tried instead. */
#include "ask/inside.h"

/* An addition to a sum is a small part of what other steps are. */
enum { ADDITIONS_A_STEP = 16 };

bool ask_is_column(const ask_call *call, const ask_footing *f, cw_fact_id fact)
{
    const cw_asker *asker = call->asker;
    const ask_matter *matter = &asker->matter[call->about];
    return call->about == CW_ABOUT_UNITS && !matter->through[fact] && matter->signs[fact] &&
           cw_identity_column(asker->tables, fact) > 0 &&
           f->swapped[ask_swap_group(asker->model, fact)] == NULL;
}

uint64_t ask_column_steps(const ask_call *call, cw_fact_id fact)
{
    return cw_identity_column(call->asker->tables, fact) / ADDITIONS_A_STEP + 1;
}

cw_status ask_weigh_column(ask_call *call, const ask_footing *f, cw_fact_id fact, ask_weighed *out)
{
    cw_asker *asker = call->asker;
    double *room = CW_NEW_ARRAY(asker->check, double, cw_identity_widest(asker->tables));
    if (room == NULL)
        return CW_NO_MEMORY;
    out->column = fact;
    out->complete = call->steps < call->max_steps;
    call->cut_short |= !out->complete;
    if (!out->complete)
        return CW_OK;
    call->steps += ask_column_steps(call, fact);
    out->bits = cw_identity_gain(asker->tables, fact, f->chance, room);
    return CW_OK;
}
