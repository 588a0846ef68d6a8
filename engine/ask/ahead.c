/* Looking one answer ahead: each answer of a check is given to a scratch chain, and what counts as evidence
 * then is collected and ranked. Answers that lead to the same evidence are ranked once. A check that no rule
 * reads needs no chain: its answer is one more piece of evidence, and nothing else changes. */
#include "ask/inside.h"

#include <assert.h>
#include <string.h>

/* -- One answer further on -- */

static bool text_equal(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

bool ask_same_piece(const cw_evidence *a, const cw_evidence *b)
{
    return a->fact == b->fact && a->value == b->value && a->number == b->number && a->error == b->error &&
           text_equal(a->text, b->text);
}

static bool evidence_equal(const cw_evidence *a, size_t a_count, const cw_evidence *b, size_t b_count)
{
    if (a_count != b_count)
        return false;
    for (size_t i = 0; i < a_count; i++)
        if (!ask_same_piece(&a[i], &b[i]))
            return false;
    return true;
}

static bool circumstances_equal(const ask_call *call, const bool *a, const bool *b)
{
    return a == b || memcmp(a, b, call->asker->circumstance_count * sizeof *a) == 0;
}

/* The list with one piece put in by order of fact. */
static cw_status put_in(ask_call *call, const ask_footing *f, const ask_outcome *outcome, ask_class *out)
{
    cw_evidence *list = CW_NEW_ARRAY(call->asker->trial, cw_evidence, f->count + 1);
    if (list == NULL)
        return CW_NO_MEMORY;
    const cw_answer *a = &outcome->answer;
    cw_kind kind = call->asker->model->facts[a->fact].kind;
    bool measured = kind == CW_MEASURE, stamped = kind == CW_STAMPED;
    cw_evidence piece = {.fact = a->fact,
                         .value = measured || stamped ? 0 : a->value,
                         .number = measured ? a->number : 0,
                         .error = measured ? a->error : 0,
                         .text = stamped ? a->text : NULL};
    size_t at = 0;
    while (at < f->count && f->evidence[at].fact < a->fact)
        at++;
    memcpy(list, f->evidence, at * sizeof *list);
    list[at] = piece;
    memcpy(list + at + 1, f->evidence + at, (f->count - at) * sizeof *list);
    out->evidence = list;
    out->count = f->count + 1;
    out->circumstances = f->circumstances;
    call->steps++;
    return CW_OK;
}

/* Brings the scratch chain to where the footing stands. What was tried last is only withdrawn: that touches
 * the rules beside it, a copy touches everything. */
static cw_status back_to(cw_asker *asker, const ask_footing *f)
{
    cw_status status = CW_OK;
    if (asker->ahead_of == f->number && asker->ahead_given != 0)
        status = cw_chain_withdraw(asker->ahead, asker->ahead_given);
    else if (asker->ahead_of != f->number)
        cw_chain_copy(asker->ahead, f->chain);
    asker->ahead_of = status == CW_OK ? f->number : 0;
    asker->ahead_given = 0;
    return status;
}

/* Gives the answer to the scratch chain, in place of another to the same check. *taken: false when it is
 * refused (a text that a pattern cannot finish with). */
static cw_status give(ask_call *call, const ask_footing *f, const cw_answer *answer, bool *taken)
{
    cw_asker *asker = call->asker;
    cw_status status = CW_OK;
    if (asker->ahead_of != f->number || asker->ahead_given != answer->fact)
        status = back_to(asker, f);
    if (status == CW_OK)
        status = cw_chain_answer(asker->ahead, answer);
    assert(status != CW_BAD_CALL);
    *taken = status == CW_OK;
    if (status != CW_OK)
        asker->ahead_of = 0;
    else
        asker->ahead_given = answer->fact;
    call->steps += cw_chain_steps(asker->ahead) + 1;
    return status == CW_NO_MEMORY ? status : CW_OK;
}

/* What counts after the answer: in the trial arena. The answer's chain is left in *chain. */
static cw_status answer(ask_call *call, const ask_footing *f, cw_check_id check, const ask_outcome *outcome,
                        const cw_chain **chain, ask_class *out, bool *taken)
{
    cw_asker *asker = call->asker;
    *taken = true;
    *chain = f->chain;
    cw_arena_reset(asker->trial);
    if (!asker->matter[call->about].through[asker->model->checks[check].fact])
        return put_in(call, f, outcome, out);
    cw_status status = give(call, f, &outcome->answer, taken);
    if (status != CW_OK || !*taken)
        return status;
    *chain = asker->ahead;
    status = ask_collect(call, asker->ahead, asker->trial, &out->evidence, &out->count);
    return status == CW_OK ? ask_circumstances(call, asker->ahead, asker->trial, &out->circumstances)
                           : status;
}

/* A copy that outlives the trial. The answer's own measure counts by the whole of its piece of the range. */
static cw_status keep(ask_call *call, const ask_outcome *outcome, ask_class *class)
{
    cw_arena *arena = call->asker->check;
    cw_evidence *list = CW_NEW_ARRAY(arena, cw_evidence, class->count);
    bool *holds = CW_NEW_ARRAY(arena, bool, call->asker->circumstance_count);
    if (list == NULL || holds == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < class->count; i++) {
        list[i] = class->evidence[i];
        if (list[i].text != NULL)
            list[i].text = cw_arena_text(arena, list[i].text, strlen(list[i].text));
        list[i].between = list[i].fact == outcome->answer.fact &&
                          call->asker->model->facts[list[i].fact].kind == CW_MEASURE;
        list[i].low = outcome->low;
        list[i].high = outcome->high;
        if (class->evidence[i].text != NULL && list[i].text == NULL)
            return CW_NO_MEMORY;
    }
    if (call->asker->circumstance_count > 0)
        memcpy(holds, class->circumstances, call->asker->circumstance_count * sizeof *holds);
    class->evidence = list;
    class->circumstances = holds;
    return CW_OK;
}

/* -- All answers of one check -- */

/* The class of what the answer led to; a new one has no answers yet. */
static cw_status find_class(ask_call *call, const ask_footing *f, ask_class *found,
                            const ask_outcome *outcomes, uint32_t index, ask_class *classes, ask_weighed *out,
                            ask_class **class)
{
    for (uint32_t i = 0; i < out->class_count; i++) {
        *class = &classes[i];
        if (evidence_equal((*class)->evidence, (*class)->count, found->evidence, found->count) &&
            circumstances_equal(call, (*class)->circumstances, found->circumstances))
            return CW_OK;
    }
    cw_status status = keep(call, &outcomes[index], found);
    if (status != CW_OK)
        return status;
    *class = &classes[out->class_count++];
    **class = *found;
    (*class)->first = index;
    (*class)->new_evidence = !evidence_equal(found->evidence, found->count, f->evidence, f->count);
    (*class)->same =
        !(*class)->new_evidence && circumstances_equal(call, found->circumstances, f->circumstances);
    return CW_OK;
}

static cw_status rank(ask_trial *r, const cw_chain *chain, ask_class *class)
{
    if (r->call->steps >= r->call->max_steps) {
        r->weighed.complete = false;
        return CW_OK;
    }
    return r->call->about == CW_ABOUT_UNITS
               ? ask_rank_units(r->call, r->footing, class)
               : ask_rank_causes(r->call, r->footing, chain, class, r->rest, &r->weighed.complete);
}

static cw_status try_one(ask_trial *r, uint32_t index)
{
    ask_class found = {0}, *class = NULL;
    const cw_chain *chain = NULL;
    bool taken = false;
    cw_status status = answer(r->call, r->footing, r->check, &r->outcomes[index], &chain, &found, &taken);
    if (status != CW_OK || !taken)
        return status;
    status = find_class(r->call, r->footing, &found, r->outcomes, index, r->classes, &r->weighed, &class);
    if (status != CW_OK)
        return status;
    r->weighed.outcome_count++;
    if (r->class_of != NULL)
        r->class_of[index] = (uint32_t)(class - r->classes);
    if (class->outcomes++ > 0 || class->same)
        return CW_OK;
    if (r->call->about == CW_ABOUT_CAUSES) {
        status = ask_foresee_causes(r->call, r->footing, chain, class);
        if (status == CW_OK && class->ticket == 0 && r->rest == NULL)
            status = ask_rest_new(r->call, &r->rest);
        if (status != CW_OK || class->ticket != 0)
            return status;
    }
    if (r->rest != NULL &&
        ask_rest_waits(r->rest, r->call, r->footing, class, (uint32_t)(class - r->classes)))
        return CW_OK;
    return rank(r, chain, class);
}

/* Ranks a class whose chain has gone. */
static cw_status rank_again(ask_trial *r, ask_class *class)
{
    const cw_chain *chain = NULL;
    ask_class again = {0};
    bool taken = false;
    cw_status status =
        answer(r->call, r->footing, r->check, &r->outcomes[class->first], &chain, &again, &taken);
    assert(status != CW_OK || taken);
    if (status == CW_OK && r->rest == NULL && r->call->about == CW_ABOUT_CAUSES)
        status = ask_rest_new(r->call, &r->rest);
    return status == CW_OK ? rank(r, chain, class) : status;
}

static cw_status take_foreseen(ask_trial *r)
{
    cw_status status = CW_OK;
    for (uint32_t i = 0; i < r->weighed.class_count && status == CW_OK && r->weighed.complete; i++) {
        bool done = true;
        if (r->classes[i].ticket == 0)
            continue;
        if (r->call->steps >= r->call->max_steps)
            r->weighed.complete = false;
        else
            status = ask_take_causes(r->call, r->footing, &r->classes[i], &r->weighed.complete, &done);
        if (status == CW_OK && !done)
            status = rank_again(r, &r->classes[i]);
    }
    return status;
}

/* The class that waited, if any: by what the others left, or else like them. */
static cw_status try_last(ask_trial *r)
{
    const uint32_t waiting = r->rest == NULL ? UINT32_MAX : ask_rest_waiting(r->rest);
    if (waiting == UINT32_MAX || ask_rest_take(r->rest, r->call, r->footing, &r->classes[waiting]))
        return CW_OK;
    return rank_again(r, &r->classes[waiting]);
}

void ask_try_anew(ask_call *call)
{
    cw_arena_reset(call->asker->check);
    if (call->asker->causes != NULL)
        cw_causes_foresee_anew(call->asker->causes);
}

static cw_status list_outcomes(ask_trial *r, uint32_t *count)
{
    cw_asker *asker = r->call->asker;
    cw_status status = ask_outcomes(asker, r->footing->chain, r->check, r->call->about, &r->outcomes, count);
    r->classes = status == CW_OK ? CW_NEW_ARRAY(asker->check, ask_class, *count) : NULL;
    r->weighed.classes = r->classes;
    return r->classes == NULL ? CW_NO_MEMORY : CW_OK;
}

cw_status ask_try_begin(ask_call *call, const ask_footing *f, cw_check_id check, ask_trial *r)
{
    cw_asker *asker = call->asker;
    const ask_matter *matter = &asker->matter[call->about];
    const cw_fact_id fact = asker->model->checks[check].fact;
    *r = (ask_trial){.call = call, .footing = f, .check = check, .weighed = {.complete = true}};
    if (!matter->through[fact] && !matter->signs[fact])
        return CW_OK;
    if (ask_is_column(call, f, fact))
        return ask_weigh_column(call, f, fact, &r->weighed);
    uint32_t count = 0;
    cw_status status = list_outcomes(r, &count);
    for (uint32_t i = 0; i < count && status == CW_OK && r->weighed.complete; i++)
        status = try_one(r, i);
    return status;
}

cw_status ask_try_end(ask_trial *r)
{
    cw_status status = CW_OK;
    if (r->weighed.complete)
        status = take_foreseen(r);
    if (status == CW_OK && r->weighed.complete)
        status = try_last(r);
    if (status == CW_OK && r->weighed.complete && r->weighed.column == 0)
        ask_expect(&r->weighed);
    r->call->cut_short |= !r->weighed.complete;
    return status;
}

cw_status ask_try_all(ask_call *call, const ask_footing *f, cw_check_id check, ask_weighed *out)
{
    ask_trial trial;
    ask_try_anew(call);
    cw_status status = ask_try_begin(call, f, check, &trial);
    if (status == CW_OK)
        status = ask_try_end(&trial);
    *out = trial.weighed;
    return status;
}

cw_status ask_try_each(ask_call *call, const ask_footing *f, cw_check_id check, ask_trial *r, uint32_t *count)
{
    ask_try_anew(call);
    *r = (ask_trial){.call = call, .footing = f, .check = check, .weighed = {.complete = true}};
    cw_status status = list_outcomes(r, count);
    r->class_of = status == CW_OK ? CW_NEW_ARRAY(call->asker->check, uint32_t, *count) : NULL;
    if (r->class_of == NULL)
        return CW_NO_MEMORY;
    memset(r->class_of, 0xff, *count * sizeof *r->class_of);
    for (uint32_t i = 0; i < *count && status == CW_OK && r->weighed.complete; i++)
        status = try_one(r, i);
    return status == CW_OK ? ask_try_end(r) : status;
}
