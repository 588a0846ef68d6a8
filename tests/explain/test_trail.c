/* Trails: each step is checked against the model alone, by what it says it rests on. */
#include "explain/trail.h"
#include "rank/world.h"
#include "support/failing.h"
#include <math.h>
#include <string.h>

enum { ASKED = 6, CONCLUDED = 12, MOST_PREMISES = 4 };

static const cw_value_spec no_yes[] = {{.name = "no"}, {.name = "yes"}};

/* Loops, inner steps, "at least", and absences of what is asked (so that they are always in layers). */
static cw_premise random_premise(random_state *random, cw_builder *builder, const cw_fact_id *facts)
{
    if (random_below(random, 6) == 0)
        return (cw_premise){cw_builder_value_atom(builder, facts[random_below(random, ASKED)], 1), true};
    return (cw_premise){cw_builder_value_atom(builder, facts[random_below(random, ASKED + CONCLUDED)], 1),
                        false};
}

static void random_rule(random_state *random, cw_builder *builder, const cw_fact_id *facts, cw_atom_id head)
{
    cw_premise premises[MOST_PREMISES];
    const uint32_t count = 1 + random_below(random, MOST_PREMISES);
    for (uint32_t i = 0; i < count; i++) {
        premises[i] = random_premise(random, builder, facts);
        if (random_below(random, 4) > 0)
            continue;
        const cw_atom_id step = cw_builder_step(builder);
        cw_premise inner[2];
        for (int k = 0; k < 2; k++)
            inner[k] = random_premise(random, builder, facts);
        cw_builder_rule(builder, step, inner, 2, 1 + random_below(random, 2), 0);
        premises[i] = (cw_premise){step, false};
    }
    cw_builder_rule(builder, head, premises, count, random_below(random, 2) ? count : 1, 0);
}

static cw_model *random_model(random_state *random)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_fact_id facts[ASKED + CONCLUDED];
    char name[16];
    for (uint32_t i = 0; i < ASKED; i++)
        facts[i] = world_fact(builder, world_name(name, 'r', i), 2, NULL, NULL);
    for (uint32_t i = 0; i < CONCLUDED; i++)
        facts[ASKED + i] =
            cw_builder_fact(builder, &(cw_fact){.name = world_name(name, 'g', i)}, no_yes, 2, NULL);
    for (uint32_t i = 0; i < CONCLUDED; i++)
        for (uint32_t rules = 1 + random_below(random, 2); rules > 0; rules--)
            random_rule(random, builder, facts, cw_builder_value_atom(builder, facts[ASKED + i], 1));
    return world_finish(builder);
}

/* -- The checker -- */

typedef struct proof {
    const cw_chain *chain;
    const cw_model *model;
    cw_trail trail;
} proof;

static const cw_support *named(const cw_trail_step *step, cw_premise premise)
{
    for (size_t i = 0; i < step->from_count; i++)
        if (step->from[i].atom == premise.atom && step->from[i].absent == premise.absent)
            return &step->from[i];
    return NULL;
}

/* A rule holds by what the step names: some of its premises, steps opened up. What a step names is counted in
 * `used`. */
static bool rule_holds(const proof *p, const cw_trail_step *step, cw_rule_id id, bool *used)
{
    const cw_rule *rule = &p->model->rules[id];
    uint32_t holds = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise premise = p->model->premises[rule->premises.first + i];
        const cw_atom *atom = &p->model->atoms[premise.atom];
        const cw_support *support = named(step, premise);
        bool inner = false;
        for (uint32_t k = 0; support == NULL && !premise.absent && k < atom->concluded_by.count; k++)
            inner = (atom->kind == CW_ATOM_STEP &&
                     rule_holds(p, step, p->model->concludes[atom->concluded_by.first + k], used)) ||
                    inner;
        if (support != NULL)
            used[support - step->from] = true;
        holds += support != NULL || inner;
    }
    return holds >= rule->need;
}

static bool is_answer(const proof *p, cw_atom_id atom)
{
    const cw_answer *given = cw_chain_answered(p->chain, p->model->atoms[atom].fact);
    for (size_t i = 0; i < p->trail.answer_count; i++)
        if (p->trail.answers[i] == p->model->atoms[atom].fact)
            return given != NULL && given->value == p->model->atoms[atom].value;
    return false;
}

