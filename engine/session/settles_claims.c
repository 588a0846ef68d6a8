/* What speaks for which of the likely causes. */
#include "session/settles.h"

static const double least = 0.01; /* probability of a cause that something can speak for */

/* Counting first. */
bool cw_settler_list_shown(cw_settler *settler)
{
    const cw_model *model = settler->session->model;
    const cw_ranking *ranking = settler->ranking;
    size_t likely = 0;
    uint32_t first = 0;
    while (likely < ranking->count && ranking->lines[likely].probability >= least)
        likely++;
    settler->shown_of = CW_NEW_ARRAY(settler->arena, cw_run, (size_t)model->facts_count + 1);
    for (size_t i = 0; settler->shown_of != NULL && i < likely; i++) {
        const cw_run signs = model->causes[settler->ids[i]].signs;
        for (uint32_t k = signs.first; k < signs.first + signs.count; k++)
            settler->shown_of[model->signs[k].fact].count++;
    }
    for (cw_fact_id fact = 1; settler->shown_of != NULL && fact <= model->facts_count; fact++) {
        settler->shown_of[fact].first = first;
        first += settler->shown_of[fact].count;
        settler->shown_of[fact].count = 0;
    }
    settler->shown = CW_NEW_ARRAY(settler->arena, settles_shown, first);
    if (settler->shown_of == NULL || settler->shown == NULL)
        return false;
    for (size_t i = 0; i < likely; i++) {
        const cw_run signs = model->causes[settler->ids[i]].signs;
        for (uint32_t k = signs.first; k < signs.first + signs.count; k++) {
            cw_run *of = &settler->shown_of[model->signs[k].fact];
            settler->shown[of->first + of->count++] = (settles_shown){&ranking->lines[i], &model->signs[k]};
        }
    }
    settler->first_line = CW_NEW_ARRAY(settler->arena, uint32_t, (size_t)model->facts_count + 1);
    return settler->first_line != NULL;
}

/* Keeps the strongest claims, each cause and each value once. */
static void keep_claim(settles_claim claims[SETTLES_NAMED], size_t *count, settles_claim fresh)
{
    for (size_t i = 0; i < *count; i++) {
        bool same_value = claims[i].fact == fresh.fact && claims[i].value == fresh.value;
        if (claims[i].line != fresh.line && !same_value)
            continue;
        if (claims[i].weight >= fresh.weight)
            return;
        for (size_t k = i + 1; k < *count; k++)
            claims[k - 1] = claims[k];
        (*count)--;
        i--;
    }
    size_t to = *count < SETTLES_NAMED ? (*count)++ : SETTLES_NAMED;
    for (; to > 0 && claims[to - 1].weight < fresh.weight; to--) {
        if (to < SETTLES_NAMED)
            claims[to] = claims[to - 1];
    }
    if (to < SETTLES_NAMED)
        claims[to] = fresh;
}

/* What the cause of a line shows of a fact, more often than it is seen with nothing wrong. */
static void claim_values(const cw_settler *settler, cw_fact_id fact, const settles_shown *by,
                         settles_claim claims[SETTLES_NAMED], size_t *count)
{
    const cw_fact *about = &settler->session->model->facts[fact];
    for (uint32_t v = 1; v < about->values.count; v++) {
        double more = by->sign->chances[v] - about->background[v];
        if (more > 0.05)
            keep_claim(claims, count, (settles_claim){by->line->probability * more, fact, v, by->line});
    }
}

void cw_settler_claim(const cw_settler *settler, cw_fact_id fact, settles_claim claims[SETTLES_NAMED],
                      size_t *count)
{
    const cw_run of = settler->shown_of[fact];
    uint32_t value;
    if (of.count == 0 || cw_chain_value(settler->session->chain, fact, &value) == CW_KNOWN)
        return; /* shown by none that is likely, or open no longer */
    for (uint32_t i = of.first; i < of.first + of.count; i++)
        claim_values(settler, fact, &settler->shown[i], claims, count);
}
