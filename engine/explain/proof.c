/* The proof of an atom, in order. What first reasons lead to is gathered from the top down; then nodes are
 * settled as soon as what they need is settled, which is the order of the steps; last, what the top does not
 * need is dropped. */
#include "explain/inside.h"

#include "base/vec.h"
#include <assert.h>
#include <stdlib.h>

/* Of a rule that asks for fewer than all its premises: those settled first, `need` of them. */
typedef struct proof_node {
    explain_node node;
    cw_reason reason;
    uint32_t *below; /* indices of proof nodes it rests on */
    uint32_t below_count;
    cw_atom_id *absent;
    uint32_t absent_count;
    uint32_t step; /* 1 + index among the steps; 0 = none */
    bool settled, needed;
} proof_node;

typedef struct prover {
    const cw_chain *chain;
    const cw_model *model;
    cw_arena *arena;
    proof_node *nodes; /* in the order they were met */
    uint32_t count;
    uint32_t *met;     /* by explain_node: 1 + index in nodes */
    uint32_t *settled; /* indices of nodes, in order */
    uint32_t settled_count;
} prover;

static bool meet(void *context, explain_node node, bool absent)
{
    prover *p = context;
    cw_reason reason;
    if (absent || p->met[node] != 0 || !explain_reason(p->chain, node, &reason))
        return true;
    p->nodes[p->count] = (proof_node){.node = node, .reason = reason};
    p->met[node] = ++p->count;
    return true;
}

static cw_status gather(prover *p, cw_atom_id root)
{
    const uint32_t most = p->model->atoms_count + p->model->facts_count + 1;
    p->met = CW_NEW_ARRAY(p->arena, uint32_t, most);
    p->nodes = CW_NEW_ARRAY(p->arena, proof_node, most);
    p->settled = CW_NEW_ARRAY(p->arena, uint32_t, most);
    if (p->met == NULL || p->nodes == NULL || p->settled == NULL)
        return CW_NO_MEMORY;
    (void)meet(p, root, false);
    for (uint32_t i = 0; i < p->count; i++)
        if (p->nodes[i].reason.rule != 0)
            explain_below(p->chain, p->nodes[i].reason, meet, p);
    return CW_OK;
}

typedef struct settling {
    const prover *p;
    uint32_t *below;
    cw_atom_id *absent;
    uint32_t below_count, absent_count, need;
} settling;

static bool take_settled(void *context, explain_node node, bool absent)
{
    settling *s = context;
    const uint32_t index = absent ? 0 : s->p->met[node];
    if (absent)
        s->absent[s->absent_count++] = node;
    else if (index != 0 && s->p->nodes[index - 1].settled)
        s->below[s->below_count++] = index - 1;
    return s->below_count + s->absent_count < s->need;
}

/* Premises needed, and all inputs of a formula. */
static uint32_t needed_by(const cw_rule *rule, uint32_t *most)
{
    const uint32_t *inputs = NULL;
    const uint32_t count = rule->measure == 0 ? 0 : (uint32_t)cw_formula_inputs(rule->formula, &inputs);
    *most = rule->premises.count + count;
    return rule->need + count;
}

/* Settles the node if enough of what it may rest on is. */
static cw_status try_to_settle(prover *p, uint32_t index)
{
    proof_node *node = &p->nodes[index];
    settling s = {.p = p};
    if (node->reason.rule != 0) {
        uint32_t most;
        s.need = needed_by(&p->model->rules[node->reason.rule], &most);
        s.below = CW_NEW_ARRAY(p->arena, uint32_t, most);
        s.absent = CW_NEW_ARRAY(p->arena, cw_atom_id, most);
        if (s.below == NULL || s.absent == NULL)
            return CW_NO_MEMORY;
        if (s.need > 0)
            explain_below(p->chain, node->reason, take_settled, &s);
        if (s.below_count + s.absent_count < s.need)
            return CW_OK;
    }
    node->below = s.below;
    node->below_count = s.below_count;
    node->absent = s.absent;
    node->absent_count = s.absent_count;
    node->settled = true;
    p->settled[p->settled_count++] = index;
    return CW_OK;
}

/* From the bottom up; what was met last lies lowest, so few rounds do. */
static cw_status settle(prover *p)
{
    while (!p->nodes[0].settled) {
        const uint32_t before = p->settled_count;
        for (uint32_t i = p->count; i-- > 0;)
            if (!p->nodes[i].settled && try_to_settle(p, i) != CW_OK)
                return CW_NO_MEMORY;
        assert(p->settled_count > before && "first reasons end at answers");
        if (p->settled_count == before)
            return CW_NOT_FOUND;
    }
    return CW_OK;
}

