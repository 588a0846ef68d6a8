/* Two checks that tell something only together: a rule needs both, or the answer to one opens the other. Each
 * of the quickest checks that feed rules is answered in every way on a second scratch chain, and from there
 * its partners are weighed. Its own answers count alike: they say nothing by themselves, or it would not have
 * come to this. Bounded to ASK_PAIRS first checks and as many partners for each. */
#include "ask/inside.h"

#include <assert.h>
#include <string.h>

enum { ANSWERS_MOST = 16 };

typedef struct candidate {
    cw_proposal proposal;
    bool *atoms; /* that rules can conclude from it */
    double bits; /* as a partner: summed over the answers of the first */
} candidate;

typedef struct candidates {
    candidate items[ASK_PAIRS];
    uint32_t count;
} candidates;

/* The quickest first; by name where alike. */
static bool before(const cw_model *model, const cw_proposal *a, const cw_proposal *b)
{
    if (a->minutes != b->minutes)
        return a->minutes < b->minutes;
    return strcmp(model->checks[a->check].name, model->checks[b->check].name) < 0;
}

static void insert(const cw_model *model, candidates *list, const candidate *c)
{
    uint32_t at = list->count;
    while (at > 0 && before(model, &c->proposal, &list->items[at - 1].proposal))
        at--;
    if (at == ASK_PAIRS)
        return;
    uint32_t last = list->count < ASK_PAIRS ? list->count++ : ASK_PAIRS - 1;
    memmove(&list->items[at + 1], &list->items[at], (last - at) * sizeof list->items[0]);
    list->items[at] = *c;
}

/* Open checks that feed rules, and those whose opening rules decide. */
static void find_first(const ask_call *call, const cw_chain *chain, candidates *out)
{
    const cw_asker *asker = call->asker;
    const cw_model *model = asker->model;
    bool opens = false;
    for (cw_check_id id = 1; id <= model->checks_count; id++)
        opens |= model->checks[id].only_if != 0;
    for (cw_check_id id = 1; id <= model->checks_count; id++) {
        cw_fact_id fact = model->checks[id].fact;
        candidate c = {0};
        if ((asker->matter[call->about].through[fact] || (opens && model->facts[fact].atoms.count > 0)) &&
            cw_ask_open(chain, id, call->limits) &&
            ask_place(model, id, call->limits->places, call->limits->here, &c.proposal))
            insert(model, out, &c);
    }
}

static bool meet(const cw_model *model, const bool *a, const bool *b)
{
    for (uint32_t i = 1; i <= model->atoms_count; i++)
        if (a[i] && b[i])
            return true;
    return false;
}

/* Partners: those that meet the first in a rule, and those that it may open. */
static cw_status find_partners(ask_call *call, const cw_chain *chain, const candidate *first, candidates *out)
{
    cw_asker *asker = call->asker;
    const cw_model *model = asker->model;
    const ask_matter *matter = &asker->matter[call->about];
    cw_status status = CW_OK;
    for (cw_check_id id = 1; id <= model->checks_count && status == CW_OK; id++) {
        const cw_check *check = &model->checks[id];
        candidate c = {0};
        if (id == first->proposal.check || (!matter->through[check->fact] && !matter->signs[check->fact]) ||
            !ask_unanswered(chain, id, call->limits->stage) ||
            !ask_place(model, id, call->limits->places, first->proposal.place, &c.proposal))
            continue;
        bool partner = check->only_if != 0 && first->atoms[check->only_if];
        if (!partner && matter->through[check->fact] && cw_ask_open(chain, id, call->limits)) {
            cw_arena_reset(asker->trial);
            status = ask_forward(asker, id, asker->trial, &c.atoms);
            partner = status == CW_OK && meet(model, c.atoms, first->atoms);
            c.atoms = NULL;
        }
        if (partner)
            insert(model, out, &c);
    }
    return status;
}

/* The first answered one way: what its partners are worth then. */
static cw_status weigh_partners(ask_call *call, const cw_chain *chain, const ask_outcome *outcome,
                                candidates *partners)
{
    cw_asker *asker = call->asker;
    ask_footing f;
    cw_status status = CW_OK;
    if (asker->between == NULL)
        status = cw_chain_new(asker->model, &asker->allocator, &asker->between);
    if (status != CW_OK)
        return status;
    cw_chain_copy(asker->between, chain);
    status = cw_chain_answer(asker->between, &outcome->answer);
    assert(status != CW_BAD_CALL);
    if (status != CW_OK)
        return status == CW_NO_MEMORY ? status : CW_OK;
    call->steps += cw_chain_steps(asker->between) + 1;
    status = ask_stand(call, asker->between, asker->call, &f);
    for (uint32_t i = 0; i < partners->count && status == CW_OK && f.possible && !call->cut_short; i++) {
        candidate *partner = &partners->items[i];
        ask_weighed weighed = {0};
        if (!cw_ask_open(asker->between, partner->proposal.check, call->limits))
            continue;
        status = ask_try_all(call, &f, partner->proposal.check, &weighed);
        partner->bits += weighed.bits;
    }
    return status;
}

/* The answers outlive the weighing of the partners. */
static cw_status answers_of(ask_call *call, const cw_chain *chain, cw_check_id check, ask_outcome **out,
                            uint32_t *count)
{
    const ask_outcome *outcomes = NULL;
    cw_arena_reset(call->asker->check);
    cw_status status = ask_outcomes(call->asker, chain, check, call->about, &outcomes, count);
    *out = status == CW_OK ? CW_NEW_ARRAY(call->asker->call, ask_outcome, *count) : NULL;
    if (*out == NULL)
        return CW_NO_MEMORY;
    memcpy(*out, outcomes, *count * sizeof **out);
    return CW_OK;
}

static cw_status best_partner(ask_call *call, const ask_footing *f, candidate *first)
{
    candidates partners = {.count = 0};
    ask_outcome *outcomes = NULL;
    uint32_t count = 0;
    cw_status status = ask_forward(call->asker, first->proposal.check, call->asker->call, &first->atoms);
    if (status == CW_OK)
        status = find_partners(call, f->chain, first, &partners);
    if (status == CW_OK && partners.count > 0)
        status = answers_of(call, f->chain, first->proposal.check, &outcomes, &count);
    if (count > ANSWERS_MOST)
        return status;
    for (uint32_t i = 0; i < count && status == CW_OK && !call->cut_short; i++)
        status = weigh_partners(call, f->chain, &outcomes[i], &partners);
    for (uint32_t i = 0; i < partners.count && count > 0; i++) {
        const candidate *partner = &partners.items[i];
        double bits = partner->bits / count;
        double worth = bits / (first->proposal.minutes + partner->proposal.minutes);
        if (worth <= first->proposal.worth)
            continue;
        first->proposal.with = partner->proposal.check;
        first->proposal.bits = bits;
        first->proposal.worth = worth;
    }
    return status;
}

cw_status ask_pairs(ask_call *call, const ask_footing *f, cw_proposal *list, size_t *count)
{
    candidates first = {.count = 0};
    cw_status status = CW_OK;
    find_first(call, f->chain, &first);
    for (uint32_t i = 0; i < first.count && status == CW_OK && !call->cut_short; i++) {
        status = best_partner(call, f, &first.items[i]);
        if (status == CW_OK && !call->cut_short && first.items[i].proposal.with != 0)
            list[(*count)++] = first.items[i].proposal;
    }
    return status;
}
