/* Chaining: takes what waits, lowest layer and best rank first, until every atom's rank is that of its best
 * support. */
#include "chain/inside.h"

static uint32_t smaller(uint32_t a, uint32_t b)
{
    return a < b ? a : b;
}

/* Queues the atom, or takes it out, as its rank and support want it. */
static void requeue(cw_chain *chain, cw_atom_id atom)
{
    uint32_t support = chain->support[atom], rank = chain->rank[atom];
    if (support == rank && !chain->stale[atom])
        chain_queue_remove(chain, atom);
    else
        chain_queue_put(chain, atom, chain->model->atoms[atom].layer, smaller(support, rank));
}

void chain_support_changed(cw_chain *chain, cw_atom_id atom, uint32_t before, uint32_t after)
{
    if (before == after)
        return;
    uint32_t support = chain->support[atom];
    if (after <= support) {
        chain->support[atom] = after;
        chain->stale[atom] = false;
    } else if (before == support) {
        /* Perhaps the best one has gone. The others are looked through once, when the atom's turn comes. */
        chain->stale[atom] = true;
    } else {
        return;
    }
    requeue(chain, atom);
}

void chain_settle_later(cw_chain *chain, cw_fact_id fact)
{
    chain_queue_put(chain, chain_fact_node(chain, fact), chain->index.fact_layer[fact], NEVER);
}

/* Tells the rule's head, or the number it works out, that its rank was `before`. */
static void rule_changed(cw_chain *chain, cw_rule_id id, uint32_t before)
{
    const cw_rule *rule = &chain->model->rules[id];
    if (rule->measure != 0) {
        uint32_t formula = chain_formula_of(chain, id);
        chain_source_changed(chain, formula, before, &chain->formula[formula]);
    } else {
        chain_support_changed(chain, rule->head, before, chain_rule_rank(chain, id));
    }
}

static void set_rank(cw_chain *chain, cw_atom_id atom, uint32_t rank)
{
    uint32_t was = chain->rank[atom];
    chain->rank[atom] = rank;
    const chain_list *uses = &chain->index.uses;
    const uint32_t end = uses->start[atom + 1];
    for (uint32_t i = uses->start[atom]; i < end; i++) {
        cw_rule_id rule = uses->items[i] >> 1;
        bool absent = uses->items[i] & 1, moved;
        uint32_t before = chain_rule_rank(chain, rule);
        if (i + 1 < end && uses->items[i + 1] >> 1 == rule) {
            /* It wants the atom both there and absent: two changes at once, which the counts cannot follow.
             */
            const uint32_t reach = chain->rule[rule].reach;
            chain_reach_find(chain, rule);
            moved = chain->rule[rule].reach != reach;
            i++;
        } else {
            moved = chain_reach_update(chain, rule, chain_premise_rank(was, absent),
                                       chain_premise_rank(rank, absent));
        }
        if (moved)
            rule_changed(chain, rule, before);
    }
    const cw_atom *of = &chain->model->atoms[atom];
    if (of->kind != CW_ATOM_VALUE)
        return;
    if (chain->index.known_atom[of->fact] != 0)
        chain_support_changed(chain, chain->index.known_atom[of->fact], was, rank);
    chain_settle_later(chain, of->fact);
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
            best = smaller(best, chain->rank[value]);
    }
    return best;
}

/* The atom's turn; `due` is the rank it waited with. */
static void turn(cw_chain *chain, cw_atom_id atom, uint32_t due)
{
    chain->steps++;
    if (chain->stale[atom]) {
        chain->support[atom] = best_support(chain, atom);
        chain->steps += chain->model->atoms[atom].concluded_by.count;
        chain->stale[atom] = false;
    }
    uint32_t support = chain->support[atom], rank = chain->rank[atom];
    if (support == rank)
        return;
    if (smaller(support, rank) > due) {
        requeue(chain, atom); /* the bound was too low */
    } else if (support < rank) {
        set_rank(chain, atom, support);
    } else {
        set_rank(chain, atom, NEVER);
        requeue(chain, atom);
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

void chain_start(cw_chain *chain)
{
    const cw_model *model = chain->model;
    for (uint32_t a = 0; a <= model->atoms_count; a++)
        chain->rank[a] = chain->support[a] = NEVER;
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
