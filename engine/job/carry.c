/* One job through its stages: what was answered counts on, until the unit is rebuilt. */
#include "job/inside.h"
#include "model/model.h"
#include <string.h>

/* What nobody knows stays: it is complained of when the case is applied. */
static bool outlasts(const cw_model *model, const char *name)
{
    cw_check_id check = cw_model_check(model, name);
    return check == 0 || model->checks[check].lasting;
}

/* The answers that outlast the rebuild move to the front, the others into *aside. */
static void part(cw_case *job, const cw_model *model, cw_case_answer *kept, cw_answer_node *nodes,
                 cw_case_answer *aside, cw_carried *out)
{
    for (size_t i = 0; i < job->info.answer_count; i++) {
        const cw_case_answer *answer = &job->info.answers[i];
        if (outlasts(model, answer->check)) {
            nodes[out->kept] = job->answer_nodes[i];
            kept[out->kept++] = *answer;
        } else {
            aside[out->set_aside++] = *answer;
        }
    }
}

static cw_status set_aside(cw_case *job, const cw_model *model, cw_carried *out)
{
    cw_case_info *info = &job->info;
    cw_case_answer *kept = CW_NEW_ARRAY(job->arena, cw_case_answer, info->answer_count);
    cw_case_answer *aside = CW_NEW_ARRAY(job->arena, cw_case_answer, info->answer_count);
    cw_answer_node *nodes = CW_NEW_ARRAY(job->arena, cw_answer_node, info->answer_count);
    cw_case_earlier *earlier = CW_NEW_ARRAY(job->arena, cw_case_earlier, info->earlier_count + 1);
    if (kept == NULL || aside == NULL || nodes == NULL || earlier == NULL)
        return CW_NO_MEMORY;
    part(job, model, kept, nodes, aside, out);
    if (info->earlier_count > 0)
        memcpy(earlier, info->earlier, info->earlier_count * sizeof *earlier);
    if (out->set_aside > 0 || info->complaint != NULL)
        earlier[info->earlier_count++] =
            (cw_case_earlier){info->stage, info->complaint, aside, out->set_aside};
    info->earlier = earlier;
    info->complaint = NULL;
    info->answers = kept;
    info->answer_count = out->kept;
    job->answer_nodes = nodes;
    return CW_OK;
}

cw_status cw_case_carry(cw_case *job, const cw_session *session, cw_carried *out)
{
    if (job == NULL || session == NULL || out == NULL)
        return CW_BAD_CALL;
    const char *to = cw_session_stage(session);
    cw_case_info *info = &job->info;
    *out = (cw_carried){0};
    if (info->stage == NULL || strcmp(info->stage, to) == 0) {
        out->kept = info->answer_count;
        return CW_OK;
    }
    const char *from = info->stage;
    if (strcmp(to, cw_stage_name(CW_PROOF)) == 0) {
        cw_status status = set_aside(job, cw_session_model(session), out);
        if (status != CW_OK)
            return status;
    } else {
        out->kept = info->answer_count;
    }
    out->from = from;
    info->stage = to;
    info->place_count = 0;
    return CW_OK;
}
