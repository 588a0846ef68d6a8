/* How far a rule has come: its reach, the `need`-th smallest rank of its premises. The counters of Dowling &
 * Gallier 1984, for `at least N` as well, and so that the premises are looked through only when the reach
 * moves in a way that the counters cannot follow.
 *
 * A rule that needs all its premises: `wants` of them are known by nothing (NEVER), `rank` is the worst rank
 * of the others. The reach is `rank`, NEVER while it wants any. Forward nothing else is needed; `equal`, how
 * many have the worst rank, is counted only from the first time that one of these goes or becomes better
 * until all have gone. With `equal` 0 the worst has gone and `rank` is no less than what is left.
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

static chain_come load(const cw_chain *chain, cw_rule_id id)
{
    const chain_brief brief = chain->brief[id];
    const uint32_t wants = brief & CHAIN_LONG;
    return wants == CHAIN_LONG ? chain->come[id]
                               : (chain_come){wants, brief >> CHAIN_BRIEF_BITS, CHAIN_UNCOUNTED};
}

static void store(cw_chain *chain, cw_rule_id id, const chain_come *come)
{
    if (come->equal == CHAIN_UNCOUNTED && come->wants < CHAIN_LONG && come->rank < CHAIN_BRIEF_RANKS) {
        chain->brief[id] = come->rank << CHAIN_BRIEF_BITS | come->wants;
        return;
    }
    chain->brief[id] = CHAIN_LONG;
    chain->come[id] = *come;
}

static chain_come find_some(const cw_chain *chain, cw_rule_id id)
{
    const cw_rule *rule = &chain->model->rules[id];
    /* Reached from the start or never, whatever becomes of the premises: counters that no change can bring
     * out of bounds. */
    if (rule->need == 0 || rule->need > rule->premises.count)
        return (chain_come){
            .wants = rule->need == 0 ? 1 : MAYBE, .rank = rule->need == 0 ? 0 : NEVER, .equal = 2 * MAYBE};
    const cw_premise *premises = &chain->model->premises[rule->premises.first];
    chain_come come = {.wants = rule->need, .rank = select_reach(chain, rule)};
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const uint32_t rank = premise_rank(chain, &premises[i]);
        come.wants -= rank < come.rank;
        come.equal += rank == come.rank;
    }
    return come;
}

static chain_come find_all(const cw_chain *chain, cw_rule_id id)
{
    const cw_rule *rule = &chain->model->rules[id];
    chain_come come = {0};
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const uint32_t rank = premise_rank(chain, &chain->model->premises[rule->premises.first + i]);
        if (rank == NEVER)
            come.wants++;
        else if (rank > come.rank)
            come = (chain_come){come.wants, rank, 1};
        else
            come.equal += rank == come.rank;
    }
    if (come.wants > 0)
        come.equal = CHAIN_UNCOUNTED;
    return come;
}

static bool needs_all(const cw_chain *chain, cw_rule_id id)
{
    return chain->index.all[id] != 0;
}

static chain_come find(cw_chain *chain, cw_rule_id id)
{
    chain->steps += chain->model->rules[id].premises.count;
    return needs_all(chain, id) ? find_all(chain, id) : find_some(chain, id);
}

void chain_reach_find(cw_chain *chain, cw_rule_id id)
{
    const chain_come come = find(chain, id);
    store(chain, id, &come);
}

static uint32_t reach_of_all(const chain_come *come)
{
    return come->wants > 0 ? NEVER : come->rank;
}

uint32_t chain_reach(const cw_chain *chain, cw_rule_id id)
{
    const chain_come come = load(chain, id);
    return needs_all(chain, id) ? reach_of_all(&come) : come.rank;
}

uint32_t chain_reach_ties(const cw_chain *chain, cw_rule_id id)
{
    return needs_all(chain, id) ? chain->index.all[id] : chain->come[id].wants;
}

static chain_reach_move move_some(cw_chain *chain, cw_rule_id id, uint32_t was, uint32_t is)
{
    chain_come come = chain->come[id];
    const uint32_t before = come.rank;
    come.wants += (uint32_t)(was < before) - (uint32_t)(is < before);
    come.equal += (uint32_t)(is == before) - (uint32_t)(was == before);
    if (come.wants - 1 >= come.equal)
        come = find(chain, id);
    store(chain, id, &come);
    return (chain_reach_move){before, come.rank};
}

/* A premise of a rule that is counted. */
static void count_move(chain_come *come, uint32_t was, uint32_t is)
{
    if (was != NEVER)
        come->equal -= was == come->rank;
    if (is == NEVER)
        return;
    if (is > come->rank)
        *come = (chain_come){come->wants, is, 1};
    else
        come->equal += is == come->rank;
}

/* A premise of a rule that is not. Where the worst one has gone or become better, how many are as bad as it
 * is not known, but all are better than the rank behind it: counting begins with none of that. */
static void note_move(chain_come *come, uint32_t was, uint32_t is)
{
    if (is != NEVER && is >= come->rank)
        come->rank = is;
    else if (was == come->rank)
        *come = (chain_come){come->wants, come->rank + 1, 0};
}

static chain_reach_move move_all(cw_chain *chain, cw_rule_id id, uint32_t was, uint32_t is)
{
    chain_come come = load(chain, id);
    const uint32_t before = reach_of_all(&come);
    come.wants += (uint32_t)(is == NEVER) - (uint32_t)(was == NEVER);
    if (come.wants == chain->index.all[id])
        come = (chain_come){come.wants, 0, CHAIN_UNCOUNTED};
    else if (come.equal != CHAIN_UNCOUNTED)
        count_move(&come, was, is);
    else
        note_move(&come, was, is);
    if (come.wants == 0 && come.equal == 0)
        come = find(chain, id);
    store(chain, id, &come);
    return (chain_reach_move){before, reach_of_all(&come)};
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
    if (chain->index.head[id] == 0) {
        const uint32_t inputs = chain->formula[chain_formula_of(chain, id)].inputs;
        reach = inputs > reach ? inputs : reach;
    }
    return reach == NEVER ? NEVER : reach + 1;
}

uint32_t chain_rule_rank(const cw_chain *chain, cw_rule_id id)
{
    return chain_rank_beyond(chain, id, chain_reach(chain, id));
}
