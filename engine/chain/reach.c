/* How far a rule has come. The counts beside the reach tell whether a change among the premises can move it;
 * the premises are looked through only when it does (the counters of Dowling & Gallier 1984, for `at least N`
 * as well). */
#include "chain/inside.h"

/* The k-th smallest, k from 1 (Hoare 1961); the array is shuffled. */
static uint32_t select_smallest(uint32_t *ranks, uint32_t count, uint32_t k)
{
    uint32_t low = 0, high = count - 1;
    while (low < high) {
        uint32_t pivot = ranks[low + (high - low) / 2], i = low, j = high;
        for (;;) {
            while (ranks[i] < pivot)
                i++;
            while (ranks[j] > pivot)
                j--;
            if (i >= j)
                break;
            uint32_t other = ranks[i];
            ranks[i++] = ranks[j];
            ranks[j--] = other;
        }
        if (k - 1 <= j)
            high = j;
        else
            low = j + 1;
    }
    return ranks[k - 1];
}

static uint32_t select_reach(const cw_chain *chain, const cw_rule *rule)
{
    const cw_premise *premises = &chain->model->premises[rule->premises.first];
    uint32_t *ranks = chain->scratch->ranks, count = rule->premises.count;
    uint32_t least = NEVER, most = 0;
    for (uint32_t i = 0; i < count; i++) {
        ranks[i] = chain_premise_rank(chain->rank[premises[i].atom], premises[i].absent);
        least = ranks[i] < least ? ranks[i] : least;
        most = ranks[i] > most ? ranks[i] : most;
    }
    if (rule->need == 1)
        return least;
    return rule->need == count ? most : select_smallest(ranks, count, rule->need);
}

void chain_reach_find(cw_chain *chain, cw_rule_id id)
{
    const cw_rule *rule = &chain->model->rules[id];
    chain_rule *state = &chain->rule[id];
    *state = (chain_rule){.reach = rule->need == 0 ? 0 : NEVER};
    if (rule->need == 0 || rule->need > rule->premises.count)
        return;
    state->reach = select_reach(chain, rule);
    const cw_premise *premises = &chain->model->premises[rule->premises.first];
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        uint32_t rank = chain_premise_rank(chain->rank[premises[i].atom], premises[i].absent);
        state->less += rank < state->reach;
        state->equal += rank == state->reach;
    }
    chain->steps += rule->premises.count;
}

bool chain_reach_update(cw_chain *chain, cw_rule_id id, uint32_t before, uint32_t after)
{
    const cw_rule *rule = &chain->model->rules[id];
    chain_rule *state = &chain->rule[id];
    chain->steps++;
    if (rule->need == 0 || rule->need > rule->premises.count)
        return false;
    state->less += (uint32_t)(after < state->reach) - (uint32_t)(before < state->reach);
    state->equal += (uint32_t)(after == state->reach) - (uint32_t)(before == state->reach);
    if (state->less < rule->need && rule->need <= state->less + state->equal)
        return false;
    chain_reach_find(chain, id);
    return true;
}

uint32_t chain_rule_rank(const cw_chain *chain, cw_rule_id id)
{
    uint32_t reach = chain->rule[id].reach;
    if (chain->model->rules[id].measure != 0) {
        uint32_t inputs = chain->formula[chain_formula_of(chain, id)].inputs;
        reach = inputs > reach ? inputs : reach;
    }
    return reach == NEVER ? NEVER : reach + 1;
}
