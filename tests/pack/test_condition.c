/* Conditions against a slow obvious reference: random condition trees are written as text and compiled;
 * random answers are then worked out twice, once from the tree as it reads, once by firing the compiled rules
 * layer by layer until nothing changes. All answers are given and exact, so that nothing is doubtful. */
#include "help.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { THINGS = 3, MOST_PARTS = 3 };

typedef enum node_kind { ALL, ANY, NONE, SOME, EVERY, NO, AT_LEAST, TEST } node_kind;

typedef struct node {
    node_kind kind;
    struct node *parts[MOST_PARTS];
    uint32_t count, need;
    int test;  /* which kind of test */
    int a, b;  /* its numbers */
    int fixed; /* 1 + the thing named, or 0 for that bound */
} node;

/* One set of answers. A lamp or count of -1 is not answered. */
typedef struct answers {
    int lamp, ribs, bad[THINGS], level[THINGS];
    double volts;
    bool volts_known;
} answers;

static const char *const lamps[] = {"off", "glow", "on"};
static const char header[] =
    "pack: {name: a, title: A, version: 1}\nthings: {w: [u, v, x]}\nchecks:\n"
    "  lamp: {title: L, ask: L, choices: [off, glow, on], place: counter, minutes: 1}\n"
    "  ribs: {title: R, ask: R, count: 1 to 6, place: counter, minutes: 1}\n"
    "  volts: {title: V, ask: V, measure: voltage, unit: V, range: 0 V to 20 V, reading_error: 0.1 V, place: "
    "bench, minutes: 1}\n"
    "  bad: {title: B, ask: B, each: w, place: bench, minutes: 1}\n"
    "  level: {title: V, ask: V, each: w, count: 0 to 3, place: bench, minutes: 1}\n";

static node *random_node(random_state *state, int depth, bool bound)
{
    node *made = calloc(1, sizeof *made);
    made->kind = depth == 0 ? TEST : (node_kind)random_below(state, 9);
    if (made->kind > TEST)
        made->kind = TEST;
    if (made->kind == TEST) {
        made->test = (int)random_below(state, 12);
        made->a = (int)random_below(state, 5);
        made->b = (int)random_below(state, 3);
        made->fixed = bound && random_below(state, 3) != 0 ? 0 : 1 + (int)random_below(state, THINGS);
        return made;
    }
    bool things = made->kind >= SOME;
    made->count = things ? 1 : 1 + random_below(state, MOST_PARTS);
    made->need = 1 + random_below(state, THINGS);
    for (uint32_t i = 0; i < made->count; i++)
        made->parts[i] = random_node(state, depth - 1, bound || things);
    return made;
}

static void free_node(node *tree)
{
    for (uint32_t i = 0; i < tree->count; i++)
        free_node(tree->parts[i]);
    free(tree);
}

static void write_test(cw_text *out, const node *test)
{
    const char *things[] = {"", "[u]", "[v]", "[x]"};
    const char *thing = things[test->fixed];
    switch (test->test) {
    case 0:
        cw_text_format(out, "lamp: %s", lamps[test->b]);
        break;
    case 1:
        cw_text_format(out, "lamp: not %s", lamps[test->b]);
        break;
    case 2:
        cw_text_format(out, "lamp: [%s, %s]", lamps[test->b], lamps[(test->b + 1) % 3]);
        break;
    case 3:
        cw_text_add(out, "lamp: known");
        break;
    case 4:
        cw_text_format(out, "ribs: above %d", test->a);
        break;
    case 5:
        cw_text_format(out, "ribs: at most %d", test->a);
        break;
    case 6:
        cw_text_format(out, "ribs: %d to %d", test->b, test->a + test->b);
        break;
    case 7:
        cw_text_format(out, "volts: at least %d V", test->a);
        break;
    case 8:
        cw_text_format(out, "volts: below %d V", test->a);
        break;
    case 9:
        cw_text_format(out, "'bad%s': yes", thing);
        break;
    case 10:
        cw_text_format(out, "'bad%s': not yes", thing);
        break;
    default:
        cw_text_format(out, "'level%s': at least %d", thing, test->b);
    }
}

static void write_node(cw_text *out, const node *tree)
{
    static const char *const words[] = {"all", "any", "none", "some w", "every w", "no w"};
    cw_text_add(out, "{");
    if (tree->kind == TEST) {
        write_test(out, tree);
    } else if (tree->kind == AT_LEAST) {
        cw_text_format(out, "at least %u w: ", tree->need);
        write_node(out, tree->parts[0]);
    } else {
        cw_text_format(out, "%s: ", words[tree->kind]);
        bool list = tree->kind <= NONE;
        cw_text_add(out, list ? "[" : "");
        for (uint32_t i = 0; i < tree->count; i++) {
            cw_text_add(out, i > 0 ? ", " : "");
            write_node(out, tree->parts[i]);
        }
        cw_text_add(out, list ? "]" : "");
    }
    cw_text_add(out, "}");
}

