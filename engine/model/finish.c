/* From the builder's growing arrays to the model's flat ones. */
#include "model/inside.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* An array in the model's arena, never empty so that it can be indexed with 0. */
static void *copy(cw_builder *builder, const cw_vec *vec)
{
    size_t bytes = vec->count * vec->item_size;
    char *items = cw_arena_room(builder->arena, vec->count + 1, vec->item_size);
    if (items == NULL) {
        builder->failed = true;
        return NULL;
    }
    if (bytes > 0)
        memcpy(items, vec->items, bytes);
    memset(items + bytes, 0, vec->item_size);
    return items;
}

enum { LARGE = 1 << 14 };

/* The same for one that the builder needs no more: a large one goes over as it is. */
static void *hand_over(cw_builder *builder, cw_vec *vec)
{
    if (vec->count * vec->item_size < LARGE || builder->failed)
        return copy(builder, vec);
    size_t bytes;
    void *items = cw_vec_give_away(vec, &bytes);
    if (items != NULL && cw_arena_adopt(builder->arena, items, bytes))
        return items;
    cw_release(&builder->allocator, items, items != NULL ? bytes : 0);
    builder->failed = true;
    return NULL;
}

static uint32_t *numbers(cw_builder *builder, size_t count)
{
    uint32_t *array = CW_NEW_ARRAY(builder->arena, uint32_t, count + 1);
    if (array == NULL)
        builder->failed = true;
    return array;
}

/* Rules and their premises in order of layers; atoms keep their ids. Returns the number of layers. */
static uint32_t lay_out_rules(cw_builder *builder, cw_model *model, cw_arena *scratch)
{
    size_t count = builder->rules.count;
    uint32_t layers = 1;
    for (size_t a = 1; a < builder->atoms.count; a++)
        if (CW_VEC_AT(&builder->atoms, cw_atom, a)->layer >= layers)
            layers = CW_VEC_AT(&builder->atoms, cw_atom, a)->layer + 1;
    for (size_t r = 1; r < count; r++)
        if (CW_VEC_AT(&builder->rules, cw_rule, r)->layer >= layers)
            layers = CW_VEC_AT(&builder->rules, cw_rule, r)->layer + 1;
    uint32_t *start = CW_NEW_ARRAY(scratch, uint32_t, (size_t)layers + 1);
    cw_rule *rules = CW_NEW_ARRAY(builder->arena, cw_rule, count);
    cw_premise *premises = CW_NEW_ARRAY(builder->arena, cw_premise, builder->premises.count + 1);
    if (start == NULL || rules == NULL || premises == NULL) {
        builder->failed = true;
        return 0;
    }
    for (size_t r = 1; r < count; r++)
        start[CW_VEC_AT(&builder->rules, cw_rule, r)->layer + 1]++;
    start[0] = 1;
    for (uint32_t l = 0; l < layers; l++)
        start[l + 1] += start[l];
    for (size_t r = 1; r < count; r++) {
        const cw_rule *rule = CW_VEC_AT(&builder->rules, cw_rule, r);
        rules[start[rule->layer]++] = *rule;
    }
    uint32_t at = 0;
    for (size_t r = 1; r < count; r++) {
        cw_run from = rules[r].premises;
        for (uint32_t i = 0; i < from.count; i++)
            premises[at + i] = *CW_VEC_AT(&builder->premises, cw_premise, from.first + i);
        rules[r].premises.first = at;
        at += from.count;
    }
    cw_vec_dispose(&builder->rules);
    cw_vec_dispose(&builder->premises);
    model->rules = rules;
    model->premises = premises;
    return layers;
}

/* Turns counts in run->count into runs one behind the other; counts start again from 0. */
static uint32_t open_run(cw_run *run, uint32_t at)
{
    run->first = at;
    at += run->count;
    run->count = 0;
    return at;
}

/* An atom is used once by a rule, even if the rule holds it both present and absent. */
static bool seen_before(const cw_model *model, const cw_rule *rule, uint32_t premise, const uint32_t *last,
                        uint32_t r)
{
    return last[model->premises[rule->premises.first + premise].atom] == r;
}

