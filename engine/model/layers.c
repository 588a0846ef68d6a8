/* Layers of atoms and rules, ranks of causes. The nodes of the rules' graph are the atoms, then the facts (as
 * the numbers that formulas work out and read); the edges say what must be complete before. */
#include "model/inside.h"

static uint32_t fact_node(const cw_builder *builder, cw_fact_id fact)
{
    return (uint32_t)builder->atoms.count + fact;
}

static uint32_t head_node(const cw_builder *builder, const cw_rule *rule)
{
    return rule->head != 0 ? rule->head : fact_node(builder, rule->measure);
}

static void list_rule_edges(const cw_builder *builder, graph_edges *edges)
{
    for (uint32_t r = 1; r < builder->rules.count; r++) {
        const cw_rule *rule = CW_VEC_AT(&builder->rules, cw_rule, r);
        uint32_t head = head_node(builder, rule);
        for (uint32_t i = 0; i < rule->premises.count; i++) {
            const cw_premise *premise = CW_VEC_AT(&builder->premises, cw_premise, rule->premises.first + i);
            graph_edge(edges, head, premise->atom, premise->absent);
        }
        const uint32_t *inputs = NULL;
        size_t count = rule->formula == NULL ? 0 : cw_formula_inputs(rule->formula, &inputs);
        for (size_t i = 0; i < count; i++)
            graph_edge(edges, head, fact_node(builder, inputs[i]), true);
    }
    for (uint32_t a = 1; a < builder->atoms.count; a++) {
        const cw_atom *atom = CW_VEC_AT(&builder->atoms, cw_atom, a);
        if (atom->kind == CW_ATOM_VALUE)
            graph_edge(edges, fact_node(builder, atom->fact), a, false);
        else if (atom->kind <= CW_ATOM_KNOWN)
            graph_edge(edges, a, fact_node(builder, atom->fact),
                       cw_builder_fact_at(builder, atom->fact)->values.count == 0);
    }
}

/* An answer is complete from the start: a fact that no rule works out must not lift what tests it. */
static void lower_answers(const cw_builder *builder, layer_graph *graph, bool *worked_out)
{
    for (uint32_t r = 1; r < builder->rules.count; r++)
        worked_out[CW_VEC_AT(&builder->rules, cw_rule, r)->measure] = true;
    for (uint32_t a = 1; a < builder->atoms.count; a++) {
        const cw_atom *atom = CW_VEC_AT(&builder->atoms, cw_atom, a);
        if (atom->fact == 0 || atom->kind == CW_ATOM_VALUE || worked_out[atom->fact])
            continue;
        for (uint32_t e = graph->first[a]; e < graph->first[a + 1]; e++)
            graph->to[e] &= ~GRAPH_STRICT;
    }
}

/* One list of circles, whichever kind. */
typedef struct circle_list {
    cw_builder *builder;
    cw_circle *first, *last;
} circle_list;

static cw_circle *new_circle(circle_list *list)
{
    if (list->last == NULL) {
        list->last = list->first;
    } else {
        cw_circle *circle = CW_NEW(list->builder->arena, cw_circle);
        if (circle == NULL)
            return NULL;
        list->last->next = circle;
        list->last = circle;
    }
    return list->last;
}

/* Notes for each node on the circle the origin of the first rule that needs the next node for it. */
static void find_origins(const cw_builder *builder, const uint32_t *next, uint32_t *origin)
{
    for (uint32_t r = 1; r < builder->rules.count; r++) {
        const cw_rule *rule = CW_VEC_AT(&builder->rules, cw_rule, r);
        uint32_t head = head_node(builder, rule);
        if (next[head] == GRAPH_OFF || origin[head] != 0)
            continue;
        bool found = false;
        for (uint32_t i = 0; i < rule->premises.count; i++)
            found |= CW_VEC_AT(&builder->premises, cw_premise, rule->premises.first + i)->atom == next[head];
        const uint32_t *inputs = NULL;
        size_t count = rule->formula == NULL ? 0 : cw_formula_inputs(rule->formula, &inputs);
        for (size_t i = 0; i < count; i++)
            found |= fact_node(builder, inputs[i]) == next[head];
        if (found)
            origin[head] = rule->origin;
    }
}

