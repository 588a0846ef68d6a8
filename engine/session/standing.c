/* What is known of a decision, the worst first, and the conclusion behind it. */
#include "session/standing.h"
#include <string.h>

cw_standing cw_stand(const cw_session *session, cw_fact_id fact)
{
    cw_standing out = {0};
    uint32_t value = 0;
    cw_known known = cw_chain_value(session->chain, fact, &value);
    if (known == CW_UNKNOWN)
        return out;
    out = (cw_standing){fact, value, known != CW_KNOWN, known == CW_CONFLICT};
    if (cw_chain_contested(session->chain, fact))
        out.doubtful = out.disputed = true;
    for (uint32_t v = 0; v < session->model->facts[fact].values.count; v++) {
        cw_atom_id atom = cw_fact_value_atom(session->model, fact, v);
        if (atom != 0 && cw_chain_truth(session->chain, atom) != CW_NO)
            out.value = v; /* values stand from normal to worst */
    }
    return out;
}

const cw_fact_info *cw_stand_why(const cw_session *session, const cw_standing *standing,
                                 const cw_fact_info *facts, size_t count)
{
    if (standing->fact == 0)
        return NULL;
    const cw_fact *about = &session->model->facts[standing->fact];
    const char *value = session->model->values[about->values.first + standing->value].name;
    for (size_t i = 0; i < count; i++)
        if (facts[i].fact == about->name && strcmp(facts[i].value, value) == 0)
            return &facts[i];
    return NULL;
}
