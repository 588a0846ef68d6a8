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
    if (atom->support == atom->rank)
        chain_queue_remove(chain, id);
    else
        chain_queue_line_up(chain, &chain->front, id, chain->index.atom_layer[id],
                            smaller(atom->support & ~CHAIN_STALE, atom->rank));
}

void chain_support_changed(cw_chain *chain, cw_atom_id id, uint32_t before, uint32_t after)
{
    chain_atom *atom = &chain->atom[id];
    const uint32_t support = atom->support & ~CHAIN_STALE;
    if (before == after)
        return;
    if (after <= support)
        atom->support = after;
    else if (before == support)
        /* Perhaps the best one has gone. The others are looked through once, when the atom's turn comes. */
        atom->support |= CHAIN_STALE;
    else
        return;
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
    const cw_atom_id head = chain->index.head[id];
    const uint32_t before = chain_rank_beyond(chain, id, move.before);
    if (head != 0) {
        chain_support_changed(chain, head, before, chain_rank_beyond(chain, id, move.after));
    } else {
        const uint32_t formula = chain_formula_of(chain, id);
        chain_source_changed(chain, formula, before, &chain->formula[formula]);
    }
}

void chain_tell_fact(cw_chain *chain, cw_atom_id atom, uint32_t was, uint32_t is)
{
    const cw_fact_id fact = chain->model->atoms[atom].fact;
    const cw_atom_id known = chain->index.known_atom[fact];
    if (known != 0)
        chain_support_changed(chain, known, was, is);
    if (chain->index.only_atom[fact] == 0)
        chain_settle_later(chain, fact);
}

uint32_t chain_tell_rule(cw_chain *chain, const chain_use *uses, uint32_t count, uint32_t was, uint32_t is)
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

static void set_rank(cw_chain *chain, cw_atom_id id, uint32_t rank)
{
    const uint32_t was = chain->atom[id].rank;
    const uint32_t start = chain->index.uses.start[id], count = chain->index.uses.start[id + 1] - start;
    const chain_use *uses = chain->index.uses.items + start;
    chain->atom[id].rank = rank;
    chain->steps += count;
    for (uint32_t i = 0; i < count;)
        i += chain_tell_rule(chain, &uses[i], count - i, was, rank);
    if (chain->index.tells[id])
        chain_tell_fact(chain, id, was, rank);
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

void chain_turn(cw_chain *chain, cw_atom_id id, uint32_t due)
{
    chain_atom *atom = &chain->atom[id];
    chain->steps++;
    if (atom->support & CHAIN_STALE) {
        atom->support = best_support(chain, id);
        chain->steps += chain->model->atoms[id].concluded_by.count;
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
    const uint32_t atoms = chain->model->atoms_count, facts = chain->model->facts_count;
    chain_node node;
    do {
        uint32_t due;
        while (chain_queue_front_first(chain))
            chain_wave(chain);
        node = chain_queue_take(chain, &due);
        if (node > atoms + facts)
            chain_formula_work_out(chain, node - atoms - facts - 1);
        else if (node > atoms)
            chain_settle(chain, node - atoms);
        else if (node != 0)
            chain_turn(chain, node, due);
    } while (node != 0);
}

void chain_start(cw_chain *chain)
{
    const cw_model *model = chain->model;
    for (cw_atom_id a = 1; a <= model->atoms_count; a++)
        chain->atom[a] = (chain_atom){NEVER, NEVER};
    for (uint32_t f = 0; f < chain->index.formulas; f++)
        chain->formula[f].inputs = NEVER;
    for (cw_rule_id r = 1; r <= model->rules_count; r++)
        chain_reach_find(chain, r);
    for (cw_rule_id r = 1; r <= model->rules_count; r++)
        if (model->rules[r].measure == 0)
            chain_support_changed(chain, model->rules[r].head, NEVER, chain_rule_rank(chain, r));
    /* Formulas without inputs ("= 5 mm") wait for nothing. */
    for (uint32_t f = 0; f < chain->index.formulas; f++)
        chain_queue_put(chain, chain_formula_node(chain, f), model->rules[chain->index.rule_of[f]].layer, 0);
    chain_run(chain);
    chain->steps = 0;
}
