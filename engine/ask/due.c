/* What is still to be measured before each part of the open unit can be decided on: checks from which rules
 * may yet draw a verdict that is not known. */
#include "ask/inside.h"

#include <stdlib.h>
#include <string.h>

/* What has to be replaced in any case needs no measuring. */
static bool settled(const cw_chain *chain, cw_part_id part)
{
    const cw_model *model = cw_chain_model(chain);
    bool settled = model->parts[part].always;
    for (cw_fact_id fact = 1; fact <= model->facts_count && !settled; fact++) {
        uint32_t value = 0;
        settled = model->facts[fact].verdict_on == part && cw_chain_value(chain, fact, &value) == CW_KNOWN &&
                  value == CW_REPLACE;
    }
    return settled;
}

/* Walks from each verdict on the part that is not known. */
static void walk_part(ask_walk *w, cw_part_id part, cw_fact_id *verdicts, size_t *count)
{
    uint32_t value;
    ask_walk_group(w);
    for (cw_fact_id fact = 1; fact <= w->model->facts_count; fact++) {
        if (w->model->facts[fact].verdict_on != part || cw_chain_value(w->chain, fact, &value) != CW_UNKNOWN)
            continue;
        if (ask_walk_from(w, fact))
            verdicts[(*count)++] = fact;
    }
}

static size_t count_verdicts(const cw_model *model, cw_part_id part)
{
    size_t count = 0;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        count += model->facts[fact].verdict_on == part;
    return count;
}

static cw_status list_part(ask_walk *w, cw_part_id part, cw_arena *arena, cw_due *out)
{
    cw_fact_id *verdicts = CW_NEW_ARRAY(arena, cw_fact_id, count_verdicts(w->model, part));
    if (verdicts == NULL)
        return CW_NO_MEMORY;
    uint32_t apart = w->model->parts[part].apart;
    *out = (cw_due){.part = part, .apart = apart == 0 ? UINT32_MAX : apart, .verdicts = verdicts};
    walk_part(w, part, verdicts, &out->verdict_count);
    cw_proposal *checks;
    cw_status status = ask_walk_list(w, arena, &checks, &out->count);
    for (size_t i = 0; status == CW_OK && i < out->count; i++) {
        checks[i].part = part;
        out->minutes += checks[i].minutes;
    }
    out->checks = checks;
    return status;
}

/* As the unit comes apart; those that say nothing of it last. Then the quickest. */
static int as_it_comes_apart(const void *a, const void *b)
{
    const cw_due *x = a, *y = b;
    if (x->apart != y->apart)
        return x->apart < y->apart ? -1 : 1;
    if (x->minutes != y->minutes)
        return x->minutes < y->minutes ? -1 : 1;
    return (x->part > y->part) - (x->part < y->part);
}

static cw_status find_due(ask_call *call, const cw_chain *chain, bool left_open_too, cw_arena *arena,
                          cw_due **out, size_t *count)
{
    const cw_model *model = call->asker->model;
    ask_reach reach;
    ask_walk walk;
    cw_status status =
        ask_reach_new(call, chain, call->limits->places, left_open_too, call->asker->call, &reach);
    if (status == CW_OK)
        status = ask_walk_new(call, chain, &reach, left_open_too, call->asker->call, &walk);
    *out = status == CW_OK ? CW_NEW_ARRAY(arena, cw_due, (size_t)model->parts_count + 1) : NULL;
    *count = 0;
    if (*out == NULL)
        return CW_NO_MEMORY;
    bool *judged = CW_NEW_ARRAY(call->asker->call, bool, (size_t)model->parts_count + 1);
    if (judged == NULL)
        return CW_NO_MEMORY;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        judged[model->facts[fact].verdict_on] = true;
    for (cw_part_id part = 1; part <= model->parts_count && status == CW_OK; part++) {
        if (!judged[part] || settled(chain, part))
            continue;
        status = list_part(&walk, part, arena, &(*out)[*count]);
        *count += (*out)[*count].count > 0;
    }
    if (*count > 1)
        qsort(*out, *count, sizeof **out, as_it_comes_apart);
    return status;
}

cw_status cw_ask_due(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits, bool left_open_too,
                     cw_arena *arena, const cw_due **out, size_t *count)
{
    ask_call call = {.asker = asker, .limits = limits, .about = CW_ABOUT_CAUSES};
    cw_due *due;
    cw_arena_reset(asker->call);
    asker->ahead_of = 0;
    cw_status status = find_due(&call, chain, left_open_too, arena, &due, count);
    *out = due;
    return status;
}

/* Moves the check's proposal, if it was weighed, to the end of the new list. */
static void take_over(const cw_advice *advice, bool *listed, const cw_proposal *due, cw_proposal *list,
                      size_t *count)
{
    if (listed[due->check])
        return;
    listed[due->check] = true;
    list[*count] = *due;
    for (size_t i = 0; i < advice->count; i++)
        if (advice->checks[i].check == due->check) {
            list[*count] = advice->checks[i];
            list[*count].part = due->part;
        }
    (*count)++;
}

cw_status ask_due_first(ask_call *call, const cw_chain *chain, cw_arena *arena, cw_advice *advice)
{
    const cw_model *model = call->asker->model;
    cw_due *due;
    size_t parts, count = 0;
    cw_status status = find_due(call, chain, false, arena, &due, &parts);
    if (status != CW_OK || parts == 0)
        return status;
    bool *listed = CW_NEW_ARRAY(call->asker->call, bool, (size_t)model->checks_count + 1);
    cw_proposal *list = CW_NEW_ARRAY(arena, cw_proposal, (size_t)model->checks_count + advice->count);
    if (listed == NULL || list == NULL)
        return CW_NO_MEMORY;
    for (size_t p = 0; p < parts; p++)
        for (size_t i = 0; i < due[p].count; i++)
            take_over(advice, listed, &due[p].checks[i], list, &count);
    for (size_t i = 0; i < advice->count; i++)
        if (!listed[advice->checks[i].check])
            list[count++] = advice->checks[i];
    advice->checks = list;
    advice->count = count;
    advice->stop = false;
    advice->why = CW_STOP_NOT;
    return CW_OK;
}
