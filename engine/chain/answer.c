/* Giving, changing and withdrawing answers. Each is one step: what the old answer said goes and what the new
 * one says comes before anything is chained. */
#include "chain/inside.h"

#include <math.h>
#include <string.h>

static bool may_answer(const cw_chain *chain, cw_fact_id fact)
{
    return fact != 0 && fact <= chain->model->facts_count && chain->model->facts[fact].check != 0;
}

static bool is_right(const cw_chain *chain, const cw_answer *answer)
{
    if (!may_answer(chain, answer->fact))
        return false;
    const cw_fact *fact = &chain->model->facts[answer->fact];
    if (answer->cant_tell)
        return true;
    switch (fact->kind) {
    case CW_MEASURE:
        return isfinite(answer->number) && isfinite(answer->error) && answer->error >= 0;
    case CW_STAMPED:
        return answer->text != NULL && strlen(answer->text) <= CW_ANSWER_MAX_TEXT;
    case CW_WHICH_UNIT:
        return answer->value <= chain->model->units_count;
    default:
        return answer->value < fact->values.count;
    }
}

static cw_answer *place_of(const cw_chain *chain, cw_fact_id fact)
{
    return &chain->answers[chain->model->facts[fact].check];
}

/* Keeps what belongs to the kind of fact; the text may be the one that is already kept. */
static void keep(const cw_chain *chain, const cw_answer *answer)
{
    const cw_fact *fact = &chain->model->facts[answer->fact];
    cw_answer *place = place_of(chain, answer->fact);
    cw_answer kept = {.fact = answer->fact, .cant_tell = answer->cant_tell};
    if (kept.cant_tell) {
        *place = kept;
        return;
    }
    if (fact->kind == CW_MEASURE) {
        kept.number = answer->number;
        kept.error = answer->error;
    } else if (fact->kind == CW_STAMPED) {
        char *text = chain_text_place(chain, fact->check);
        memmove(text, answer->text, strlen(answer->text) + 1);
        kept.text = text;
    } else {
        kept.value = answer->value;
    }
    *place = kept;
}

/* Chains after the answer to the fact has become another; scratch->truths says what it says. */
static void take_over(cw_chain *chain, cw_fact_id fact)
{
    chain->steps = 0;
    chain_seeds_take(chain, fact);
    chain_run(chain);
    chain->version++;
}

cw_status cw_chain_answer(cw_chain *chain, const cw_answer *answer)
{
    if (chain == NULL || answer == NULL || !is_right(chain, answer))
        return CW_BAD_CALL;
    cw_fact_id fact = answer->fact;
    cw_status status = CW_OK;
    if (answer->cant_tell)
        chain_seeds_clear(chain, fact);
    else
        status = chain_seeds_find(chain, fact, answer);
    if (status != CW_OK)
        return status;
    keep(chain, answer);
    take_over(chain, fact);
    return CW_OK;
}

cw_status cw_chain_withdraw(cw_chain *chain, cw_fact_id fact)
{
    if (chain == NULL || !may_answer(chain, fact))
        return CW_BAD_CALL;
    if (place_of(chain, fact)->fact == 0)
        return CW_NOT_FOUND;
    chain_seeds_clear(chain, fact);
    *place_of(chain, fact) = (cw_answer){0};
    take_over(chain, fact);
    return CW_OK;
}

const cw_answer *cw_chain_answered(const cw_chain *chain, cw_fact_id fact)
{
    if (!may_answer(chain, fact))
        return NULL;
    const cw_answer *answer = place_of(chain, fact);
    return answer->fact == 0 ? NULL : answer;
}

const cw_answer *chain_given(const cw_chain *chain, cw_fact_id fact)
{
    const cw_answer *answer = cw_chain_answered(chain, fact);
    return answer == NULL || answer->cant_tell ? NULL : answer;
}

const char *cw_chain_text(const cw_chain *chain, cw_fact_id fact)
{
    const cw_answer *answer = chain_given(chain, fact);
    return answer == NULL ? NULL : answer->text;
}
