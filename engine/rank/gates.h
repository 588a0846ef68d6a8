/* Inside the room: what a set of causes says of each finding above normal, and of each cause that others lead
 * to, as one *gate* each; and what the best of all sets can come to at most, some causes being decided.
 *
 * A gate (noisy-OR: Pearl 1988) is drawn or quiet. Each cause that is an input of it and present draws it:
 *   drawn' = drawn + quiet * draws, quiet' = quiet * stays (draws + stays = 1).
 * That of a finding has to be drawn. That of a cause with parents has an *output*, the cause: drawn where it
 * is present, quiet where it is absent. All else that a cause says, present over absent, is its weight. So
 *   log P(exactly these causes and the evidence) = log_factor + log weight of each + log of each gate.
 *
 * At most: a cause's weight is shared out to its gates, so that the product of its shares is the weight.
 * Whatever the shares, the product of what each gate comes to at best by itself is no less than the best set
 * (dual decomposition: Globerson & Jaakkola 2007; Sontag, Globerson & Jaakkola 2011). Balancing makes it
 * small: cause by cause, each of its gates is made to gain the same by its presence. What a gate comes to at
 * best is bounded in turn: if the strongest of those that draw it is i, each other one adds no more than it
 * would add to i alone, for what an input adds falls with those that are there already. */
#ifndef CW_RANK_GATES_H
#define CW_RANK_GATES_H

#include "base/arena.h"
#include "rank/network.h"

typedef enum gate_state { GATE_UNDECIDED, GATE_ABSENT, GATE_PRESENT } gate_state;

typedef struct gate_input {
    cw_cause_id cause;
    double draws, stays;
    double share; /* of the cause's weight, here */
} gate_input;

typedef struct gate {
    cw_run inputs;       /* the strongest first */
    cw_cause_id output;  /* 0: a finding */
    double output_share; /* of the output's weight, here */
    double drawn, quiet; /* by no input; sum to 1 */
    double log_best;     /* at most, when last bounded */
} gate;

typedef struct gate_pin { /* where a cause has a share */
    uint32_t gate;
    uint32_t input; /* GATE_OUTPUT: it is the output */
} gate_pin;
#define GATE_OUTPUT UINT32_MAX

typedef struct gates {
    const network *net;
    gate *gates;
    gate_input *inputs;
    gate_pin *pins;
    uint32_t count;
    cw_run *pins_of;    /* by cause */
    double *log_weight; /* by cause */
    uint8_t *state;     /* by cause: a gate_state */
    double log_factor;
    /* The part looked at: its causes, and their gates. */
    const cw_cause_id *causes;
    uint32_t cause_count;
    uint32_t *part;
    uint32_t part_count;
    /* Room for the inputs of one gate; for the gates of one cause. */
    const gate_input **open;
    double *gains;
    double steps, max_steps; /* inputs looked at */
    bool spent;              /* they did not suffice: no bound counts any more */
} gates;

/* Of the network as it is now; in the arena. False: no memory. */
bool rank_gates_make(gates *g, const network *net, double max_steps, cw_arena *arena);
/* The cause stands in no gate: nothing but its weight counts. */
bool rank_gates_is_alone(const gates *g, cw_cause_id id);

/* Takes up a part (parts.h): all of it is undecided then, but what its weight of 0 makes absent. The list
 * stays the caller's. Then balances the shares. */
void rank_gates_take(gates *g, const cw_cause_id *causes, uint32_t count);

/* What the part's gates and weights come to, in logarithms: at most, as its causes are decided now; as this,
 * were one more cause present; when no cause is undecided, exactly, whatever the shares are. */
double rank_gates_bound(gates *g);
double rank_gates_bound_with(gates *g, double bound, cw_cause_id id);
double rank_gates_log_chance(gates *g);

#endif
