/* Trails, without recursion over rules, so that a chain of a million of them needs no deep stack. (Inner
 * steps of a condition nest no deeper than the pack's file does.)
 *
 * Everything that holds may be named as a support, also what the conclusion did not need; so supports can go
 * round in a circle, though first reasons alone never do. A first walk finds the circles: nodes that rest on
 * each other have the same ring (the strongly connected components of Tarjan 1972). A second one writes the
 * steps from the bottom up, and within a ring only follows what is nearer to the answers. */
#include "explain/trail.h"

#include "base/vec.h"
#include "explain/inside.h"
#include <assert.h>
#include <string.h>

typedef struct frame {
    explain_node node;
    cw_trail_step step;
    size_t first, next; /* in walker.below: the first of those below it, and the one to look at next */
} frame;

typedef struct walker {
    const cw_chain *chain;
    const cw_model *model;
    cw_arena *arena;
    size_t nodes;
    uint32_t *block; /* the four arrays that follow, by node */
    uint32_t *met;   /* when the first walk came to it, from 1 */
    uint32_t *low;   /* the earliest node on the way to it that it rests on */
    uint32_t *ring;  /* 0 while it is not known */
    uint32_t *seen;  /* by the second walk */
    uint32_t count;  /* met */
    bool circles;    /* there are some, and the second walk is to keep out of them */
    explain_node at; /* whose supports are being gathered */
    cw_vec roots;    /* of explain_node */
    cw_vec open;     /* of explain_node: met, ring not known */
    cw_vec frames;   /* of frame */
    cw_vec below;    /* of explain_node: a stack, the part of the topmost frame on top */
    cw_vec supports; /* of cw_support: being gathered */
    cw_vec steps;    /* of cw_trail_step: done */
    cw_vec answers;  /* of cw_fact_id */
    cw_status status;
} walker;

static void add_number(walker *walk, cw_vec *list, uint32_t number)
{
    uint32_t *slot = cw_vec_add(list);
    if (slot == NULL)
        walk->status = CW_NO_MEMORY;
    else
        *slot = number;
}

/* -- What a rule rests on -- */

static uint32_t rank_of(const walker *walk, explain_node node)
{
    if (node <= walk->model->atoms_count)
        return cw_chain_rank(walk->chain, node);
    return cw_chain_number_rank(walk->chain, explain_node_fact(walk->model, node));
}

/* Puts a node below the one at hand; false when that would go round. */
static bool put(walker *walk, explain_node node)
{
    if (walk->circles && walk->ring[node] == walk->ring[walk->at] &&
        rank_of(walk, node) >= rank_of(walk, walk->at))
        return false;
    add_number(walk, &walk->below, node);
    return true;
}

/* Whichever value of the fact was asked for, those that hold are why. */
static bool put_values(walker *walk, cw_fact_id id)
{
    const cw_model *model = walk->model;
    bool any = false;
    for (uint32_t v = 0; v < model->facts[id].values.count; v++) {
        const cw_atom_id atom = cw_fact_value_atom(model, id, v);
        if (atom != 0 && cw_chain_truth(walk->chain, atom) != CW_NO)
            any = put(walk, atom) || any;
    }
    cw_reason reason;
    if (explain_reason(walk->chain, explain_fact_node(model, id), &reason))
        any = put(walk, explain_fact_node(model, id)) || any;
    return any;
}

/* Puts down what the support leads to; false when there is no way but round. */
static bool follow(walker *walk, const cw_support *support)
{
    if (support->absent || support->fact == 0)
        return true;
    const cw_kind kind = walk->model->facts[support->fact].kind;
    if (kind == CW_MEASURE || kind == CW_STAMPED || kind == CW_WHICH_UNIT)
        return put(walk, explain_fact_node(walk->model, support->fact));
    if (support->atom != 0 && walk->model->atoms[support->atom].kind == CW_ATOM_VALUE)
        return put(walk, support->atom);
    return put_values(walk, support->fact);
}

static bool add_support(walker *walk, cw_support support)
{
    if (!follow(walk, &support))
        return false;
    cw_support *slot = cw_vec_add(&walk->supports);
    if (slot == NULL)
        walk->status = CW_NO_MEMORY;
    else
        *slot = support;
    return true;
}

static bool gather(walker *walk, cw_rule_id id, cw_truth truth);

/* An inner step is dissolved; one that could only be had by going round is left out whole. */
static bool gather_step(walker *walk, cw_atom_id step, cw_truth truth)
{
    const size_t supports = walk->supports.count, below = walk->below.count;
    cw_reason reason;
    if (cw_chain_reasons(walk->chain, step, &reason, 1) > 0 && gather(walk, reason.rule, truth))
        return true;
    walk->supports.count = supports;
    walk->below.count = below;
    return false;
}

static bool gather_premise(walker *walk, const cw_premise *premise, cw_truth truth)
{
    const cw_atom *atom = &walk->model->atoms[premise->atom];
    if (!explain_holds(walk->chain, *premise, truth))
        return false; /* one that `at least N of` did without */
    if (atom->kind == CW_ATOM_STEP && !premise->absent)
        return gather_step(walk, premise->atom, truth);
    return add_support(walk, (cw_support){premise->atom, atom->fact, premise->absent});
}