static void mark_needed(prover *p)
{
    p->nodes[0].needed = true;
    for (uint32_t i = p->settled_count; i-- > 0;) {
        const proof_node *node = &p->nodes[p->settled[i]];
        for (uint32_t k = 0; node->needed && k < node->below_count; k++)
            p->nodes[node->below[k]].needed = true;
    }
}

/* What a step rests on, inner steps opened up. */
static bool rest_on(const prover *p, const proof_node *node, cw_vec *from, cw_vec *absent)
{
    for (uint32_t i = 0; i < node->absent_count; i++) {
        cw_atom_id *slot = cw_vec_add(absent);
        if (slot == NULL)
            return false;
        *slot = node->absent[i];
    }
    for (uint32_t i = 0; i < node->below_count; i++) {
        const proof_node *below = &p->nodes[node->below[i]];
        if (explain_is_step(p->model, below->node)) {
            if (!rest_on(p, below, from, absent)) /* as deep as conditions are nested */
                return false;
            continue;
        }
        uint32_t *slot = cw_vec_add(from);
        if (slot == NULL)
            return false;
        *slot = below->step - 1;
    }
    return true;
}

static int by_number(const void *a, const void *b)
{
    const uint32_t left = *(const uint32_t *)a, right = *(const uint32_t *)b;
    return left < right ? -1 : left > right;
}

/* Moves a list into the arena, sorted, each number once. */
static const uint32_t *keep(cw_arena *arena, cw_vec *list, uint32_t *count)
{
    uint32_t *kept = CW_NEW_ARRAY(arena, uint32_t, list->count);
    if (kept == NULL)
        return NULL;
    if (list->count > 0)
        qsort(list->items, list->count, sizeof(uint32_t), by_number);
    *count = 0;
    for (size_t i = 0; i < list->count; i++) {
        const uint32_t next = *CW_VEC_AT(list, uint32_t, i);
        if (*count == 0 || kept[*count - 1] != next)
            kept[(*count)++] = next;
    }
    list->count = 0;
    return kept;
}

static bool write_step(const prover *p, const proof_node *node, cw_vec *from, cw_vec *absent,
                       cw_proof_step *step)
{
    const bool is_atom = node->node <= p->model->atoms_count;
    if (!rest_on(p, node, from, absent))
        return false;
    step->atom = is_atom ? node->node : 0;
    step->measure = is_atom ? 0 : explain_node_fact(p->model, node->node);
    step->rule = node->reason.rule;
    step->from = keep(p->arena, from, &step->from_count);
    step->absent = keep(p->arena, absent, &step->absent_count);
    return step->from != NULL && step->absent != NULL;
}

static cw_status write_steps(prover *p, const cw_proof_step **out, size_t *count)
{
    cw_proof_step *steps = CW_NEW_ARRAY(p->arena, cw_proof_step, p->settled_count);
    cw_vec from = CW_VEC_INIT(cw_arena_allocator(p->arena), uint32_t);
    cw_vec absent = CW_VEC_INIT(cw_arena_allocator(p->arena), uint32_t);
    cw_status status = steps == NULL ? CW_NO_MEMORY : CW_OK;
    uint32_t written = 0;
    for (uint32_t i = 0; status == CW_OK && i < p->settled_count; i++) {
        proof_node *node = &p->nodes[p->settled[i]];
        if (!node->needed || (explain_is_step(p->model, node->node) && p->settled[i] != 0))
            continue;
        if (!write_step(p, node, &from, &absent, &steps[written]))
            status = CW_NO_MEMORY;
        node->step = ++written;
    }
    cw_vec_dispose(&from);
    cw_vec_dispose(&absent);
    *out = steps;
    *count = written;
    return status;
}

cw_status cw_explain_proof(const cw_chain *chain, cw_atom_id atom, cw_arena *arena, const cw_proof_step **out,
                           size_t *count)
{
    prover p = {.chain = chain, .model = cw_chain_model(chain), .arena = arena};
    if (atom == 0 || atom > p.model->atoms_count)
        return CW_BAD_CALL;
    if (cw_chain_truth(chain, atom) == CW_NO)
        return CW_NOT_FOUND;
    cw_status status = gather(&p, atom);
    if (status == CW_OK)
        status = settle(&p);
    if (status != CW_OK)
        return status;
    mark_needed(&p);
    return write_steps(&p, out, count);
}
