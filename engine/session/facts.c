/* What was concluded, and how; cautions that rules have raised. */
#include "session/inside.h"
#include <string.h>

/* What a rule asks to be known and its formula then reads would be told twice. Returns how many are left. */
static size_t without_doubles(const char **from, const char **facts, bool *absent, size_t count)
{
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        size_t same = 0;
        while (same < kept &&
               (facts[same] != facts[i] || absent[same] != absent[i] || strcmp(from[same], from[i]) != 0))
            same++;
        if (same < kept)
            continue;
        from[kept] = from[i];
        facts[kept] = facts[i];
        absent[kept++] = absent[i];
    }
    return kept;
}

static bool describe_from(const cw_session *session, const cw_trail_step *step, cw_fact_info *out)
{
    const char **from = CW_NEW_ARRAY(session->replies, const char *, step->from_count);
    const char **facts = CW_NEW_ARRAY(session->replies, const char *, step->from_count);
    bool *absent = CW_NEW_ARRAY(session->replies, bool, step->from_count);
    if (from == NULL || facts == NULL || absent == NULL)
        return false;
    for (size_t i = 0; i < step->from_count; i++) {
        const cw_support *support = &step->from[i];
        from[i] = cw_say_support(session, session->replies, support);
        facts[i] = support->fact != 0 ? session->model->facts[support->fact].name : NULL;
        absent[i] = support->absent;
        if (from[i] == NULL)
            return false;
    }
    out->from = from;
    out->from_facts = facts;
    out->from_absent = absent;
    out->from_count = without_doubles(from, facts, absent, step->from_count);
    return true;
}

static bool describe_measure(const cw_session *session, cw_fact_id fact, cw_fact_info *out)
{
    double number;
    double error;
    cw_chain_number(session->chain, fact, &number, &error);
    const cw_unit_info *unit = session->model->facts[fact].unit;
    out->value = cw_print_quantity(session->replies, number, unit);
    out->shown = cw_say_quantity(session->replies, number, error, unit);
    return out->value != NULL && out->shown != NULL;
}

static bool describe(const cw_session *session, const cw_trail_step *step, cw_fact_info *out)
{
    const cw_model *model = session->model;
    cw_fact_id fact = step->atom != 0 ? model->atoms[step->atom].fact : step->measure;
    const cw_origin *origin = &model->origins[model->rules[step->rule].origin];
    *out = (cw_fact_info){.fact = model->facts[fact].name,
                          .title = cw_say_title(model, fact),
                          .rule = origin->name,
                          .because = origin->because,
                          .source = origin->source,
                          .doubtful = step->truth == CW_DOUBTFUL,
                          .contested = cw_chain_contested(session->chain, fact)};
    if (step->atom == 0)
        return describe_measure(session, fact, out) && describe_from(session, step, out);
    const cw_value *value = &model->values[model->facts[fact].values.first + model->atoms[step->atom].value];
    out->value = value->name;
    out->shown = value->title;
    return describe_from(session, step, out);
}

cw_status cw_session_facts(cw_session *session, const cw_fact_info **facts, size_t *count)
{
    if (session == NULL || facts == NULL || count == NULL)
        return CW_BAD_CALL;
    if (session->facts == NULL) {
        cw_trail trail;
        cw_status status = cw_trail_all(session->chain, session->replies, &trail);
        if (status != CW_OK)
            return status;
        cw_fact_info *list = CW_NEW_ARRAY(session->replies, cw_fact_info, trail.count);
        if (list == NULL)
            return CW_NO_MEMORY;
        for (size_t i = 0; i < trail.count; i++) {
            if (!describe(session, &trail.steps[i], &list[i]))
                return CW_NO_MEMORY;
        }
        session->facts = list;
        session->fact_count = trail.count;
    }
    *facts = session->facts;
    *count = session->fact_count;
    return CW_OK;
}

static bool raised(const cw_session *session, cw_caution_id caution)
{
    cw_atom_id atom = session->model->cautions[caution].atom;
    return atom != 0 && cw_chain_truth(session->chain, atom) != CW_NO; /* in doubt, warn */
}

const cw_caution_info *cw_session_stopper(const cw_session *session)
{
    const cw_caution_info *found = NULL;
    for (cw_caution_id id = 1; id <= session->model->cautions_count; id++) {
        const cw_caution *caution = &session->model->cautions[id];
        if (caution->stop > (found != NULL ? found->stop : CW_HALT_NOTHING) && caution->atom != 0 &&
            cw_chain_truth(session->chain, caution->atom) == CW_YES)
            found = &session->pack->cautions[id - 1];
    }
    return found;
}

cw_halt cw_session_halt(const cw_session *session)
{
    const cw_caution_info *stopper = cw_session_stopper(session);
    if (stopper == NULL)
        return CW_HALT_NOTHING;
    return session->stage == CW_PROOF ? CW_HALT_ALL
                                      : stopper->stop; /* that stage tells of nothing but its sheet */
}

cw_status cw_session_cautions(cw_session *session, const cw_caution_info *const **cautions, size_t *count)
{
    if (session == NULL || cautions == NULL || count == NULL)
        return CW_BAD_CALL;
    if (session->cautions == NULL) {
        const cw_caution_info **list =
            CW_NEW_ARRAY(session->replies, const cw_caution_info *, session->model->cautions_count);
        if (list == NULL)
            return CW_NO_MEMORY;
        session->caution_count = 0;
        for (cw_caution_id id = 1; id <= session->model->cautions_count; id++) {
            if (raised(session, id))
                list[session->caution_count++] = &session->pack->cautions[id - 1];
        }
        session->cautions = list;
    }
    *cautions = session->cautions;
    *count = session->caution_count;
    return CW_OK;
}
