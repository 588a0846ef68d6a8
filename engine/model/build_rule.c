/* Atoms, each made once, and the rules over them. */
#include "model/inside.h"

#include <assert.h>
#include <string.h>

static cw_atom_id add_atom(cw_builder *builder, const cw_atom *atom)
{
    cw_atom *place = builder_add(builder, &builder->atoms);
    builder_add(builder, &builder->stamps);
    builder_add(builder, &builder->stamps);
    if (builder->failed)
        return 0;
    *place = *atom;
    return builder_last(&builder->atoms);
}

cw_atom_id cw_builder_value_atom(cw_builder *builder, cw_fact_id fact, uint32_t value)
{
    if (builder->failed || fact == 0)
        return 0;
    cw_run values = cw_builder_fact_at(builder, fact)->values;
    assert(value < values.count);
    uint32_t *slot = CW_VEC_AT(&builder->value_atoms, uint32_t, values.first + value);
    if (*slot == 0)
        *slot = add_atom(builder, &(cw_atom){.kind = CW_ATOM_VALUE, .fact = fact, .value = value});
    return *slot;
}

static uint64_t mix(uint64_t hash, uint64_t word)
{
    hash = (hash ^ word) * 0x9e3779b97f4a7c15u;
    return hash ^ (hash >> 29);
}

static uint64_t double_bits(double number)
{
    uint64_t bits;
    number += 0.0; /* -0 and 0 are one limit */
    memcpy(&bits, &number, sizeof bits);
    return bits;
}

static uint64_t hash_atom(const cw_atom *atom)
{
    uint64_t hash = mix((uint64_t)atom->kind, atom->fact);
    hash = mix(hash, atom->value);
    hash = mix(hash, double_bits(atom->band.low));
    hash = mix(hash, double_bits(atom->band.high));
    return mix(hash, (uint64_t)atom->band.low_open * 2 + atom->band.high_open);
}

static bool same_atom(const cw_atom *a, const cw_atom *b)
{
    return a->kind == b->kind && a->fact == b->fact && a->value == b->value && a->band.low == b->band.low &&
           a->band.high == b->band.high && a->band.low_open == b->band.low_open &&
           a->band.high_open == b->band.high_open;
}

/* The slot that holds an equal atom, or the free one where it belongs. */
static uint32_t *find_slot(const cw_builder *builder, const cw_atom *atom)
{
    size_t mask = builder->table_size - 1;
    size_t at = (size_t)hash_atom(atom) & mask;
    while (builder->table[at] != 0 &&
           !same_atom(CW_VEC_AT(&builder->atoms, cw_atom, builder->table[at]), atom))
        at = (at + 1) & mask;
    return &builder->table[at];
}

static bool grow_table(cw_builder *builder)
{
    size_t old_size = builder->table_size, size = old_size == 0 ? 64 : old_size * 2;
    uint32_t *old = builder->table;
    uint32_t *table = cw_allocate(&builder->allocator, size * sizeof *table);
    if (table == NULL)
        return false;
    memset(table, 0, size * sizeof *table);
    builder->table = table;
    builder->table_size = size;
    for (size_t i = 0; i < old_size; i++)
        if (old[i] != 0)
            *find_slot(builder, CW_VEC_AT(&builder->atoms, cw_atom, old[i])) = old[i];
    cw_release(&builder->allocator, old, old_size * sizeof *old);
    return true;
}

static cw_atom_id shared_atom(cw_builder *builder, const cw_atom *atom)
{
    if (builder->failed || atom->fact == 0)
        return 0;
    if (builder->table_used * 2 >= builder->table_size && !grow_table(builder)) {
        builder->failed = true;
        return 0;
    }
    uint32_t *slot = find_slot(builder, atom);
    if (*slot == 0) {
        *slot = add_atom(builder, atom);
        builder->table_used += *slot != 0;
    }
    return *slot;
}

cw_atom_id cw_builder_band_atom(cw_builder *builder, cw_fact_id fact, cw_interval band)
{
    return shared_atom(builder, &(cw_atom){.kind = CW_ATOM_BAND, .fact = fact, .band = band});
}

cw_atom_id cw_builder_like_atom(cw_builder *builder, cw_fact_id fact, uint32_t pattern)
{
    return shared_atom(builder, &(cw_atom){.kind = CW_ATOM_LIKE, .fact = fact, .value = pattern});
}

cw_atom_id cw_builder_unit_atom(cw_builder *builder, cw_fact_id fact, cw_unit_id unit)
{
    return shared_atom(builder, &(cw_atom){.kind = CW_ATOM_UNIT, .fact = fact, .value = unit});
}

cw_atom_id builder_datum_atom(cw_builder *builder, cw_fact_id which_unit, uint32_t datum)
{
    return add_atom(builder, &(cw_atom){.kind = CW_ATOM_DATUM, .fact = which_unit, .value = datum});
}

cw_atom_id cw_builder_known_atom(cw_builder *builder, cw_fact_id fact)
{
    return shared_atom(builder, &(cw_atom){.kind = CW_ATOM_KNOWN, .fact = fact});
}

cw_atom_id cw_builder_caution_atom(cw_builder *builder, cw_caution_id caution)
{
    if (builder->failed || caution == 0)
        return 0;
    cw_caution *raised = CW_VEC_AT(&builder->cautions, cw_caution, caution);
    if (raised->atom == 0)
        raised->atom = add_atom(builder, &(cw_atom){.kind = CW_ATOM_CAUTION, .value = caution});
    return raised->atom;
}

