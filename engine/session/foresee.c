/* What a check can give now, in a caller's words. */
#include "session/inside.h"
#include <math.h>

/* Rounded to what it is read with. */
static const char *say_end(const cw_session *session, const cw_fact *fact, double base, double error,
                           double *number)
{
    *number = isinf(base) || fact->unit == NULL ? base : cw_from_base(fact->unit, base);
    return isinf(base) ? NULL : cw_say_quantity(session->replies, base, error, fact->unit);
}

static bool say_measured(const cw_session *session, const cw_fact *fact, const cw_prospect *from,
                         cw_foreseen *to)
{
    to->answer = cw_print_quantity(session->replies, from->answer.number, fact->unit);
    to->shown = cw_say_quantity(session->replies, from->answer.number, from->answer.error, fact->unit);
    to->low_shown = say_end(session, fact, from->low, from->answer.error, &to->low);
    to->high_shown = say_end(session, fact, from->high, from->answer.error, &to->high);
    return to->shown != NULL && (to->low_shown != NULL || isinf(from->low)) &&
           (to->high_shown != NULL || isinf(from->high));
}

/* False when memory fails. */
static bool say(const cw_session *session, const cw_prospect *from, cw_foreseen *to)
{
    const cw_fact *fact = &session->model->facts[from->answer.fact];
    *to = (cw_foreseen){.group = from->group, .chance = from->chance};
    if (fact->kind == CW_MEASURE)
        return say_measured(session, fact, from, to) && to->answer != NULL;
    if (fact->kind == CW_STAMPED) {
        to->answer = to->shown = cw_arena_format(session->replies, "%s", from->answer.text);
        return to->answer != NULL;
    }
    const cw_value *value = &session->model->values[fact->values.first + from->answer.value];
    to->answer = value->name;
    to->shown = value->title;
    return true;
}

cw_status cw_session_foresee(cw_session *session, const char *name, const cw_foreseen **list, size_t *count)
{
    if (session == NULL || name == NULL || list == NULL || count == NULL)
        return CW_BAD_CALL;
    const cw_check_id check = cw_model_check(session->model, name);
    if (check == 0)
        return CW_NOT_FOUND;
    const cw_fact_id fact = session->model->checks[check].fact;
    if (session->model->facts[fact].kind == CW_WHICH_UNIT || cw_chain_answered(session->chain, fact) != NULL)
        return CW_BAD_CALL;
    const cw_ask_limits limits = cw_session_limits(session);
    const cw_prospect *found;
    size_t found_count;
    cw_status status = cw_ask_foresee(session->asker, session->chain, &limits, check, session->replies,
                                      &found, &found_count);
    cw_foreseen *said = status == CW_OK ? CW_NEW_ARRAY(session->replies, cw_foreseen, found_count) : NULL;
    if (said == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < found_count; i++)
        if (!say(session, &found[i], &said[i]))
            return CW_NO_MEMORY;
    *list = said;
    *count = found_count;
    return CW_OK;
}
