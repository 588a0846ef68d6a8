/* What an answer says by itself about the atoms that test its fact. */
#include "chain/inside.h"

#include <math.h>
#include <string.h>

uint32_t chain_band_rank(const cw_atom *atom, uint32_t rank, double number, double error)
{
    if (rank == NEVER)
        return NEVER;
    uint32_t band = chain_rank_of(cw_interval_holds(atom->band, number, error));
    return band > rank ? band : rank;
}

/* Of a unit in hand known only as far as its family it is open whether it is one of the versions below. */
static cw_truth unit_truth(const cw_model *model, cw_unit_id asked, cw_unit_id in_hand)
{
    if (cw_unit_within(model, in_hand, asked))
        return CW_YES;
    return in_hand != CW_NOT_LISTED && cw_unit_within(model, asked, in_hand) ? CW_DOUBTFUL : CW_NO;
}

static cw_status seed_find(const cw_chain *chain, const cw_atom *atom, const cw_answer *answer,
                           cw_truth *truth)
{
    bool matched = false;
    cw_status status = CW_OK;
    *truth = CW_NO;
    switch (atom->kind) {
    case CW_ATOM_VALUE:
        *truth = atom->value == answer->value ? CW_YES : CW_NO;
        break;
    case CW_ATOM_BAND:
        *truth = cw_interval_holds(atom->band, answer->number, answer->error);
        break;
    case CW_ATOM_LIKE:
        status = cw_pattern_match(chain->model->patterns[atom->value], answer->text, strlen(answer->text),
                                  &matched, NULL, NULL);
        *truth = matched ? CW_YES : CW_NO;
        break;
    case CW_ATOM_UNIT:
        *truth = unit_truth(chain->model, atom->value, answer->value);
        break;
    case CW_ATOM_DATUM:
        *truth =
            cw_unit_datum(chain->model, answer->value, chain->model->data[atom->value].fact) == atom->value
                ? CW_YES
                : CW_NO;
        break;
    case CW_ATOM_KNOWN:
        *truth = CW_YES;
        break;
    case CW_ATOM_STEP:
    case CW_ATOM_CAUTION:
        break;
    }
    return status;
}

static const cw_reading *reading_at(const cw_chain *chain, uint32_t formula)
{
    return chain->model->rules[chain->index.rule_of[formula]].reading;
}

/* What the readers of a text find in it; NULL: no text. */
static cw_status find_readings(const cw_chain *chain, cw_fact_id fact, const char *text)
{
    const chain_list *readers = &chain->index.readers;
    if (chain->model->facts[fact].kind != CW_STAMPED)
        return CW_OK;
    for (uint32_t i = readers->start[fact]; i < readers->start[fact + 1]; i++) {
        const uint32_t formula = readers->items[i];
        bool found = false;
        double number = NAN;
        cw_status status = CW_OK;
        if (text != NULL)
            status = cw_reading_take(chain->model, reading_at(chain, formula), text, &found, &number);
        if (status != CW_OK)
            return status;
        chain->scratch->read[formula] = found ? number : NAN;
    }
    return CW_OK;
}

void chain_seeds_clear(const cw_chain *chain, cw_fact_id fact)
{
    memset(chain->scratch->truths, CW_NO, chain->model->facts[fact].atoms.count);
    find_readings(chain, fact, NULL);
}

cw_status chain_seeds_find(const cw_chain *chain, cw_fact_id fact, const cw_answer *answer)
{
    cw_run atoms = chain->model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        const cw_atom *atom = &chain->model->atoms[chain->model->fact_atoms[atoms.first + i]];
        cw_truth truth = CW_NO;
        cw_status status = seed_find(chain, atom, answer, &truth);
        if (status != CW_OK)
            return status;
        chain->scratch->truths[i] = (unsigned char)truth;
    }
    return find_readings(chain, fact, answer->text);
}

static void take_readings(cw_chain *chain, cw_fact_id fact)
{
    const chain_list *readers = &chain->index.readers;
    if (chain->model->facts[fact].kind != CW_STAMPED)
        return;
    for (uint32_t i = readers->start[fact]; i < readers->start[fact + 1]; i++)
        chain->read[readers->items[i]] = chain->scratch->read[readers->items[i]];
}

void chain_seeds_take(cw_chain *chain, cw_fact_id fact)
{
    cw_run atoms = chain->model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id atom = chain->model->fact_atoms[atoms.first + i];
        cw_truth before = (cw_truth)chain->seed[atom], after = (cw_truth)chain->scratch->truths[i];
        chain->seed[atom] = (unsigned char)after;
        chain_support_changed(chain, atom, chain_rank_of(before), chain_rank_of(after));
    }
    chain->steps += atoms.count;
    take_readings(chain, fact);
    chain_settle_later(chain, fact);
}
