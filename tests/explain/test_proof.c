/* Proofs: each step is checked against the model alone, by what it says it rests on. */
#include "explain/explain.h"
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
    const cw_proof_step *steps;
    size_t count;
} proof;

static bool rests_on(const proof *p, const cw_proof_step *step, cw_premise premise);

/* A rule holds by what the step names: some of its premises, steps opened up. */
static bool rule_holds(const proof *p, const cw_proof_step *step, cw_rule_id id)
{
    const cw_rule *rule = &p->model->rules[id];
    uint32_t holds = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++)
        holds += rests_on(p, step, p->model->premises[rule->premises.first + i]);
    return holds >= rule->need;
}

static bool rests_on(const proof *p, const cw_proof_step *step, cw_premise premise)
{
    if (premise.absent) {
        for (uint32_t i = 0; i < step->absent_count; i++)
            if (step->absent[i] == premise.atom)
                return cw_chain_truth(p->chain, premise.atom) == CW_NO;
        return false;
    }
    for (uint32_t i = 0; i < step->from_count; i++)
        if (p->steps[step->from[i]].atom == premise.atom)
            return true;
    const cw_atom *atom = &p->model->atoms[premise.atom];
    for (uint32_t i = 0; atom->kind == CW_ATOM_STEP && i < atom->concluded_by.count; i++)
        if (rule_holds(p, step, p->model->concludes[atom->concluded_by.first + i]))
            return true;
    return false;
}

static void check_step(const proof *p, size_t index)
{
    const cw_proof_step *step = &p->steps[index];
    const cw_atom *atom = &p->model->atoms[step->atom];
    cr_assert_neq(atom->kind, CW_ATOM_STEP);
    for (uint32_t i = 0; i < step->from_count; i++)
        cr_assert_lt(step->from[i], index, "rests on earlier steps only");
    for (uint32_t i = 1; i < step->from_count; i++)
        cr_assert_lt(step->from[i - 1], step->from[i], "each once");
    for (uint32_t i = 1; i < step->absent_count; i++)
        cr_assert_lt(step->absent[i - 1], step->absent[i], "each once");
    if (step->rule == 0) {
        const cw_answer *given = cw_chain_answered(p->chain, atom->fact);
        cr_assert(given != NULL && given->value == atom->value && step->from_count == 0);
        return;
    }
    cr_assert_eq(p->model->rules[step->rule].head, step->atom);
    cr_assert(rule_holds(p, step, step->rule));
}

static void check_proof(const proof *p, cw_atom_id atom)
{
    bool used[256] = {false};
    cr_assert_gt(p->count, 0u);
    cr_assert_eq(p->steps[p->count - 1].atom, atom);
    used[p->count - 1] = true;
    for (size_t i = p->count; i-- > 0;) {
        check_step(p, i);
        cr_assert(used[i], "no step is idle");
        for (uint32_t k = 0; k < p->steps[i].from_count; k++)
            used[p->steps[i].from[k]] = true;
        for (size_t k = 0; k < i; k++)
            cr_assert_neq(p->steps[i].atom, p->steps[k].atom, "each thing once");
    }
}

