/* How far a rule has come: its reach, the `need`-th smallest rank of its premises. The counters of Dowling &
 * Gallier 1984, for `at least N` as well, and so that the premises are looked through only when the reach
 * moves in a way that the counters cannot follow.
 *
 * A rule that needs all its premises: `wants` of them are known by nothing (NEVER), `rank` is the worst rank
 * of the others. The reach is `rank`, NEVER while it wants any. Forward nothing else is needed; how many have
 * the worst rank is counted only from the first time that one of these goes or becomes better until all have
 * gone. Then `rank` and `equal`, how many have it, stand in the count; with `equal` 0 the worst has gone and
 * `rank` is no less than what is left.
 *
 * Any other: `rank` is the reach, `equal` premises have just this rank, and it rests on `wants` of these
 * beside all that have a smaller one: 1 <= wants <= equal. It is always counted. */
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

static uint32_t premise_rank(const cw_chain *chain, const cw_premise *premise)
{
    return chain_premise_rank(chain->atom[premise->atom].rank, premise->absent);
}

static uint32_t select_reach(const cw_chain *chain, const cw_rule *rule)
{
    const cw_premise *premises = &chain->model->premises[rule->premises.first];
    uint32_t *ranks = chain->scratch->ranks, count = rule->premises.count;
    uint32_t least = NEVER;
    for (uint32_t i = 0; i < count; i++) {
        ranks[i] = premise_rank(chain, &premises[i]);
        least = ranks[i] < least ? ranks[i] : least;
    }
    return rule->need == 1 ? least : select_smallest(ranks, count, rule->need);
}

static void find_some(const cw_chain *chain, cw_rule_id id)
{
    const cw_rule *rule = &chain->model->rules[id];
    chain_rule *state = &chain->rule[id];
    chain_count *count = &chain->count[id];
    /* Reached from the start or never, whatever becomes of the premises: counters that no change can bring
     * out of bounds. */
    *count = (chain_count){.rank = rule->need == 0 ? 0 : NEVER, .equal = 2 * MAYBE};
    state->rank = CHAIN_COUNTED;
    state->wants = rule->need == 0 ? 1 : MAYBE;
    if (rule->need == 0 || rule->need > rule->premises.count)
        return;
    const cw_premise *premises = &chain->model->premises[rule->premises.first];
    *count = (chain_count){.rank = select_reach(chain, rule)};
    state->wants = rule->need;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const uint32_t rank = premise_rank(chain, &premises[i]);
        state->wants -= rank < count->rank;
        count->equal += rank == count->rank;
    }
}

static void find_all(const cw_chain *chain, cw_rule_id id)
{
    const cw_rule *rule = &chain->model->rules[id];
    chain_rule *state = &chain->rule[id];
    chain_count count = {0, 0};
    state->wants = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const uint32_t rank = premise_rank(chain, &chain->model->premises[rule->premises.first + i]);
        if (rank == NEVER)
            state->wants++;
        else if (rank > count.rank)
            count = (chain_count){rank, 1};
        else
            count.equal += rank == count.rank;
    }
    state->rank = state->wants == 0 ? CHAIN_COUNTED : count.rank;
    chain->count[id] = count;
}

static bool needs_all(const cw_chain *chain, cw_rule_id id)
{
    return chain->index.all[id] != 0;
}

void chain_reach_find(cw_chain *chain, cw_rule_id id)
{
    if (needs_all(chain, id))
        find_all(chain, id);
    else
        find_some(chain, id);
    chain->steps += chain->model->rules[id].premises.count;
}

static uint32_t rank_held(const cw_chain *chain, cw_rule_id id)
{
    const uint32_t rank = chain->rule[id].rank;
    return rank == CHAIN_COUNTED ? chain->count[id].rank : rank;
}

uint32_t chain_reach(const cw_chain *chain, cw_rule_id id)
{
    return chain->rule[id].wants > 0 && needs_all(chain, id) ? NEVER : rank_held(chain, id);
}

uint32_t chain_reach_ties(const cw_chain *chain, cw_rule_id id)
{
    return needs_all(chain, id) ? chain->index.all[id] : chain->rule[id].wants;
}

static chain_reach_move move_some(cw_chain *chain, cw_rule_id id, uint32_t was, uint32_t is)
{
    chain_rule *state = &chain->rule[id];
    chain_count *count = &chain->count[id];
    const uint32_t before = count->rank;
    state->wants += (uint32_t)(was < before) - (uint32_t)(is < before);
    count->equal += (uint32_t)(is == before) - (uint32_t)(was == before);
    if (state->wants - 1 >= count->equal)
        chain_reach_find(chain, id);
    return (chain_reach_move){before, count->rank};
}

/* A premise of a rule that is counted. */
static void count_move(chain_count *count, uint32_t was, uint32_t is)
{
    if (was != NEVER)
        count->equal -= was == count->rank;
    if (is == NEVER)
        return;
    if (is > count->rank)
        *count = (chain_count){is, 1};
    else
        count->equal += is == count->rank;
}

/* A premise of a rule that is not. Where the worst one has gone or become better, how many are as bad as it
 * is not known, but all are better than the rank behind it: counting begins with none of that. */
static void note_move(chain_rule *state, chain_count *count, uint32_t was, uint32_t is)
{
    if (is != NEVER && is >= state->rank) {
        state->rank = is;
    } else if (was == state->rank) {
        *count = (chain_count){state->rank + 1, 0};
        state->rank = CHAIN_COUNTED;
    }
}

static chain_reach_move move_all(cw_chain *chain, cw_rule_id id, uint32_t was, uint32_t is)
{
    chain_rule *state = &chain->rule[id];
    chain_count *count = &chain->count[id];
    const uint32_t before = chain_reach(chain, id);
    state->wants += (uint32_t)(is == NEVER) - (uint32_t)(was == NEVER);
    if (state->wants == chain->index.all[id])
        state->rank = 0;
    else if (state->rank == CHAIN_COUNTED)
        count_move(count, was, is);
    else
        note_move(state, count, was, is);
    if (state->wants == 0 && state->rank == CHAIN_COUNTED && count->equal == 0)
        chain_reach_find(chain, id);
    return (chain_reach_move){before, chain_reach(chain, id)};
}

chain_reach_move chain_reach_update(cw_chain *chain, chain_use use, uint32_t was, uint32_t is)
{
    was = chain_premise_rank(was, (use & CHAIN_ABSENT) != 0);
    is = chain_premise_rank(is, (use & CHAIN_ABSENT) != 0);
    return (use & CHAIN_SOME) == 0 ? move_all(chain, chain_use_rule(use), was, is)
                                   : move_some(chain, chain_use_rule(use), was, is);
}

uint32_t chain_rank_beyond(const cw_chain *chain, cw_rule_id id, uint32_t reach)
{
    if (chain->rule[id].head == 0) {
        const uint32_t inputs = chain->formula[chain_formula_of(chain, id)].inputs;
        reach = inputs > reach ? inputs : reach;
    }
    return reach == NEVER ? NEVER : reach + 1;
}

uint32_t chain_rule_rank(const cw_chain *chain, cw_rule_id id)
{
    return chain_rank_beyond(chain, id, chain_reach(chain, id));
}