cw_atom_id cw_builder_step(cw_builder *builder)
{
    return builder->failed ? 0 : add_atom(builder, &(cw_atom){.kind = CW_ATOM_STEP});
}

uint32_t cw_builder_pattern(cw_builder *builder, cw_pattern *pattern)
{
    cw_pattern **place = builder_add(builder, &builder->patterns);
    if (place == NULL) {
        cw_pattern_free(pattern);
        return 0;
    }
    *place = pattern;
    return builder_last(&builder->patterns);
}

const cw_pattern *cw_builder_pattern_at(const cw_builder *builder, uint32_t pattern)
{
    return *CW_VEC_AT(&builder->patterns, cw_pattern *, pattern);
}

uint32_t cw_builder_origin(cw_builder *builder, const cw_origin *origin)
{
    cw_origin made = {builder_text(builder, origin->name), builder_text(builder, origin->because),
                      builder_text(builder, origin->source), origin->span};
    cw_origin *place = builder_add(builder, &builder->origins);
    if (place == NULL)
        return 0;
    *place = made;
    return builder_last(&builder->origins);
}

/* True the first time the premise is met in the rule that will get this number. */
static bool first_time(cw_builder *builder, cw_premise premise, uint32_t rule)
{
    uint32_t *stamp = CW_VEC_AT(&builder->stamps, uint32_t, (size_t)premise.atom * 2 + premise.absent);
    if (*stamp == rule)
        return false;
    *stamp = rule;
    return true;
}

static bool has_doubles(cw_builder *builder, const cw_premise *premises, uint32_t count)
{
    /* A number no rule has: the pass of add_rule afterwards must find every premise new. */
    const uint32_t trial = UINT32_MAX;
    bool found = false;
    for (uint32_t i = 0; i < count; i++)
        found |= !first_time(builder, premises[i], trial);
    for (uint32_t i = 0; i < count; i++)
        *CW_VEC_AT(&builder->stamps, uint32_t, (size_t)premises[i].atom * 2 + premises[i].absent) = 0;
    return found;
}

static cw_rule_id add_rule(cw_builder *builder, cw_rule rule, const cw_premise *premises, uint32_t count)
{
    for (uint32_t i = 0; i < count; i++)
        if (premises[i].atom == 0)
            builder->failed = true; /* an atom that memory failed for */
    cw_rule *place = builder_add(builder, &builder->rules);
    if (place == NULL)
        return 0;
    cw_rule_id id = builder_last(&builder->rules);
    bool all = rule.need == count;
    rule.premises = (cw_run){(uint32_t)builder->premises.count, 0};
    for (uint32_t i = 0; i < count && !builder->failed; i++) {
        if (!first_time(builder, premises[i], id))
            continue;
        cw_premise *premise = builder_add(builder, &builder->premises);
        if (premise != NULL)
            *premise = premises[i];
        rule.premises.count++;
    }
    if (all)
        rule.need = rule.premises.count;
    *place = rule;
    return builder->failed ? 0 : id;
}

/* Doubles among the premises of an `at least N`: each further one counts through a step of its own. */
static cw_rule_id add_counting_rule(cw_builder *builder, cw_rule rule, const cw_premise *premises,
                                    uint32_t count)
{
    cw_premise *apart = cw_allocate(&builder->allocator, count * sizeof *apart);
    if (apart == NULL) {
        builder->failed = true;
        return 0;
    }
    for (uint32_t i = 0; i < count; i++) {
        apart[i] = (cw_premise){cw_builder_step(builder), false};
        add_rule(builder, (cw_rule){.head = apart[i].atom, .need = 1}, &premises[i], 1);
    }
    cw_rule_id id = add_rule(builder, rule, apart, count);
    cw_release(&builder->allocator, apart, count * sizeof *apart);
    return id;
}

cw_rule_id cw_builder_rule(cw_builder *builder, cw_atom_id head, const cw_premise *premises, uint32_t count,
                           uint32_t need, uint32_t origin)
{
    if (builder->failed || head == 0) {
        builder->failed = true;
        return 0;
    }
    cw_rule rule = {.head = head, .need = need, .origin = origin};
    for (uint32_t i = 0; i < count; i++)
        if (premises[i].atom == 0)
            return add_rule(builder, rule, premises, count);
    if (need != count && has_doubles(builder, premises, count))
        return add_counting_rule(builder, rule, premises, count);
    return add_rule(builder, rule, premises, count);
}

cw_rule_id cw_builder_measure_rule(cw_builder *builder, cw_fact_id measure, const cw_formula *formula,
                                   const cw_premise *premises, uint32_t count, uint32_t origin)
{
    if (builder->failed || measure == 0 || formula == NULL) {
        builder->failed = true;
        return 0;
    }
    cw_rule rule = {.measure = measure, .formula = formula, .need = count, .origin = origin};
    return add_rule(builder, rule, premises, count);
}

cw_rule_id cw_builder_reading_rule(cw_builder *builder, cw_fact_id measure, const cw_reading *reading,
                                   cw_fact_id text, const cw_premise *premises, uint32_t count,
                                   uint32_t origin)
{
    cw_reading *kept = CW_NEW(builder->arena, cw_reading);
    const cw_formula *formula = cw_formula_input(builder->arena, text, reading->dimension);
    if (builder->failed || measure == 0 || kept == NULL || formula == NULL) {
        builder->failed = true;
        return 0;
    }
    *kept = *reading;
    cw_rule rule = {.measure = measure, .formula = formula, .reading = kept, .need = count, .origin = origin};
    return add_rule(builder, rule, premises, count);
}
