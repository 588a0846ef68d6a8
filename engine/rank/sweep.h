/* Inside the room: exact sums over all sets of causes, in one sweep.
 *
 * What has to be remembered of some causes while others are still to come is a *bit* each for
 *   - every finding that several of them touch: has one of them drawn the value seen?
 *   - every cause that leads to others: is it present?
 *   - or, where several lead to one: has one of them brought it about yet?
 * and a vector holds the probability of each combination of bits. The sweep eliminates the bits one after the
 * other, each time the one that the fewest others hang together with (bucket elimination, Dechter 1999, along
 * the order of least degree): all that speaks of the bit is worked into one vector, the bit is closed, and
 * what is left is a *message* that waits for the next of its bits.
 *
 *     messages ──merge──▶ vector ──cause, cause ..──▶ ──close the bit──▶ message
 *
 *     cause:  vector ──open──▶ ──split──▶ absent  ──────────────────┐
 *                                └──────▶ present ──touch findings──┴─join─▶
 *
 * Closing a finding keeps what some cause has drawn, and of the rest what the background draws; closing a
 * cause adds both halves. In a merge of two messages a finding is drawn when either has drawn it, and a cause
 * brought about when either has. The width is that of a tree decomposition: causes that share no finding and
 * no link cost their sum, and so do those that hang together like a tree. Where merges would cost more, one
 * vector takes all causes in a line, each bit closed with the last cause that needs it (line.c).
 *
 * The third kind spares those that lead to one cause from being remembered together: each is worked in where
 * it suits, as if it touched a finding (hit: it leads, miss: it does not), and the cause itself follows when
 * all have been (causal independence: Heckerman & Breese 1996; Zhang & Poole 1996). Its bit comes before all
 * others that it or a follower speaks of.
 *
 * What needs no bit is worked in before: a finding that one cause alone touches is a factor of that cause,
 * present or absent; a cause without links that touches one shared finding alone (a *leaf*) is part of what
 * that finding's background draws.
 *
 * The way back carries, for each combination, the probability of all the rest; present and absent parts times
 * it give each cause's posterior without a division of large by large. All terms are positive and none
 * cancels; vectors are scaled by powers of two. */
#ifndef CW_RANK_SWEEP_H
#define CW_RANK_SWEEP_H

#include "rank/network.h"

#define RANK_LOG_2 0.693147180559945309417

/* At most this many numbers are kept at once (64 MiB); a plan that needs more counts as too dear. */
#define SWEEP_MAX_NUMBERS ((size_t)1 << 23)
/* No vector is wider: such a plan is too dear in any case. */
#define SWEEP_MAX_WIDTH 26
/* So many variations of one network are walked through at once (lanes.h): each state has a number for each of
 * them, side by side. */
#define SWEEP_LANES 4

typedef enum sweep_bit_kind { SWEEP_DRAWN, SWEEP_PRESENT, SWEEP_LED } sweep_bit_kind;
typedef struct sweep_bit {
    uint32_t who; /* index of a finding; id of a cause */
    sweep_bit_kind kind;
} sweep_bit;

typedef struct sweep_at { /* a bit of a step's vector */
    uint32_t place;
    uint32_t bit;
    bool either;      /* merge: drawn when either has drawn it; else both say the same of it */
    double hit, miss; /* touch: what the cause draws, or whether it leads; parent: it leads, it does not */
} sweep_at;

typedef enum sweep_kind { SWEEP_MERGE, SWEEP_CAUSE, SWEEP_CLOSE } sweep_kind;

typedef struct sweep_step {
    sweep_kind kind;
    uint32_t who;                        /* number of a message; id of a cause; number of a bit */
    bool leads;                          /* cause: its bit stays */
    uint32_t width_in, width, width_out; /* before; after opening; afterwards */
    uint32_t place;                      /* close: of the bit */
    cw_run opens, parents, touches;      /* sweep places. A merge has its message's bits in `touches` */
    size_t saved;                        /* where the vector before the step is kept for the way back */
} sweep_step;

