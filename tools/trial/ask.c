/* The engine asks, the case answers. */
#include "trial/trial.h"
#include <stdlib.h>
#include <string.h>

typedef struct asking {
    const cw_case_info *info;
    cw_session *session;
    bool *given; /* beside the answers of the case */
    trial_asked *out;
} asking;

static cw_status give(asking *talk, size_t index)
{
    const cw_case_answer *answer = &talk->info->answers[index];
    talk->given[index] = true;
    return cw_session_answer(talk->session, answer->check, answer->value, answer->tool, answer->place, NULL);
}

/* Which unit it is stands on the job card: it is told, not asked for. */
static cw_status begin(asking *talk, const cw_pack *pack)
{
    const cw_case_info *info = talk->info;
    cw_status status = cw_session_places(talk->session, info->places, info->place_count);
    for (size_t i = 0; status == CW_OK && i < info->answer_count; i++) {
        const cw_check_info *check = cw_pack_check(pack, info->answers[i].check, NULL);
        if (check != NULL && check->kind == CW_ANSWER_UNIT)
            status = give(talk, i);
    }
    return status;
}

/* The best check that the case has an answer to; NULL when there is none. */
static const cw_next_check *best_known(const asking *talk, const cw_next *next, size_t *index)
{
    for (size_t i = 0; i < next->count; i++) {
        for (size_t k = 0; k < talk->info->answer_count; k++) {
            if (talk->given[k] || strcmp(talk->info->answers[k].check, next->checks[i].check->name) != 0)
                continue;
            *index = k;
            return &next->checks[i];
        }
    }
    return NULL;
}

static cw_status ask_all(asking *talk)
{
    static const char *const stops[] = {[CW_GO_ON] = "case_ends",
                                        [CW_SURE_ENOUGH] = "sure_enough",
                                        [CW_NOTHING_HELPS] = "nothing_helps",
                                        [CW_CAUTION_STOPS] = "caution",
                                        [CW_COSTS_MORE] = "costs_more"};
    for (;;) {
        const cw_next *next;
        size_t index;
        cw_status status = cw_session_next(talk->session, &next);
        if (status != CW_OK)
            return status;
        const cw_next_check *check = best_known(talk, next, &index);
        if (check == NULL) {
            talk->out->stop = stops[next->stop];
            return CW_OK;
        }
        talk->out->checks[talk->out->questions++] = check->check->name;
        talk->out->minutes += check->minutes;
        status = cw_session_here(talk->session, check->place);
        if (status == CW_OK)
            status = give(talk, index);
        if (status != CW_OK)
            return status;
    }
}

void trial_ask(const cw_pack *pack, const cw_case *job, trial *out)
{
    const cw_case_info *info = cw_case_get(job);
    asking talk = {.info = info, .out = &out->asked};
    if (out->end != TRIAL_DONE || out->status != CW_OK)
        return;
    talk.given = calloc(info->answer_count + 1, sizeof *talk.given);
    talk.out->checks = calloc(info->answer_count + 1, sizeof *talk.out->checks);
    cw_status status = talk.given != NULL && talk.out->checks != NULL ? CW_OK : CW_NO_MEMORY;
    if (status == CW_OK)
        status = cw_session_new(pack, out->stage, &talk.session);
    if (status == CW_OK)
        status = begin(&talk, pack);
    if (status == CW_OK)
        status = ask_all(&talk);
    const cw_ranking *ranking;
    if (status == CW_OK)
        status = cw_session_ranking(talk.session, 0, &ranking);
    if (status == CW_OK) {
        trial_score_ranking(ranking, info, strcmp(out->stage, "proof") == 0, &out->asked.score);
        out->asked_too = true;
    }
    cw_session_free(talk.session);
    free(talk.given);
    out->status = status;
}
