/* The search for answers that set rules against each other, held against all answers there are: packs of a
 * few choices and random rules, each of the 256 ways to answer (or not answer) four checks given to the
 * engine. */
#include "chain/chain.h"
#include "review/help.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CHECKS = 4, CHOICES = 3, RULES = 7, PACKS = 150, REASONS = 32 };

static void add_premise(random_state *random, cw_text *out, bool middle)
{
    uint32_t check = random_below(random, CHECKS), value = random_below(random, CHOICES);
    switch (random_below(random, middle ? 5 : 4)) {
    case 0:
        cw_text_format(out, "{c%u: [%c, %c]}", check, 'a' + (int)value, 'a' + (int)(value + 1) % CHOICES);
        break;
    case 1:
        cw_text_format(out, "{none: {c%u: %c}}", check, 'a' + (int)value);
        break;
    case 4:
        cw_text_format(out, "{m: %c}", random_below(random, 2) == 0 ? 'x' : 'y');
        break;
    default:
        cw_text_format(out, "{c%u: %c}", check, 'a' + (int)value);
    }
}

/* Rules r0 and r1 conclude m of the answers, the others t of answers and m. */
static void make_pack(random_state *random, cw_text *out)
{
    cw_text_add(out, "pack: {name: p, title: P, version: 1}\nchecks:\n");
    for (int i = 0; i < CHECKS; i++)
        cw_text_format(out, "  c%d: {title: C, ask: C, choices: [a, b, c], place: counter, minutes: 1}\n", i);
    cw_text_add(out,
                "facts:\n  m: {title: M, choices: [n, x, y]}\n  t: {title: T, choices: [n, x, y]}\nrules:\n");
    for (int i = 0; i < RULES; i++) {
        cw_text_format(out, "  r%d: {if: {all: [", i);
        uint32_t premises = 1 + random_below(random, 3);
        for (uint32_t k = 0; k < premises; k++) {
            cw_text_add(out, k > 0 ? ", " : "");
            add_premise(random, out, i > 1);
        }
        cw_text_format(out, "]}, then: {%c: %c}, because: B, source: s}\n", i > 1 ? 't' : 'm',
                       random_below(random, 2) == 0 ? 'x' : 'y');
    }
}

static bool concludes(const cw_chain *chain, cw_rule_id rule)
{
    cw_reason reasons[REASONS];
    size_t count = cw_chain_reasons(chain, cw_chain_model(chain)->rules[rule].head, reasons, REASONS);
    for (size_t i = 0; i < count; i++)
        if (reasons[i].rule == rule)
            return reasons[i].truth == CW_YES;
    return false;
}

/* The number of a written rule that concludes this fact; -1 for steps and others. */
static int number_of(const cw_model *model, const cw_rule *rule, cw_fact_id fact)
{
    if (rule->origin == 0 || rule->head == 0 || model->atoms[rule->head].kind != CW_ATOM_VALUE ||
        model->atoms[rule->head].fact != fact)
        return -1;
    return model->origins[rule->origin].name[1] - '0';
}

/* A rule for t that goes by m while m is in dispute: its quarrel is m's. */
static bool is_drawn_in(const cw_chain *chain, const cw_rule *rule)
{
    const cw_model *model = cw_chain_model(chain);
    cw_fact_id m = cw_model_fact(model, "m");
    uint32_t value;
    for (uint32_t i = 0; i < rule->premises.count; i++)
        if (model->atoms[model->premises[rule->premises.first + i].atom].fact == m)
            return cw_chain_value(chain, m, &value) == CW_CONFLICT;
    return false;
}

/* Of two at odds the one whose value comes later among the fact's is told of. */
static void note_quarrel(const cw_chain *chain, cw_fact_id fact, bool *told)
{
    const cw_model *model = cw_chain_model(chain);
    cw_run atoms = model->facts[fact].atoms;
    for (cw_rule_id a = 1; a <= model->rules_count; a++)
        for (cw_rule_id b = 1; b <= model->rules_count; b++) {
            const cw_rule *x = &model->rules[a], *y = &model->rules[b];
            if (number_of(model, x, fact) < 0 || number_of(model, y, fact) < 0 || x->head == y->head ||
                !concludes(chain, a) || !concludes(chain, b) || is_drawn_in(chain, x) ||
                is_drawn_in(chain, y))
                continue;
            for (uint32_t i = 0; i < atoms.count; i++) {
                cw_atom_id atom = model->fact_atoms[atoms.first + i];
                if (atom == y->head)
                    break; /* y is the earlier one */
                if (atom == x->head) {
                    told[number_of(model, y, fact)] = true;
                    break;
                }
            }
        }
}

static void try_all(const cw_model *model, bool *told)
{
    cw_chain *chain;
    cr_assert_eq(cw_chain_new(model, &cw_system_allocator, &chain), CW_OK);
    for (uint32_t ways = 0; ways < 256; ways++) {
        for (uint32_t i = 0; i < CHECKS; i++) {
            char name[3] = {'c', (char)('0' + i), '\0'};
            const cw_answer answer = {.fact = cw_model_fact(model, name), .value = (ways >> (2 * i) & 3) - 1};
            if ((ways >> (2 * i) & 3) == 0)
                (void)cw_chain_withdraw(chain, answer.fact);
            else
                cr_assert_eq(cw_chain_answer(chain, &answer), CW_OK);
        }
        cw_fact_id facts[2];
        size_t count = cw_chain_conflicts(chain, facts, 2);
        for (size_t i = 0; i < count; i++)
            note_quarrel(chain, facts[i], told);
    }
    cw_chain_free(chain);
}

static void found_by_review(const compiled *made, bool *told)
{
    for (size_t i = 0; i < cw_diags_count(made->diags); i++) {
        const cw_diag *diag = cw_diags_at(made->diags, i);
        if (diag->code == CW_DIAG_CAN_CONFLICT)
            told[diag->message[2] - '0'] = true; /* "'r3' can conclude" */
    }
}

Test(search, finds_exactly_what_trying_all_answers_finds)
{
    random_state random = random_start(20261130);
    size_t quarrels = 0, peaceful = 0;
    for (int pack = 0; pack < PACKS; pack++) {
        cw_text text = CW_TEXT_INIT(&cw_system_allocator);
        make_pack(&random, &text);
        const cw_pack_file file = {"pack.yaml", cw_text_get(&text), text.size};
        compiled made =
            review_files(&file, 1, (cw_review_limits){.pair_steps = 1000000, .steps = 1000000000});
        bool expected[RULES] = {false}, found[RULES] = {false};
        cr_assert_not_null(made.model, "%s", cw_text_get(&text));
        try_all(made.model, expected);
        found_by_review(&made, found);
        for (int rule = 0; rule < RULES; rule++) {
            cr_expect_eq(found[rule], expected[rule], "r%d of\n%s", rule, cw_text_get(&text));
            quarrels += expected[rule];
            peaceful += !expected[rule];
        }
        cw_text_dispose(&text);
        compiled_free(&made);
    }
    cr_expect_geq(quarrels, 100u, "the packs must put it to the test: %zu", quarrels);
    cr_expect_geq(peaceful, 100u, "%zu", peaceful);
}
