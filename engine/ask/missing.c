/* What the description of a unit still lacks, and when it is asked for: once nothing more tells units apart
 * and none of the list holds. */
#include "ask/inside.h"

#include <stdlib.h>
#include <string.h>

/* What was told of the unit in hand; NULL when nothing was. */
static const cw_answer *told_unit(const cw_chain *chain)
{
    cw_fact_id unit = cw_model_fact(cw_chain_model(chain), CW_UNIT_CHECK);
    const cw_answer *told = unit != 0 ? cw_chain_answered(chain, unit) : NULL;
    return told != NULL && !told->cant_tell ? told : NULL;
}

bool cw_ask_unlisted(const cw_chain *chain, double *chance)
{
    const cw_model *model = cw_chain_model(chain);
    const cw_answer *told = told_unit(chain);
    double best = 0;
    if (told != NULL)
        return told->value == CW_NOT_LISTED;
    for (cw_unit_id unit = model->units_count; unit > 0; unit--) { /* children before parents */
        cw_unit_id parent = model->units[unit].parent;
        if (parent != 0)
            chance[parent] += chance[unit];
        else if (chance[unit] > best)
            best = chance[unit];
    }
    return chance[0] >= best || best < 0.5;
}

static bool unlisted(const ask_call *call, const ask_footing *footing, cw_status *status)
{
    const cw_asker *asker = call->asker;
    double *chance = CW_NEW_ARRAY(asker->call, double, (size_t)asker->model->units_count + 1);
    if (chance == NULL) {
        *status = CW_NO_MEMORY;
        return false;
    }
    for (uint32_t i = 0; i < asker->hypothesis_count; i++)
        chance[asker->hypotheses[i]] = footing->chance[i];
    return cw_ask_unlisted(footing->chain, chance);
}

static bool unknown(const cw_chain *chain, cw_fact_id fact)
{
    double number = 0, error = 0;
    uint32_t value = 0;
    switch (cw_chain_model(chain)->facts[fact].kind) {
    case CW_MEASURE:
        return cw_chain_number(chain, fact, &number, &error) == CW_UNKNOWN;
    case CW_STAMPED:
        return cw_chain_text(chain, fact) == NULL;
    case CW_WHICH_UNIT: /* never asked for */
        return false;
    case CW_YES_OR_NO:
    case CW_CHOICE:
    case CW_COUNT:
        break;
    }
    return cw_chain_value(chain, fact, &value) == CW_UNKNOWN;
}

static cw_status find_missing(ask_call *call, const cw_chain *chain, bool left_open_too, cw_arena *arena,
                              cw_missing **out, size_t *count)
{
    const cw_model *model = call->asker->model;
    ask_reach reach;
    ask_walk walk;
    size_t lines = 0;
    for (uint32_t h = 1; h <= model->headings_count; h++)
        lines += model->headings[h].facts.count;
    *count = 0;
    *out = CW_NEW_ARRAY(arena, cw_missing, lines);
    if (*out == NULL)
        return CW_NO_MEMORY;
    if (lines == 0)
        return CW_OK;
    cw_arena *scratch = call->asker->call;
    cw_status status = ask_reach_new(call, chain, call->limits->places, left_open_too, scratch, &reach);
    if (status == CW_OK)
        status = ask_walk_new(call, chain, &reach, left_open_too, scratch, &walk);
    for (size_t i = 0; i < lines && status == CW_OK;
         i++) { /* the runs of the headings lie one behind the other */
        cw_fact_id fact = model->heading_facts[i];
        ask_walk_group(&walk);
        if (!unknown(chain, fact) || !ask_walk_from(&walk, fact))
            continue;
        cw_missing *line = &(*out)[*count];
        cw_proposal *checks;
        status = ask_walk_list(&walk, arena, &checks, &line->count);
        for (size_t k = 0; k < line->count && status == CW_OK; k++)
            checks[k].line = fact;
        line->fact = fact;
        line->checks = checks;
        *count += line->count > 0;
    }
    return status;
}

cw_status cw_ask_missing(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits,
                         bool left_open_too, cw_arena *arena, const cw_missing **out, size_t *count)
{
    ask_call call = {.asker = asker, .limits = limits, .about = CW_ABOUT_UNITS};
    cw_missing *missing;
    cw_arena_reset(asker->call);
    asker->ahead_of = 0;
    cw_status status = find_missing(&call, chain, left_open_too, arena, &missing, count);
    *out = missing;
    return status;
}

/* Each check once, for its own line, else for the first that it tells of. Worth: lines a minute. */
static cw_status list_each(const cw_model *model, const cw_missing *missing, size_t count, cw_arena *arena,
                           cw_advice *advice)
{
    size_t checks = (size_t)model->checks_count + 1;
    cw_proposal *list = CW_NEW_ARRAY(arena, cw_proposal, checks);
    uint32_t *place = CW_NEW_ARRAY(arena, uint32_t, checks); /* in the list, from 1 */
    if (list == NULL || place == NULL)
        return CW_NO_MEMORY;
    uint32_t found = 0;
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < missing[i].count; k++) {
            const cw_proposal *one = &missing[i].checks[k];
            if (place[one->check] == 0) {
                list[found++] = *one;
                place[one->check] = found;
            }
            cw_proposal *listed = &list[place[one->check] - 1];
            listed->worth += 1 / one->minutes;
            if (model->checks[one->check].fact == missing[i].fact)
                listed->line = missing[i].fact;
        }
    ask_sort(model, list, found);
    advice->checks = list;
    advice->count = found;
    return CW_OK;
}

cw_status ask_missing_next(ask_call *call, const ask_footing *footing, cw_arena *arena, cw_advice *advice)
{
    cw_status status = CW_OK;
    const cw_answer *told = told_unit(footing->chain);
    if (!advice->stop && (told == NULL || told->value != CW_NOT_LISTED))
        return CW_OK; /* it may still be found in the list */
    if (call->asker->model->headings_count == 0 || !unlisted(call, footing, &status))
        return status;
    cw_ask_limits near = *call->limits;
    if (near.places == 0)
        near.places = 1u << near.here | 1u << CW_AT_COUNTER;
    ask_call here = *call;
    here.limits = &near;
    cw_missing *missing;
    size_t count = 0;
    status = find_missing(&here, footing->chain, false, call->asker->call, &missing, &count);
    if (status != CW_OK || count == 0)
        return status;
    advice->stop = false;
    advice->why = CW_STOP_NOT;
    return list_each(call->asker->model, missing, count, arena, advice);
}
