/* Random worlds against the slow reference: whatever the order of rules and of answers, and whatever was
 * answered, changed and withdrawn before, the chain is where a fresh one would be and the reference says. */
#include "chain/world.h"

#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

enum { ROUNDS = 1500, MOVES = 14 };

static void expect_atoms(const world *w, const world_truth *want, const world_model *built,
                         const cw_chain *chain)
{
    for (uint32_t a = 0; a < w->atom_count; a++)
        cr_assert_eq(cw_chain_truth(chain, built->atoms[a]), want->atoms[a], "atom %u (kind %d, fact %u)", a,
                     (int)w->atoms[a].kind, w->atoms[a].fact);
}

static bool near(double a, double b)
{
    return a == b || fabs(a - b) <= 1e-9 * fmax(fabs(a), fabs(b));
}

static void expect_facts(const world *w, const world_truth *want, const world_model *built,
                         const cw_chain *chain)
{
    size_t conflicts = 0;
    for (uint32_t f = 0; f < w->fact_count; f++) {
        uint32_t value = 0;
        double number = 0, error = 0;
        conflicts += want->known[f] == CW_CONFLICT;
        if (w->facts[f].kind == CW_MEASURE) {
            cr_assert_eq(cw_chain_number(chain, built->facts[f], &number, &error), want->known[f], "fact %u",
                         f);
            cr_assert(near(number, want->number[f]) && near(error, want->error[f]),
                      "fact %u: %g +- %g, not %g +- %g", f, number, error, want->number[f], want->error[f]);
        } else if (w->facts[f].kind == CW_STAMPED) {
            cr_assert_eq(cw_chain_text(chain, built->facts[f]) != NULL, want->known[f] == CW_KNOWN);
        } else {
            cr_assert_eq(cw_chain_value(chain, built->facts[f], &value), want->known[f], "fact %u", f);
            cr_assert(want->known[f] == CW_UNKNOWN || value == want->value[f], "fact %u", f);
        }
        cr_assert_eq(cw_chain_contested(chain, built->facts[f]), want->contested[f], "fact %u", f);
    }
    cr_assert_eq(cw_chain_conflicts(chain, NULL, 0), conflicts);
}

static void expect_reasons(const world *w, const world_truth *want, const world_model *built,
                           const cw_chain *chain)
{
    for (uint32_t a = 0; a < w->atom_count; a++) {
        cw_reason reasons[MAX_RULES + 1];
        size_t count = cw_chain_reasons(chain, built->atoms[a], reasons, MAX_RULES + 1);
        cr_assert_eq(count > 0, want->atoms[a] != CW_NO);
        if (count == 0)
            continue;
        cr_assert_eq(reasons[0].truth, want->atoms[a], "the first reason carries the atom");
        uint32_t rules = 0, held = 0;
        for (size_t i = 0; i < count; i++)
            rules += reasons[i].rule != 0 && built->model->rules[reasons[i].rule].head == built->atoms[a];
        for (uint32_t r = 0; r < w->rule_count; r++)
            held += !w->rules[r].measures && w->rules[r].head == a && want->rules[r] < INFINITY;
        cr_assert_eq(rules, held, "atom %u: all rules that hold are reasons", a);
    }
}

/* Two chains over one model are in the same state, as far as anybody can ask. */
static void expect_same(const world_model *built, const cw_chain *a, const cw_chain *b)
{
    const cw_model *model = built->model;
    for (cw_atom_id atom = 1; atom <= model->atoms_count; atom++) {
        cw_reason x[MAX_RULES + 1] = {0}, y[MAX_RULES + 1] = {0};
        size_t count = cw_chain_reasons(a, atom, x, MAX_RULES + 1);
        cr_assert_eq(cw_chain_reasons(b, atom, y, MAX_RULES + 1), count);
        for (size_t i = 0; i < count; i++)
            cr_assert(x[i].rule == y[i].rule && x[i].truth == y[i].truth, "atom %u, reason %zu", atom, i);
    }
    for (cw_fact_id fact = 1; fact <= model->facts_count; fact++) {
        cw_fact_id x[MAX_FACTS], y[MAX_FACTS];
        size_t count = cw_chain_readings(a, fact, x, MAX_FACTS);
        cr_assert_eq(cw_chain_readings(b, fact, y, MAX_FACTS), count);
        cr_assert_eq(memcmp(x, y, count * sizeof *x), 0);
        cr_assert_eq(cw_chain_depth(a, fact), cw_chain_depth(b, fact));
        cr_assert_eq(cw_chain_answered(a, fact) == NULL, cw_chain_answered(b, fact) == NULL);
        double m = 0, n = 0, d = 0, e = 0;
        cr_assert_eq(cw_chain_number(a, fact, &m, &d), cw_chain_number(b, fact, &n, &e));
        cr_assert(m == n && d == e);
    }
}

