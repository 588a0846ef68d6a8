/* Chaining: takes what waits, lowest layer and best rank first, until every atom's rank is that of its best
 * support. */
#include "chain/inside.h"

static uint32_t smaller(uint32_t a, uint32_t b)
{
    return a < b ? a : b;
}

/* Queues the atom, or takes it out, as its rank and support want it. */
static void requeue(cw_chain *chain, cw_atom_id id)
{
    const chain_atom *atom = &chain->atom[id];
    if (atom->support == atom->rank && !atom->stale)
        chain_queue_remove(chain, id);
    else
        chain_queue_line_up(chain, &chain->front, id, atom->layer, smaller(atom->support, atom->rank));
}

void chain_support_changed(cw_chain *chain, cw_atom_id id, uint32_t before, uint32_t after)
{
    chain_atom *atom = &chain->atom[id];
    if (before == after)
        return;
    if (after <= atom->support) {
        atom->support = after;
        atom->stale = 0;
    } else if (before == atom->support) {
        /* Perhaps the best one has gone. The others are looked through once, when the atom's turn comes. */
        atom->stale = 1;
    } else {
        return;
    }
    requeue(chain, id);
}

void chain_settle_later(cw_chain *chain, cw_fact_id fact)
{
    chain_queue_line_up(chain, &chain->settling, chain_fact_node(chain, fact), chain->index.fact_layer[fact],
                        NEVER);
}

/* Tells the rule's head, or the number it works out, how far the rule has come. */
static void rule_changed(cw_chain *chain, cw_rule_id id, chain_reach_move move)
{
    const cw_atom_id head = chain->rule[id].head;
    const uint32_t before = chain_rank_beyond(chain, id, move.before);
    if (head != 0) {
        chain_support_changed(chain, head, before, chain_rank_beyond(chain, id, move.after));
    } else {
        const uint32_t formula = chain_formula_of(chain, id);
        chain_source_changed(chain, formula, before, &chain->formula[formula]);
    }
}

/* Tells those beside the rules that use the atom: `known` of its fact, and the fact. */
static void tell_fact(cw_chain *chain, cw_atom_id atom, uint32_t was, uint32_t is)
{
    const cw_fact_id fact = chain->model->atoms[atom].fact;
    const cw_atom_id known = chain->index.known_atom[fact];
    if (known != 0)
        chain_support_changed(chain, known, was, is);
    if (chain->index.only_atom[fact] == 0)
        chain_settle_later(chain, fact);
}

/* One use of the atom; returns how many, for a rule that wants the atom both there and absent changes twice
 * at once, which the counts cannot follow. */
static uint32_t tell_rule(cw_chain *chain, const chain_use *uses, uint32_t count, uint32_t was, uint32_t is)
{
    const cw_rule_id rule = chain_use_rule(uses[0]);
    chain_reach_move move;
    uint32_t told = 1;
    while (told < count && chain_use_rule(uses[told]) == rule)
        told++;
    if (told > 1) {
        move.before = chain_reach(chain, rule);
        chain_reach_find(chain, rule);
        move.after = chain_reach(chain, rule);
    } else {
        move = chain_reach_update(chain, uses[0], was, is);
    }
    if (move.before != move.after)
        rule_changed(chain, rule, move);
    return told;
}

/* All its premises are known, and before this one they were not. */
static void fire(cw_chain *chain, cw_rule_id id)
{
    const chain_rule *rule = &chain->rule[id];
    if (rule->head == 0) {
        rule_changed(chain, id, (chain_reach_move){NEVER, rule->rank});
        return;
    }
    chain_atom *head = &chain->atom[rule->head];
    const uint32_t rank = rule->rank + 1;
    const uint64_t key = (uint64_t)head->layer << 32 | rank;
    if (head->rank != NEVER || head->support != NEVER || !chain_line_takes(&chain->front, key)) {
        chain_support_changed(chain, rule->head, NEVER, rank);
        return;
    }
    head->support = rank;
    chain->front.nodes[chain->front.tail++] = rule->head;
}

/* The atom was known by nothing. Nearly all of chaining comes through here, with rules that need all their
 * premises: for these it is chain_reach_update without what cannot be. */
static void tell_arrival(cw_chain *chain, const chain_use *uses, uint32_t count, uint32_t rank)
{
    for (uint32_t i = 0; i < count;) {
        const chain_use use = uses[i];
        chain_rule *rule = &chain->rule[chain_use_rule(use)];
        const bool twice = i + 1 < count && chain_use_rule(uses[i + 1]) == chain_use_rule(use);
        const bool worse = rank > rule->rank, gone = (rule->equal == 0) & (rank < rule->rank);
        if ((use & (CHAIN_ABSENT | CHAIN_SOME)) | twice | gone) {
            i += tell_rule(chain, &uses[i], count - i, NEVER, rank);
            continue;
        }
        rule->equal = (worse ? 0 : rule->equal) + (rank >= rule->rank);
        rule->rank = worse ? rank : rule->rank;
        if (--rule->wants == 0)
            fire(chain, chain_use_rule(use));
        i++;
    }
}

