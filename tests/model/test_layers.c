/* Layers against a slow obvious reference: raise what is too low until nothing is, or until something is
 * higher than there are nodes, which only a circle can do. */
#include "base/text.h"
#include "model/build.h"
#include "support/random.h"
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define FACTS 8

typedef struct edge {
    uint32_t from, to, lift;
    uint32_t origin; /* 0: no rule */
} edge;

/* Nodes of the reference: yes-atom of fact i at i, number of measure i at FACTS + i, its band at 2 * FACTS +
 * i. */
typedef struct random_rules {
    cw_builder *builder;
    cw_fact_id yes[FACTS], measure[FACTS];
    bool worked_out[FACTS];
    edge edges[200];
    size_t edge_count;
} random_rules;

static void add_edge(random_rules *rules, uint32_t from, uint32_t to, bool lift, uint32_t origin)
{
    rules->edges[rules->edge_count++] = (edge){from, to, lift, origin};
}

static bool look_measure(void *context, const char *name, size_t size, uint32_t *id, cw_dimension *dimension)
{
    const random_rules *rules = context;
    cr_assert(size == 2 && name[0] == 'm');
    *id = rules->measure[name[1] - '0'];
    memset(dimension, 0, sizeof *dimension);
    return true;
}

static cw_atom_id band(random_rules *rules, uint32_t measure)
{
    return cw_builder_band_atom(rules->builder, rules->measure[measure],
                                (cw_interval){1, INFINITY, true, false});
}

static void add_random_rule(random_rules *rules, random_state *state)
{
    cw_premise premises[3];
    uint32_t count = 1 + random_below(state, 3), origin;
    bool works_out = random_below(state, 4) == 0;
    uint32_t head = random_below(state, FACTS), head_node = works_out ? FACTS + head : head;
    origin = cw_builder_origin(rules->builder, &(cw_origin){.name = "r", .because = "", .source = ""});
    for (uint32_t i = 0; i < count; i++) {
        bool measured = random_below(state, 3) == 0, absent = random_below(state, 5) == 0;
        uint32_t on = random_below(state, FACTS);
        premises[i].atom =
            measured ? band(rules, on) : cw_builder_value_atom(rules->builder, rules->yes[on], 1);
        premises[i].absent = absent;
        add_edge(rules, head_node, measured ? 2 * FACTS + on : on, absent, origin);
    }
    if (!works_out) {
        cw_builder_rule(rules->builder, cw_builder_value_atom(rules->builder, rules->yes[head], 1), premises,
                        count, count, origin);
        return;
    }
    uint32_t input = random_below(state, FACTS);
    char text[] = "m0 + 1";
    text[1] = (char)('0' + input);
    cw_formula_problem problem;
    cw_formula *formula = cw_formula_parse(cw_builder_arena(rules->builder), text, strlen(text), NULL,
                                           look_measure, rules, &problem);
    cr_assert_not_null(formula);
    cw_builder_measure_rule(rules->builder, rules->measure[head], formula, premises, count, origin);
    add_edge(rules, head_node, FACTS + input, true, origin);
    rules->worked_out[head] = true;
}

static void make_rules(random_rules *rules, random_state *state)
{
    static const cw_value_spec values[] = {{.name = "no"}, {.name = "yes"}};
    memset(rules, 0, sizeof *rules);
    rules->builder = cw_builder_new(&cw_system_allocator);
    for (int i = 0; i < FACTS; i++) {
        char name[] = "y0";
        name[1] = (char)('0' + i);
        rules->yes[i] =
            cw_builder_fact(rules->builder, &(cw_fact){.name = name, .kind = CW_YES_OR_NO}, values, 2, NULL);
        name[0] = 'm';
        rules->measure[i] =
            cw_builder_fact(rules->builder, &(cw_fact){.name = name, .kind = CW_MEASURE}, NULL, 0, NULL);
    }
    uint32_t count = 1 + random_below(state, 14);
    for (uint32_t i = 0; i < count; i++)
        add_random_rule(rules, state);
    for (uint32_t i = 0; i < FACTS; i++) {
        band(rules, i);
        add_edge(rules, 2 * FACTS + i, FACTS + i, rules->worked_out[i], 0);
    }
}

/* Fills the least layers; false when there is a circle. */
static bool reference(const random_rules *rules, uint32_t *layer)
{
    memset(layer, 0, 3 * FACTS * sizeof *layer);
    for (bool changed = true; changed;) {
        changed = false;
        for (size_t i = 0; i < rules->edge_count; i++) {
            const edge *e = &rules->edges[i];
            if (layer[e->from] < layer[e->to] + e->lift) {
                layer[e->from] = layer[e->to] + e->lift;
                changed = true;
                if (layer[e->from] > 3 * FACTS)
                    return false;
            }
        }
    }
    return true;
}

