/* What would tell whether something holds: checks that were not answered, or left open. */
#include "ask/inside.h"

cw_status cw_ask_tellers(cw_asker *asker, const cw_chain *chain, cw_where here, const cw_atom_id *atoms,
                         size_t count, cw_arena *arena, const cw_tellers **out)
{
    const cw_ask_limits anywhere = {.stage = CW_STAGE_COUNT, .here = here};
    ask_call call = {.asker = asker, .limits = &anywhere, .about = CW_ABOUT_CAUSES};
    ask_reach reach;
    ask_walk walk;
    cw_arena_reset(asker->call);
    asker->ahead_of = 0;
    cw_tellers *list = CW_NEW_ARRAY(arena, cw_tellers, count);
    cw_status status =
        list == NULL ? CW_NO_MEMORY : ask_reach_new(&call, chain, 0, true, asker->call, &reach);
    if (status == CW_OK)
        status = ask_walk_new(&call, chain, &reach, true, asker->call, &walk);
    for (size_t i = 0; i < count && status == CW_OK; i++) {
        cw_proposal *checks;
        ask_walk_group(&walk);
        if (atoms[i] != 0 && cw_chain_truth(chain, atoms[i]) != CW_YES)
            ask_walk_to(&walk, atoms[i]);
        status = ask_walk_list(&walk, arena, &checks, &list[i].count);
        list[i].checks = checks;
    }
    *out = list;
    return status;
}
