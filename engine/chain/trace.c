/* Following first reasons down to the answers. Ranks fall with every step down, so a trace ends, and in order
 * of rank everything below a node comes before it. Nodes are atoms, numbers of measured facts, and answers
 * that no atom speaks of (under the fact's node as well). */
#include "chain/inside.h"

typedef struct chain_trace {
    const cw_chain *chain;
    uint32_t count; /* of scratch->nodes */
} chain_trace;

typedef void node_visit(chain_trace *trace, chain_node node, void *context);

static cw_fact_id fact_of(const cw_chain *chain, chain_node node)
{
    uint32_t atoms = chain->model->atoms_count;
    return node > atoms ? node - atoms : chain->model->atoms[node].fact;
}

static cw_rule_id reason_of(const cw_chain *chain, chain_node node)
{
    if (node <= chain->model->atoms_count)
        return chain_first_reason(chain, node);
    cw_fact_id fact = fact_of(chain, node);
    return chain->model->facts[fact].kind == CW_MEASURE ? chain_first_source(chain, fact) : 0;
}

static uint32_t rank_of_node(const cw_chain *chain, chain_node node)
{
    if (node <= chain->model->atoms_count)
        return chain->atom[node].rank;
    cw_rule_id rule = reason_of(chain, node);
    return rule == 0 ? 0 : chain_rule_rank(chain, rule);
}

/* Where the fact's value stands. */
chain_node chain_value_node(const cw_chain *chain, cw_fact_id fact)
{
    cw_atom_id atom = chain_is_finite(&chain->model->facts[fact])
                          ? cw_fact_value_atom(chain->model, fact, chain_pick(chain, fact))
                          : 0;
    return atom != 0 ? atom : chain_fact_node(chain, fact);
}

/* The premises that the rule's reach rests on: the `need` best, the first ones at a tie; absences left out.
 */
static void visit_below(chain_trace *trace, cw_rule_id id, node_visit *visit, void *context)
{
    const cw_chain *chain = trace->chain;
    const cw_rule *rule = &chain->model->rules[id];
    const uint32_t reach = chain_reach(chain, id);
    uint32_t ties = chain_reach_ties(chain, id);
    for (uint32_t i = 0; i < rule->premises.count && rule->need > 0; i++) {
        const cw_premise *premise = &chain->model->premises[rule->premises.first + i];
        uint32_t rank = chain_premise_rank(chain->atom[premise->atom].rank, premise->absent);
        if (rank > reach || (rank == reach && ties == 0))
            continue;
        ties -= rank == reach;
        if (!premise->absent)
            visit(trace, premise->atom, context);
    }
    const uint32_t *inputs = NULL;
    size_t count = rule->measure == 0 ? 0 : cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++)
        visit(trace, chain_value_node(chain, inputs[i]), context);
}

static void add_node(chain_trace *trace, chain_node node, void *context)
{
    (void)context;
    chain_scratch *scratch = trace->chain->scratch;
    if (scratch->seen[node] == scratch->round)
        return;
    scratch->seen[node] = scratch->round;
    scratch->nodes[trace->count++] = node;
}

static void add_rule(void *context, cw_rule_id rule, uint32_t rank)
{
    if (rule != 0 && rank < MAYBE)
        visit_below(context, rule, add_node, NULL);
}

/* In a conflict all values that hold are traced. */
static void add_roots(chain_trace *trace, cw_fact_id id)
{
    const cw_chain *chain = trace->chain;
    if (chain_known(chain, id) == CW_UNKNOWN)
        return;
    if (!chain_in_conflict(chain, id)) {
        add_node(trace, chain_value_node(chain, id), NULL);
        return;
    }
    if (chain_given(chain, id) != NULL)
        add_node(trace, chain_fact_node(chain, id), NULL);
    cw_run atoms = chain->model->facts[id].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id atom = chain->model->fact_atoms[atoms.first + i];
        if (chain->model->atoms[atom].kind == CW_ATOM_VALUE && chain->atom[atom].rank < MAYBE)
            add_node(trace, atom, NULL);
    }
    if (!chain_is_finite(&chain->model->facts[id]))
        chain_number_supports(chain, id, add_rule, trace);
}