static void compare(const random_rules *rules, const cw_model *model, const uint32_t *layer)
{
    for (uint32_t i = 0; i < FACTS; i++) {
        cw_atom_id yes = cw_fact_value_atom(model, rules->yes[i], 1);
        if (yes != 0)
            cr_assert_eq(model->atoms[yes].layer, layer[i]);
        cr_assert_eq(model->facts[rules->measure[i]].atoms.count, 1u);
        cr_assert_eq(model->atoms[model->fact_atoms[model->facts[rules->measure[i]].atoms.first]].layer,
                     layer[2 * FACTS + i]);
    }
    for (uint32_t r = 1; r <= model->rules_count; r++) {
        const cw_rule *rule = &model->rules[r];
        cr_assert(r == 1 || model->rules[r - 1].layer <= rule->layer, "sorted by layer");
        cr_assert_lt(rule->layer, model->layers_count);
        if (rule->head != 0)
            cr_assert_eq(rule->layer, model->atoms[rule->head].layer);
    }
}

/* The origins printed are real rules that hang together: each needs something that the next one concludes. */
static void check_circle(const random_rules *rules, const cw_circle *circle)
{
    cr_assert_gt(circle->origin_count, 0u);
    for (uint32_t i = 0; i < circle->origin_count; i++) {
        uint32_t here = circle->origins[i], next = circle->origins[(i + 1) % circle->origin_count];
        bool linked = circle->origin_count == 1;
        for (size_t a = 0; a < rules->edge_count; a++)
            for (size_t b = 0; b < rules->edge_count && rules->edges[a].origin == here; b++)
                linked |=
                    rules->edges[b].origin == next &&
                    (rules->edges[b].from == rules->edges[a].to ||
                     (rules->edges[a].to >= 2 * FACTS && rules->edges[b].from == rules->edges[a].to - FACTS));
        cr_assert(linked);
    }
}

Test(layers, agree_with_the_slow_way_on_random_rules)
{
    random_state state = random_start(11);
    int circles = 0, fine = 0;
    for (int round = 0; round < 3000; round++) {
        random_rules rules;
        make_rules(&rules, &state);
        uint32_t layer[3 * FACTS];
        bool works = reference(&rules, layer);
        cw_model *model = NULL;
        cw_circle circle;
        cr_assert_eq(cw_builder_finish(rules.builder, &model, &circle), works ? CW_OK : CW_BAD_INPUT,
                     "round %d", round);
        if (works)
            compare(&rules, model, layer);
        for (const cw_circle *c = works ? NULL : &circle; c != NULL; c = c->next)
            check_circle(&rules, c);
        fine += works;
        circles += !works;
        cw_builder_free(rules.builder);
        cw_model_free(model);
    }
    cr_assert(fine > 300 && circles > 300, "both kinds are met: %d and %d", fine, circles);
}

Test(layers, a_chain_of_a_hundred_thousand_absences_needs_no_deep_stack)
{
    enum { LONG = 100000 };
    static const cw_value_spec values[] = {{.name = "no"}, {.name = "yes"}};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    cw_atom_id before = 0;
    for (int i = 0; i < LONG; i++) {
        char name[16];
        snprintf(name, sizeof name, "f%d", i);
        cw_fact_id fact =
            cw_builder_fact(builder, &(cw_fact){.name = name, .kind = CW_YES_OR_NO}, values, 2, NULL);
        cw_atom_id atom = cw_builder_value_atom(builder, fact, 1);
        if (i > 0)
            cw_builder_rule(builder, atom, &(cw_premise){before, true}, 1, 1, 0);
        before = atom;
    }
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_OK);
    cr_assert_eq(model->layers_count, (uint32_t)LONG);
    cr_assert_eq(model->atoms[before].layer, (uint32_t)LONG - 1);
    cw_builder_free(builder);
    cw_model_free(model);
}

Test(layers, the_shortest_circle_is_told)
{
    static const cw_value_spec values[] = {{.name = "no"}, {.name = "yes"}};
    cw_builder *builder = cw_builder_new(&cw_system_allocator);
    static const char *const names[] = {"a", "b", "c"};
    cw_atom_id atoms[3];
    uint32_t origins[4];
    for (int i = 0; i < 3; i++) {
        cw_fact_id fact =
            cw_builder_fact(builder, &(cw_fact){.name = names[i], .kind = CW_YES_OR_NO}, values, 2, NULL);
        atoms[i] = cw_builder_value_atom(builder, fact, 1);
    }
    for (int i = 0; i < 4; i++)
        origins[i] = cw_builder_origin(builder, &(cw_origin){.name = "r", .because = "", .source = ""});
    /* a needs b absent, b needs c, c needs a; and b needs a straight away */
    cw_builder_rule(builder, atoms[0], &(cw_premise){atoms[1], true}, 1, 1, origins[0]);
    cw_builder_rule(builder, atoms[1], &(cw_premise){atoms[2], false}, 1, 1, origins[1]);
    cw_builder_rule(builder, atoms[2], &(cw_premise){atoms[0], false}, 1, 1, origins[2]);
    cw_builder_rule(builder, atoms[1], &(cw_premise){atoms[0], false}, 1, 1, origins[3]);
    cw_model *model = NULL;
    cw_circle circle;
    cr_assert_eq(cw_builder_finish(builder, &model, &circle), CW_BAD_INPUT);
    cr_assert_eq(circle.origin_count, 2u);
    cr_assert_eq(circle.origins[0], origins[0]);
    cr_assert_eq(circle.origins[1], origins[3]);
    cr_assert_null(circle.next);
    cw_builder_free(builder);
}
