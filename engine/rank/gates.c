#include "rank/gates.h"

#include <math.h>
#include <stdlib.h>

/* A share below is raised to it: a bound is only less close then, and no product of a few comes to 0. */
#define LEAST_LOG_SHARE (-150.0)

/* Whether others lead to it. And its odds would be infinite where it cannot be absent: a gate says that too.
 */
static bool has_own_gate(const network *net, const net_cause *cause)
{
    bool led = cause->absent <= 0;
    for (uint32_t i = 0; i < cause->parents.count && !led; i++)
        led = rank_net_leads(net, &net->parents[cause->parents.first + i]);
    return led;
}

/* -- Counted, then put where there is room -- */

static void count_inputs_of(gates *g, cw_cause_id id)
{
    const network *net = g->net;
    const net_cause *cause = &net->causes[id];
    g->pins_of[id].count += cause->touches.count;
    for (uint32_t k = 0; k < cause->touches.count; k++)
        g->gates[net->touches[cause->touches.first + k].finding].inputs.count++;
    if (!has_own_gate(net, cause))
        return;
    gate *own = &g->gates[g->count++];
    *own = (gate){.output = id, .drawn = cause->own, .quiet = cause->absent};
    g->pins_of[id].count++;
    for (uint32_t k = 0; k < cause->parents.count; k++) {
        const net_parent *parent = &net->parents[cause->parents.first + k];
        if (!rank_net_leads(net, parent))
            continue;
        own->inputs.count++;
        g->pins_of[parent->cause].count++;
    }
}

static uint32_t make_run(cw_run *run, uint32_t first)
{
    const uint32_t next = first + run->count;
    *run = (cw_run){first, 0};
    return next;
}

static void count_inputs(gates *g)
{
    const network *net = g->net;
    uint32_t inputs = 0, pins = 0;
    for (g->count = 0; g->count < net->finding_count; g->count++) {
        const net_finding *finding = &net->findings[g->count];
        const double both = finding->hit + finding->miss;
        g->gates[g->count] = (gate){.drawn = finding->hit / both, .quiet = finding->miss / both};
        g->log_factor += log(both);
    }
    for (uint32_t i = 0; i < net->live_count; i++)
        count_inputs_of(g, net->live[i]);
    for (uint32_t i = 0; i < g->count; i++)
        inputs = make_run(&g->gates[i].inputs, inputs);
    for (uint32_t i = 0; i < net->live_count; i++)
        pins = make_run(&g->pins_of[net->live[i]], pins);
}

static void put_input(gates *g, gate *to, cw_cause_id id, double draws, double stays)
{
    g->inputs[to->inputs.first + to->inputs.count++] = (gate_input){id, draws, stays, 1};
}

/* The cause's touches, and its parents where it has a gate of its own; the rest is its weight. */
static void put_inputs_of(gates *g, cw_cause_id id, gate *own)
{
    const network *net = g->net;
    const net_cause *cause = &net->causes[id];
    double log_weight = log(cause->weight);
    for (uint32_t k = 0; k < cause->touches.count; k++) {
        const net_touch *touch = &net->touches[cause->touches.first + k];
        const double both = touch->hit + touch->miss;
        log_weight += log(both);
        put_input(g, &g->gates[touch->finding], id, touch->hit / both, touch->miss / both);
    }
    for (uint32_t k = 0; own != NULL && k < cause->parents.count; k++) {
        const net_parent *parent = &net->parents[cause->parents.first + k];
        if (rank_net_leads(net, parent))
            put_input(g, own, parent->cause, parent->chance, parent->stays);
    }
    if (own == NULL) {
        log_weight += log(cause->own / cause->absent);
        g->log_factor += log(cause->absent);
    }
    g->log_weight[id] = log_weight;
}

static int by_strength(const void *a, const void *b)
{
    const gate_input *left = a, *right = b;
    if (left->draws != right->draws)
        return left->draws > right->draws ? -1 : 1;
    return left->cause < right->cause ? -1 : left->cause > right->cause;
}

static void put_pin(gates *g, cw_cause_id id, uint32_t at, uint32_t input)
{
    cw_run *of = &g->pins_of[id];
    g->pins[of->first + of->count++] = (gate_pin){at, input};
}

static void put_pins(gates *g)
{
    for (uint32_t i = 0; i < g->count; i++) {
        const gate *at = &g->gates[i];
        if (at->output != 0)
            put_pin(g, at->output, i, GATE_OUTPUT);
        qsort(&g->inputs[at->inputs.first], at->inputs.count, sizeof *g->inputs, by_strength);
        for (uint32_t k = at->inputs.first; k < at->inputs.first + at->inputs.count; k++)
            put_pin(g, g->inputs[k].cause, i, k);
    }
}

/* To all gates alike, to begin with. */
static void share_out(gates *g, cw_cause_id id)
{
    const cw_run of = g->pins_of[id];
    const double share = exp(fmax(g->log_weight[id] / of.count, LEAST_LOG_SHARE));
    for (uint32_t k = of.first; k < of.first + of.count; k++) {
        const gate_pin *pin = &g->pins[k];
        if (pin->input == GATE_OUTPUT)
            g->gates[pin->gate].output_share = share;
        else
            g->inputs[pin->input].share = share;
    }
}

static bool take_room(gates *g, cw_arena *arena)
{
    const network *net = g->net;
    const size_t causes = (size_t)net->model->causes_count + 1,
                 gate_room = net->finding_count + (size_t)net->live_count,
                 inputs = net->touch_count + (size_t)net->link_count;
    g->gates = CW_NEW_ARRAY(arena, gate, gate_room);
    g->inputs = CW_ROOM(arena, gate_input, inputs);
    g->pins = CW_ROOM(arena, gate_pin, inputs + net->live_count);
    g->pins_of = CW_NEW_ARRAY(arena, cw_run, causes);
    g->log_weight = CW_ROOM(arena, double, causes);
    g->state = CW_NEW_ARRAY(arena, uint8_t, causes);
    g->part = CW_ROOM(arena, uint32_t, gate_room);
    g->open = CW_ROOM(arena, const gate_input *, net->live_count);
    g->gains = CW_ROOM(arena, double, gate_room);
    return g->gates != NULL && g->inputs != NULL && g->pins != NULL && g->pins_of != NULL &&
           g->log_weight != NULL && g->state != NULL && g->part != NULL && g->open != NULL &&
           g->gains != NULL;
}

bool rank_gates_make(gates *g, const network *net, double max_steps, cw_arena *arena)
{
    *g = (gates){.net = net, .log_factor = net->log_factor, .max_steps = max_steps};
    if (!take_room(g, arena))
        return false;
    count_inputs(g);
    gate *own = g->gates + net->finding_count, *end = g->gates + g->count;
    for (uint32_t i = 0; i < net->live_count; i++) {
        const bool has = own < end && own->output == net->live[i];
        put_inputs_of(g, net->live[i], has ? own : NULL);
        own += has;
    }
    put_pins(g);
    for (uint32_t i = 0; i < net->live_count; i++)
        share_out(g, net->live[i]);
    return true;
}

bool rank_gates_is_alone(const gates *g, cw_cause_id id)
{
    return g->pins_of[id].count == 0;
}