/* An absence by the chain's own word; the rest by an answer of the trail or an earlier step of it. */
static bool is_shown_before(const proof *p, const cw_support *support, size_t index)
{
    if (support->absent)
        return cw_chain_truth(p->chain, support->atom) == CW_NO;
    for (size_t i = 0; i < index; i++)
        if (p->trail.steps[i].atom == support->atom)
            return true;
    return is_answer(p, support->atom);
}

static void check_step(const proof *p, size_t index)
{
    const cw_trail_step *step = &p->trail.steps[index];
    bool used[64] = {false};
    cr_assert_lt(step->from_count, 64u);
    cr_assert_eq(p->model->atoms[step->atom].kind, CW_ATOM_VALUE);
    cr_assert_eq(p->model->rules[step->rule].head, step->atom);
    cr_assert_eq(step->truth, cw_chain_truth(p->chain, step->atom));
    for (size_t i = 0; i < step->from_count; i++) {
        cr_assert(p->model->atoms[step->from[i].atom].kind != CW_ATOM_STEP || step->from[i].absent);
        cr_assert_eq(step->from[i].fact, p->model->atoms[step->from[i].atom].fact);
        cr_assert(is_shown_before(p, &step->from[i], index), "rests on earlier steps only");
    }
    cr_assert(rule_holds(p, step, step->rule, used));
    for (size_t i = 0; i < step->from_count; i++)
        cr_assert(used[i] ||
                      named(step, (cw_premise){step->from[i].atom, step->from[i].absent}) < &step->from[i],
                  "the rule knows of it");
}

static bool is_named(const cw_trail *trail, cw_atom_id atom, cw_fact_id fact)
{
    for (size_t i = 0; i < trail->count; i++)
        for (size_t k = 0; k < trail->steps[i].from_count; k++) {
            const cw_support *support = &trail->steps[i].from[k];
            if (!support->absent && (atom != 0 ? support->atom == atom : support->fact == fact))
                return true;
        }
    return false;
}

static bool is_root(const cw_model *model, const cw_atom_id *roots, size_t count, cw_atom_id atom,
                    cw_fact_id fact)
{
    for (size_t i = 0; i < count; i++)
        if (atom != 0 ? roots[i] == atom : model->atoms[roots[i]].fact == fact)
            return true;
    return false;
}

/* In order, whole, nothing twice, nothing idle; of everything, all answers are asked for. */
static void check_trail(const proof *p, const cw_atom_id *roots, size_t count, bool everything)
{
    const cw_trail *trail = &p->trail;
    for (size_t i = 0; i < trail->count; i++) {
        const cw_atom_id atom = trail->steps[i].atom;
        check_step(p, i);
        for (size_t k = 0; k < i; k++)
            cr_assert_neq(atom, trail->steps[k].atom, "each thing once");
        cr_assert(is_root(p->model, roots, count, atom, 0) || is_named(trail, atom, 0), "no step is idle");
    }
    for (size_t i = 0; i < trail->answer_count; i++) {
        const cw_fact_id fact = trail->answers[i];
        cr_assert_not_null(cw_chain_answered(p->chain, fact));
        for (size_t k = 0; k < i; k++)
            cr_assert_neq(fact, trail->answers[k], "each answer once");
        cr_assert(everything || is_root(p->model, roots, count, 0, fact) || is_named(trail, 0, fact),
                  "no answer is idle");
    }
    for (size_t i = 0; i < count; i++) {
        bool shown = is_answer(p, roots[i]) || cw_chain_truth(p->chain, roots[i]) == CW_NO;
        for (size_t k = 0; k < trail->count; k++)
            shown = shown || trail->steps[k].atom == roots[i];
        cr_assert(shown, "every root is proved");
    }
}

static void answer_at_random(random_state *random, cw_chain *chain)
{
    for (cw_fact_id fact = 1; fact <= ASKED; fact++)
        if (random_below(random, 3) > 0)
            cr_assert_eq(cw_chain_answer(chain, &(cw_answer){.fact = fact, .value = random_below(random, 2)}),
                         CW_OK);
}

