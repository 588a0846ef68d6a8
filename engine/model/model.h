/* The compiled pack: plain data, ids and look-ups, no YAML. Built once (model/build.h), then immutable and
 * shared by threads; it holds no counters and no caches. Objects name each other by 32-bit ids from 1; 0 is
 * "none". Arrays have count + 1 entries, entry 0 is unused, so ids index them directly.
 *
 * Everything is ground: `each diode` has been expanded before.
 *
 *     check ──answers──▶ fact ◀──concludes── rule ◀──premises── atom ──tests──▶ fact
 *                          ▲
 *            unit signs ───┴─── cause signs
 */
#ifndef CW_MODEL_MODEL_H
#define CW_MODEL_MODEL_H

#include "base/pattern.h"
#include "base/source.h"
#include "corewright/halt.h"
#include "quantity/formula.h"
#include "quantity/quantity.h"
#include <stdbool.h>
#include <stdint.h>

typedef uint32_t cw_fact_id;
typedef uint32_t cw_atom_id;
typedef uint32_t cw_rule_id;
typedef uint32_t cw_check_id;
typedef uint32_t cw_unit_id;
typedef uint32_t cw_cause_id;
typedef uint32_t cw_part_id;
typedef uint32_t cw_caution_id;
typedef uint32_t cw_assembly_id;

/* A run of entries in one of the model's arrays. */
typedef struct cw_run {
    uint32_t first, count;
} cw_run;

typedef enum cw_stage { CW_IDENTIFY, CW_TRIAGE, CW_TEARDOWN, CW_PROOF, CW_STAGE_COUNT } cw_stage;
typedef enum cw_where { CW_AT_COUNTER, CW_AT_VEHICLE, CW_AT_BENCH, CW_AT_TEARDOWN, CW_WHERE_COUNT } cw_where;
/* Sets of stages and places are bit masks: 1u << value. */

/* CW_WHICH_UNIT: a unit of the packs, on any height of their tree, or none of them. Only the check `unit` is
 * of this kind, which the pack reader declares; its answer is a cw_unit_id, CW_NOT_LISTED for none of them.
 */
typedef enum cw_kind { CW_YES_OR_NO, CW_CHOICE, CW_COUNT, CW_MEASURE, CW_STAMPED, CW_WHICH_UNIT } cw_kind;
#define CW_NOT_LISTED 0u
#define CW_NOT_LISTED_NAME "not_listed"
#define CW_UNIT_CHECK "unit"
#define CW_UNIT_DATA "unit_data" /* the name of the rules that conclude what the unit says of itself */

/* One value of a finite fact. Values are numbered 0 .. n - 1 within the fact, in the order normal to worst;
 * for yes or no and counts the order is that of normal first (`normal: yes` puts yes first). */
typedef struct cw_value {
    const char *name;  /* "glow", "yes", "3" */
    const char *title; /* "glows dimly"; the name when none is given */
    cw_run also;       /* model->words: other words people use for it */
    int32_t number;    /* of a count; 0 otherwise */
} cw_value;

/* The values of a verdict on a part, from normal to worst. */
typedef enum cw_verdict { CW_REUSE, CW_REWORK, CW_REPLACE, CW_VERDICT_COUNT } cw_verdict;
/* The values of a line of the proof sheet. */
typedef enum cw_proved { CW_PASS, CW_FAIL, CW_PROVED_COUNT } cw_proved;

typedef struct cw_fact {
    const char *name;  /* ground: "diode_state[d1]" */
    const char *title; /* {thing} replaced; the name when none is given */
    cw_kind kind;
    cw_check_id check;     /* none for a fact that only rules conclude */
    cw_part_id verdict_on; /* the part it decides about; its values are those of cw_verdict. 0 = no verdict */
    uint32_t proof; /* its place on the proof sheet, from 1; its values are those of cw_proved. 0 = no line of
                       it */
    bool optional;  /* a line that a passed sheet can do without */
    cw_atom_id only_if; /* a line that concerns only units of which this holds; none = all */
    cw_run values;      /* model->values; empty for measures and texts */
    const double
        *background; /* finite facts: how often each value is seen with nothing listed wrong; sums to 1 */
    const cw_unit_info *unit; /* measures: for printing */
    cw_dimension dimension;
    bool context;                     /* never a sign, and sharing it is not double counting */
    cw_run atoms;                     /* model->fact_atoms: the atoms that test it */
    uint32_t unit_signs, cause_signs; /* how many units, and causes, have a sign on it */
    cw_span span;
} cw_fact;

