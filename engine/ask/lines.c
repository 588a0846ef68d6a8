/* What is still to be measured before each line of the proof sheet can be decided on. */
#include "ask/inside.h"

#include <stdlib.h>

typedef struct sheet_line {
    uint32_t place; /* on the sheet */
    cw_fact_id fact;
} sheet_line;

static int sheet_order(const void *a, const void *b)
{
    const sheet_line *x = a, *y = b;
    if (x->place != y->place)
        return x->place < y->place ? -1 : 1;
    return (x->fact > y->fact) - (x->fact < y->fact); /* ids stand in order of names */
}

cw_status cw_ask_sheet(const cw_model *model, cw_arena *arena, const cw_fact_id **out, size_t *count)
{
    sheet_line *lines = CW_NEW_ARRAY(arena, sheet_line, model->facts_count);
    cw_fact_id *facts = CW_NEW_ARRAY(arena, cw_fact_id, model->facts_count);
    *count = 0;
    *out = facts;
    if (lines == NULL || facts == NULL)
        return CW_NO_MEMORY;
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++)
        if (model->facts[fact].proof != 0)
            lines[(*count)++] = (sheet_line){model->facts[fact].proof, fact};
    if (*count > 1)
        qsort(lines, *count, sizeof *lines, sheet_order);
    for (size_t i = 0; i < *count; i++)
        facts[i] = lines[i].fact;
    return CW_OK;
}

/* What sets the stage comes before what is measured on it. */
static cw_status put_in_order(const cw_model *model, const cw_proposal *found, size_t count, cw_arena *arena,
                              cw_due *out)
{
    cw_proposal *checks = CW_NEW_ARRAY(arena, cw_proposal, count);
    if (checks == NULL)
        return CW_NO_MEMORY;
    for (int context = 1; context >= 0; context--)
        for (size_t i = 0; i < count; i++)
            if (model->facts[model->checks[found[i].check].fact].context == (context == 1)) {
                checks[out->count] = found[i];
                checks[out->count++].line = out->line;
                out->minutes += found[i].minutes;
            }
    out->checks = checks;
    return CW_OK;
}

static cw_status find_line(ask_walk *walk, cw_fact_id line, cw_arena *arena, cw_due *out)
{
    uint32_t value;
    cw_proposal *found;
    size_t count;
    *out = (cw_due){.line = line};
    ask_walk_group(walk);
    cw_atom_id only_if = walk->model->facts[line].only_if;
    if (only_if != 0 && cw_chain_truth(walk->chain, only_if) == CW_NO) {
        if (!ask_walk_to(walk, only_if))
            return CW_OK; /* it does not concern this unit */
    } else if (cw_chain_value(walk->chain, line, &value) != CW_UNKNOWN || !ask_walk_from(walk, line)) {
        return CW_OK;
    }
    cw_status status = ask_walk_list(walk, walk->call->asker->call, &found, &count);
    return status == CW_OK ? put_in_order(walk->model, found, count, arena, out) : status;
}

static cw_status find_lines(ask_call *call, const cw_chain *chain, bool left_open_too, cw_arena *arena,
                            cw_due **out, size_t *count)
{
    cw_arena *scratch = call->asker->call;
    const cw_fact_id *lines;
    size_t line_count;
    ask_reach reach;
    ask_walk walk;
    cw_status status = cw_ask_sheet(call->asker->model, scratch, &lines, &line_count);
    if (status == CW_OK)
        status = ask_reach_new(call, chain, call->limits->places, left_open_too, scratch, &reach);
    if (status == CW_OK)
        status = ask_walk_new(call, chain, &reach, left_open_too, scratch, &walk);
    *out = status == CW_OK ? CW_NEW_ARRAY(arena, cw_due, line_count) : NULL;
    *count = 0;
    if (*out == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < line_count && status == CW_OK; i++) {
        status = find_line(&walk, lines[i], arena, &(*out)[*count]);
        *count += (*out)[*count].count > 0;
    }
    return status;
}

cw_status cw_ask_lines(cw_asker *asker, const cw_chain *chain, const cw_ask_limits *limits,
                       bool left_open_too, cw_arena *arena, const cw_due **out, size_t *count)
{
    ask_call call = {.asker = asker, .limits = limits, .about = CW_ABOUT_CAUSES};
    cw_due *due;
    cw_arena_reset(asker->call);
    asker->ahead_of = 0;
    cw_status status = find_lines(&call, chain, left_open_too, arena, &due, count);
    *out = due;
    return status;
}

cw_status ask_lines_only(ask_call *call, const cw_chain *chain, cw_arena *arena, cw_advice *advice)
{
    const cw_model *model = call->asker->model;
    cw_due *due;
    size_t lines;
    cw_status status = find_lines(call, chain, false, arena, &due, &lines);
    if (status != CW_OK)
        return status;
    bool *listed = CW_NEW_ARRAY(call->asker->call, bool, (size_t)model->checks_count + 1);
    cw_proposal *list = CW_NEW_ARRAY(arena, cw_proposal, model->checks_count);
    if (listed == NULL || list == NULL)
        return CW_NO_MEMORY;
    for (size_t line = 0; line < lines; line++)
        for (size_t i = 0; i < due[line].count; i++) {
            const cw_proposal *one = &due[line].checks[i];
            if (!listed[one->check])
                list[advice->count++] = *one;
            listed[one->check] = true;
        }
    advice->checks = list;
    advice->stop = advice->count == 0;
    advice->why = advice->stop ? CW_STOP_NOTHING_HELPS : CW_STOP_NOT;
    return CW_OK;
}
