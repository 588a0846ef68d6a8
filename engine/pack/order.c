/* The order of work: each step behind all it waits for, and as far as that leaves room, one line of work
 * carried on to its end before the next is taken up; equal ones by name. (Kahn 1962, with a stack in place of
 * the queue.)
 *
 * A step that stands in place of another has its place: whoever waits for that one waits for both, and it
 * waits for what that one waits for, unless it says itself what it waits for. So that the edges stay as many
 * as are written, each step has gates round it; those of the steps in its place lead through them:
 *
 *     earlier steps --> WAIT --> [step] --> NEXT --> later ones that it names with `before`
 *     steps that name it with `before` --> ENTRY --> [step] --> DONE --> steps that name it with `after`
 */
#include "pack/inside.h"

#include <stdlib.h>

enum { STEP, WAIT, ENTRY, NEXT, DONE, GATES };

typedef struct edge {
    uint32_t from, to;
} edge;

typedef struct order {
    compiler *c;
    uint32_t nodes;
    edge *edges;
    size_t count;
    uint32_t *first, *to; /* nodes + 1: those behind node i are to[first[i]] .. to[first[i + 1] - 1] */
    uint32_t *waits;      /* how many are missing before the node */
    uint32_t *stack, top; /* steps that may be done now, the next on top */
    uint32_t *gates, open;
    uint32_t *done, done_count;
} order;

static uint32_t node_of(uint32_t step, uint32_t gate)
{
    return step * GATES + gate;
}

static void add(order *o, uint32_t from, uint32_t from_gate, uint32_t to, uint32_t to_gate)
{
    o->edges[o->count++] = (edge){node_of(from, from_gate), node_of(to, to_gate)};
}

/* One in place of the other: within a place the steps themselves wait, not whoever waits for the place. */
static bool same_place(const compiler *c, uint32_t one, uint32_t other)
{
    return CW_VEC_AT(&c->steps, step_def, one)->instead_of == other + 1 ||
           CW_VEC_AT(&c->steps, step_def, other)->instead_of == one + 1;
}

static void add_after(order *o, uint32_t before, uint32_t after, uint32_t through_before,
                      uint32_t through_after)
{
    bool inside = same_place(o->c, before, after);
    add(o, before, inside ? STEP : through_before, after, inside ? STEP : through_after);
}

static void add_edges(order *o, const step_def *step, uint32_t i)
{
    add(o, i, WAIT, i, STEP);
    add(o, i, ENTRY, i, STEP);
    add(o, i, STEP, i, NEXT);
    add(o, i, STEP, i, DONE);
    if (step->instead_of != 0) {
        uint32_t of = step->instead_of - 1;
        if (!step->own_after)
            add(o, of, WAIT, i, WAIT);
        if (!step->own_before)
            add(o, i, NEXT, of, NEXT);
        add(o, of, ENTRY, i, ENTRY);
        add(o, i, DONE, of, DONE);
    }
    for (uint32_t k = 0; k < step->after_count; k++)
        add_after(o, step->after[k], i, DONE, WAIT);
    for (uint32_t k = 0; k < step->before_count; k++)
        add_after(o, i, step->before[k], NEXT, ENTRY);
}

static bool collect(order *o)
{
    compiler *c = o->c;
    size_t room = 0;
    for (size_t i = 0; i < c->steps.count; i++) {
        const step_def *step = CW_VEC_AT(&c->steps, step_def, i);
        room += (size_t)step->after_count + step->before_count + 8;
    }
    o->edges = take(c, room, sizeof *o->edges);
    for (uint32_t i = 0; i < c->steps.count && o->edges != NULL; i++)
        add_edges(o, CW_VEC_AT(&c->steps, step_def, i), i);
    size_t nodes = o->nodes;
    o->first = take(c, nodes + 2, sizeof *o->first);
    o->to = take(c, o->count, sizeof *o->to);
    o->waits = take(c, nodes, sizeof *o->waits);
    o->stack = take(c, nodes, sizeof *o->stack);
    o->gates = take(c, nodes, sizeof *o->gates);
    o->done = take(c, c->steps.count, sizeof *o->done);
    return !c->no_memory;
}

/* The edges by where they begin: first[i + 2] counts those of i, then first[i + 1] moves from their first to
 * behind their last, which is where those of i + 1 begin. */
static void lay_out(order *o)
{
    for (size_t e = 0; e < o->count; e++) {
        o->first[o->edges[e].from + 2]++;
        o->waits[o->edges[e].to]++;
    }
    for (uint32_t i = 2; i <= o->nodes + 1; i++)
        o->first[i] += o->first[i - 1];
    for (size_t e = 0; e < o->count; e++)
        o->to[o->first[o->edges[e].from + 1]++] = o->edges[e].to;
}

static void ready(order *o, uint32_t node)
{
    if (node % GATES == STEP)
        o->stack[o->top++] = node;
    else
        o->gates[o->open++] = node;
}

static int last_first(const void *a, const void *b)
{
    uint32_t x = *(const uint32_t *)a, y = *(const uint32_t *)b;
    return (x < y) - (x > y);
}

/* Goes through all gates that are open; steps that become ready end up on the stack, the first by name on
 * top. */
static void pass(order *o)
{
    uint32_t from = o->top;
    while (o->open > 0) {
        uint32_t at = o->gates[--o->open];
        for (uint32_t e = o->first[at]; e < o->first[at + 1]; e++)
            if (--o->waits[o->to[e]] == 0)
                ready(o, o->to[e]);
    }
    if (o->top - from > 1)
        qsort(&o->stack[from], o->top - from, sizeof *o->stack, last_first);
}

static void tell_step_circle(compiler *c, const uint32_t *around, uint32_t count)
{
    const char **names = take(c, count, sizeof *names);
    cw_span *spans = take(c, count, sizeof *spans);
    uint32_t steps = 0;
    for (uint32_t i = 0; i < count && names != NULL && spans != NULL; i++) {
        if (around[i] % GATES != STEP)
            continue;
        const step_def *step = CW_VEC_AT(&c->steps, step_def, around[i] / GATES);
        names[steps] = step->at->name;
        spans[steps++] = step->at->key->span;
    }
    if (!c->no_memory)
        tell_names_around(c, CW_DIAG_STEP_CYCLE, "steps wait for each other in a circle", names, spans,
                          steps);
}

/* Of each node left over, one that it waits for is left over too: following them runs into every circle. */
static void tell_left_over(order *o)
{
    uint32_t *next = take(o->c, o->nodes, sizeof *next);
    for (size_t e = 0; e < o->count && next != NULL; e++)
        if (o->waits[o->edges[e].from] > 0 && o->waits[o->edges[e].to] > 0)
            next[o->edges[e].to] = o->edges[e].from + 1;
    if (next != NULL)
        find_replacement_circles(o->c, next, o->nodes, tell_step_circle);
}

void order_assembly(compiler *c)
{
    if (c->steps.count > UINT32_MAX / GATES / 2) {
        c->no_memory = true;
        return;
    }
    order o = {.c = c, .nodes = (uint32_t)c->steps.count * GATES};
    if (!collect(&o))
        return;
    lay_out(&o);
    for (uint32_t i = 0; i < o.nodes; i++)
        if (o.waits[i] == 0)
            ready(&o, i);
    pass(&o);
    while (o.top > 0) {
        uint32_t step = o.stack[--o.top];
        o.done[o.done_count++] = step / GATES;
        o.gates[o.open++] = step;
        pass(&o);
    }
    if (o.done_count == c->steps.count)
        c->step_order = o.done;
    else
        tell_left_over(&o);
}
