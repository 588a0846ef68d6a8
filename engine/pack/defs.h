/* The definitions that a pack is read into: names resolved, places known, not yet ground. They live in the
 * compiler's arena, and what they point to. */
#ifndef CW_PACK_DEFS_H
#define CW_PACK_DEFS_H

#include "base/atom.h"
#include "base/vec.h"
#include "model/build.h"
#include "pack/pack.h"
#include "pack/shape.h"

/* One entry of a section, as declared. */
typedef struct entry {
    const char *name;
    const cw_node *key, *body;
    uint32_t pack;
    bool is_check; /* in the array that checks and facts share */
} entry;

typedef struct thing_kind {
    const entry *at;
    const cw_names *names; /* thing i is name i + 1 */
    uint32_t count;        /* 0: the list is wrong */
} thing_kind;

/* `each`: how many ground ones, and over which kinds (indices into compiler->kinds). */
typedef struct each_spec {
    uint32_t kinds[MOST_KINDS];
    uint32_t count;
    uint32_t ground;
} each_spec;

typedef struct rule_def rule_def;
typedef struct cond cond;

/* Rules that conclude a fact. */
typedef struct concluder {
    rule_def *rule;
    const struct concluder *next;
} concluder;

/* The answer of a check, or a fact. */
typedef struct fact_def {
    const entry *at;
    bool implicit; /* implicit: only rules speak of it */
    bool whole;    /* its kind and values can be relied on */
    bool used;     /* something asks for it */
    bool datum;    /* units say it of themselves */
    bool context;
    uint32_t verdict_on;   /* index of the part + 1; 0 = no verdict */
    uint32_t proof;        /* place on the proof sheet; 0 = no line of it */
    bool optional;         /* ... that a passed sheet can do without */
    struct line_def *line; /* NULL = no line */
    each_spec each;
    cw_kind kind;
    const cw_value_spec *values; /* in the model's order */
    uint32_t value_count;
    const double *background;
    cw_dimension dimension;
    const cw_unit_info *unit;
    cw_interval range;                  /* of a check's measure or count */
    const char *title;                  /* {thing} not yet replaced */
    uint32_t number;                    /* ground facts before it */
    cw_fact_id first;                   /* ground id of the first, once emitted; 0 before */
    bool unit_sign, cause_sign, counts; /* who has signs on it */
    bool described;                     /* a heading of the description names it */
    uint32_t stages;                    /* mask: where knowing it counts */
    const concluder *rules;
    struct check_def *check;
    cw_vec seen_values; /* implicit: const char *, each once */
    bool spoilt;        /* implicit: something about it has been complained of */
} fact_def;

/* A fact with its things: an index each, or BOUND + the number of a binding. */
#define BOUND 0x80000000u
typedef struct fact_ref {
    fact_def *fact;
    uint32_t things[MOST_KINDS];
} fact_ref;

/* What is bound at one place: binding i runs over kinds[i]. */
typedef struct scope_def {
    uint32_t kinds[MOST_BOUND];
    uint32_t count;
} scope_def;

typedef enum cond_kind {
    COND_ALL,
    COND_ANY,
    COND_NONE,
    COND_SOME,
    COND_EVERY,
    COND_NO,
    COND_AT_LEAST,
    COND_TEST
} cond_kind;

/* A condition, read but not yet ground. */
struct cond {
    cond_kind kind;
    const cond **parts; /* groups; one part for what runs over things */
    uint32_t count;
    uint32_t thing_kind, binding, need; /* what runs over things */
    fact_ref ref;                       /* a test */
    cw_atom_kind test;
    const uint32_t *values; /* VALUE, UNIT: any of them */
    bool refused;           /* UNIT: the unit is known, and it is none of them */
    cw_interval band;
    uint32_t pattern;
    uint64_t bound;      /* mask of outer bindings it hangs on */
    cw_premise *premise; /* where it is kept: made once when it hangs on none */
};

/* A value that is read of a stamped text. */
typedef struct text_reading {
    fact_ref text;
    cw_reading number;        /* of a measured fact */
    const uint32_t *patterns; /* of any other: for each of its values, one that only its words fit */
} text_reading;

typedef struct conclusion {
    fact_ref ref;
    uint32_t value;
    const cw_node *formula;      /* or NULL */
    const text_reading *reading; /* or NULL */
    bool whole;
} conclusion;

