/* What gates come to: at most, and exactly. */
#include "rank/gates.h"

#include <math.h>

/* So often all shares are balanced: measured, more costs more than the search saves by it. */
#define ROUNDS 3
#define MOST_LOG_MOVE 20

/* -- One gate -- */

/* Products that may leave the range of a double: their logarithm is put by in time. */
typedef struct product {
    double value, logs;
} product;

static inline void times(product *p, double factor)
{
    p->value *= factor;
    if (p->value < 0x1p-500 || p->value > 0x1p500) {
        p->logs += log(p->value);
        p->value = 1;
    }
}

static double log_of(const product *p)
{
    return p->logs + log(p->value);
}

static void count_steps(gates *g, double steps)
{
    g->steps += steps;
    if (g->steps <= g->max_steps)
        return;
    g->steps = g->max_steps;
    g->spent = true;
}

/* Drawn at best, by any of these, each of which costs something and would gain something by itself. Strongest
 * first: i is the strongest that draws. */
static double best_of(const gate_input *const *open, uint32_t count, double drawn, double quiet)
{
    double best = drawn;
    for (uint32_t i = 0; i < count; i++) {
        const double by = drawn + quiet * open[i]->draws, left = quiet * open[i]->stays;
        double value = by * open[i]->share;
        for (uint32_t k = i + 1; k < count; k++) {
            const double both = (by + left * open[k]->draws) * open[k]->share;
            if (both > by)
                value *= both / by;
        }
        best = value > best ? value : best;
    }
    return best;
}

/* Those present draw, and undecided ones that cost nothing; the others are put into `open`. */
static uint32_t draw(gates *g, const gate *of, double *drawn, double *quiet, product *paid, product *absent)
{
    uint32_t count = 0, useful = 0;
    for (uint32_t i = of->inputs.first; i < of->inputs.first + of->inputs.count; i++) {
        const gate_input *input = &g->inputs[i];
        const uint8_t state = g->state[input->cause];
        if (state == GATE_ABSENT)
            continue;
        if (of->output != 0 && (state == GATE_PRESENT || input->stays * input->share > 1))
            times(absent, input->stays * input->share);
        if (state == GATE_UNDECIDED && input->share < 1) {
            g->open[count++] = input;
            continue;
        }
        *drawn += *quiet * input->draws;
        *quiet *= input->stays;
        times(paid, input->share);
    }
    for (uint32_t i = 0; i < count; i++)
        if ((*drawn + *quiet * g->open[i]->draws) * g->open[i]->share > *drawn)
            g->open[useful++] = g->open[i];
    return useful;
}

static double log_best(gates *g, const gate *of)
{
    double drawn = of->drawn, quiet = of->quiet;
    product paid = {1, 0}, absent = {of->quiet, 0};
    const uint32_t open = draw(g, of, &drawn, &quiet, &paid, &absent);
    count_steps(g, of->inputs.count + 1 + open * (double)open / 2);
    times(&paid, best_of(g->open, open, drawn, quiet));
    if (of->output == 0)
        return log_of(&paid);
    times(&paid, of->output_share);
    const uint8_t state = g->state[of->output];
    return fmax(state != GATE_ABSENT ? log_of(&paid) : -INFINITY,
                state != GATE_PRESENT ? log_of(&absent) : -INFINITY);
}

/* -- Shares -- */

/* A share that would move too far stays: no product of a few may leave the range of a double. */
static void balance(gates *g, cw_cause_id id)
{
    const cw_run of = g->pins_of[id];
    double sum = 0;
    for (uint32_t k = 0; k < of.count; k++) {
        const gate *at = &g->gates[g->pins[of.first + k].gate];
        g->state[id] = GATE_PRESENT;
        g->gains[k] = log_best(g, at);
        g->state[id] = GATE_ABSENT;
        g->gains[k] -= log_best(g, at);
        sum += g->gains[k];
    }
    g->state[id] = GATE_UNDECIDED;
    bool far = !isfinite(sum);
    for (uint32_t k = 0; k < of.count && !far; k++)
        far = fabs(sum / of.count - g->gains[k]) > MOST_LOG_MOVE;
    for (uint32_t k = 0; k < of.count && !far; k++) {
        const gate_pin *pin = &g->pins[of.first + k];
        double *share =
            pin->input == GATE_OUTPUT ? &g->gates[pin->gate].output_share : &g->inputs[pin->input].share;
        *share *= exp(sum / of.count - g->gains[k]);
    }
}

/* -- A part -- */

static void take_gates(gates *g)
{
    g->part_count = 0;
    for (uint32_t i = 0; i < g->cause_count; i++) {
        const cw_run of = g->pins_of[g->causes[i]];
        for (uint32_t k = of.first; k < of.first + of.count; k++) {
            const gate_pin *pin = &g->pins[k];
            const cw_run inputs = g->gates[pin->gate].inputs;
            if (pin->input == (inputs.count > 0 ? inputs.first : GATE_OUTPUT))
                g->part[g->part_count++] = pin->gate;
        }
    }
}

void rank_gates_take(gates *g, const cw_cause_id *causes, uint32_t count)
{
    g->causes = causes;
    g->cause_count = count;
    take_gates(g);
    for (uint32_t i = 0; i < count; i++)
        g->state[causes[i]] = g->log_weight[causes[i]] > -INFINITY ? GATE_UNDECIDED : GATE_ABSENT;
    for (int round = 0; round < ROUNDS; round++)
        for (uint32_t i = 0; i < count && !g->spent; i++)
            if (g->state[causes[i]] == GATE_UNDECIDED && g->pins_of[causes[i]].count > 1)
                balance(g, causes[i]);
}

double rank_gates_bound(gates *g)
{
    double sum = 0;
    for (uint32_t i = 0; i < g->part_count; i++) {
        gate *at = &g->gates[g->part[i]];
        at->log_best = log_best(g, at);
        sum += at->log_best;
    }
    return sum;
}

double rank_gates_bound_with(gates *g, double bound, cw_cause_id id)
{
    const cw_run of = g->pins_of[id];
    const uint8_t before = g->state[id];
    g->state[id] = GATE_PRESENT;
    for (uint32_t k = of.first; k < of.first + of.count; k++) {
        const gate *at = &g->gates[g->pins[k].gate];
        bound += log_best(g, at) - at->log_best;
    }
    g->state[id] = before;
    return bound;
}

double rank_gates_log_chance(gates *g)
{
    double sum = 0;
    for (uint32_t i = 0; i < g->cause_count; i++)
        sum += g->state[g->causes[i]] == GATE_PRESENT ? g->log_weight[g->causes[i]] : 0;
    for (uint32_t i = 0; i < g->part_count; i++) {
        const gate *at = &g->gates[g->part[i]];
        double drawn = at->drawn, quiet = at->quiet;
        for (uint32_t k = at->inputs.first; k < at->inputs.first + at->inputs.count; k++)
            if (g->state[g->inputs[k].cause] == GATE_PRESENT) {
                drawn += quiet * g->inputs[k].draws;
                quiet *= g->inputs[k].stays;
            }
        count_steps(g, at->inputs.count + 1);
        sum += log(at->output != 0 && g->state[at->output] != GATE_PRESENT ? quiet : drawn);
    }
    return sum;
}
