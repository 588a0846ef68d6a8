/* Who has to be told of a change: one pass over the model when a chain is made. */
#include "chain/inside.h"

#include <assert.h>

void chain_index_measure(const cw_model *model, chain_index *index, size_t *premises, size_t *inputs)
{
    *premises = *inputs = 0;
    for (cw_rule_id r = 1; r <= model->rules_count; r++) {
        const cw_rule *rule = &model->rules[r];
        uint32_t wide = rule->premises.count;
        *premises += wide;
        if (rule->measure != 0) {
            const uint32_t *ids;
            size_t count = cw_formula_inputs(rule->formula, &ids);
            *inputs += count;
            index->formulas++;
            wide = (uint32_t)count > wide ? (uint32_t)count : wide;
        }
        index->widest = wide > index->widest ? wide : index->widest;
    }
    for (cw_fact_id f = 1; f <= model->facts_count; f++) {
        const cw_fact *fact = &model->facts[f];
        index->widest = fact->atoms.count > index->widest ? fact->atoms.count : index->widest;
        index->texts += fact->kind == CW_STAMPED && fact->check != 0;
    }
}

/* Three steps make a list: count each entry, open the runs, note each entry. Counts stand two places further
 * on, so that noting moves each start to where it belongs. */
static void count_entry(const chain_list *list, uint32_t of)
{
    list->start[of + 2]++;
}

static void open_runs(const chain_list *list, uint32_t last)
{
    for (uint32_t i = 1; i <= last + 1; i++)
        list->start[i + 1] += list->start[i];
}

static void note_entry(const chain_list *list, uint32_t of, uint32_t entry)
{
    list->items[list->start[of + 1]++] = entry;
}

typedef void (*entry_step)(const chain_list *list, uint32_t of, uint32_t entry);

static void count_step(const chain_list *list, uint32_t of, uint32_t entry)
{
    (void)entry;
    count_entry(list, of);
}

static bool needs_all(const cw_rule *rule)
{
    return rule->need > 0 && rule->need == rule->premises.count;
}

static chain_use use_of(const cw_model *model, cw_rule_id id, const cw_premise *premise)
{
    const cw_rule *rule = &model->rules[id];
    const bool all = needs_all(rule), near = model->atoms[premise->atom].layer == rule->layer;
    return id << CHAIN_USE_BITS | (premise->absent ? CHAIN_ABSENT : 0) | (all ? 0 : CHAIN_SOME) |
           (all && near && rule->head != 0 && !premise->absent ? CHAIN_PLAIN : 0);
}

static void list_rules(const cw_model *model, const chain_index *index, entry_step step)
{
    uint32_t formula = 0;
    for (cw_rule_id r = 1; r <= model->rules_count; r++) {
        const cw_rule *rule = &model->rules[r];
        for (uint32_t i = 0; i < rule->premises.count; i++) {
            const cw_premise *premise = &model->premises[rule->premises.first + i];
            step(&index->uses, premise->atom, use_of(model, r, premise));
        }
        if (rule->measure == 0)
            continue;
        const uint32_t *ids;
        size_t count = cw_formula_inputs(rule->formula, &ids);
        for (size_t i = 0; i < count; i++)
            step(&index->readers, ids[i], formula);
        step(&index->sources, rule->measure, formula);
        index->rule_of[formula++] = r;
    }
}

static void note_rules(const cw_model *model, const chain_index *index)
{
    for (cw_rule_id r = 1; r <= model->rules_count; r++) {
        index->all[r] = needs_all(&model->rules[r]) ? model->rules[r].premises.count : 0;
        index->head[r] = model->rules[r].head;
    }
}

static void raise_to(uint32_t *layer, uint32_t least)
{
    *layer = *layer < least ? least : *layer;
}

/* A fact is complete when all that concludes it is; what tests it comes no earlier than what it rests on. */
static void find_layers(const cw_model *model, const chain_index *index)
{
    for (cw_atom_id a = 1; a <= model->atoms_count; a++) {
        const cw_atom *atom = &model->atoms[a];
        index->atom_layer[a] = atom->layer;
        if (atom->kind == CW_ATOM_VALUE)
            raise_to(&index->fact_layer[atom->fact], atom->layer);
        else if (atom->kind == CW_ATOM_KNOWN)
            index->known_atom[atom->fact] = a;
        assert(atom->kind != CW_ATOM_BAND || model->facts[atom->fact].kind == CW_MEASURE);
        assert(atom->kind != CW_ATOM_UNIT || model->facts[atom->fact].kind == CW_WHICH_UNIT);
        assert(atom->kind != CW_ATOM_LIKE || model->facts[atom->fact].kind == CW_STAMPED);
    }
    for (uint32_t i = 0; i < index->formulas; i++) {
        const cw_rule *rule = &model->rules[index->rule_of[i]];
        raise_to(&index->fact_layer[rule->measure], rule->layer);
    }
}

/* A fact that no answer can tell, no formula reads and rules conclude one value of: it cannot be in conflict,
 * and the atom says all there is to know. */
static void find_only_atoms(const cw_model *model, const chain_index *index)
{
    for (cw_fact_id f = 1; f <= model->facts_count; f++) {
        const cw_fact *fact = &model->facts[f];
        cw_atom_id only = 0;
        uint32_t values = 0;
        for (uint32_t i = 0; i < fact->atoms.count; i++) {
            const cw_atom_id atom = model->fact_atoms[fact->atoms.first + i];
            if (model->atoms[atom].kind == CW_ATOM_VALUE && model->atoms[atom].concluded_by.count > 0) {
                only = atom;
                values++;
            }
        }
        if (values == 1 && fact->check == 0 && index->readers.start[f] == index->readers.start[f + 1])
            index->only_atom[f] = only;
    }
}

static void find_telling(const cw_model *model, const chain_index *index)
{
    for (cw_atom_id a = 1; a <= model->atoms_count; a++) {
        const cw_atom *atom = &model->atoms[a];
        index->tells[a] = atom->kind == CW_ATOM_VALUE &&
                          (index->known_atom[atom->fact] != 0 || index->only_atom[atom->fact] == 0);
    }
}

void chain_index_fill(const cw_model *model, chain_index *index)
{
    list_rules(model, index, count_step);
    open_runs(&index->uses, model->atoms_count);
    open_runs(&index->readers, model->facts_count);
    open_runs(&index->sources, model->facts_count);
    list_rules(model, index, note_entry);
    note_rules(model, index);
    find_layers(model, index);
    find_only_atoms(model, index);
    find_telling(model, index);
    uint32_t text = 0;
    for (cw_check_id c = 1; c <= model->checks_count; c++)
        if (model->facts[model->checks[c].fact].kind == CW_STAMPED)
            index->text_check[text++] = c;
    assert(text == index->texts);
}
