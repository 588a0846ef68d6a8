/* The steps of a trail in words: what was told, then what followed from it and by which rule. */
#include "session/inside.h"
#include <string.h>

const char *cw_say_support(const cw_session *session, cw_arena *arena, const cw_support *support)
{
    if (!support->absent)
        return support->atom != 0 ? cw_say_atom(session, arena, support->atom)
                                  : cw_say_fact(session, arena, support->fact);
    const char *test = cw_say_test(session, arena, support->atom);
    return test != NULL ? cw_arena_format(arena, "no sign of %s", test) : NULL;
}

/* What a rule asks to be known and its formula then reads is told once. */
static bool is_said(const char *const *list, size_t count, const char *text)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(list[i], text) == 0)
            return true;
    return false;
}

static const char *step_line(const cw_session *session, cw_arena *arena, const cw_trail_step *step)
{
    const cw_model *model = session->model;
    const cw_origin *origin = &model->origins[model->rules[step->rule].origin];
    const char *what = step->atom != 0 ? cw_say_atom(session, arena, step->atom)
                                       : cw_say_fact(session, arena, step->measure);
    const char **from = CW_NEW_ARRAY(arena, const char *, step->from_count);
    if (what == NULL || from == NULL)
        return NULL;
    size_t count = 0;
    for (size_t i = 0; i < step->from_count; i++) {
        from[count] = cw_say_support(session, arena, &step->from[i]);
        if (from[count] == NULL)
            return NULL;
        count += !is_said(from, count, from[count]);
    }
    const char *rests = cw_say_list(arena, from, count, "and");
    if (rests == NULL)
        return NULL;
    return cw_arena_format(arena, "So %s%s, from %s. %s (%s)", what,
                           step->truth == CW_DOUBTFUL ? " (doubtful)" : "", rests, origin->because,
                           origin->source);
}

cw_status cw_say_trail(const cw_session *session, cw_arena *arena, const cw_trail *trail,
                       const char *const **lines, size_t *count)
{
    const char **list = CW_NEW_ARRAY(arena, const char *, trail->answer_count + trail->count);
    if (list == NULL)
        return CW_NO_MEMORY;
    *count = 0;
    for (size_t i = 0; i < trail->answer_count; i++) {
        const char *told = cw_say_told(session, arena, trail->answers[i]);
        const char *title = cw_say_title(session->model, trail->answers[i]);
        list[*count] = told != NULL ? cw_arena_format(arena, "Told: %s: %s.", title, told) : NULL;
        if (list[(*count)++] == NULL)
            return CW_NO_MEMORY;
    }
    for (size_t i = 0; i < trail->count; i++) {
        list[*count] = step_line(session, arena, &trail->steps[i]);
        if (list[(*count)++] == NULL)
            return CW_NO_MEMORY;
    }
    *lines = list;
    return CW_OK;
}