static bool note_rules(void *context, const uint32_t *next, uint32_t start)
{
    circle_list *list = context;
    cw_builder *builder = list->builder;
    size_t nodes = builder->atoms.count + builder->facts.count, length = 0;
    for (uint32_t node = start; length == 0 || node != start; node = next[node])
        length++;
    uint32_t *origin = CW_NEW_ARRAY(builder->arena, uint32_t, nodes);
    uint32_t *around = CW_NEW_ARRAY(builder->arena, uint32_t, length);
    cw_circle *circle = new_circle(list);
    if (origin == NULL || around == NULL || circle == NULL)
        return false;
    find_origins(builder, next, origin);
    uint32_t count = 0;
    uint32_t node = start;
    for (size_t i = 0; i < length; i++, node = next[node])
        if (origin[node] != 0 && (count == 0 || around[count - 1] != origin[node]))
            around[count++] = origin[node];
    while (count > 1 && around[count - 1] == around[0])
        count--;
    circle->origins = around;
    circle->origin_count = count;
    return true;
}

static bool note_causes(void *context, const uint32_t *next, uint32_t start)
{
    circle_list *list = context;
    size_t length = 0, at = 0;
    for (uint32_t node = start; length == 0 || node != start; node = next[node])
        length++;
    uint32_t *around = CW_NEW_ARRAY(list->builder->arena, uint32_t, length);
    cw_circle *circle = new_circle(list);
    if (around == NULL || circle == NULL)
        return false;
    /* Edges run from effect to cause; people follow causes to effects. */
    for (uint32_t node = start; at < length; node = next[node])
        around[length - 1 - at++] = node;
    circle->causes = around;
    circle->cause_count = (uint32_t)length;
    return true;
}

/* The last of the circles found so far, NULL when there is none. */
static cw_circle *last_circle(cw_circle *circle)
{
    if (circle->origin_count == 0 && circle->cause_count == 0)
        return NULL;
    while (circle->next != NULL)
        circle = (cw_circle *)circle->next;
    return circle;
}

cw_status builder_rule_layers(cw_builder *builder, cw_arena *scratch, cw_circle *circle)
{
    layer_graph graph;
    uint32_t nodes = (uint32_t)(builder->atoms.count + builder->facts.count);
    bool *worked_out = CW_NEW_ARRAY(scratch, bool, builder->facts.count);
    if (worked_out == NULL || !graph_make(&graph, nodes, list_rule_edges, builder, scratch))
        return CW_NO_MEMORY;
    lower_answers(builder, &graph, worked_out);
    if (!graph_layers(&graph, scratch))
        return CW_NO_MEMORY;
    for (uint32_t a = 1; a < builder->atoms.count; a++)
        CW_VEC_AT(&builder->atoms, cw_atom, a)->layer = graph.layer[a];
    for (uint32_t r = 1; r < builder->rules.count; r++) {
        cw_rule *rule = CW_VEC_AT(&builder->rules, cw_rule, r);
        rule->layer = graph.layer[head_node(builder, rule)];
    }
    circle_list list = {builder, circle, last_circle(circle)};
    if (!graph_circles(&graph, scratch, note_rules, &list))
        return CW_NO_MEMORY;
    return list.last == NULL ? CW_OK : CW_BAD_INPUT;
}

static void list_cause_edges(const cw_builder *builder, graph_edges *edges)
{
    for (uint32_t i = 0; i < builder->links.count; i++) {
        const cw_link *link = CW_VEC_AT(&builder->links, cw_link, i);
        graph_edge(edges, link->to, link->from, true);
    }
}

cw_status builder_cause_ranks(cw_builder *builder, cw_arena *scratch, cw_circle *circle)
{
    layer_graph graph;
    if (!graph_make(&graph, (uint32_t)builder->causes.count, list_cause_edges, builder, scratch) ||
        !graph_layers(&graph, scratch))
        return CW_NO_MEMORY;
    for (uint32_t c = 1; c < builder->causes.count; c++)
        CW_VEC_AT(&builder->causes, cw_cause, c)->rank = graph.layer[c];
    cw_circle *before = last_circle(circle);
    circle_list list = {builder, circle, before};
    if (!graph_circles(&graph, scratch, note_causes, &list))
        return CW_NO_MEMORY;
    return list.last == before ? CW_OK : CW_BAD_INPUT;
}