/* As it reads. */
static bool test_holds(const node *test, const answers *given, int bound)
{
    int thing = test->fixed > 0 ? test->fixed - 1 : bound;
    switch (test->test) {
    case 0:
        return given->lamp == test->b;
    case 1:
        return given->lamp >= 0 && given->lamp != test->b;
    case 2:
        return given->lamp >= 0 && (given->lamp == test->b || given->lamp == (test->b + 1) % 3);
    case 3:
        return given->lamp >= 0;
    case 4:
        return given->ribs > test->a;
    case 5:
        return given->ribs >= 0 && given->ribs <= test->a;
    case 6:
        return given->ribs >= 0 && given->ribs >= test->b && given->ribs <= test->a + test->b;
    case 7:
        return given->volts_known && given->volts >= test->a;
    case 8:
        return given->volts_known && given->volts < test->a;
    case 9:
        return given->bad[thing] == 1;
    case 10:
        return given->bad[thing] == 0;
    default:
        return given->level[thing] >= test->b;
    }
}

static bool holds(const node *tree, const answers *given, int bound)
{
    uint32_t count = 0, of = tree->kind >= SOME && tree->kind < TEST ? THINGS : tree->count;
    if (tree->kind == TEST)
        return test_holds(tree, given, bound);
    for (uint32_t i = 0; i < of; i++)
        count +=
            tree->kind >= SOME ? holds(tree->parts[0], given, (int)i) : holds(tree->parts[i], given, bound);
    switch (tree->kind) {
    case ALL:
    case EVERY:
        return count == of;
    case ANY:
    case SOME:
        return count > 0;
    case NONE:
    case NO:
        return count == 0;
    default:
        return count >= tree->need;
    }
}

/* By the rules. */
static bool answered(const cw_model *model, const cw_atom *atom, const answers *given)
{
    const cw_fact *fact = &model->facts[atom->fact];
    const cw_value *value =
        &model->values[fact->values.first + (atom->kind == CW_ATOM_VALUE ? atom->value : 0)];
    if (strcmp(fact->name, "volts") == 0)
        return given->volts_known &&
               (atom->kind == CW_ATOM_KNOWN || cw_interval_holds(atom->band, given->volts, 0) == CW_YES);
    if (strcmp(fact->name, "lamp") == 0)
        return given->lamp >= 0 &&
               (atom->kind == CW_ATOM_KNOWN || strcmp(value->name, lamps[given->lamp]) == 0);
    if (strcmp(fact->name, "ribs") == 0)
        return given->ribs >= 0 && value->number == given->ribs;
    int thing = strstr(fact->name, "[u]") ? 0 : strstr(fact->name, "[v]") ? 1 : 2;
    if (strncmp(fact->name, "bad", 3) == 0)
        return given->bad[thing] >= 0 && strcmp(value->name, given->bad[thing] ? "yes" : "no") == 0;
    return given->level[thing] >= 0 && value->number == given->level[thing];
}

static bool fires(const cw_model *model, const cw_rule *rule, const bool *true_atoms)
{
    uint32_t count = 0;
    for (uint32_t i = 0; i < rule->premises.count; i++) {
        const cw_premise *premise = &model->premises[rule->premises.first + i];
        count += true_atoms[premise->atom] != premise->absent;
    }
    return count >= rule->need;
}

static bool by_rules(const cw_model *model, const answers *given)
{
    bool *true_atoms = calloc(model->atoms_count + 1, sizeof *true_atoms);
    for (uint32_t a = 1; a <= model->atoms_count; a++)
        true_atoms[a] = model->atoms[a].fact != 0 && model->facts[model->atoms[a].fact].check != 0 &&
                        answered(model, &model->atoms[a], given);
    for (uint32_t layer = 0; layer < model->layers_count; layer++)
        for (bool more = true; more;) {
            more = false;
            for (uint32_t r = 1; r <= model->rules_count; r++)
                if (model->rules[r].layer == layer && !true_atoms[model->rules[r].head] &&
                    fires(model, &model->rules[r], true_atoms))
                    more = true_atoms[model->rules[r].head] = true;
        }
    cw_fact_id outcome = cw_model_fact(model, "outcome");
    bool found = true_atoms[cw_fact_value_atom(model, outcome, cw_fact_value(model, outcome, "yes"))];
    free(true_atoms);
    return found;
}