Test(proof, of_everything_that_holds)
{
    random_state random = random_start(41);
    size_t proved = 0, longest = 0;
    for (int round = 0; round < 300; round++) {
        cw_model *model = random_model(&random);
        cw_arena *arena = cw_arena_new(&cw_system_allocator);
        cw_chain *chain;
        cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
        for (cw_fact_id fact = 1; fact <= ASKED; fact++)
            if (random_below(&random, 3) > 0)
                cr_assert_eq(
                    cw_chain_answer(chain, &(cw_answer){.fact = fact, .value = random_below(&random, 2)}),
                    CW_OK);
        for (cw_atom_id atom = 1; atom <= model->atoms_count; atom++) {
            if (model->atoms[atom].kind == CW_ATOM_STEP)
                continue;
            proof p = {.chain = chain, .model = model};
            const cw_status status = cw_explain_proof(chain, atom, arena, &p.steps, &p.count);
            if (cw_chain_truth(chain, atom) == CW_NO) {
                cr_assert_eq(status, CW_NOT_FOUND);
                continue;
            }
            cr_assert_eq(status, CW_OK);
            check_proof(&p, atom);
            proved++;
            longest = p.count > longest ? p.count : longest;
        }
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
        cw_formula_parse(cw_builder_arena(builder), "here - there", 12, look_up, builder, &problem);
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

Test(proof, goes_through_formulas)
{
    worked w = worked_new();
    measure(&w, w.here, 14, 0.01);
    measure(&w, w.there, 12, 0.01);
    const cw_proof_step *steps;
    size_t count;
    cr_assert_eq(cw_explain_proof(w.chain, w.state, w.arena, &steps, &count), CW_OK);
    const cw_proof_step *last = &steps[count - 1], *band = &steps[count - 2];
    cr_assert_eq(last->atom, w.state);
    cr_assert_eq(last->from_count, 1u);
    cr_assert_eq(last->from[0], count - 2);
    cr_assert_eq(band->atom, w.high);
    cr_assert_eq(w.model->rules[band->rule].measure, w.loss);
    bool here = false, there = false;
    for (uint32_t i = 0; i < band->from_count; i++) {
        const cw_proof_step *from = &steps[band->from[i]];
        cr_assert_eq(from->rule, 0u);
        here = here || from->measure == w.here;
        there = there || from->measure == w.there;
    }
    cr_assert(here && there);
    worked_free(&w);
}

Test(proof, of_what_is_doubtful)
{
    worked w = worked_new();
    measure(&w, w.here, 14, 0.3);
    measure(&w, w.there, 13.4, 0.01);
    cr_assert_eq(cw_chain_truth(w.chain, w.state), CW_DOUBTFUL);
    const cw_proof_step *steps;
    size_t count;
    cr_assert_eq(cw_explain_proof(w.chain, w.state, w.arena, &steps, &count), CW_OK);
    cr_assert_eq(steps[count - 1].atom, w.state);
    cr_assert_eq(steps[count - 2].atom, w.high);
    cr_assert_eq(cw_chain_truth(w.chain, w.fine), CW_DOUBTFUL, "what may be there is not absent");
    cr_assert_eq(cw_explain_proof(w.chain, w.fine, w.arena, &steps, &count), CW_OK);
    cr_assert_eq(count, 1u);
    cr_assert_eq(steps[0].from_count, 0u);
    cr_assert_eq(steps[0].absent_count, 1u);
    cr_assert_eq(steps[0].absent[0], w.high);
    worked_free(&w);
}

Test(proof, of_nothing)
{
    worked w = worked_new();
    const cw_proof_step *steps;
    size_t count;
    cr_assert_eq(cw_explain_proof(w.chain, w.state, w.arena, &steps, &count), CW_NOT_FOUND);
    cr_assert_eq(cw_explain_proof(w.chain, 0, w.arena, &steps, &count), CW_BAD_CALL);
    cr_assert_eq(cw_explain_proof(w.chain, w.model->atoms_count + 1, w.arena, &steps, &count), CW_BAD_CALL);
    worked_free(&w);
}

Test(proof, every_allocation_may_fail)
{
    worked w = worked_new();
    measure(&w, w.here, 14, 0.01);
    measure(&w, w.there, 12, 0.01);
    for (size_t allowed = 0;; allowed++) {
        failing memory;
        failing_start(&memory, allowed);
        cw_arena *arena = cw_arena_new(&memory.allocator);
        if (arena != NULL) {
            const cw_proof_step *steps;
            size_t count;
            cr_assert_eq(cw_explain_proof(w.chain, w.state, arena, &steps, &count),
                         memory.refused ? CW_NO_MEMORY : CW_OK);
            cw_arena_free(arena);
        }
        cr_assert_eq(failing_bytes(&memory), 0u);
        if (!memory.refused)
            break;
    }
    worked_free(&w);
}
