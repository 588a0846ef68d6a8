/* The atoms that stand in the front line with one rank, told to their rules in one go. Nearly all of chaining
 * is this: an atom that was known by nothing, and rules that need all their premises. For these it is
 * chain_turn and chain_reach_update without what cannot be; all else goes that way. */
#include "chain/inside.h"

/* What the loops need at hand. Before anybody else is called the line learns of its tail, and may have a
 * longer one afterwards. */
typedef struct wave {
    cw_chain *chain;
    const uint32_t *start;
    const chain_use *uses;
    const cw_atom_id *heads;
    chain_brief *rules;
    chain_atom *atoms;
    chain_node *nodes;
    uint32_t rank, tail, room;
} wave;

static void let_go(const wave *w)
{
    w->chain->front.tail = w->tail;
}

static void go_on(wave *w)
{
    w->tail = w->chain->front.tail;
}

/* All the rule's premises are known, and before this one they were not. */
static void fire(wave *w, cw_atom_id id, uint32_t reach)
{
    chain_atom *head = &w->atoms[id];
    if (head->support == NEVER && reach == w->rank && w->tail < w->room) {
        head->support = w->rank + 1;
        w->nodes[w->tail++] = id;
        return;
    }
    let_go(w);
    chain_support_changed(w->chain, id, NEVER, reach + 1);
    go_on(w);
}

static void tell_rules(wave *w, cw_atom_id id)
{
    const chain_use *use = w->uses + w->start[id], *end = w->uses + w->start[id + 1];
    const chain_brief least = w->rank << CHAIN_BRIEF_BITS;
    while (use < end) {
        const cw_rule_id rule = chain_use_rule(*use);
        const chain_brief brief = w->rules[rule];
        const uint32_t wants = brief & CHAIN_LONG;
        if ((*use & CHAIN_PLAIN) == 0 || wants == CHAIN_LONG || w->rank >= CHAIN_BRIEF_RANKS) {
            let_go(w);
            use += chain_tell_rule(w->chain, use, (uint32_t)(end - use), NEVER, w->rank);
            go_on(w);
            continue;
        }
        use++;
        const chain_brief reach = brief - wants > least ? brief - wants : least;
        w->rules[rule] = reach | (wants - 1);
        if (wants == 1)
            fire(w, w->heads[rule], reach >> CHAIN_BRIEF_BITS);
    }
}

static void arrive(wave *w, cw_atom_id id)
{
    cw_chain *chain = w->chain;
    chain->steps += w->start[id + 1] - w->start[id] + 1;
    w->atoms[id].rank = w->rank;
    tell_rules(w, id);
    if (!chain->index.tells[id])
        return;
    let_go(w);
    chain_tell_fact(chain, id, NEVER, w->rank);
    go_on(w);
}

void chain_wave(cw_chain *chain)
{
    chain_line *front = &chain->front;
    wave w = {chain,
              chain->index.uses.start,
              chain->index.uses.items,
              chain->index.head,
              chain->brief,
              chain->atom,
              front->nodes,
              (uint32_t)front->key,
              front->tail,
              front->room};
    /* Whose turn it is stays in the line, so that nobody finds it empty and begins it anew. */
    for (; front->head < front->turn && chain_queue_first_key(chain) >= front->key; front->head++) {
        const cw_atom_id id = w.nodes[front->head];
        if (w.atoms[id].rank == NEVER && w.atoms[id].support == w.rank) {
            arrive(&w, id);
            continue;
        }
        let_go(&w);
        chain_turn(chain, id, w.rank);
        go_on(&w);
    }
    let_go(&w);
}