static chain_trace follow(const cw_chain *chain, cw_fact_id fact)
{
    chain_scratch *scratch = chain->scratch;
    chain_trace trace = {chain, 0};
    if (++scratch->round == 0) {
        for (uint32_t i = 0; i <= chain->model->atoms_count + chain->model->facts_count; i++)
            scratch->seen[i] = 0;
        scratch->round = 1;
    }
    add_roots(&trace, fact);
    for (uint32_t i = 0; i < trace.count; i++) {
        cw_rule_id rule = reason_of(chain, scratch->nodes[i]);
        if (rule != 0)
            visit_below(&trace, rule, add_node, NULL);
    }
    return trace;
}

/* Sorts by key (by the items themselves without one) in place: heap sort, Williams 1964. */
static void sort(uint32_t *items, uint32_t count, const uint32_t *key)
{
    for (uint32_t built = count / 2, left = count; left > 1;) {
        uint32_t item, hole;
        if (built > 0) {
            item = items[hole = --built];
        } else {
            item = items[--left];
            items[left] = items[hole = 0];
        }
        for (uint32_t child; (child = hole * 2 + 1) < left; hole = child) {
            if (child + 1 < left &&
                (key == NULL ? items[child] < items[child + 1] : key[items[child]] < key[items[child + 1]]))
                child++;
            if (key == NULL ? items[child] <= item : key[items[child]] <= key[item])
                break;
            items[hole] = items[child];
        }
        items[hole] = item;
    }
}

size_t cw_chain_readings(const cw_chain *chain, cw_fact_id fact, cw_fact_id *facts, size_t room)
{
    if (fact == 0 || fact > chain->model->facts_count)
        return 0;
    chain_trace trace = follow(chain, fact);
    uint32_t *found = chain->scratch->depth, count = 0;
    for (uint32_t i = 0; i < trace.count; i++)
        if (reason_of(chain, chain->scratch->nodes[i]) == 0)
            found[count++] = fact_of(chain, chain->scratch->nodes[i]);
    sort(found, count, NULL);
    size_t distinct = 0;
    for (uint32_t i = 0; i < count; i++) {
        if (i > 0 && found[i] == found[i - 1])
            continue;
        if (distinct < room)
            facts[distinct] = found[i];
        distinct++;
    }
    return distinct;
}

static void take_deepest(chain_trace *trace, chain_node node, void *context)
{
    uint32_t *deepest = context, depth = trace->chain->scratch->depth[node];
    *deepest = depth > *deepest ? depth : *deepest;
}

/* An inner step of a nested condition is no rule that anybody has written. */
static bool is_step(const cw_chain *chain, cw_rule_id rule)
{
    cw_atom_id head = chain->model->rules[rule].head;
    return head != 0 && chain->model->atoms[head].kind == CW_ATOM_STEP;
}

uint32_t cw_chain_depth(const cw_chain *chain, cw_fact_id fact)
{
    if (fact == 0 || fact > chain->model->facts_count)
        return 0;
    chain_trace trace = follow(chain, fact);
    uint32_t *depth = chain->scratch->depth, *nodes = chain->scratch->nodes, most = 0;
    for (uint32_t i = 0; i < trace.count; i++)
        depth[nodes[i]] = rank_of_node(chain, nodes[i]);
    sort(nodes, trace.count, depth);
    for (uint32_t i = 0; i < trace.count; i++) {
        cw_rule_id rule = reason_of(chain, nodes[i]);
        uint32_t below = 0;
        if (rule != 0)
            visit_below(&trace, rule, take_deepest, &below);
        depth[nodes[i]] = rule == 0 ? 0 : below + !is_step(chain, rule);
        most = depth[nodes[i]] > most ? depth[nodes[i]] : most;
    }
    return most;
}