struct rule_def {
    const entry *at;
    const cw_node *fields[keys_of_rule];
    each_spec each;
    const cond *when;
    conclusion *then;
    uint32_t then_count;
    const uint32_t *cautions;
    uint32_t caution_count;
    cw_vec mentions; /* fact_def *: what `if` and formulas ask for */
    bool whole;
    uint32_t first_origin, origin_count;
};

typedef struct check_def {
    fact_def *fact;
    const cw_node *fields[keys_of_check];
    cw_check check; /* as for the builder, texts not yet replaced */
    scope_def scope;
    const cond *only_if, *first_while;
    cw_vec mentions;
    const cw_tool *tools;
    uint32_t tool_count;
    const uint32_t *cautions;
    uint32_t caution_count;
    bool stages_given, lasting_given;
} check_def;

/* A line of the proof sheet. */
typedef struct line_def {
    const cw_node *only_if_node; /* NULL: it concerns every unit */
    scope_def scope;
    const cond *only_if;
    cw_vec mentions;
} line_def;

/* Checks that are swapped together. */
typedef struct swap_def {
    const cw_node *how_often, *with; /* where it was said first */
    const fact_def *first;
    double swapped;
    uint32_t members; /* ground checks */
} swap_def;

typedef struct sign_def {
    const fact_def *fact;
    uint32_t ground; /* which of the fact's */
    cw_sign sign;
    const uint32_t *patterns;
    uint32_t pattern_count;
} sign_def;

typedef struct sign_list {
    const sign_def **signs; /* in order of their facts */
    uint32_t count;
} sign_list;

/* What a unit says of itself for certain, by one text that units with the same share (data.c). */
typedef struct datum_def {
    fact_def *fact;
    uint32_t ground;      /* which of the fact's */
    uint32_t value;       /* finite */
    double number, error; /* measured, base unit */
    const char *source;
    cw_span span; /* where it was said first */
} datum_def;

typedef struct unit_def {
    const cw_node *key;
    cw_unit unit;
    sign_list signs;
    const uint32_t *data; /* indices into compiler->data */
    uint32_t data_count;
    const cw_node *replaced_by;
    uint32_t replacement; /* index + 1 */
} unit_def;

typedef struct shift_def {
    const cond *when;
    cw_shift shift;
} shift_def;

typedef struct link_def {
    uint32_t to; /* index among causes */
    double chance;
} link_def;

typedef struct cause_def {
    const entry *at;
    bool whole;
    cw_cause cause;
    sign_list signs;
    const cond *ruled_out;
    const shift_def *shifts;
    const link_def *leads_to;
    const uint32_t *replace, *look_also;
    const char *const *steps;
    uint32_t shift_count, leads_to_count, replace_count, look_also_count, step_count;
    cw_vec mentions;
} cause_def;

typedef struct word_def {
    cw_hint hint;
    fact_ref *refs;
    const char **answers;
    uint32_t count;
} word_def;

/* A step of assembly. */
typedef struct step_def {
    const entry *at;
    bool whole;
    cw_assembly_step step;    /* texts and part; as for the builder */
    const cw_node *stands_in; /* `instead_of`, where it names a step */
    uint32_t instead_of;      /* index + 1; 0 = of none */
    const cond *only_if, *shows_when;
    const uint32_t *after, *before, *cautions, *comes_back_as;
    uint32_t after_count, before_count, caution_count, cause_count;
    bool own_after, own_before; /* said, so that those of `instead_of` do not count */
} step_def;

/* A heading of the description. */
typedef struct heading_def {
    const entry *at;
    const char *title;
    int32_t order;
    const fact_ref *facts;
    const cw_node **names; /* beside facts: where they are named */
    uint32_t count;
} heading_def;

typedef struct pack_def {
    cw_pack_info info;
    const char *folder;
    const cw_pack_file *const *files; /* in the order in which they are read */
    size_t file_count;
    const cw_node **roots; /* one per file that could be read */
    uint32_t root_count;
    const cw_node *header, *header_key;
    const cw_node *fields[keys_of_pack];
    const cw_node *needs; /* an array */
    uint32_t needs_count;
    double not_listed, no_fault, blunders;
    cw_costs costs; /* where the header says any */
    bool named;     /* by the caller, not only needed by another */
    bool learned;   /* what it holds besides its header are learned frequencies alone */
} pack_def;

#endif