/* What holds, one by one; then some at once, and everything. Returns how many were proved. */
static size_t check_all(random_state *random, const cw_chain *chain, cw_arena *arena, size_t *longest)
{
    proof p = {.chain = chain, .model = cw_chain_model(chain)};
    cw_atom_id all[128], some[128];
    size_t count = 0, few = 0, proved = 0;
    for (cw_fact_id fact = 1; fact <= p.model->facts_count; fact++)
        for (uint32_t v = 0; v < p.model->facts[fact].values.count; v++) {
            const cw_atom_id atom = cw_fact_value_atom(p.model, fact, v);
            if (atom == 0)
                continue;
            all[count++] = atom;
            if (random_below(random, 2))
                some[few++] = atom;
            cr_assert_eq(cw_trail_walk(chain, arena, &atom, 1, NULL, 0, &p.trail), CW_OK);
            check_trail(&p, &atom, 1, false);
            proved += p.trail.count > 0;
            *longest = p.trail.count > *longest ? p.trail.count : *longest;
            if (p.trail.count > 0)
                cr_assert_eq(p.trail.steps[p.trail.count - 1].atom, atom, "it comes last");
            if (cw_chain_truth(chain, atom) == CW_NO)
                cr_assert_eq(p.trail.count + p.trail.answer_count, 0u);
        }
    cr_assert_eq(cw_trail_walk(chain, arena, some, few, NULL, 0, &p.trail), CW_OK);
    check_trail(&p, some, few, false);
    cr_assert_eq(cw_trail_all(chain, arena, &p.trail), CW_OK);
    check_trail(&p, all, count, true);
    size_t answered = 0;
    for (cw_fact_id fact = 1; fact <= ASKED; fact++)
        answered += cw_chain_answered(chain, fact) != NULL;
    cr_assert_eq(p.trail.answer_count, answered);
    return proved;
}

Test(trail, of_everything_that_holds)
{
    random_state random = random_start(41);
    size_t proved = 0, longest = 0;
    for (int round = 0; round < 300; round++) {
        cw_model *model = random_model(&random);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_chain *chain;
        cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
        answer_at_random(&random, chain);
        proved += check_all(&random, chain, arena, &longest);
        cw_chain_free(chain);
        cw_arena_free(arena);
        cw_model_free(model);
    }
    cr_assert_gt(proved, 1000u);
    cr_assert_gt(longest, 5u);
}

/* -- By hand -- */

static bool look_up(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    char text[32] = "";
    memcpy(text, name, size < sizeof text ? size : sizeof text - 1);
    *id = cw_builder_find_fact(context, text);
    *dimension = (cw_dimension){0};
    return *id != 0;
}

typedef struct worked { /* loss = here - there, above half: state yes; not above half: fine */
    cw_model *model;
    cw_chain *chain;
    cw_arena *arena;
    cw_fact_id here, there, loss;
    cw_atom_id high, state, fine;
} worked;

static cw_fact_id number(cw_builder *builder, const char *name, bool asked)
{
    const cw_fact_id fact =
        cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_MEASURE}, NULL, 0, NULL);
    const cw_check check = {.name = name, .fact = fact, .range = {0, 20, false, false}, .minutes = 1};
    if (asked)
        cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    return fact;
}

static worked worked_new(void)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    worked w = {.here = number(builder, "here", true), .there = number(builder, "there", true)};
    w.loss = number(builder, "loss", false);
    const cw_fact_id state = cw_builder_fact(builder, &(cw_fact){.name = "state"}, no_yes, 2, NULL);
    cw_formula_problem problem;
    cw_formula *formula =
        cw_formula_parse(cw_builder_arena(builder), "here - there", 12, NULL, look_up, builder, &problem);
    cr_assert_not_null(formula);
    const cw_premise known[] = {{cw_builder_known_atom(builder, w.here), false},
                                {cw_builder_known_atom(builder, w.there), false}};
    cw_builder_measure_rule(builder, w.loss, formula, known, 2, 0);
    w.high = cw_builder_band_atom(builder, w.loss, (cw_interval){0.5, INFINITY, true, true});
    w.state = cw_builder_value_atom(builder, state, 1);
    const cw_premise above = {w.high, false};
    cw_builder_rule(builder, w.state, &above, 1, 1, 0);
    w.fine = cw_builder_value_atom(builder,
                                   cw_builder_fact(builder, &(cw_fact){.name = "fine"}, no_yes, 2, NULL), 1);
    cw_builder_rule(builder, w.fine, &(cw_premise){w.high, true}, 1, 1, 0);
    w.model = world_finish(builder);
    w.arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_chain_new(w.model, &cw_system_allocator, &w.chain), CW_OK);
    return w;
}