static void index_uses(const cw_model *model, cw_atom *atoms, uint32_t *last, uint32_t *uses,
                       uint32_t *concludes)
{
    memset(last, 0, ((size_t)model->atoms_count + 1) * sizeof *last);
    for (uint32_t r = 1; r <= model->rules_count; r++) {
        const cw_rule *rule = &model->rules[r];
        for (uint32_t i = 0; i < rule->premises.count; i++) {
            if (seen_before(model, rule, i, last, r))
                continue;
            cw_atom_id atom = model->premises[rule->premises.first + i].atom;
            last[atom] = r;
            if (uses != NULL)
                uses[atoms[atom].used_by.first + atoms[atom].used_by.count] = r;
            atoms[atom].used_by.count++;
        }
        if (rule->head == 0)
            continue;
        cw_run *by = &atoms[rule->head].concluded_by;
        if (concludes != NULL)
            concludes[by->first + by->count] = r;
        by->count++;
    }
}

static void count_signs(const cw_builder *builder, cw_fact *facts)
{
    for (size_t u = 1; u < builder->units.count; u++) {
        const cw_run run = CW_VEC_AT(&builder->units, cw_unit, u)->signs;
        for (uint32_t i = run.first; i < run.first + run.count; i++)
            facts[CW_VEC_AT(&builder->signs, cw_sign, i)->fact].unit_signs++;
    }
    for (size_t c = 1; c < builder->causes.count; c++) {
        const cw_run run = CW_VEC_AT(&builder->causes, cw_cause, c)->signs;
        for (uint32_t i = run.first; i < run.first + run.count; i++)
            facts[CW_VEC_AT(&builder->signs, cw_sign, i)->fact].cause_signs++;
    }
}

static void lay_out_atoms(cw_builder *builder, cw_model *model, size_t premises, cw_arena *scratch)
{
    const size_t atoms_end = (size_t)model->atoms_count + 1;
    cw_atom *atoms = hand_over(builder, &builder->atoms);
    cw_fact *facts = hand_over(builder, &builder->facts);
    uint32_t *last = CW_NEW_ARRAY(scratch, uint32_t, atoms_end);
    uint32_t *uses = numbers(builder, premises), *concludes = numbers(builder, model->rules_count);
    uint32_t *fact_atoms = numbers(builder, atoms_end);
    if (last == NULL || builder->failed) {
        builder->failed = true;
        return;
    }
    index_uses(model, atoms, last, NULL, NULL);
    uint32_t use = 0, conclusion = 0, tested = 0;
    for (size_t a = 1; a < atoms_end; a++) {
        use = open_run(&atoms[a].used_by, use);
        conclusion = open_run(&atoms[a].concluded_by, conclusion);
        facts[atoms[a].fact].atoms.count++;
    }
    index_uses(model, atoms, last, uses, concludes);
    facts[0].atoms.count = 0;
    for (size_t f = 1; f <= model->facts_count; f++)
        tested = open_run(&facts[f].atoms, tested);
    for (uint32_t a = 1; a < atoms_end; a++) {
        cw_run *of = &facts[atoms[a].fact].atoms;
        if (atoms[a].fact != 0)
            fact_atoms[of->first + of->count++] = a;
    }
    count_signs(builder, facts);
    model->atoms = atoms;
    model->facts = facts;
    model->uses = uses;
    model->concludes = concludes;
    model->fact_atoms = fact_atoms;
}

static int by_rank_and_name(const void *a, const void *b)
{
    const cw_cause *x = *(const cw_cause *const *)a, *y = *(const cw_cause *const *)b;
    if (x->rank != y->rank)
        return x->rank < y->rank ? -1 : 1;
    return strcmp(x->name, y->name);
}

static int by_ends(const void *a, const void *b)
{
    const cw_link *x = a, *y = b;
    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    return x->to < y->to ? -1 : x->to > y->to;
}

