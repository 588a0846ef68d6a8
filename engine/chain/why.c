/* Reasons. A band or `known` rests on what gives its fact a value, so its reasons are those of the fact. */
#include "chain/inside.h"

static void visit_rules(const cw_chain *chain, cw_atom_id atom, chain_visit *visit, void *context)
{
    cw_run rules = chain->model->atoms[atom].concluded_by;
    for (uint32_t i = 0; i < rules.count; i++) {
        cw_rule_id rule = chain->model->concludes[rules.first + i];
        visit(context, rule, chain_rule_rank(chain, rule));
    }
}

static void visit_sources(const cw_chain *chain, cw_fact_id fact, const cw_atom *band, chain_visit *visit,
                          void *context)
{
    const chain_list *sources = &chain->index.sources;
    for (uint32_t i = sources->start[fact]; i < sources->start[fact + 1]; i++) {
        const chain_formula *formula = &chain->formula[sources->items[i]];
        uint32_t rank = chain_source_rank(chain, sources->items[i]);
        if (band != NULL)
            rank = chain_band_rank(band, rank, formula->number, formula->error);
        visit(context, chain->index.rule_of[sources->items[i]], rank);
    }
}

static void visit_values(const cw_chain *chain, cw_fact_id fact, chain_visit *visit, void *context)
{
    cw_run atoms = chain->model->facts[fact].atoms;
    for (uint32_t i = 0; i < atoms.count; i++) {
        cw_atom_id atom = chain->model->fact_atoms[atoms.first + i];
        if (chain->model->atoms[atom].kind == CW_ATOM_VALUE)
            visit_rules(chain, atom, visit, context);
    }
}

void chain_supports(const cw_chain *chain, cw_atom_id id, chain_visit *visit, void *context)
{
    const cw_atom *atom = &chain->model->atoms[id];
    visit(context, 0, chain_rank_of((cw_truth)chain->seed[id]));
    visit_rules(chain, id, visit, context);
    if (atom->kind == CW_ATOM_BAND)
        visit_sources(chain, atom->fact, atom, visit, context);
    else if (atom->kind == CW_ATOM_KNOWN && chain_is_finite(&chain->model->facts[atom->fact]))
        visit_values(chain, atom->fact, visit, context);
    else if (atom->kind == CW_ATOM_KNOWN)
        visit_sources(chain, atom->fact, NULL, visit, context);
}

void chain_number_supports(const cw_chain *chain, cw_fact_id fact, chain_visit *visit, void *context)
{
    visit(context, 0, chain_given(chain, fact) != NULL ? 0 : NEVER);
    visit_sources(chain, fact, NULL, visit, context);
}

typedef struct best_support {
    cw_rule_id rule;
    uint32_t rank;
} best_support;

static void take_best(void *context, cw_rule_id rule, uint32_t rank)
{
    best_support *best = context;
    if (rank < best->rank)
        *best = (best_support){rule, rank};
}

cw_rule_id chain_first_reason(const cw_chain *chain, cw_atom_id atom)
{
    best_support best = {0, NEVER};
    chain_supports(chain, atom, take_best, &best);
    return best.rule;
}

cw_rule_id chain_first_source(const cw_chain *chain, cw_fact_id fact)
{
    return chain->pick[fact] == NEVER ? 0 : chain->index.rule_of[chain->pick[fact]];
}

uint32_t cw_chain_rank(const cw_chain *chain, cw_atom_id atom)
{
    if (atom == 0 || atom > chain->model->atoms_count || chain->atom[atom].rank == NEVER)
        return UINT32_MAX;
    return chain->atom[atom].rank;
}

uint32_t cw_chain_number_rank(const cw_chain *chain, cw_fact_id fact)
{
    double number, error;
    if (cw_chain_number(chain, fact, &number, &error) == CW_UNKNOWN)
        return UINT32_MAX;
    const cw_rule_id first = chain_first_source(chain, fact);
    return first == 0 ? 0 : chain_rule_rank(chain, first);
}

typedef struct reason_list {
    cw_reason *reasons;
    size_t room, count;
    cw_rule_id first; /* already listed */
} reason_list;

static void list_reason(void *context, cw_rule_id rule, uint32_t rank)
{
    reason_list *list = context;
    if (rank == NEVER || rule == list->first)
        return;
    if (list->count < list->room)
        list->reasons[list->count] = (cw_reason){rule, chain_truth_of(rank)};
    list->count++;
}

static void list_first(reason_list *list, cw_rule_id rule, uint32_t rank)
{
    list->first = UINT32_MAX;
    list_reason(list, rule, rank);
    list->first = rule;
}

size_t cw_chain_reasons(const cw_chain *chain, cw_atom_id atom, cw_reason *reasons, size_t room)
{
    if (cw_chain_truth(chain, atom) == CW_NO)
        return 0;
    reason_list list = {reasons, room, 0, 0};
    list_first(&list, chain_first_reason(chain, atom), chain->atom[atom].rank);
    chain_supports(chain, atom, list_reason, &list);
    return list.count;
}

size_t cw_chain_number_reasons(const cw_chain *chain, cw_fact_id fact, cw_reason *reasons, size_t room)
{
    double number, error;
    if (cw_chain_number(chain, fact, &number, &error) == CW_UNKNOWN)
        return 0;
    reason_list list = {reasons, room, 0, 0};
    list_first(&list, chain_first_source(chain, fact), cw_chain_number_rank(chain, fact));
    chain_number_supports(chain, fact, list_reason, &list);
    return list.count;
}
