/* What is known of a fact once its layer is complete, and the facts of which two values hold. */
#include "chain/inside.h"

#include <string.h>

/* The place of the fact among the conflicts, or where it belongs. */
static uint32_t find_conflict(const cw_chain *chain, cw_fact_id fact)
{
    uint32_t low = 0, high = chain->conflicts_count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (chain->conflicts[middle] < fact)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

cw_known chain_known(const cw_chain *chain, cw_fact_id fact)
{
    const cw_atom_id only = chain->index.only_atom[fact];
    if (only == 0)
        return (cw_known)chain->known[fact];
    const cw_truth truth = chain_truth_of(chain->atom[only].rank);
    return truth == CW_YES ? CW_KNOWN : truth == CW_DOUBTFUL ? CW_DOUBTFUL_FACT : CW_UNKNOWN;
}

uint32_t chain_pick(const cw_chain *chain, cw_fact_id fact)
{
    const cw_atom_id only = chain->index.only_atom[fact];
    return only == 0 ? chain->pick[fact] : chain->model->atoms[only].value;
}

bool chain_in_conflict(const cw_chain *chain, cw_fact_id fact)
{
    return chain->known[fact] == CW_CONFLICT;
}

static void note_conflict(cw_chain *chain, cw_fact_id fact, bool was, bool is)
{
    if (was == is)
        return;
    uint32_t at = find_conflict(chain, fact);
    cw_fact_id *place = &chain->conflicts[at];
    size_t after = chain->conflicts_count - at - (was ? 1u : 0u);
    memmove(is ? place + 1 : place, is ? place : place + 1, after * sizeof *place);
    if (is)
        *place = fact;
    chain->conflicts_count += is ? 1u : UINT32_MAX;
}

static cw_known settle_finite(const cw_chain *chain, cw_fact_id id, uint32_t *pick)
{
    const cw_model *model = chain->model;
    const cw_answer *answer = chain_given(chain, id);
    cw_run atoms = model->facts[id].atoms;
    uint32_t best = answer != NULL ? 0 : NEVER, sure = answer != NULL;
    *pick = answer != NULL ? answer->value : 0;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id a = model->fact_atoms[atoms.first + i];
        const cw_atom *atom = &model->atoms[a];
        if (atom->kind != CW_ATOM_VALUE || chain->atom[a].rank == NEVER)
            continue;
        sure += chain->atom[a].rank < MAYBE && (answer == NULL || atom->value != answer->value);
        if (chain->atom[a].rank < best ||
            (answer == NULL && chain->atom[a].rank == best && atom->value < *pick)) {
            best = chain->atom[a].rank;
            *pick = atom->value;
        }
    }
    if (sure > 0)
        return sure > 1 ? CW_CONFLICT : CW_KNOWN;
    return best < NEVER ? CW_DOUBTFUL_FACT : CW_UNKNOWN;
}

void chain_settle(cw_chain *chain, cw_fact_id fact)
{
    uint32_t pick = 0;
    cw_known was = (cw_known)chain->known[fact], is;
    switch (chain->model->facts[fact].kind) {
    case CW_MEASURE:
        is = chain_settle_number(chain, fact, &pick);
        break;
    case CW_STAMPED:
    case CW_WHICH_UNIT:
        is = chain_given(chain, fact) != NULL ? CW_KNOWN : CW_UNKNOWN;
        break;
    default:
        is = settle_finite(chain, fact, &pick);
    }
    chain->steps++;
    chain->known[fact] = (unsigned char)is;
    chain->pick[fact] = pick;
    note_conflict(chain, fact, was == CW_CONFLICT, is == CW_CONFLICT);
    const chain_list *readers = &chain->index.readers;
    for (uint32_t i = readers->start[fact]; i < readers->start[fact + 1]; i++) {
        uint32_t formula = readers->items[i];
        chain_queue_put(chain, chain_formula_node(chain, formula),
                        chain->model->rules[chain->index.rule_of[formula]].layer, 0);
    }
}

cw_known cw_chain_value(const cw_chain *chain, cw_fact_id fact, uint32_t *value)
{
    if (fact == 0 || fact > chain->model->facts_count || !chain_is_finite(&chain->model->facts[fact]) ||
        chain_known(chain, fact) == CW_UNKNOWN)
        return CW_UNKNOWN;
    *value = chain_pick(chain, fact);
    return chain_known(chain, fact);
}

size_t cw_chain_conflicts(const cw_chain *chain, cw_fact_id *facts, size_t room)
{
    size_t count = chain->conflicts_count < room ? chain->conflicts_count : room;
    if (count > 0)
        memcpy(facts, chain->conflicts, count * sizeof *facts);
    return chain->conflicts_count;
}