/* Something that is true, doubtful or not: what premises and conclusions speak of. */
typedef enum cw_atom_kind {
    CW_ATOM_VALUE,  /* a finite fact has the value */
    CW_ATOM_BAND,   /* a measured fact lies in the interval */
    CW_ATOM_LIKE,   /* a stamped text matches the pattern */
    CW_ATOM_UNIT,   /* the unit in hand is this one or below it; doubtful when only one above it is known */
    CW_ATOM_DATUM,  /* the unit in hand says this datum, itself or through what stands above it */
    CW_ATOM_KNOWN,  /* the fact has a value */
    CW_ATOM_STEP,   /* an inner step of a nested condition, concluded by inner rules */
    CW_ATOM_CAUTION /* the caution is raised */
} cw_atom_kind;

typedef struct cw_atom {
    cw_atom_kind kind;
    cw_fact_id fact;  /* none for steps and cautions */
    uint32_t value;   /* VALUE: number within the fact; LIKE: index in model->patterns; UNIT: its id;
                         DATUM: its id;
                         CAUTION: its id */
    cw_interval band; /* BAND */
    uint32_t layer;   /* stratum; answers are layer 0 */
    cw_run used_by;   /* model->uses: rules with this atom among their premises (with or without `absent`) */
    cw_run concluded_by; /* model->concludes: rules with this head */
} cw_atom;

typedef struct cw_premise {
    cw_atom_id atom;
    bool absent; /* holds when the atom cannot be concluded; doubtful when it is doubtful */
} cw_premise;

/* How a number is read of a stamped text: what the first group of the pattern catches in it. */
typedef struct cw_reading {
    uint32_t pattern;         /* model->patterns */
    const cw_unit_info *unit; /* of a number without one; NULL: a plain number */
    cw_dimension dimension;
    cw_interval range; /* base unit; what lies outside is not taken */
} cw_reading;

/* A ground rule: head holds when at least `need` of its premises hold (all of them, except for `at least N`).
 */
typedef struct cw_rule {
    cw_atom_id head;           /* none when it works out a measure */
    cw_fact_id measure;        /* the measured fact it works out, or none */
    const cw_formula *formula; /* inputs are fact ids */
    const cw_reading *reading; /* the formula's one input is a stamped text, and this how its number is read;
                                  NULL: the inputs are numbers */
    cw_run premises;           /* model->premises */
    uint32_t need;
    uint32_t
        origin; /* model->origins: the rule as written; several ground rules share one. 0 for a bare step */
    uint32_t layer;
} cw_rule;

/* A rule as the trainer wrote it. */
typedef struct cw_origin {
    const char *name;
    const char *because;
    const char *source;
    cw_span span;
} cw_origin;

typedef struct cw_tool {
    const char *name;
    double error; /* base unit, one standard deviation */
} cw_tool;

typedef struct cw_check {
    const char *name; /* ground */
    cw_fact_id fact;
    const char *ask, *title, *how, *picture, *source; /* how, picture, source may be NULL */
    uint32_t places;                                  /* mask of cw_where */
    uint32_t stages;                                  /* mask of cw_stage */
    double minutes;
    cw_interval range;      /* measures, base unit; counts */
    cw_run tools;           /* model->tools; at least one for measures */
    cw_atom_id only_if;     /* asked only while this holds; none = always */
    cw_atom_id first_while; /* asked before all others while this holds; none = never */
    cw_run cautions;        /* model->caution_lists */
    double swapped;         /* share of units whose feature an earlier rebuild has changed */
    uint32_t swap_group; /* checks of one group, 1 to swap_groups_count, are swapped together, and `swapped`
                            is the same in all of them; 0 = by itself */
    double blunders;     /* share of plainly wrong readings */
    bool lasting;        /* a rebuild changes nothing about its answer, which counts at the proof stage too */
    cw_span span;
} cw_check;

typedef struct cw_caution {
    const char *name, *say, *source;
    cw_halt stop;
    cw_atom_id atom; /* raised by rules; none if no rule does */
} cw_caution;

typedef struct cw_part {
    const char *name, *title;
    enum { CW_PART_UNIT, CW_PART_VEHICLE, CW_PART_INSTALLATION } where;
    cw_part_id replaced_by;
    bool always;    /* changed at every rebuild, whatever it measures */
    double cost;    /* shop money; 0 = not said */
    uint32_t apart; /* its place in the order in which a unit comes apart, from 1; 0 = not said */
    cw_span span;
} cw_part;