static void worked_free(worked *w)
{
    cw_chain_free(w->chain);
    cw_arena_free(w->arena);
    cw_model_free(w->model);
}

static void measure(worked *w, cw_fact_id fact, double value, double error)
{
    cr_assert_eq(cw_chain_answer(w->chain, &(cw_answer){.fact = fact, .number = value, .error = error}),
                 CW_OK);
}

/* The trail of one atom. */
static cw_trail trail_of(const worked *w, cw_atom_id atom)
{
    cw_trail trail;
    cr_assert_eq(cw_trail_walk(w->chain, w->arena, &atom, 1, NULL, 0, &trail), CW_OK);
    return trail;
}

Test(trail, goes_through_formulas)
{
    worked w = worked_new();
    measure(&w, w.here, 14, 0.01);
    measure(&w, w.there, 12, 0.01);
    const cw_trail trail = trail_of(&w, w.state);
    cr_assert_eq(trail.count, 2u);
    const cw_trail_step *loss = &trail.steps[0], *state = &trail.steps[1];
    cr_assert(loss->atom == 0 && loss->measure == w.loss && loss->truth == CW_YES);
    cr_assert_eq(w.model->rules[loss->rule].measure, w.loss);
    cr_assert_eq(loss->from_count, 4u, "both are known; both are read");
    cr_assert(loss->from[2].atom == 0 && loss->from[2].fact == w.here && !loss->from[2].absent);
    cr_assert(loss->from[3].atom == 0 && loss->from[3].fact == w.there && !loss->from[3].absent);
    cr_assert(state->atom == w.state && state->measure == 0);
    cr_assert_eq(state->from_count, 1u);
    cr_assert(state->from[0].atom == w.high && state->from[0].fact == w.loss);
    cr_assert_eq(trail.answer_count, 2u);
    cr_assert(trail.answers[0] == w.here && trail.answers[1] == w.there);
    cw_trail number;
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, &w.loss, 1, &number), CW_OK);
    cr_assert(number.count == 1 && number.steps[0].measure == w.loss && number.answer_count == 2);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, &w.here, 1, &number), CW_OK);
    cr_assert(number.count == 0 && number.answer_count == 1 && number.answers[0] == w.here);
    worked_free(&w);
}

Test(trail, of_what_is_doubtful)
{
    worked w = worked_new();
    measure(&w, w.here, 14, 0.3);
    measure(&w, w.there, 13.4, 0.01);
    cr_assert_eq(cw_chain_truth(w.chain, w.state), CW_DOUBTFUL);
    cw_trail trail = trail_of(&w, w.state);
    cr_assert_eq(trail.count, 2u);
    cr_assert(trail.steps[0].measure == w.loss && trail.steps[0].truth == CW_YES);
    cr_assert(trail.steps[1].atom == w.state && trail.steps[1].truth == CW_DOUBTFUL);
    cr_assert_eq(cw_chain_truth(w.chain, w.fine), CW_DOUBTFUL, "what may be there is not absent");
    trail = trail_of(&w, w.fine);
    cr_assert_eq(trail.count, 1u);
    cr_assert_eq(trail.answer_count, 0u);
    cr_assert_eq(trail.steps[0].from_count, 1u);
    cr_assert(trail.steps[0].from[0].atom == w.high && trail.steps[0].from[0].absent);
    worked_free(&w);
}

Test(trail, of_nothing)
{
    worked w = worked_new();
    cw_trail trail = trail_of(&w, w.state);
    cr_assert_eq(trail.count + trail.answer_count, 0u);
    const cw_atom_id beyond = w.model->atoms_count + 1;
    const cw_fact_id behind = w.model->facts_count + 1, none = 0;
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, &none, 1, NULL, 0, &trail), CW_BAD_CALL);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, &beyond, 1, NULL, 0, &trail), CW_BAD_CALL);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, &w.high, 1, NULL, 0, &trail), CW_BAD_CALL);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, &none, 1, &trail), CW_BAD_CALL);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, &behind, 1, &trail), CW_BAD_CALL);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, &w.loss, 1, &trail), CW_OK);
    cr_assert_eq(trail.count + trail.answer_count, 0u);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, NULL, 0, &trail), CW_OK);
    cr_assert_eq(trail.count + trail.answer_count, 0u);
    worked_free(&w);
}