static cw_chain *fresh_chain(const world *w, const world_model *built, const world_answers *answers,
                             random_state *random)
{
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(built->model, &cw_system_allocator, &chain), CW_OK);
    uint32_t start = random_below(random, w->fact_count),
             step = random_below(random, 2) ? 1 : w->fact_count - 1;
    for (uint32_t i = 0; i < w->fact_count; i++) {
        uint32_t f = (start + i * step) % w->fact_count;
        cw_answer answer = answers->of[f];
        if (answer.fact == 0)
            continue;
        answer = world_answer_for(built, &answer);
        cr_assert_eq(cw_chain_answer(chain, &answer), CW_OK);
    }
    return chain;
}

/* Answers, changes or withdraws something at random; false when there was nothing to do. */
static bool move(const world *w, const world_model *built, cw_chain *chain, world_answers *answers,
                 random_state *random)
{
    cw_answer answer = world_random_answer(w, random);
    if (answer.fact == 0)
        return false;
    cw_answer *kept = &answers->of[answer.fact - 1];
    if (kept->fact != 0 && random_below(random, 3) == 0) {
        *kept = (cw_answer){0};
        cr_assert_eq(cw_chain_withdraw(chain, built->facts[answer.fact - 1]), CW_OK);
        return true;
    }
    *kept = answer;
    answer = world_answer_for(built, &answer);
    cr_assert_eq(cw_chain_answer(chain, &answer), CW_OK);
    return true;
}

static void shuffle(uint32_t *order, uint32_t count, random_state *random)
{
    for (uint32_t i = 0; i < count; i++)
        order[i] = i;
    for (uint32_t i = count; i > 1; i--) {
        uint32_t j = random_below(random, i), other = order[i - 1];
        order[i - 1] = order[j];
        order[j] = other;
    }
}

static void expect_all(const world *w, const world_answers *answers, const world_model *built,
                       const cw_chain *chain)
{
    static world_truth want;
    world_reference(w, answers, &want);
    expect_atoms(w, &want, built, chain);
    expect_facts(w, &want, built, chain);
    expect_reasons(w, &want, built, chain);
}

Test(world, a_chain_is_where_the_reference_says_and_where_a_fresh_one_would_be)
{
    random_state random = random_start(20240611);
    for (int round = 0; round < ROUNDS; round++) {
        world w = world_random(&random);
        world_model built = world_build(&w, NULL, &cw_system_allocator);
        world_answers answers = {0};
        cw_chain *chain = fresh_chain(&w, &built, &answers, &random);
        cw_chain *copy = fresh_chain(&w, &built, &answers, &random);
        expect_all(&w, &answers, &built, chain);
        for (int m = 0; m < MOVES; m++) {
            if (!move(&w, &built, chain, &answers, &random))
                continue;
            expect_all(&w, &answers, &built, chain);
            cw_chain *fresh = fresh_chain(&w, &built, &answers, &random);
            expect_same(&built, chain, fresh);
            cw_chain_copy(copy, chain);
            expect_same(&built, chain, copy);
            cw_chain_free(fresh);
        }
        cw_chain_free(copy);
        cw_chain_free(chain);
        cw_model_free(built.model);
    }
}