/* What makes the rule hold that far; false when what is left does not. */
static bool gather(walker *walk, cw_rule_id id, cw_truth truth)
{
    const cw_rule *rule = &walk->model->rules[id];
    uint32_t kept = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++)
        kept += gather_premise(walk, &walk->model->premises[rule->premises.first + i], truth);
    const uint32_t *inputs = NULL;
    const size_t count = rule->measure == 0 ? 0 : cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++)
        kept += add_support(walk, (cw_support){0, inputs[i], false});
    return kept >= rule->need + count;
}

/* -- The two walks -- */

static frame *push(walker *walk, explain_node node, cw_reason reason)
{
    const bool is_atom = node <= walk->model->atoms_count;
    frame *top = cw_vec_add(&walk->frames);
    if (top == NULL) {
        walk->status = CW_NO_MEMORY;
        return NULL;
    }
    *top = (frame){.node = node, .first = walk->below.count, .next = walk->below.count};
    top->step = (cw_trail_step){.atom = is_atom ? node : 0,
                                .measure = is_atom ? 0 : explain_node_fact(walk->model, node),
                                .rule = reason.rule,
                                .truth = reason.truth};
    walk->at = node;
    walk->supports.count = 0;
    const bool holds = reason.rule == 0 || gather(walk, reason.rule, reason.truth);
    assert(holds && "a first reason needs only what is nearer to the answers");
    (void)holds;
    return top;
}

/* The topmost frame's next node below it; 0 when there is none left. */
static explain_node next_below(const walker *walk, frame *top)
{
    return top->next < walk->below.count ? *CW_VEC_AT(&walk->below, explain_node, top->next++) : 0;
}

static frame *topmost(const walker *walk)
{
    return walk->frames.count > 0 ? CW_VEC_AT(&walk->frames, frame, walk->frames.count - 1) : NULL;
}

static frame *pop(walker *walk)
{
    walk->below.count = topmost(walk)->first;
    walk->frames.count--;
    return topmost(walk);
}

static void meet(walker *walk, explain_node node)
{
    cw_reason reason;
    if (walk->met[node] != 0 || !explain_reason(walk->chain, node, &reason))
        return;
    walk->met[node] = walk->low[node] = ++walk->count;
    add_number(walk, &walk->open, node);
    push(walk, node, reason);
}

/* All that rests on each other is now known: the open nodes from this one on. */
static bool close_ring(walker *walk, explain_node node)
{
    uint32_t members = 0;
    for (explain_node member = 0; member != node; members++) {
        member = *CW_VEC_AT(&walk->open, explain_node, --walk->open.count);
        walk->ring[member] = walk->met[node];
    }
    return members > 1;
}

static void find_rings(walker *walk, explain_node root, bool *circles)
{
    uint32_t *low = walk->low;
    meet(walk, root);
    for (frame *top; walk->status == CW_OK && (top = topmost(walk)) != NULL;) {
        const explain_node node = top->node, below = next_below(walk, top);
        if (below != 0) {
            if (walk->met[below] != 0 && walk->ring[below] == 0 && walk->met[below] < low[node])
                low[node] = walk->met[below];
            *circles = *circles || below == node;
            meet(walk, below);
            continue;
        }
        if (low[node] == walk->met[node])
            *circles = close_ring(walk, node) || *circles;
        const frame *above = pop(walk);
        if (above != NULL && low[node] < low[above->node])
            low[above->node] = low[node];
    }
}

/* An answer is noted, once for each fact; anything else is put on the stack with what it rests on. */
static void enter(walker *walk, explain_node node)
{
    cw_reason reason;
    if (walk->seen[node] != 0 || !explain_reason(walk->chain, node, &reason))
        return;
    walk->seen[node] = 1;
    if (reason.rule == 0) {
        const cw_fact_id fact = explain_node_fact(walk->model, node);
        add_number(walk, &walk->answers, fact);
        walk->seen[explain_fact_node(walk->model, fact)] = 1; /* the fact itself, or one value of it */
        return;
    }
    frame *top = push(walk, node, reason);
    if (top == NULL)
        return;
    const size_t count = walk->supports.count;
    cw_support *from = CW_NEW_ARRAY(walk->arena, cw_support, count);
    if (from == NULL) {
        walk->status = CW_NO_MEMORY;
        return;
    }
    for (size_t i = 0; i < count; i++)
        from[i] = *CW_VEC_AT(&walk->supports, cw_support, i);
    top->step.from = from;
    top->step.from_count = count;
}

static void write_steps(walker *walk, explain_node root)
{
    enter(walk, root);
    for (frame *top; walk->status == CW_OK && (top = topmost(walk)) != NULL;) {
        const explain_node below = next_below(walk, top);
        if (below != 0) {
            enter(walk, below);
            continue;
        }
        cw_trail_step *slot = cw_vec_add(&walk->steps);
        if (slot == NULL)
            walk->status = CW_NO_MEMORY;
        else
            *slot = top->step;
        pop(walk);
    }
}