/* a, b: asked. top: at least one of a, back and (an inner step:) both back and b; back: follows from top. */
Test(trail, does_not_go_round)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id a = world_fact(builder, "a", 2, NULL, NULL), b = world_fact(builder, "b", 2, NULL, NULL);
    const cw_fact_id top = cw_builder_fact(builder, &(cw_fact){.name = "top"}, no_yes, 2, NULL);
    const cw_fact_id back = cw_builder_fact(builder, &(cw_fact){.name = "back"}, no_yes, 2, NULL);
    worked w = {.state = cw_builder_value_atom(builder, top, 1),
                .fine = cw_builder_value_atom(builder, back, 1)};
    const cw_atom_id seen = cw_builder_value_atom(builder, a, 1), too = cw_builder_value_atom(builder, b, 1);
    const cw_atom_id step = cw_builder_step(builder);
    cw_builder_rule(builder, step, (cw_premise[]){{w.fine, false}, {too, false}}, 2, 2, 0);
    cw_builder_rule(builder, w.state,
                    (cw_premise[]){{w.fine, false}, {step, false}, {seen, false}, {too, false}}, 4, 1, 0);
    cw_builder_rule(builder, w.fine, &(cw_premise){w.state, false}, 1, 1, 0);
    w.model = world_finish(builder);
    w.arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_chain_new(w.model, &cw_system_allocator, &w.chain), CW_OK);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = a, .value = 1}), CW_OK);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = b, .value = 1}), CW_OK);
    const cw_trail trail = trail_of(&w, w.fine);
    cr_assert_eq(trail.count, 2u);
    cr_assert_eq(trail.steps[0].atom, w.state);
    cr_assert_eq(trail.steps[0].from_count, 2u, "all that is no circle is named, needed or not");
    cr_assert(trail.steps[0].from[0].atom == seen && trail.steps[0].from[1].atom == too);
    cr_assert(trail.steps[1].atom == w.fine && trail.steps[1].from[0].atom == w.state);
    cr_assert_eq(trail.answer_count, 2u);
    worked_free(&w);
}

/* "At least one of": a, and that b is absent. With both a and b there, only a speaks. */
Test(trail, names_no_absence_of_what_is_there)
{
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id a = world_fact(builder, "a", 2, NULL, NULL), b = world_fact(builder, "b", 2, NULL, NULL);
    const cw_fact_id top = cw_builder_fact(builder, &(cw_fact){.name = "top"}, no_yes, 2, NULL);
    const cw_atom_id seen = cw_builder_value_atom(builder, a, 1), gone = cw_builder_value_atom(builder, b, 1);
    worked w = {.state = cw_builder_value_atom(builder, top, 1)};
    cw_builder_rule(builder, w.state, (cw_premise[]){{gone, true}, {seen, false}}, 2, 1, 0);
    w.model = world_finish(builder);
    w.arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_chain_new(w.model, &cw_system_allocator, &w.chain), CW_OK);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = a, .value = 1}), CW_OK);
    cr_assert_eq(trail_of(&w, w.state).steps[0].from_count, 2u);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = b, .value = 1}), CW_OK);
    const cw_trail trail = trail_of(&w, w.state);
    cr_assert_eq(trail.steps[0].from_count, 1u);
    cr_assert_eq(trail.steps[0].from[0].atom, seen);
    worked_free(&w);
}

/* turns: a count, asked; told: that turns is known; wire = here * turns. A count that rules alone could give.
 */
