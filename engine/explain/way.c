/* Nodes, reasons, and the way from an answer up to what counted. */
#include "explain/inside.h"

explain_node explain_fact_node(const cw_model *model, cw_fact_id fact)
{
    return model->atoms_count + fact;
}

explain_node explain_value_node(const cw_chain *chain, cw_fact_id fact)
{
    const cw_model *model = cw_chain_model(chain);
    uint32_t value;
    if (model->facts[fact].values.count > 0 && cw_chain_value(chain, fact, &value) == CW_KNOWN) {
        const cw_atom_id atom = cw_fact_value_atom(model, fact, value);
        if (atom != 0)
            return atom;
    }
    return explain_fact_node(model, fact);
}

cw_fact_id explain_node_fact(const cw_model *model, explain_node node)
{
    return node > model->atoms_count ? node - model->atoms_count : model->atoms[node].fact;
}

bool explain_is_step(const cw_model *model, explain_node node)
{
    return node <= model->atoms_count && model->atoms[node].kind == CW_ATOM_STEP;
}

bool explain_reason(const cw_chain *chain, explain_node node, cw_reason *out)
{
    const cw_model *model = cw_chain_model(chain);
    if (node <= model->atoms_count)
        return cw_chain_reasons(chain, node, out, 1) > 0;
    const cw_fact_id fact = node - model->atoms_count;
    if (model->facts[fact].kind == CW_MEASURE)
        return cw_chain_number_reasons(chain, fact, out, 1) > 0;
    *out = (cw_reason){0, CW_YES};
    const cw_answer *answer = cw_chain_answered(chain, fact);
    return answer != NULL && !answer->cant_tell;
}

/* Absence turns the scale round. */
bool explain_holds(const cw_chain *chain, cw_premise premise, cw_truth truth)
{
    const cw_truth of_atom = cw_chain_truth(chain, premise.atom);
    return premise.absent ? of_atom <= CW_YES - truth : of_atom >= truth;
}

void explain_below(const cw_chain *chain, cw_reason reason, explain_visit *visit, void *context)
{
    const cw_model *model = cw_chain_model(chain);
    const cw_rule *rule = &model->rules[reason.rule];
    for (uint32_t i = rule->premises.first; i < rule->premises.first + rule->premises.count; i++)
        if (explain_holds(chain, model->premises[i], reason.truth) &&
            !visit(context, model->premises[i].atom, model->premises[i].absent))
            return;
    const uint32_t *inputs = NULL;
    const size_t count = rule->measure == 0 ? 0 : cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++)
        if (!visit(context, explain_value_node(chain, inputs[i]), false))
            return;
}

cw_status explain_finder_new(explain_finder *finder, const cw_chain *chain, cw_arena *arena)
{
    const cw_model *model = cw_chain_model(chain);
    const uint32_t nodes = model->atoms_count + model->facts_count + 1;
    *finder = (explain_finder){.chain = chain,
                               .from = CW_NEW_ARRAY(arena, explain_node, nodes),
                               .by = CW_NEW_ARRAY(arena, cw_rule_id, nodes),
                               .queue = CW_NEW_ARRAY(arena, explain_node, nodes)};
    return finder->from == NULL || finder->by == NULL || finder->queue == NULL ? CW_NO_MEMORY : CW_OK;
}

typedef struct search {
    explain_finder *finder;
    explain_node at;
    cw_rule_id rule;
} search;

static bool queue_node(void *context, explain_node node, bool absent)
{
    search *s = context;
    if (!absent && s->finder->from[node] == 0) {
        s->finder->from[node] = s->at;
        s->finder->by[node] = s->rule;
        s->finder->queue[s->finder->queued++] = node;
    }
    return true;
}

/* Breadth first from the top; 0 when the answer is not below. Only what the last search met is forgotten, so
 * a search costs what it meets. */
static explain_node search_answer(explain_finder *finder, explain_node root, cw_fact_id answer)
{
    const cw_model *model = cw_chain_model(finder->chain);
    search s = {.finder = finder};
    for (uint32_t i = 0; i < finder->queued; i++)
        finder->from[finder->queue[i]] = 0;
    finder->queued = 0;
    finder->from[root] = root;
    finder->by[root] = 0;
    finder->queue[finder->queued++] = root;
    for (uint32_t i = 0; i < finder->queued; i++) {
        cw_reason reason;
        s.at = finder->queue[i];
        if (!explain_reason(finder->chain, s.at, &reason))
            continue;
        if (reason.rule == 0 && explain_node_fact(model, s.at) == answer)
            return s.at;
        s.rule = reason.rule;
        if (reason.rule != 0)
            explain_below(finder->chain, reason, queue_node, &s);
    }
    return 0;
}

cw_status explain_find_way(explain_finder *finder, cw_fact_id answer, cw_fact_id counted, cw_arena *arena,
                           const cw_rule_id **rules, uint32_t *count)
{
    const cw_model *model = cw_chain_model(finder->chain);
    const explain_node root = explain_value_node(finder->chain, counted);
    const explain_node bottom = search_answer(finder, root, answer);
    *rules = NULL;
    *count = 0;
    if (bottom == 0)
        return CW_NOT_FOUND;
    uint32_t length = 0;
    for (explain_node node = bottom; node != root; node = finder->from[node])
        length++;
    cw_rule_id *list = CW_NEW_ARRAY(arena, cw_rule_id, length);
    if (list == NULL)
        return CW_NO_MEMORY;
    for (explain_node node = bottom; node != root; node = finder->from[node])
        if (!explain_is_step(model, finder->from[node]))
            list[(*count)++] = finder->by[node];
    *rules = list;
    return CW_OK;
}
