/* What rests on a conflict. An atom is clean when some support of its own truth is: an answer to a fact that
 * is not in conflict, or a rule of which enough premises are clean. Clean is a least fixpoint, so a loop does
 * not clean itself. Only what can be reached from facts in conflict is looked at, once per version of the
 * chain. */
#include "chain/inside.h"

enum { CLEAN, TAINTED, WAITS };

static bool is_tainted(const cw_chain *chain, chain_node node)
{
    return chain->scratch->taint[node] != CLEAN;
}

/* An absence is clean: nothing that the conflict says has been used. */
static bool rule_is_clean(const cw_chain *chain, cw_rule_id id, cw_truth truth)
{
    const cw_rule *rule = &chain->model->rules[id];
    uint32_t clean = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &chain->model->premises[rule->premises.first + i];
        uint32_t rank = chain_premise_rank(chain->atom[premise->atom].rank, premise->absent);
        clean += chain_truth_of(rank) >= truth && (premise->absent || !is_tainted(chain, premise->atom));
    }
    if (clean < rule->need)
        return false;
    const uint32_t *inputs = NULL;
    size_t count = rule->measure == 0 ? 0 : cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++)
        if (is_tainted(chain, chain_value_node(chain, inputs[i])))
            return false;
    return true;
}

typedef struct clean_search {
    const cw_chain *chain;
    cw_truth truth;
    bool found;
} clean_search;

static void look_for_clean(void *context, cw_rule_id rule, uint32_t rank)
{
    clean_search *search = context;
    if (!search->found && chain_truth_of(rank) == search->truth)
        search->found = rule == 0 || rule_is_clean(search->chain, rule, search->truth);
}

static bool node_is_clean(const cw_chain *chain, chain_node node)
{
    uint32_t atoms = chain->model->atoms_count;
    cw_fact_id fact = node > atoms ? node - atoms : chain->model->atoms[node].fact;
    if (fact != 0 && chain_in_conflict(chain, fact))
        return false;
    clean_search search = {chain, CW_YES, false};
    if (node > atoms) {
        search.truth = chain->known[fact] == CW_KNOWN ? CW_YES : CW_DOUBTFUL;
        chain_number_supports(chain, fact, look_for_clean, &search);
    } else {
        search.truth = chain_truth_of(chain->atom[node].rank);
        chain_supports(chain, node, look_for_clean, &search);
    }
    return search.found;
}

/* A queue of nodes, each in it at most once, in a ring. */
typedef struct taint_ring {
    const cw_chain *chain;
    uint32_t first, count, size;
    unsigned char from; /* the nodes that may enter: CLEAN while spreading, TAINTED while cleaning */
} taint_ring;

static void ring_put(taint_ring *ring, chain_node node)
{
    unsigned char *taint = &ring->chain->scratch->taint[node];
    if (*taint != ring->from)
        return;
    *taint = WAITS;
    ring->chain->scratch->waiting[(ring->first + ring->count++) % ring->size] = node;
}

static chain_node ring_take(taint_ring *ring)
{
    chain_node node = ring->chain->scratch->waiting[ring->first];
    ring->first = (ring->first + 1) % ring->size;
    ring->count--;
    return node;
}

/* The fact's number, and its bands and `known` (of a finite fact `known` alone). */
static void put_tests(taint_ring *ring, cw_fact_id fact, bool values)
{
    const cw_model *model = ring->chain->model;
    cw_run atoms = model->facts[fact].atoms;
    if (model->facts[fact].kind == CW_MEASURE && ring->chain->known[fact] != CW_UNKNOWN)
        ring_put(ring, chain_fact_node(ring->chain, fact));
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id atom = model->fact_atoms[atoms.first + i];
        if (ring->chain->atom[atom].rank != NEVER && (values || model->atoms[atom].kind != CW_ATOM_VALUE))
            ring_put(ring, atom);
    }
}

static void put_outcome(taint_ring *ring, cw_rule_id id)
{
    const cw_rule *rule = &ring->chain->model->rules[id];
    if (chain_rule_rank(ring->chain, id) == NEVER)
        return;
    if (rule->measure != 0)
        put_tests(ring, rule->measure, false);
    else
        ring_put(ring, rule->head);
}

static void put_readers(taint_ring *ring, cw_fact_id fact)
{
    const chain_index *index = &ring->chain->index;
    for (uint32_t i = index->readers.start[fact]; i < index->readers.start[fact + 1]; i++)
        put_outcome(ring, index->rule_of[index->readers.items[i]]);
}

/* All that has the node among its supports. */
static void put_above(taint_ring *ring, chain_node node)
{
    const cw_chain *chain = ring->chain;
    uint32_t atoms = chain->model->atoms_count;
    if (node > atoms) {
        put_readers(ring, node - atoms);
        return;
    }
    const chain_list *uses = &chain->index.uses;
    for (uint32_t i = uses->start[node]; i < uses->start[node + 1]; i++)
        if ((uses->items[i] & CHAIN_ABSENT) == 0)
            put_outcome(ring, chain_use_rule(uses->items[i]));
    if (chain->model->atoms[node].kind == CW_ATOM_VALUE) {
        put_tests(ring, chain->model->atoms[node].fact, false);
        put_readers(ring, chain->model->atoms[node].fact);
    }
}

static void forget_taint(chain_scratch *scratch)
{
    for (uint32_t i = 0; i < scratch->tainted; i++)
        scratch->taint[scratch->nodes_tainted[i]] = CLEAN;
    scratch->tainted = 0;
}

/* First everything within reach of a conflict is tainted, then what has a clean support is let off. */
static void find_taint(const cw_chain *chain)
{
    chain_scratch *scratch = chain->scratch;
    uint32_t size = chain->model->atoms_count + chain->model->facts_count + 1;
    forget_taint(scratch);
    taint_ring spread = {chain, 0, 0, size, CLEAN};
    for (uint32_t i = 0; i < chain->conflicts_count; i++)
        put_tests(&spread, chain->conflicts[i], true);
    while (spread.count > 0) {
        chain_node node = ring_take(&spread);
        scratch->taint[node] = TAINTED;
        scratch->nodes_tainted[scratch->tainted++] = node;
        put_above(&spread, node);
    }
    taint_ring clean = {chain, 0, 0, size, TAINTED};
    for (uint32_t i = 0; i < scratch->tainted; i++)
        ring_put(&clean, scratch->nodes_tainted[i]);
    while (clean.count > 0) {
        chain_node node = ring_take(&clean);
        scratch->taint[node] = TAINTED;
        if (!node_is_clean(chain, node))
            continue;
        scratch->taint[node] = CLEAN;
        put_above(&clean, node);
    }
    scratch->taint_version = chain->version + 1;
}

bool cw_chain_contested(const cw_chain *chain, cw_fact_id fact)
{
    if (fact == 0 || fact > chain->model->facts_count || chain->conflicts_count == 0 ||
        chain_known(chain, fact) == CW_UNKNOWN)
        return false;
    if (chain_in_conflict(chain, fact))
        return true;
    if (chain->scratch->taint_version != chain->version + 1)
        find_taint(chain);
    return is_tainted(chain, chain_value_node(chain, fact));
}