static void random_answers(random_state *state, answers *given)
{
    given->lamp = (int)random_below(state, 4) - 1;
    given->ribs = random_below(state, 5) == 0 ? -1 : 1 + (int)random_below(state, 6);
    given->volts_known = random_below(state, 4) != 0;
    given->volts = random_below(state, 8) * 0.5;
    for (int i = 0; i < THINGS; i++) {
        given->bad[i] = (int)random_below(state, 3) - 1;
        given->level[i] = (int)random_below(state, 5) - 1;
    }
}

Test(condition, compiled_conditions_hold_exactly_when_they_read_so)
{
    random_state state = random_start(5);
    int yes = 0, no = 0;
    for (int round = 0; round < 400; round++) {
        node *tree = random_node(&state, 3, false);
        cw_text text = CW_TEXT_INIT(&cw_system_allocator);
        cw_text_add(&text, header);
        cw_text_add(&text, "rules:\n  r:\n    if: ");
        write_node(&text, tree);
        cw_text_add(&text, "\n    then: {outcome: yes}\n    because: b\n    source: s\n");
        compiled made = compile_text(cw_text_get(&text));
        char *told = messages(&made);
        cr_assert_eq(made.status, CW_OK, "%s\n%s", cw_text_get(&text), told);
        for (int i = 0; i < 25; i++) {
            answers given;
            random_answers(&state, &given);
            bool expected = holds(tree, &given, -1);
            cr_assert_eq(by_rules(made.model, &given), expected, "round %d: %s", round, cw_text_get(&text));
            yes += expected;
            no += !expected;
        }
        free(told);
        compiled_free(&made);
        cw_text_dispose(&text);
        free_node(tree);
    }
    cr_assert(yes > 1000 && no > 1000, "both outcomes are met: %d and %d", yes, no);
}

static cw_model *rules_of(compiled *made, const char *rules)
{
    cw_text text = CW_TEXT_INIT(&cw_system_allocator);
    cw_text_add(&text, header);
    cw_text_add(&text, rules);
    *made = compile_text(cw_text_get(&text));
    char *told = messages(made);
    cr_assert_eq(made->status, CW_OK, "%s", told);
    free(told);
    cw_text_dispose(&text);
    return made->model;
}

Test(condition, a_rule_exists_once_for_each_thing_and_speaks_of_it)
{
    compiled made;
    cw_model *model = rules_of(
        &made,
        "rules:\n  r: {each: w, if: {bad: yes}, then: {dead: yes}, because: 'The {w} one; {q}.', source: s}\n"
        "  s: {each: w, if: {bad: yes}, then: {dead: no}, because: b, source: s}\n");
    cr_assert_eq(model->rules_count, 6u);
    cr_expect_eq(model->origins_count, 4u, "one for each thing, and one for all");
    for (uint32_t i = 1; i <= 6; i++) {
        const cw_rule *rule = &model->rules[i];
        const cw_fact *head = &model->facts[model->atoms[rule->head].fact];
        const cw_fact *premise = &model->facts[model->atoms[model->premises[rule->premises.first].atom].fact];
        cr_expect_str_eq(strchr(head->name, '['), strchr(premise->name, '['));
        if (strcmp(model->origins[rule->origin].name, "r") == 0) {
            char because[40];
            snprintf(because, sizeof because, "The %c one; {q}.", head->name[strlen(head->name) - 2]);
            cr_expect_str_eq(model->origins[rule->origin].because, because);
        }
    }
    compiled_free(&made);
}

Test(condition, two_kinds_run_over_all_pairs_the_last_one_fastest)
{
    compiled made = compile_text(
        "pack: {name: a, title: A, version: 1}\nthings: {p: [u, v], q: [m, n]}\n"
        "checks: {leak: {each: [p, q], title: 'From {p} to {q}', ask: L, place: bench, minutes: 1}}\n"
        "rules: {r: {if: {'leak[v,m]': yes, some p: {every q: {leak: yes}}}, then: {bad: yes}, because: b, "
        "source: s}}\n");
    cr_assert_eq(made.status, CW_OK);
    static const char *const names[] = {"bad", "leak[u,m]", "leak[u,n]", "leak[v,m]", "leak[v,n]"};
    for (uint32_t i = 0; i < 5; i++)
        cr_expect_str_eq(made.model->facts[i + 1].name, names[i]);
    cr_expect_str_eq(made.model->facts[4].title, "From v to m");
    compiled_free(&made);
}