Test(world, the_order_of_rules_has_no_say)
{
    random_state random = random_start(7);
    for (int round = 0; round < ROUNDS; round++) {
        world w = world_random(&random);
        uint32_t order[MAX_RULES];
        shuffle(order, w.rule_count, &random);
        world_model built = world_build(&w, order, &cw_system_allocator);
        world_answers answers = {0};
        for (uint32_t f = 0; f < w.fact_count; f++) {
            cw_answer answer = world_random_answer(&w, &random);
            if (answer.fact != 0)
                answers.of[answer.fact - 1] = answer;
        }
        cw_chain *chain = fresh_chain(&w, &built, &answers, &random);
        expect_all(&w, &answers, &built, chain);
        cw_chain_free(chain);
        cw_model_free(built.model);
    }
}

/* A trial on a copy leaves the chain it was copied from alone, and the copy works on as the original would.
 */
Test(world, a_copy_lives_its_own_life)
{
    random_state random = random_start(99);
    for (int round = 0; round < ROUNDS / 3; round++) {
        world w = world_random(&random);
        world_model built = world_build(&w, NULL, &cw_system_allocator);
        world_answers answers = {0}, tried;
        cw_chain *chain = fresh_chain(&w, &built, &answers, &random);
        cw_chain *copy = fresh_chain(&w, &built, &answers, &random);
        for (int m = 0; m < 4; m++)
            move(&w, &built, chain, &answers, &random);
        cw_chain_copy(copy, chain);
        tried = answers;
        for (int m = 0; m < 4; m++)
            move(&w, &built, copy, &tried, &random);
        expect_all(&w, &tried, &built, copy);
        expect_all(&w, &answers, &built, chain);
        cw_chain_free(copy);
        cw_chain_free(chain);
        cw_model_free(built.model);
    }
}

/* --- every first reason re-derives: grounded, without a circle --- */

typedef struct prover {
    const cw_chain *chain;
    const cw_model *model;
    bool proven[MAX_ATOMS * 4];
} prover;

static bool rederives(const prover *p, const cw_reason *reason, cw_fact_id answered)
{
    if (reason->rule == 0)
        return cw_chain_answered(p->chain, answered) != NULL &&
               !cw_chain_answered(p->chain, answered)->cant_tell;
    const cw_rule *rule = &p->model->rules[reason->rule];
    uint32_t held = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        cw_premise premise = p->model->premises[rule->premises.first + i];
        cw_truth truth = cw_chain_truth(p->chain, premise.atom);
        if (premise.absent)
            held += (cw_truth)(CW_YES - truth) >= reason->truth;
        else
            held += truth >= reason->truth && p->proven[premise.atom];
    }
    return held >= rule->need;
}

/* What can be proven by first reasons alone, again and again from nothing; formulas rest on layers below. */
Test(world, first_reasons_are_grounded)
{
    random_state random = random_start(4711);
    uint64_t proven = 0;
    for (int round = 0; round < ROUNDS; round++) {
        world w = world_random(&random);
        world_model built = world_build(&w, NULL, &cw_system_allocator);
        world_answers answers = {0};
        cw_chain *chain = fresh_chain(&w, &built, &answers, &random);
        for (int m = 0; m < 8; m++)
            move(&w, &built, chain, &answers, &random);
        prover p = {.chain = chain, .model = built.model};
        for (bool changed = true; changed;) {
            changed = false;
            for (cw_atom_id a = 1; a <= built.model->atoms_count; a++) {
                cw_reason first;
                if (p.proven[a] || cw_chain_reasons(chain, a, &first, 1) == 0 ||
                    !rederives(&p, &first, built.model->atoms[a].fact))
                    continue;
                changed = p.proven[a] = true;
                proven++;
            }
        }
        for (cw_atom_id a = 1; a <= built.model->atoms_count; a++)
            cr_assert_eq(p.proven[a], cw_chain_truth(chain, a) != CW_NO, "atom %u", a);
        cw_chain_free(chain);
        cw_model_free(built.model);
    }
    cr_assert_gt(proven, 5000u, "the worlds have something to prove");
}