/* -- From the call to the reply -- */

static walker begin(const cw_chain *chain, cw_arena *arena)
{
    const cw_allocator *allocator = cw_arena_allocator(arena);
    const cw_model *model = cw_chain_model(chain);
    walker walk = {.chain = chain,
                   .model = model,
                   .arena = arena,
                   .nodes = (size_t)model->atoms_count + model->facts_count + 1,
                   .roots = CW_VEC_INIT(allocator, explain_node),
                   .open = CW_VEC_INIT(allocator, explain_node),
                   .frames = CW_VEC_INIT(allocator, frame),
                   .below = CW_VEC_INIT(allocator, explain_node),
                   .supports = CW_VEC_INIT(allocator, cw_support),
                   .steps = CW_VEC_INIT(allocator, cw_trail_step),
                   .answers = CW_VEC_INIT(allocator, cw_fact_id)};
    const size_t size = 4 * walk.nodes * sizeof *walk.block;
    walk.block = cw_allocate(allocator, size);
    if (walk.block == NULL) {
        walk.status = CW_NO_MEMORY;
        return walk;
    }
    memset(walk.block, 0, size);
    walk.met = walk.block;
    walk.low = walk.met + walk.nodes;
    walk.ring = walk.low + walk.nodes;
    walk.seen = walk.ring + walk.nodes;
    return walk;
}

/* Moves what was found into the arena. */
static void hand_out(walker *walk, cw_trail *out)
{
    cw_trail_step *steps = CW_NEW_ARRAY(walk->arena, cw_trail_step, walk->steps.count);
    cw_fact_id *answers = CW_NEW_ARRAY(walk->arena, cw_fact_id, walk->answers.count);
    if (steps == NULL || answers == NULL) {
        walk->status = CW_NO_MEMORY;
        return;
    }
    for (size_t i = 0; i < walk->steps.count; i++)
        steps[i] = *CW_VEC_AT(&walk->steps, cw_trail_step, i);
    for (size_t i = 0; i < walk->answers.count; i++)
        answers[i] = *CW_VEC_AT(&walk->answers, cw_fact_id, i);
    *out = (cw_trail){steps, walk->steps.count, answers, walk->answers.count};
}

/* Both walks over all roots. */
static cw_status run(walker *walk, cw_trail *out)
{
    const size_t count = walk->roots.count;
    bool circles = false;
    for (size_t i = 0; walk->status == CW_OK && i < count; i++)
        find_rings(walk, *CW_VEC_AT(&walk->roots, explain_node, i), &circles);
    walk->circles = circles;
    for (size_t i = 0; walk->status == CW_OK && i < count; i++)
        write_steps(walk, *CW_VEC_AT(&walk->roots, explain_node, i));
    if (walk->status == CW_OK)
        hand_out(walk, out);
    if (walk->block != NULL)
        cw_release(cw_arena_allocator(walk->arena), walk->block, 4 * walk->nodes * sizeof *walk->block);
    cw_vec *lists[] = {&walk->roots,    &walk->open,  &walk->frames, &walk->below,
                       &walk->supports, &walk->steps, &walk->answers};
    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++)
        cw_vec_dispose(lists[i]);
    return walk->status;
}

static bool may_be_asked(const cw_model *model, cw_atom_id atom)
{
    return atom != 0 && atom <= model->atoms_count &&
           (model->atoms[atom].kind == CW_ATOM_VALUE || model->atoms[atom].kind == CW_ATOM_CAUTION);
}

static void add_fact(walker *walk, cw_fact_id fact)
{
    for (uint32_t v = 0; v < walk->model->facts[fact].values.count; v++) {
        const cw_atom_id atom = cw_fact_value_atom(walk->model, fact, v);
        if (atom != 0)
            add_number(walk, &walk->roots, atom);
    }
    add_number(walk, &walk->roots, explain_fact_node(walk->model, fact));
}

cw_status cw_trail_walk(const cw_chain *chain, cw_arena *arena, const cw_atom_id *atoms, size_t atom_count,
                        const cw_fact_id *facts, size_t fact_count, cw_trail *out)
{
    const cw_model *model = cw_chain_model(chain);
    for (size_t i = 0; i < atom_count; i++)
        if (!may_be_asked(model, atoms[i]))
            return CW_BAD_CALL;
    for (size_t i = 0; i < fact_count; i++)
        if (facts[i] == 0 || facts[i] > model->facts_count)
            return CW_BAD_CALL;
    walker walk = begin(chain, arena);
    for (size_t i = 0; i < atom_count; i++)
        add_number(&walk, &walk.roots, atoms[i]);
    for (size_t i = 0; i < fact_count; i++)
        add_fact(&walk, facts[i]);
    return run(&walk, out);
}

cw_status cw_trail_all(const cw_chain *chain, cw_arena *arena, cw_trail *out)
{
    walker walk = begin(chain, arena);
    for (cw_fact_id fact = 1; fact <= walk.model->facts_count; fact++)
        add_fact(&walk, fact);
    return run(&walk, out);
}
