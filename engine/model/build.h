/* Builds a model, step by step, from anything: the pack reader, or a test. Facts first, then atoms and rules,
 * then the rest; cw_builder_finish lays everything out in flat arrays, works out the layers and freezes it.
 *
 * No two premises of a rule are equal: doubles are dropped, and where fewer than all are needed they count
 * through a step of their own.
 *
 * Memory failures stick: the calls return 0 and cw_builder_finish returns CW_NO_MEMORY. Texts are copied. */
#ifndef CW_MODEL_BUILD_H
#define CW_MODEL_BUILD_H

#include "model/model.h"

typedef struct cw_builder cw_builder;

cw_builder *cw_builder_new(const cw_allocator *allocator);
void cw_builder_free(cw_builder *builder);       /* NULL allowed; after finish too */
cw_arena *cw_builder_arena(cw_builder *builder); /* becomes the model's; for formulas and distributions */

typedef struct cw_value_spec {
    const char *name, *title; /* title NULL = name */
    const char *const *also;
    uint32_t also_count;
    int32_t number;
} cw_value_spec;

/* Adds a fact; `fact` gives name, title, kind, unit, dimension, context, span. background has value_count
 * entries or is NULL (0.02 shared by all values but the first). */
cw_fact_id cw_builder_fact(cw_builder *builder, const cw_fact *fact, const cw_value_spec *values,
                           uint32_t value_count, const double *background);
/* For a line of the proof sheet. */
void cw_builder_fact_only_if(cw_builder *builder, cw_fact_id fact, cw_atom_id only_if);
cw_fact_id cw_builder_find_fact(const cw_builder *builder, const char *name);
const cw_fact *cw_builder_fact_at(const cw_builder *builder, cw_fact_id fact);
const cw_value *cw_builder_value_at(const cw_builder *builder, cw_fact_id fact, uint32_t value);

/* Atoms are made once each: asking again returns the same id. */
cw_atom_id cw_builder_value_atom(cw_builder *builder, cw_fact_id fact, uint32_t value);
cw_atom_id cw_builder_band_atom(cw_builder *builder, cw_fact_id fact, cw_interval band);
cw_atom_id cw_builder_like_atom(cw_builder *builder, cw_fact_id fact, uint32_t pattern);
cw_atom_id cw_builder_unit_atom(cw_builder *builder, cw_fact_id fact, cw_unit_id unit);
cw_atom_id cw_builder_known_atom(cw_builder *builder, cw_fact_id fact);
cw_atom_id cw_builder_caution_atom(cw_builder *builder, cw_caution_id caution);
cw_atom_id cw_builder_step(cw_builder *builder); /* a new one each time */

/* The pattern belongs to the model from here on (also when this fails). */
uint32_t cw_builder_pattern(cw_builder *builder, cw_pattern *pattern);
const cw_pattern *cw_builder_pattern_at(const cw_builder *builder, uint32_t pattern);

uint32_t cw_builder_origin(cw_builder *builder, const cw_origin *origin);
cw_rule_id cw_builder_rule(cw_builder *builder, cw_atom_id head, const cw_premise *premises, uint32_t count,
                           uint32_t need, uint32_t origin);
/* A rule that works out a measured fact; the formula lives in the builder's arena. */
cw_rule_id cw_builder_measure_rule(cw_builder *builder, cw_fact_id measure, const cw_formula *formula,
                                   const cw_premise *premises, uint32_t count, uint32_t origin);

/* A rule whose number is read of a stamped text. The reading is copied. */
cw_rule_id cw_builder_reading_rule(cw_builder *builder, cw_fact_id measure, const cw_reading *reading,
                                   cw_fact_id text, const cw_premise *premises, uint32_t count,
                                   uint32_t origin);

cw_check_id cw_builder_check(cw_builder *builder, const cw_check *check, const cw_tool *tools,
                             uint32_t tool_count, const cw_caution_id *cautions, uint32_t caution_count);
cw_caution_id cw_builder_caution(cw_builder *builder, const cw_caution *caution);
cw_part_id cw_builder_part(cw_builder *builder, const cw_part *part);

