/* How values came about: first reasons followed from the conclusions down to the answers, without recursion
 * over rules, so that a chain of a million rules needs no deep stack. Inner steps of a condition are
 * dissolved into what they ask of facts; they nest no deeper than the pack's file does.
 *
 * Nodes are numbered: VALUE atoms by their id, measured facts behind all atoms. */
#include "session/inside.h"
#include <string.h>

typedef struct frame {
    uint32_t node;
    cw_trail_step step;
    size_t next; /* support to look at next */
} frame;

typedef struct walker {
    const cw_session *session;
    const cw_model *model;
    cw_arena *arena;
    uint8_t *seen;   /* by node: 1 = on the way or done */
    uint8_t *told;   /* by fact: in answers */
    cw_vec frames;   /* of frame */
    cw_vec supports; /* of cw_support: being gathered */
    cw_vec steps;    /* of cw_trail_step: done */
    cw_vec answers;  /* of cw_fact_id */
    cw_status status;
} walker;

static void gather(walker *walk, cw_rule_id id, cw_truth at_least);

static void add_support(walker *walk, cw_support support)
{
    cw_support *slot = cw_vec_add(&walk->supports);
    if (slot == NULL)
        walk->status = CW_NO_MEMORY;
    else
        *slot = support;
}

static void gather_premise(walker *walk, const cw_premise *premise, cw_truth at_least)
{
    const cw_atom *atom = &walk->model->atoms[premise->atom];
    if (premise->absent) {
        add_support(walk, (cw_support){premise->atom, atom->fact, true});
        return;
    }
    if (cw_chain_truth(walk->session->chain, premise->atom) < at_least)
        return; /* one that `at least N of` did without */
    if (atom->kind != CW_ATOM_STEP) {
        add_support(walk, (cw_support){premise->atom, atom->fact, false});
        return;
    }
    cw_reason reason;
    if (cw_chain_reasons(walk->session->chain, premise->atom, &reason, 1) > 0 && reason.rule != 0)
        gather(walk, reason.rule, at_least);
}

/* What a rule rests on, in the order of its premises; a formula's inputs behind them. */
static void gather(walker *walk, cw_rule_id id, cw_truth at_least)
{
    const cw_rule *rule = &walk->model->rules[id];
    for (uint32_t i = 0; i < rule->premises.count; i++)
        gather_premise(walk, &walk->model->premises[rule->premises.first + i], at_least);
    if (rule->formula == NULL)
        return;
    const uint32_t *inputs;
    size_t count = cw_formula_inputs(rule->formula, &inputs);
    for (size_t i = 0; i < count; i++)
        add_support(walk, (cw_support){0, inputs[i], false});
}

static void note_answer(walker *walk, cw_fact_id fact)
{
    if (walk->told[fact] != 0)
        return;
    walk->told[fact] = 1;
    cw_fact_id *slot = cw_vec_add(&walk->answers);
    if (slot == NULL)
        walk->status = CW_NO_MEMORY;
    else
        *slot = fact;
}

static bool first_reason(const walker *walk, uint32_t node, cw_reason *reason)
{
    const cw_chain *chain = walk->session->chain;
    if (node <= walk->model->atoms_count)
        return cw_chain_reasons(chain, node, reason, 1) > 0;
    return cw_chain_number_reasons(chain, node - walk->model->atoms_count, reason, 1) > 0;
}

/* Begins a node: notes an answer, or puts a frame on the stack. */
static void enter(walker *walk, uint32_t node)
{
    if (walk->seen[node] != 0)
        return;
    walk->seen[node] = 1;
    cw_reason reason;
    if (!first_reason(walk, node, &reason))
        return;
    bool finite = node <= walk->model->atoms_count;
    cw_fact_id fact = finite ? walk->model->atoms[node].fact : node - walk->model->atoms_count;
    if (reason.rule == 0) {
        note_answer(walk, fact);
        return;
    }
    walk->supports.count = 0;
    gather(walk, reason.rule, reason.truth);
    size_t count = walk->supports.count;
    cw_support *from = CW_NEW_ARRAY(walk->arena, cw_support, count);
    frame *top = from != NULL ? cw_vec_add(&walk->frames) : NULL;
    if (top == NULL) {
        walk->status = CW_NO_MEMORY;
        return;
    }
    for (size_t i = 0; i < count; i++)
        from[i] = *CW_VEC_AT(&walk->supports, cw_support, i);
    *top = (frame){node, {finite ? node : 0, finite ? 0 : fact, reason.rule, reason.truth, from, count}, 0};
}

