/* How likely each answer of one check is now. */
#include "ask/inside.h"

/* What no rule and no sign reads says nothing, and nothing says how often it comes. */
static bool told_by_nothing(const ask_call *call, cw_check_id check)
{
    const ask_matter *matter = &call->asker->matter[call->about];
    const cw_fact_id fact = call->asker->model->checks[check].fact;
    return !matter->through[fact] && !matter->signs[fact];
}

static cw_status take_over(const ask_trial *trial, uint32_t count, cw_arena *arena, cw_prospect *list,
                           size_t *taken)
{
    double *chance = CW_NEW_ARRAY(arena, double, trial->weighed.class_count);
    if (chance == NULL)
        return CW_NO_MEMORY;
    ask_class_chances(&trial->weighed, chance);
    for (uint32_t i = 0; i < count; i++) {
        const ask_outcome *outcome = &trial->outcomes[i];
        const uint32_t class = trial->class_of[i];
        if (class == UINT32_MAX)
            continue;
        list[(*taken)++] = (cw_prospect){.answer = outcome->answer,
                                         .low = outcome->low,
                                         .high = outcome->high,
                                         .group = class,
                                         .chance = chance[class] / trial->classes[class].outcomes};
    }
    return CW_OK;
}

static cw_status foresee(ask_call *call, const ask_footing *f, cw_check_id check, cw_arena *arena,
                         const cw_prospect **out, size_t *count)
{
    ask_trial trial;
    uint32_t outcomes;
    cw_status status = ask_try_each(call, f, check, &trial, &outcomes);
    if (status != CW_OK || !trial.weighed.complete)
        return status;
    cw_prospect *list = CW_NEW_ARRAY(arena, cw_prospect, outcomes);
    *out = list;
    return list != NULL ? take_over(&trial, outcomes, arena, list, count) : CW_NO_MEMORY;
}

cw_status cw_ask_foresee(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits,
                         cw_check_id check, cw_arena *arena, const cw_prospect **out, size_t *count)
{
    ask_call call = {.asker = asker,
                     .limits = limits,
                     .about = limits->stage == CW_IDENTIFY ? CW_ABOUT_UNITS : CW_ABOUT_CAUSES,
                     .max_steps = limits->max_steps != 0 ? limits->max_steps : CW_ASK_STEPS};
    ask_footing footing;
    *out = NULL;
    *count = 0;
    cw_arena_reset(asker->call);
    asker->ahead_of = 0;
    if (told_by_nothing(&call, check))
        return CW_OK;
    cw_status status = ask_stand(&call, chain, asker->call, &footing);
    return status == CW_OK && footing.possible ? foresee(&call, &footing, check, arena, out, count) : status;
}