typedef struct sweep_message { /* what is left when a vector is done; one without bits is done for good */
    cw_run steps;
    cw_run scope;        /* sweep scopes: its bits, by place */
    size_t at, way_back; /* where its numbers are, and those of all the rest */
    uint32_t next;       /* waiting for the same bit: 1 + its number; 0 = none */
    uint32_t root;       /* the message without bits that it ends in */
    double cost;         /* numbers touched */
} sweep_message;

/* By finding: what its background and its leaves draw together. */
typedef struct sweep_drawn {
    double hit, miss;
} sweep_drawn;

typedef struct rank_sweep {
    const network *net;
    const cw_allocator *allocator;
    const bool *forced; /* by cause: forced absent; NULL = none */
    /* By cause. */
    uint32_t *cause_left;                   /* followers that take part and need its presence */
    bool *led;                              /* those that lead to it meet in a bit of its own */
    uint32_t *led_left;                     /* how many of those take part; 0: it has no such bit */
    double *absent_factor, *present_factor; /* what it says by itself */
    bool *alone;                            /* in no link, shares no finding: worked out by itself */
    uint32_t *leaf_of;                      /* 1 + the finding of a leaf; 0 = none */
    sweep_drawn *before;                    /* of a leaf: what its finding draws without it and later ones */
    uint32_t *bit_of_cause, *bit_of_led;    /* 1 + number */
    uint32_t *next_cause;                   /* the next one in the same bucket */
    uint32_t *cause_to_come; /* while a line is planned: followers; placed: no more to come itself */
    bool *placed;
    cw_cause_id *line;
    uint32_t line_count;
    /* By finding. */
    uint32_t *finding_to_come;
    bool *opened;
    uint32_t *finding_left; /* touches by causes that take part */
    uint32_t *bit_of_finding;
    sweep_drawn *drawn;
    uint32_t *leaves, *leaf_count; /* the last leaf; the others follow in next_cause, by falling id */
    /* By bit, in the order of elimination once it is chosen. */
    sweep_bit *bits;
    uint32_t bit_count;
    uint32_t *turn;                        /* by bit before ordering: its number afterwards */
    uint32_t *first_cause, *first_message; /* what waits for it; 1 + number */
    uint64_t *rows;                        /* who hangs together with whom */
    uint32_t *degree, *held_back;          /* held back: by so many that must come before */
    /* The plan. */
    sweep_step *steps;
    sweep_message *messages;
    sweep_at *places;
    uint32_t *scopes, *state;
    uint32_t step_count, message_count, place_count, scope_count, state_count;
    double log_factor;     /* constant of the plan */
    double cost;           /* numbers touched by a forward pass */
    double numbers_needed; /* to keep for the way back */
    double widest;         /* numbers of the widest vector, present and absent half */
    double spare;          /* numbers that a merge needs beside them */
    uint32_t led_from;     /* causes to which so many lead have a bit for them; 0: none has */
    bool in_line;          /* not as a tree */
    bool thorough;         /* the plan will be walked often: worth a better order of elimination */
    bool hopeless;         /* wider than any vector may be: there is no plan */
    double *logs;          /* by message and lane, after a pass: what each adds */
    uint32_t lanes;        /* 1; SWEEP_LANES while it is varied */
    struct rank_lanes *varied;
    double *numbers;
    size_t numbers_room;
    void *block; /* holds the arrays by finding and by bit, and the plan */
    size_t block_size;
} rank_sweep;

cw_status rank_sweep_new(rank_sweep *sweep, const network *net, const cw_allocator *allocator);
void rank_sweep_dispose(rank_sweep *sweep);

/* Chooses and plans the cheapest way found for the network as it is now. CW_NO_MEMORY, or CW_OK. */
cw_status rank_sweep_choose(rank_sweep *sweep);
/* Plans the same way once more, with some causes forced absent (by cause id; NULL = none). Never dearer than
 * without. */
void rank_sweep_plan(rank_sweep *sweep, const bool *forced);
bool rank_sweep_fits(const rank_sweep *sweep);

/* Natural logarithm of P(evidence and the forced absences); -INFINITY if impossible. */
cw_status rank_sweep_forward(rank_sweep *sweep, bool keep, double *log_probability);
/* After a forward pass with `keep`: P(cause | evidence) for every possible cause, 0 for the others. */
void rank_sweep_backward(rank_sweep *sweep, double *by_cause);

#endif