/* How often a unit shows what, for one fact. Inherited signs are resolved: each version lists all of its own.
 */
typedef enum cw_sign_kind { CW_SIGN_VALUES, CW_SIGN_NORMAL, CW_SIGN_PATTERNS } cw_sign_kind;
typedef struct cw_sign {
    cw_fact_id fact;
    cw_sign_kind kind;
    const double
        *chances; /* VALUES: one per value of the fact, sums to 1. PATTERNS: how often each of `patterns` */
    double mean, sd; /* NORMAL: production alone, base unit */
    cw_run patterns; /* PATTERNS: model->pattern_lists, indices in model->patterns */
    const char *source;
    cw_span span;
    cw_unit_id said_by; /* of units: the one that says it, which hands it down; 0 where nobody told */
} cw_sign;

/* What units say of themselves for certain: a value of a fact. Units that say the same share one. A rule with
 * the datum's atom as its premise concludes the value. */
typedef struct cw_datum {
    cw_fact_id fact;
    cw_atom_id atom;
} cw_datum;

typedef struct cw_unit {
    const char *name, *title, *notes, *source; /* notes may be NULL */
    cw_unit_id parent;
    cw_run signs; /* model->signs, sorted by fact; versions only, empty for inner nodes */
    cw_run data;  /* model->unit_data: what this node says itself, sorted by fact */
    double seen;  /* versions */
    bool version; /* a leaf: something that can lie on the counter */
    cw_unit_id replaced_by;
    cw_span span;
} cw_unit;

typedef struct cw_link { /* cause leads to cause */
    cw_cause_id from, to;
    double chance;
} cw_link;

typedef struct cw_shift { /* a circumstance that multiplies the odds of a cause */
    cw_atom_id atom;
    double times;
    const char *because, *source; /* may be NULL */
} cw_shift;

typedef struct cw_cause {
    const char *name, *title, *because, *source; /* because may be NULL */
    cw_part_id part;
    double seen;               /* comes about by itself, per job */
    cw_run signs;              /* model->signs, kind VALUES, sorted by fact */
    cw_atom_id ruled_out;      /* none = never */
    cw_run shifts;             /* model->shifts */
    cw_run leads_to;           /* model->links, sorted by to */
    cw_run replace, look_also; /* model->part_lists */
    cw_run steps;              /* model->words */
    double minutes;            /* that the plan takes, all of it; 0 = not said */
    uint32_t rank;             /* layer among causes: larger than that of every cause that leads to it */
    cw_span span;
} cw_cause;

/* People's words that suggest answers; or, where `before` is given, a denial and nothing else: what it finds
 * right in front of another hint's words, in the same sentence, takes those back. */
typedef struct cw_hint {
    const char *name, *say;          /* say is NULL in a denial */
    uint32_t like, not_like, before; /* model->patterns; 0 = none */
    bool even_denied;                /* no denial takes it back */
    cw_run suggests;                 /* model->suggestions */
    cw_span span;
} cw_hint;
typedef struct cw_suggestion {
    cw_check_id check;
    const char *answer; /* as it would be typed */
} cw_suggestion;

/* A step of putting the unit together. Ids stand in the order of work, whichever of them apply. */
typedef struct cw_assembly_step {
    const char *name, *title, *action, *source;
    const char *mistake, *tool, *figure, *picture, *because; /* may be NULL; figure: a quantity as written */
    cw_part_id part;                                         /* 0 = of none */
    cw_atom_id only_if;                                      /* none = always */
    cw_atom_id shows_when; /* when the mistake makes itself felt; none = at any time */
    cw_assembly_id
        instead_of;       /* left out where this one applies; stands in place of none itself. 0 = of none */
    cw_run cautions;      /* model->caution_lists */
    cw_run comes_back_as; /* model->cause_lists */
    cw_span span;
} cw_assembly_step;

/* One heading of the description of a unit in hand, and the facts that stand under it. */
typedef struct cw_heading {
    const char *name, *title;
    cw_run facts; /* model->heading_facts, in the order of telling; no fact stands under two */
} cw_heading;