/* Parents first. Signs: resolved for this unit (inherited ones included), any order, one per fact; `chances`
 * is copied (value_count entries, or one per pattern). patterns are indices from cw_builder_pattern. */
typedef struct cw_sign_spec {
    cw_sign sign; /* its `patterns` run is ignored */
    const uint32_t *patterns;
    uint32_t pattern_count;
} cw_sign_spec;
cw_unit_id cw_builder_unit(cw_builder *builder, const cw_unit *unit, const cw_sign_spec *signs,
                           uint32_t sign_count);
/* So many units will come, with so many signs in all: room is made once, where it would grow step by step. */
void cw_builder_expect_units(cw_builder *builder, size_t units, size_t signs);
/* A datum on the fact, and its atom: for the rule that concludes the value. `which_unit`: the fact of the
 * unit in hand. */
uint32_t cw_builder_datum(cw_builder *builder, cw_fact_id which_unit, cw_fact_id fact);
cw_atom_id cw_builder_datum_atom(const cw_builder *builder, uint32_t datum);
/* What the unit says itself, at most one datum on each fact. Once for each unit. */
void cw_builder_unit_data(cw_builder *builder, cw_unit_id unit, const uint32_t *data, uint32_t count);
void cw_builder_unit_replaced(cw_builder *builder, cw_unit_id unit, cw_unit_id by);

typedef struct cw_cause_spec {
    cw_cause cause; /* its runs and rank are ignored */
    const cw_sign_spec *signs;
    uint32_t sign_count;
    const cw_shift *shifts;
    uint32_t shift_count;
    const cw_part_id *replace, *look_also;
    uint32_t replace_count, look_also_count;
    const char *const *steps;
    uint32_t step_count;
} cw_cause_spec;
cw_cause_id cw_builder_cause(cw_builder *builder, const cw_cause_spec *spec);
void cw_builder_leads_to(cw_builder *builder, cw_cause_id from, cw_cause_id to, double chance);

void cw_builder_hint(cw_builder *builder, const cw_hint *hint, const cw_suggestion *suggestions,
                     uint32_t count);
/* In the order of work; cautions and causes by the ids they were given here. The runs of `step` are ignored.
 */
cw_assembly_id cw_builder_assembly_step(cw_builder *builder, const cw_assembly_step *step,
                                        const cw_caution_id *cautions, uint32_t caution_count,
                                        const cw_cause_id *comes_back_as, uint32_t cause_count);
/* Both may come later than the call above. */
void cw_builder_assembly_instead_of(cw_builder *builder, cw_assembly_id step, cw_assembly_id of);

/* In the order of telling. */
void cw_builder_heading(cw_builder *builder, const char *name, const char *title, const cw_fact_id *facts,
                        uint32_t count);
void cw_builder_pack(cw_builder *builder, const cw_pack_info *pack);
void cw_builder_not_listed(cw_builder *builder, double chance);
/* The share of jobs in which nothing listed is wrong; 0 (as without a call): that one is brought in says
 * nothing. */
void cw_builder_no_fault(cw_builder *builder, double share);
/* Without a call nothing is said, and every place is a minute away. reach: 0 = not said. */
void cw_builder_costs(cw_builder *builder, const cw_costs *costs);

/* What made finishing fail. Rules around a circle through an absence or a formula, in order, as origins
 * (several equal neighbours merged); or causes that lead to each other in a circle. Lives in the builder. */
typedef struct cw_circle {
    const uint32_t *origins;
    uint32_t origin_count;
    const cw_cause_id *causes;
    uint32_t cause_count;
    const struct cw_circle *next; /* another circle that has nothing to do with this one, or NULL */
} cw_circle;

/* Layers are worked out over strongly connected components (Tarjan 1972): an atom's layer is at least that of
 * every atom its rules need, and one more than that of every atom they need absent, or that a formula reads
 * (a formula is worked out when all its inputs are complete); a BAND or KNOWN atom lies one above the rules
 * that work its fact out, a KNOWN atom of a finite fact not below the fact's values. CW_BAD_INPUT with
 * *circle on a circle. On success the builder is spent; free it. */
cw_status cw_builder_finish(cw_builder *builder, cw_model **out, cw_circle *circle);

#endif
