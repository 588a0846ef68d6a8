/* The atoms that stand in the front line with one rank, told to their rules in one go. Nearly all of chaining
 * is this: an atom that was known by nothing, and rules that need all their premises. For these it is
 * chain_turn and chain_reach_update without what cannot be; all else goes that way. */
#include "chain/inside.h"

/* What the loops need at hand. Before anybody else is called the line learns of its tail, and may have a
 * longer one afterwards.
 *
 * Whether a premise is the last one that its rule waits for cannot be foreseen, so no branch asks it: each
 * rule is written behind the line's tail, and stays there (up to `fired`) if it was. Their heads are lined up
 * together, before anybody else is called. */
typedef struct wave {
    cw_chain *chain;
    const uint32_t *start;
    const chain_use *uses;
    const unsigned char *tells;
    const cw_atom_id *heads;
    chain_brief *rules;
    chain_atom *atoms;
    chain_node *nodes;
    uint32_t rank, tail, fired, room;
} wave;

/* All the rule's premises are known, and before the last one they were not. The line may grow by one, which
 * is no more than the place of this rule. */
static void line_up_head(wave *w, cw_rule_id rule)
{
    const cw_atom_id id = w->heads[rule];
    const uint32_t reach = w->rules[rule] >> CHAIN_BRIEF_BITS;
    chain_atom *head = &w->atoms[id];
    if (head->support == NEVER && reach == w->rank) {
        head->support = w->rank + 1;
        w->nodes[w->tail++] = id;
        return;
    }
    w->chain->front.tail = w->tail;
    chain_support_changed(w->chain, id, NEVER, reach + 1);
    w->tail = w->chain->front.tail;
}

static void let_go(wave *w)
{
    for (uint32_t i = w->tail; i < w->fired; i++)
        line_up_head(w, w->nodes[i]);
    w->fired = w->chain->front.tail = w->tail;
}

static void go_on(wave *w)
{
    w->fired = w->tail = w->chain->front.tail;
}

/* As many of the uses as can be told in the plain way; returns the first that cannot. What does not change
 * stands in locals, for all that is written here might be part of the wave as far as a compiler can see. */
static const chain_use *tell_plainly(wave *w, const chain_use *use, const chain_use *end)
{
    chain_brief *const rules = w->rules;
    chain_node *const nodes = w->nodes;
    const uint32_t room = w->rank < CHAIN_BRIEF_RANKS ? w->room : w->fired;
    const chain_brief least = w->rank << CHAIN_BRIEF_BITS;
    uint32_t fired = w->fired;
    for (; use < end; use++) {
        const cw_rule_id rule = chain_use_rule(*use);
        const chain_brief brief = rules[rule];
        const uint32_t wants = brief & CHAIN_LONG;
        if ((*use & CHAIN_PLAIN) == 0 || wants == CHAIN_LONG || fired >= room)
            break;
        const chain_brief reach = brief - wants > least ? brief - wants : least;
        rules[rule] = reach | (wants - 1);
        nodes[fired] = rule;
        fired += wants == 1;
    }
    w->fired = fired;
    return use;
}

static void tell_rules(wave *w, cw_atom_id id)
{
    const chain_use *use = w->uses + w->start[id], *end = w->uses + w->start[id + 1];
    while ((use = tell_plainly(w, use, end)) < end) {
        let_go(w);
        use += chain_tell_rule(w->chain, use, (uint32_t)(end - use), NEVER, w->rank);
        go_on(w);
    }
}

static void arrive(wave *w, cw_atom_id id)
{
    cw_chain *chain = w->chain;
    chain->steps += w->start[id + 1] - w->start[id] + 1;
    w->atoms[id].rank = w->rank;
    tell_rules(w, id);
    if (!w->tells[id])
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
              chain->index.tells,
              chain->index.head,
              chain->brief,
              chain->atom,
              front->nodes,
              (uint32_t)front->key,
              front->tail,
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