/* What work costs a shop: minutes, and its own money. */
typedef struct cw_spent {
    double minutes, money;
} cw_spent;
typedef struct cw_costs {
    double hour;                  /* money for an hour of work; 0 = not said, then only minutes count */
    double reach[CW_WHERE_COUNT]; /* minutes to get to a place from another; CW_AT_TEARDOWN: with closing the
                                     unit again, for what is opened stays open; 1 where not said */
    cw_spent comeback;            /* a job that comes back uncured, besides its repair; 0 = not said */
    cw_spent exchange;            /* another unit in place of the one in hand; 0 = not said */
} cw_costs;

typedef struct cw_pack_info {
    const char *name, *title;
    uint32_t version;
    char sha256[65]; /* of the pack's files, in order of their names: name, NUL, length, content */
} cw_pack_info;

typedef struct cw_model cw_model;

struct cw_model {
    uint32_t packs_count, facts_count, atoms_count, rules_count, origins_count, checks_count, cautions_count,
        parts_count, units_count, causes_count, hints_count, patterns_count, layers_count, swap_groups_count,
        assembly_steps_count, headings_count, data_count;
    const cw_pack_info *packs; /* the first one named first; then the needed ones by name */
    const cw_fact *facts;
    const cw_value *values;
    const cw_atom *atoms;
    const cw_rule *rules; /* sorted by layer */
    const cw_premise *premises;
    const cw_origin *origins;
    const cw_check *checks;
    const cw_tool *tools;
    const cw_caution *cautions;
    const cw_part *parts;
    const cw_sign *signs;
    const cw_unit *units; /* parents before children */
    const cw_datum *data;
    const cw_link *links;
    const cw_shift *shifts;
    const cw_cause *causes; /* by rank, then by name */
    const cw_hint *hints;
    const cw_assembly_step *assembly_steps;
    const cw_suggestion *suggestions;
    const cw_heading *headings; /* in the order of telling */
    cw_pattern *const *patterns;
    const char *const *words;
    const uint32_t *fact_atoms, *uses, *concludes, *caution_lists, *part_lists, *pattern_lists, *cause_lists,
        *heading_facts, *unit_data;
    double not_listed; /* chance that a core is in no catalogue */
    double idle; /* how often one is brought in with nothing listed wrong, for each time with something: above
                    0, at most 1; 1 = that it was brought in says nothing */
    cw_costs costs;
    const struct cw_model_index *index; /* names to ids; private to model/ */
    struct cw_arena *arena;             /* owns all of it, patterns apart */
    /* Of a model out of an image (image.h) the arena owns this struct alone. */
    struct cw_pattern_set *pattern_set; /* owns the patterns; NULL: each owns itself */
    struct cw_model_hold *hold;         /* owns the rest; NULL: the arena does */
};

/* What a model's bytes lie in, from whoever brought them; let_go is called once, last. */
typedef struct cw_model_hold {
    void (*let_go)(struct cw_model_hold *hold);
    const void *beside; /* what was kept with the model (image.h); NULL: nothing */
} cw_model_hold;

/* By ground name; 0 if unknown. */
cw_fact_id cw_model_fact(const cw_model *model, const char *name);
cw_check_id cw_model_check(const cw_model *model, const char *name);
cw_unit_id cw_model_unit(const cw_model *model, const char *name);
cw_cause_id cw_model_cause(const cw_model *model, const char *name);

/* The value's number within the fact, or UINT32_MAX. */
uint32_t cw_fact_value(const cw_model *model, cw_fact_id fact, const char *name);
/* The number that is read of a text; *found is false when it holds none, in the right unit and range.
 * CW_LIMIT when the pattern runs out of steps, CW_NO_MEMORY, CW_BAD_INPUT for a text that is not UTF-8. */
cw_status cw_reading_take(const cw_model *model, const cw_reading *reading, const char *text, bool *found,
                          double *number);
/* The atom that says fact = value, or 0 when nothing speaks of it. */
cw_atom_id cw_fact_value_atom(const cw_model *model, cw_fact_id fact, uint32_t value);

/* The unit is `of` or stands below it. CW_NOT_LISTED is only within itself. */
bool cw_unit_within(const cw_model *model, cw_unit_id unit, cw_unit_id of);

/* The datum that counts for the unit: its own on this fact, else that of the nearest unit above it; 0 if
 * there is none. */
uint32_t cw_unit_datum(const cw_model *model, cw_unit_id unit, cw_fact_id fact);

void cw_model_free(cw_model *model); /* NULL allowed */

const char *cw_stage_name(cw_stage stage);
const char *cw_where_name(cw_where where);
bool cw_stage_find(const char *name, cw_stage *out);
bool cw_where_find(const char *name, cw_where *out);

#endif