/* Causes by rank and name; links and look-ups take the new numbers. */
static void lay_out_causes(cw_builder *builder, cw_model *model, cw_arena *scratch, uint32_t *cause_of)
{
    size_t count = builder->causes.count;
    const cw_cause **order = CW_NEW_ARRAY(scratch, const cw_cause *, count);
    uint32_t *new_id = CW_NEW_ARRAY(scratch, uint32_t, count);
    cw_cause *causes = CW_NEW_ARRAY(builder->arena, cw_cause, count);
    cw_link *links = copy(builder, &builder->links);
    if (order == NULL || new_id == NULL || causes == NULL || builder->failed) {
        builder->failed = true;
        return;
    }
    for (size_t c = 1; c < count; c++)
        order[c] = CW_VEC_AT(&builder->causes, cw_cause, c);
    qsort(&order[1], count - 1, sizeof(cw_cause *), by_rank_and_name);
    for (uint32_t c = 1; c < count; c++) {
        causes[c] = *order[c];
        new_id[order[c] - (const cw_cause *)builder->causes.items] = c;
    }
    for (size_t i = 0; i < builder->links.count; i++) {
        links[i].from = new_id[links[i].from];
        links[i].to = new_id[links[i].to];
    }
    if (builder->links.count > 0)
        qsort(links, builder->links.count, sizeof *links, by_ends);
    for (uint32_t i = 0; i < builder->links.count; i++) {
        cw_run *leads = &causes[links[i].from].leads_to;
        if (leads->count++ == 0)
            leads->first = i;
    }
    for (size_t i = 0; i < builder->cause_of.count; i++)
        cause_of[i] = new_id[cause_of[i]];
    uint32_t *lists = copy(builder, &builder->cause_lists);
    for (size_t i = 0; i < builder->cause_lists.count && lists != NULL; i++)
        lists[i] = new_id[lists[i]];
    model->cause_lists = lists;
    model->causes = causes;
    model->links = links;
}

static void lay_out_index(cw_builder *builder, cw_model *model, cw_arena *scratch)
{
    size_t count = cw_names_count(builder->names) + (size_t)1;
    cw_model_index *index = CW_NEW(builder->arena, cw_model_index);
    uint32_t *ids[4];
    const cw_vec *from[4] = {&builder->fact_of, &builder->check_of, &builder->unit_of, &builder->cause_of};
    for (int i = 0; i < 4; i++) {
        ids[i] = numbers(builder, count);
        if (ids[i] != NULL && from[i]->count > 0)
            memcpy(ids[i], from[i]->items, from[i]->count * sizeof(uint32_t));
    }
    uint32_t *value_atoms = copy(builder, &builder->value_atoms);
    const cw_names *names = cw_names_keep(builder->names, builder->arena);
    if (index == NULL || names == NULL || builder->failed) {
        builder->failed = true;
        return;
    }
    lay_out_causes(builder, model, scratch, ids[3]);
    *index = (cw_model_index){names, ids[0], ids[1], ids[2], ids[3], (uint32_t)count, value_atoms};
    model->index = index;
}

/* By Bayes' rule from the share of jobs in which nothing is wrong, and how often that would be so if one were
 * brought in whatever is wrong. */
static double idle_share(const cw_model *model, double no_fault)
{
    double nothing = 1;
    for (cw_cause_id id = 1; id <= model->causes_count; id++)
        nothing *= 1 - model->causes[id].seen;
    if (no_fault <= 0 || no_fault >= 1 || nothing <= 0 || nothing >= 1)
        return 1;
    return fmin(no_fault / (1 - no_fault) * (1 - nothing) / nothing, 1);
}