/* Goes on to what a support rests on. */
static void follow(walker *walk, const cw_support *support)
{
    const cw_model *model = walk->model;
    if (support->absent || support->fact == 0)
        return;
    const cw_fact *fact = &model->facts[support->fact];
    if (fact->kind == CW_MEASURE) {
        enter(walk, model->atoms_count + support->fact);
    } else if (fact->kind == CW_STAMPED) {
        note_answer(walk, support->fact);
    } else if (model->atoms[support->atom].kind == CW_ATOM_VALUE) {
        enter(walk, support->atom);
    } else {
        for (uint32_t v = 0; v < fact->values.count; v++) {
            cw_atom_id atom = cw_fact_value_atom(model, support->fact, v);
            if (atom != 0 && cw_chain_truth(walk->session->chain, atom) != CW_NO)
                enter(walk, atom);
        }
        if (cw_chain_answered(walk->session->chain, support->fact) != NULL)
            note_answer(walk, support->fact);
    }
}

static void run(walker *walk, uint32_t root)
{
    enter(walk, root);
    while (walk->status == CW_OK && walk->frames.count > 0) {
        frame *top = CW_VEC_AT(&walk->frames, frame, walk->frames.count - 1);
        if (top->next < top->step.from_count) {
            follow(walk, &top->step.from[top->next++]);
            continue;
        }
        cw_trail_step *slot = cw_vec_add(&walk->steps);
        if (slot == NULL)
            walk->status = CW_NO_MEMORY;
        else
            *slot = top->step;
        walk->frames.count--;
    }
}

static walker begin(const cw_session *session, cw_arena *arena)
{
    const cw_allocator *allocator = &session->allocator;
    size_t nodes = (size_t)session->model->atoms_count + session->model->facts_count + 1;
    walker walk = {.session = session,
                   .model = session->model,
                   .arena = arena,
                   .seen = cw_allocate(allocator, nodes),
                   .told = cw_allocate(allocator, (size_t)session->model->facts_count + 1),
                   .frames = CW_VEC_INIT(allocator, frame),
                   .supports = CW_VEC_INIT(allocator, cw_support),
                   .steps = CW_VEC_INIT(allocator, cw_trail_step),
                   .answers = CW_VEC_INIT(allocator, cw_fact_id)};
    if (walk.seen == NULL || walk.told == NULL) {
        walk.status = CW_NO_MEMORY;
        return walk;
    }
    memset(walk.seen, 0, nodes);
    memset(walk.told, 0, (size_t)session->model->facts_count + 1);
    return walk;
}

/* Moves what was found into the arena. */
static cw_status finish(walker *walk, cw_trail *out)
{
    cw_trail_step *steps = CW_NEW_ARRAY(walk->arena, cw_trail_step, walk->steps.count);
    cw_fact_id *answers = CW_NEW_ARRAY(walk->arena, cw_fact_id, walk->answers.count);
    if (steps == NULL || answers == NULL)
        walk->status = CW_NO_MEMORY;
    if (walk->status == CW_OK) {
        for (size_t i = 0; i < walk->steps.count; i++)
            steps[i] = *CW_VEC_AT(&walk->steps, cw_trail_step, i);
        for (size_t i = 0; i < walk->answers.count; i++)
            answers[i] = *CW_VEC_AT(&walk->answers, cw_fact_id, i);
        *out = (cw_trail){steps, walk->steps.count, answers, walk->answers.count};
    }
    const cw_allocator *allocator = &walk->session->allocator;
    cw_release(allocator, walk->seen,
               walk->seen != NULL ? (size_t)walk->model->atoms_count + walk->model->facts_count + 1 : 0);
    cw_release(allocator, walk->told, walk->told != NULL ? (size_t)walk->model->facts_count + 1 : 0);
    cw_vec_dispose(&walk->frames);
    cw_vec_dispose(&walk->supports);
    cw_vec_dispose(&walk->steps);
    cw_vec_dispose(&walk->answers);
    return walk->status;
}