Test(trail, of_counts_and_of_what_is_merely_known)
{
    static const cw_value_spec counts[] = {{.name = "1", .number = 1}, {.name = "2", .number = 2}};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    const cw_fact_id here = number(builder, "here", true), wire = number(builder, "wire", false);
    const cw_fact_id turns =
        cw_builder_fact(builder, &(cw_fact){.name = "turns", .kind = CW_COUNT}, counts, 2, NULL);
    const cw_check check = {.name = "turns", .fact = turns, .range = {1, 2, false, false}, .minutes = 1};
    cw_builder_check(builder, &check, NULL, 0, NULL, 0);
    const cw_fact_id told = cw_builder_fact(builder, &(cw_fact){.name = "told"}, no_yes, 2, NULL);
    const cw_fact_id pair = world_fact(builder, "pair", 2, NULL, NULL);
    cw_formula_problem problem;
    cw_formula *formula =
        cw_formula_parse(cw_builder_arena(builder), "here * turns", 12, NULL, look_up, builder, &problem);
    cr_assert_not_null(formula);
    cw_builder_measure_rule(builder, wire, formula, NULL, 0, 0);
    worked w = {.state = cw_builder_value_atom(builder, told, 1)};
    const cw_atom_id two = cw_builder_value_atom(builder, turns, 1);
    cw_builder_rule(builder, w.state, &(cw_premise){cw_builder_known_atom(builder, turns), false}, 1, 1, 0);
    cw_builder_rule(builder, two, &(cw_premise){cw_builder_value_atom(builder, pair, 1), false}, 1, 1, 0);
    w.model = world_finish(builder);
    w.arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_chain_new(w.model, &cw_system_allocator, &w.chain), CW_OK);
    measure(&w, here, 14, 0.01);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = turns, .value = 1}), CW_OK);
    cw_trail trail;
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, &w.state, 1, &wire, 1, &trail), CW_OK);
    cr_assert(trail.count == 2 && trail.steps[0].atom == w.state && trail.steps[1].measure == wire);
    cr_assert(trail.answer_count == 2 && trail.answers[0] == turns && trail.answers[1] == here);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = turns, .cant_tell = true}), CW_OK);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = pair, .value = 1}), CW_OK);
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, &wire, 1, &trail), CW_OK);
    cr_assert(trail.count == 2 && trail.steps[0].atom == two && trail.steps[1].measure == wire);
    cr_assert(trail.answer_count == 2 && trail.answers[0] == here && trail.answers[1] == pair,
              "what could not be told is no answer");
    cw_trail same;
    cr_assert_eq(cw_trail_walk(w.chain, w.arena, NULL, 0, &turns, 1, &same), CW_OK);
    cr_assert(same.count == 1 && same.steps[0].atom == two && same.answer_count == 1);
    trail = trail_of(&w, w.state);
    cr_assert(trail.count == 2 && trail.steps[0].atom == two && trail.steps[1].atom == w.state);
    cr_assert(trail.answer_count == 1 && trail.answers[0] == pair);
    worked_free(&w);
}

Test(trail, every_allocation_may_fail)
{
    worked w = worked_new();
    measure(&w, w.here, 14, 0.01);
    measure(&w, w.there, 12, 0.01);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        if (arena != NULL) {
            cw_trail trail;
            cr_assert_eq(cw_trail_walk(w.chain, arena, &w.state, 1, &w.loss, 1, &trail),
                         memory.refused ? CW_NO_MEMORY : CW_OK);
            cw_arena_free(arena);
        }
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    worked_free(&w);
}

/* So many rules in a row that a walk on the machine's own stack would not come back. */
Test(trail, of_a_very_long_chain)
{
    enum { LONG = 200000 };
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_atom_id below = cw_builder_value_atom(builder, world_fact(builder, "a", 2, NULL, NULL), 1);
    char name[16];
    worked w = {0};
    for (uint32_t i = 0; i < LONG; i++) {
        const cw_fact_id fact =
            cw_builder_fact(builder, &(cw_fact){.name = world_name(name, 'l', i)}, no_yes, 2, NULL);
        w.state = cw_builder_value_atom(builder, fact, 1);
        cw_builder_rule(builder, w.state, &(cw_premise){below, false}, 1, 1, 0);
        below = w.state;
    }
    w.model = world_finish(builder);
    w.arena = cw_arena_new(&cw_system_allocator);
    cr_assert_eq(cw_chain_new(w.model, &cw_system_allocator, &w.chain), CW_OK);
    cr_assert_eq(cw_chain_answer(w.chain, &(cw_answer){.fact = 1, .value = 1}), CW_OK);
    const cw_trail trail = trail_of(&w, w.state);
    cr_assert_eq(trail.count, LONG);
    cr_assert_eq(trail.steps[LONG - 1].atom, w.state);
    worked_free(&w);
}
