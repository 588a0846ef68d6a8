/* Whether what was found is explained: for each finding that is not normal, the most probable cause that can
 * account for it. One can that shows it at least "sometimes", or at least ten times as often as it is seen
 * with nothing wrong: a flat battery clicks in one case of seven, and hardly ever otherwise. Ten to one is
 * where evidence begins to be called strong (Jeffreys 1961). */
#include "session/work.h"

/* "sometimes" on the scale of frequencies; a hair less, so that 30 of 100 counts however it was written. */
static const double shows_it = 0.30 - 1e-9, times_background = 10 - 1e-9, present = 0.5;

static bool can_show(const cw_model *model, cw_cause_id cause, const cw_evidence *evidence)
{
    cw_run signs = model->causes[cause].signs;
    for (uint32_t i = 0; i < signs.count; i++) {
        const cw_sign *sign = &model->signs[signs.first + i];
        if (sign->fact != evidence->fact)
            continue;
        double chance = sign->chances[evidence->value];
        return chance >= shows_it ||
               chance >= times_background * model->facts[evidence->fact].background[evidence->value];
    }
    return false;
}

static void account_for(const cw_session *session, const cw_ranking *ranking, const cw_evidence *evidence,
                        cw_finding *out)
{
    const cw_model *model = session->model;
    const cw_fact *fact = &model->facts[evidence->fact];
    const cw_value *value = &model->values[fact->values.first + evidence->value];
    *out = (cw_finding){.fact = fact->name,
                        .title = cw_say_title(model, evidence->fact),
                        .value = value->name,
                        .shown = value->title};
    for (size_t i = 0; i < ranking->count && out->cause == NULL; i++) { /* most probable first */
        const cw_line *line = &ranking->lines[i];
        if (!can_show(model, cw_model_cause(model, line->id), evidence))
            continue;
        out->cause = line->id;
        out->cause_title = line->title;
        out->probability = line->probability;
        out->explained = line->probability >= present;
    }
}

cw_status cw_work_explain(cw_session *session, cw_explained *out)
{
    const cw_ranking *ranking;
    const cw_evidence *evidence;
    size_t count;
    cw_status status = cw_session_ranking(session, session->ranking_explain, &ranking);
    if (status == CW_OK)
        status = cw_evidence_collect(session->chain, CW_ABOUT_CAUSES, session->replies, &evidence, &count);
    if (status != CW_OK)
        return status;
    cw_finding *findings = CW_NEW_ARRAY(session->replies, cw_finding, count);
    if (findings == NULL)
        return CW_NO_MEMORY;
    *out = (cw_explained){.findings = findings};
    for (size_t i = 0; i < count; i++) {
        if (evidence[i].yields_to != 0 || evidence[i].value == 0)
            continue;
        account_for(session, ranking, &evidence[i], &findings[out->count]);
        out->unexplained += !findings[out->count++].explained;
    }
    out->explained = out->count > 0 && out->unexplained == 0;
    return CW_OK;
}