static void set_rank(cw_chain *chain, cw_atom_id id, uint32_t rank)
{
    const uint32_t was = chain->atom[id].rank;
    const uint32_t start = chain->index.uses.start[id], count = chain->index.uses.start[id + 1] - start;
    const chain_use *uses = chain->index.uses.items + start;
    chain->atom[id].rank = rank;
    chain->steps += count;
    if (was == NEVER)
        tell_arrival(chain, uses, count, rank);
    else
        for (uint32_t i = 0; i < count;)
            i += tell_rule(chain, &uses[i], count - i, was, rank);
    if (chain->atom[id].tells)
        tell_fact(chain, id, was, rank);
}

static void take_smallest(void *context, cw_rule_id rule, uint32_t rank)
{
    (void)rule;
    uint32_t *best = context;
    *best = smaller(*best, rank);
}

/* The smallest rank among the supports. `known` of a finite fact is told when a value's rank changes, so it
 * goes by the values' ranks and not by those of their rules, which may be ahead. */
static uint32_t best_support(const cw_chain *chain, cw_atom_id id)
{
    const cw_atom *atom = &chain->model->atoms[id];
    uint32_t best = NEVER;
    if (atom->kind != CW_ATOM_KNOWN || !chain_is_finite(&chain->model->facts[atom->fact])) {
        chain_supports(chain, id, take_smallest, &best);
        return best;
    }
    best = chain_rank_of((cw_truth)chain->seed[id]);
    cw_run atoms = chain->model->facts[atom->fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id value = chain->model->fact_atoms[atoms.first + i];
        if (chain->model->atoms[value].kind == CW_ATOM_VALUE)
            best = smaller(best, chain->atom[value].rank);
    }
    return best;
}

/* The atom's turn; `due` is the rank it waited with. */
static void turn(cw_chain *chain, cw_atom_id id, uint32_t due)
{
    chain_atom *atom = &chain->atom[id];
    chain->steps++;
    if (atom->stale) {
        atom->support = best_support(chain, id);
        chain->steps += chain->model->atoms[id].concluded_by.count;
        atom->stale = 0;
    }
    const uint32_t support = atom->support, rank = atom->rank;
    if (support == rank)
        return;
    if (smaller(support, rank) > due) {
        requeue(chain, id); /* the bound was too low */
    } else if (support < rank) {
        set_rank(chain, id, support);
    } else {
        set_rank(chain, id, NEVER);
        requeue(chain, id);
    }
}

void chain_run(cw_chain *chain)
{
    uint32_t atoms = chain->model->atoms_count, facts = chain->model->facts_count, due;
    for (chain_node node; (node = chain_queue_take(chain, &due)) != 0;) {
        if (node <= atoms)
            turn(chain, node, due);
        else if (node <= atoms + facts)
            chain_settle(chain, node - atoms);
        else
            chain_formula_work_out(chain, node - atoms - facts - 1);
    }
}

static void start_atom(cw_chain *chain, cw_atom_id id)
{
    const cw_atom *atom = &chain->model->atoms[id];
    chain_atom *state = &chain->atom[id];
    *state = (chain_atom){.rank = NEVER, .support = NEVER, .layer = atom->layer & (MAYBE - 1)};
    state->tells = atom->kind == CW_ATOM_VALUE &&
                   (chain->index.known_atom[atom->fact] != 0 || chain->index.only_atom[atom->fact] == 0);
}

void chain_start(cw_chain *chain)
{
    const cw_model *model = chain->model;
    for (cw_atom_id a = 1; a <= model->atoms_count; a++)
        start_atom(chain, a);
    for (uint32_t f = 0; f < chain->index.formulas; f++)
        chain->formula[f].inputs = NEVER;
    for (cw_rule_id r = 1; r <= model->rules_count; r++) {
        chain->rule[r].head = model->rules[r].head;
        chain_reach_find(chain, r);
    }
    for (cw_rule_id r = 1; r <= model->rules_count; r++)
        if (model->rules[r].measure == 0)
            chain_support_changed(chain, model->rules[r].head, NEVER, chain_rule_rank(chain, r));
    /* Formulas without inputs ("= 5 mm") wait for nothing. */
    for (uint32_t f = 0; f < chain->index.formulas; f++)
        chain_queue_put(chain, chain_formula_node(chain, f), model->rules[chain->index.rule_of[f]].layer, 0);
    chain_run(chain);
    chain->steps = 0;
}