cw_status cw_trail_walk(const cw_session *session, cw_arena *arena, const cw_atom_id *atoms,
                        size_t atom_count, const cw_fact_id *measures, size_t measure_count, cw_trail *out)
{
    walker walk = begin(session, arena);
    for (size_t i = 0; walk.status == CW_OK && i < atom_count; i++)
        run(&walk, atoms[i]);
    for (size_t i = 0; walk.status == CW_OK && i < measure_count; i++)
        run(&walk, session->model->atoms_count + measures[i]);
    return finish(&walk, out);
}

cw_status cw_trail_all(const cw_session *session, cw_arena *arena, cw_trail *out)
{
    const cw_model *model = session->model;
    walker walk = begin(session, arena);
    for (cw_fact_id fact = 1; walk.status == CW_OK && fact <= model->facts_count; fact++) {
        const cw_fact *about = &model->facts[fact];
        double number;
        double error;
        if (about->kind == CW_MEASURE && cw_chain_number(session->chain, fact, &number, &error) != CW_UNKNOWN)
            run(&walk, model->atoms_count + fact);
        for (uint32_t v = 0; walk.status == CW_OK && v < about->values.count; v++) {
            cw_atom_id atom = cw_fact_value_atom(model, fact, v);
            if (atom != 0 && cw_chain_truth(session->chain, atom) != CW_NO)
                run(&walk, atom);
        }
    }
    return finish(&walk, out);
}

const char *cw_trail_from(const cw_session *session, cw_arena *arena, const cw_support *support)
{
    if (!support->absent)
        return support->atom != 0 ? cw_say_atom(session, arena, support->atom)
                                  : cw_say_fact(session, arena, support->fact);
    const char *test = cw_say_test(session, arena, support->atom);
    return test != NULL ? cw_arena_format(arena, "no sign of %s", test) : NULL;
}

static const char *step_line(const cw_session *session, cw_arena *arena, const cw_trail_step *step)
{
    const cw_model *model = session->model;
    const cw_origin *origin = &model->origins[model->rules[step->rule].origin];
    const char *what = step->atom != 0 ? cw_say_atom(session, arena, step->atom)
                                       : cw_say_fact(session, arena, step->measure);
    const char **from = CW_NEW_ARRAY(arena, const char *, step->from_count);
    if (what == NULL || from == NULL)
        return NULL;
    for (size_t i = 0; i < step->from_count; i++) {
        from[i] = cw_trail_from(session, arena, &step->from[i]);
        if (from[i] == NULL)
            return NULL;
    }
    const char *rests = cw_say_list(arena, from, step->from_count, "and");
    if (rests == NULL)
        return NULL;
    return cw_arena_format(arena, "So %s%s, from %s. %s (%s)", what,
                           step->truth == CW_DOUBTFUL ? " (doubtful)" : "", rests, origin->because,
                           origin->source);
}

cw_status cw_trail_lines(const cw_session *session, cw_arena *arena, const cw_trail *trail,
                         const char *const **lines, size_t *count)
{
    const char **list = CW_NEW_ARRAY(arena, const char *, trail->answer_count + trail->count);
    if (list == NULL)
        return CW_NO_MEMORY;
    *count = 0;
    for (size_t i = 0; i < trail->answer_count; i++) {
        const char *told = cw_say_told(session, arena, trail->answers[i]);
        const char *title = cw_say_title(session->model, trail->answers[i]);
        list[*count] = told != NULL ? cw_arena_format(arena, "Told: %s: %s.", title, told) : NULL;
        if (list[(*count)++] == NULL)
            return CW_NO_MEMORY;
    }
    for (size_t i = 0; i < trail->count; i++) {
        list[*count] = step_line(session, arena, &trail->steps[i]);
        if (list[(*count)++] == NULL)
            return CW_NO_MEMORY;
    }
    *lines = list;
    return CW_OK;
}