/* The arrays that go over as they are. */
static void lay_out_rest(cw_builder *builder, cw_model *model)
{
    model->packs = hand_over(builder, &builder->packs);
    model->values = hand_over(builder, &builder->values);
    model->origins = hand_over(builder, &builder->origins);
    model->checks = hand_over(builder, &builder->checks);
    model->tools = hand_over(builder, &builder->tools);
    model->cautions = hand_over(builder, &builder->cautions);
    model->parts = hand_over(builder, &builder->parts);
    model->signs = hand_over(builder, &builder->signs);
    model->units = hand_over(builder, &builder->units);
    model->shifts = hand_over(builder, &builder->shifts);
    model->hints = hand_over(builder, &builder->hints);
    model->assembly_steps = hand_over(builder, &builder->assembly_steps);
    model->suggestions = hand_over(builder, &builder->suggestions);
    model->patterns = copy(builder, &builder->patterns); /* which are the builder's until it is spent */
    model->words = hand_over(builder, &builder->words);
    model->caution_lists = hand_over(builder, &builder->caution_lists);
    model->part_lists = hand_over(builder, &builder->part_lists);
    model->pattern_lists = hand_over(builder, &builder->pattern_lists);
    model->headings = hand_over(builder, &builder->headings);
    model->heading_facts = hand_over(builder, &builder->heading_facts);
    model->data = hand_over(builder, &builder->data);
    model->unit_data = hand_over(builder, &builder->unit_data);
}

cw_model *builder_lay_out(cw_builder *builder, cw_arena *scratch)
{
    cw_model *model = CW_NEW(builder->arena, cw_model);
    if (model == NULL)
        return NULL;
    *model = (cw_model){
        .packs_count = (uint32_t)builder->packs.count,
        .facts_count = builder_last(&builder->facts),
        .atoms_count = builder_last(&builder->atoms),
        .rules_count = builder_last(&builder->rules),
        .origins_count = builder_last(&builder->origins),
        .checks_count = builder_last(&builder->checks),
        .cautions_count = builder_last(&builder->cautions),
        .parts_count = builder_last(&builder->parts),
        .units_count = builder_last(&builder->units),
        .causes_count = builder_last(&builder->causes),
        .hints_count = builder_last(&builder->hints),
        .assembly_steps_count = builder_last(&builder->assembly_steps),
        .patterns_count = builder_last(&builder->patterns),
        .headings_count = builder_last(&builder->headings),
        .data_count = builder_last(&builder->data),
        .not_listed = builder->not_listed,
        .costs = builder->costs,
        .arena = builder->arena,
    };
    const size_t premises = builder->premises.count;
    model->layers_count = lay_out_rules(builder, model, scratch);
    if (!builder->failed)
        lay_out_atoms(builder, model, premises, scratch);
    if (!builder->failed)
        lay_out_index(builder, model, scratch);
    lay_out_rest(builder, model);
    if (!builder->failed)
        model->idle = idle_share(model, builder->no_fault);
    for (uint32_t i = 1; !builder->failed && i <= model->checks_count; i++)
        if (model->checks[i].swap_group > model->swap_groups_count)
            model->swap_groups_count = model->checks[i].swap_group;
    return builder->failed ? NULL : model;
}

cw_status cw_builder_finish(cw_builder *builder, cw_model **out, cw_circle *circle)
{
    assert(!builder->spent);
    cw_circle none = {0};
    *circle = none;
    *out = NULL;
    cw_arena *scratch = builder->failed ? NULL : cw_arena_new(&builder->allocator);
    if (scratch == NULL)
        return CW_NO_MEMORY;
    cw_status rules = builder_rule_layers(builder, scratch, circle);
    cw_status causes = rules == CW_NO_MEMORY ? CW_NO_MEMORY : builder_cause_ranks(builder, scratch, circle);
    cw_status status = causes == CW_OK ? rules : causes;
    cw_arena_free(scratch); /* the graph is as large as the model */
    if (status != CW_OK)
        return status;
    scratch = cw_arena_new(&builder->allocator);
    *out = scratch == NULL ? NULL : builder_lay_out(builder, scratch);
    builder->spent = *out != NULL;
    cw_arena_free(scratch);
    return *out == NULL ? CW_NO_MEMORY : CW_OK;
}
