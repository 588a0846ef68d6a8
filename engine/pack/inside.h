/* What the files of this room share: the compiler's state, and what each file does for the others. Nobody
 * outside pack/ includes this.
 *
 * The order of work (compile.c): every file to nodes; every name of every section declared; every body read
 * into a definition, with all complaints; then, as far as definitions are whole, facts, rules and the rest
 * handed to the builder in order of their names, so that the order of files and entries means nothing. Rules,
 * of which there may be a million, go there one by one as they are read. */
#ifndef CW_PACK_INSIDE_H
#define CW_PACK_INSIDE_H

#include "base/nearest.h"
#include "model/image.h"
#include "pack/ahead.h"
#include "pack/defs.h"

typedef struct compiler {
    const cw_allocator *allocator;
    cw_arena *arena;              /* nodes and definitions; gone when the model is made */
    cw_arena *hands[AHEAD_HANDS]; /* nodes of files that were read ahead */
    cw_arena *passing; /* conditions and conclusions of the rule that is read; NULL between rules */
    cw_sources *sources;
    cw_diags *diags;
    cw_builder *builder;
    bool no_memory;
    bool holes;      /* a file or pack could not be read, so a missing name proves nothing */
    bool from_disk;  /* packs lie in folders, with others beside them */
    bool unreadable; /* a file or folder */
    bool held_back;  /* a complaint was held back because of that */
    size_t errors_before;

    cw_vec packs; /* pack_def */
    cw_names *names;
    cw_vec entries[SECTION_COUNT]; /* entry, sorted by name once all are declared */
    cw_vec by_name[SECTION_COUNT]; /* uint32_t by name number: index + 1. Facts and checks share that of
                                      checks */
    cw_vec facts;                  /* fact_def *: checks and facts, by name */
    cw_vec kinds;                  /* thing_kind, beside the entries of things */
    cw_vec rules;                  /* rule_def *, by name */
    cw_vec causes;                 /* cause_def, beside the entries of causes */
    cw_vec units;                  /* unit_def, parents first */
    cw_vec data;                   /* datum_def */
    cw_names *data_names;          /* a datum's words; number - 1 is its index */
    cw_part *parts;                /* beside the entries of parts */
    cw_caution *cautions;          /* beside the entries of cautions */
    cw_vec patterns;     /* uint32_t by name number of the pattern's text: the builder's number, 0 = not made,
                            BAD_PATTERN_NUMBER */
    cw_vec swap_numbers; /* uint32_t by name number: index among swaps + 1 */
    cw_vec swaps;        /* swap_def; checks are read by name, so they stand in a fixed order */
    cw_vec words;        /* word_def */
    cw_vec steps;        /* step_def, beside the entries of steps */
    const uint32_t *step_order; /* indices among steps, in the order of work; NULL: they run in a circle */
    cw_vec headings;            /* heading_def */
    cw_vec specs;               /* cw_sign_spec: room for those of one unit or cause */
    cw_vec premises;            /* cw_premise: a stack while conditions are made ground */
    cw_vec origin_rules;        /* rule_def * by origin */
    uint64_t ground_rules;
    bool too_many_rules;
} compiler;

#define BAD_PATTERN_NUMBER UINT32_MAX
#define complain(c, code, span, ...) cw_diags_add((c)->diags, CW_DIAG_##code, (span), __VA_ARGS__)
/* meant.c: how to write what was meant; NULL where it is not plain (or memory is out). */
const char *meant_comparison(compiler *c, const char *text);
const char *meant_frequency(compiler *c, const char *text);
const char *meant_list(compiler *c, const char *text);
void help_number(compiler *c, cw_diag *diag, const char *text);
void help_units(compiler *c, cw_diag *diag, cw_dimension wanted); /* quantity.c */
bool comment_cuts(const compiler *c, cw_span span);
#define help(c, diag, ...) cw_diag_help((c)->diags, (diag), __VA_ARGS__)

/* --- read.c: small readers. Each complains and returns false or NULL when the node is not what is wanted.
 * --- */
void *take(compiler *c, size_t count, size_t size); /* zeroed, in the arena; NULL and no_memory on failure */
/* The same for what is needed until a condition is ground: of a rule, that is at once. */
void *take_passing(compiler *c, size_t count, size_t size);
void *append(compiler *c, cw_vec *vec); /* as cw_vec_add; no_memory on failure */
bool node_is(const cw_node *node, const char *word);
/* Where text[at .. at + length) of a scalar stands in its file; the whole scalar when quotes or folds hide
 * it. */
cw_span spot(const compiler *c, const cw_node *node, size_t at, size_t length);
void help_nearest(compiler *c, cw_diag *diag, const cw_nearest *nearest);
bool read_fields(compiler *c, const shape_def *shape, const char *name, cw_span where, const cw_node *body,
                 const cw_node **fields);
const char *read_text(compiler *c, const cw_node *node, const char *what);
const char *read_optional_text(compiler *c, const cw_node *node, const char *what);
bool read_yes(compiler *c, const cw_node *node, const char *what, bool *out);
bool read_frequency(compiler *c, const cw_node *node, double *out);
bool read_number(compiler *c, const cw_node *node, const char *what, double *out);
bool read_whole(compiler *c, const cw_node *node, size_t at, size_t size, const char *what, int32_t *out);
/* One word or a list of them, as an array of nodes. */
bool read_list(compiler *c, const cw_node *node, const char *what, const cw_node **items, size_t *count);
bool read_map(compiler *c, const cw_node *node, const char *what);
/* Names of a section, to indices; unknown ones are complained of and left out. */
bool read_names(compiler *c, const cw_node *node, section of, const char *what, const uint32_t **indices,
                uint32_t *count);
bool read_name(compiler *c, const cw_node *node, section of, uint32_t *index);
const char *section_key(section of); /* as it stands in packs: "rules" */
void unknown_name(compiler *c, cw_span span, section of, const char *name);
bool name_is_valid(const char *text, size_t size);
bool value_is_valid(const char *text, size_t size);
/* 0 .. or UINT32_MAX */
uint32_t find_entry(const compiler *c, section of, const char *name, size_t size);

/* --- quantity.c --- */
bool read_quantity(compiler *c, const cw_node *node, size_t at, size_t size, cw_dimension wanted,
                   const char *of, double *base);
bool read_range(compiler *c, const cw_node *node, cw_dimension wanted, const char *of, cw_interval *out);
bool read_tolerance(compiler *c, const cw_node *node, cw_dimension wanted, const char *of, double *middle,
                    double *tolerance);
/* A quantity or a range of whatever dimension, with its unit. */
bool read_figure(compiler *c, const cw_node *node);
/* Behind the span a comma stands between two digits. */
bool comma_cuts(const compiler *c, cw_span before);
/* For a figure outside the range of the fact. */
cw_span range_span(const fact_def *fact); /* where a check says its range */
void help_range(compiler *c, cw_diag *diag, const fact_def *fact, const cw_node *node);
/* A difference: a reading error, a deviation. */
bool read_spread(compiler *c, const cw_node *node, cw_dimension of_dimension, const char *of, double *out);

/* --- pattern.c --- */
uint32_t read_pattern(compiler *c, const cw_node *node); /* 0 when it is wrong */
/* The same for people's own words: hundreds of long patterns, of which no two are equal. */
uint32_t read_words_pattern(compiler *c, const cw_node *node);
/* Of a text that is known to be good. CW_LIMIT where it is too long. */
cw_status take_pattern(const compiler *c, const char *text, size_t size, cw_pattern **out);

/* --- declare.c --- */
void declare_all(compiler *c);
/* The index under which an equal name was declared before, or UINT32_MAX: then it is declared with this
 * index. */
uint32_t declare_name(compiler *c, section of, const char *name, size_t size, uint32_t index);
void sort_entries(entry *entries, size_t count);
void bad_name(compiler *c, const cw_node *key, const char *what);

/* --- swap.c --- */
void read_swapped(compiler *c, const cw_node *node, check_def *check);
void warn_swaps(compiler *c);

/* --- each.c: things --- */
void read_things(compiler *c);
bool read_each(compiler *c, const cw_node *node, each_spec *out);
scope_def scope_of(const each_spec *each);
/* The thing chosen for each kind when the ground ones are counted through. */
void choose_things(const compiler *c, const each_spec *each, uint32_t ground, uint32_t *chosen);
const char *ground_name(compiler *c, const char *name, const each_spec *each, uint32_t ground);
/* {diode} replaced; the text itself when there is nothing to replace; NULL stays NULL. */
const char *ground_text(compiler *c, const char *text, const each_spec *each, uint32_t ground);
const char *thing_name(const compiler *c, uint32_t kind, uint32_t thing);
const thing_kind *kind_at(const compiler *c, uint32_t kind);

/* --- fact.c --- */
void sort_facts(compiler *c); /* by name, and numbers their ground ones */
void read_facts(compiler *c);
void emit_facts(compiler *c);
fact_def *fact_at(const compiler *c, size_t index);
bool is_finite(const fact_def *fact);
/* A value's number, or UINT32_MAX after complaining. */
uint32_t read_value(compiler *c, const fact_def *fact, const cw_node *node, size_t at, size_t size);
uint32_t find_value(const fact_def *fact, const char *text, size_t size);

/* --- which.c: the check `unit`, which no pack declares --- */
void declare_which_unit(compiler *c);
bool is_which_unit(const char *name);
void make_which_unit(compiler *c, fact_def *fact);
/* A unit's id, CW_NOT_LISTED too, or UINT32_MAX after complaining. */
uint32_t read_unit_name(compiler *c, const cw_node *node, size_t at, size_t size);
bool read_unit_test(compiler *c, const cw_node *node, cond *test);

/* --- choices.c: kind and values of a check or fact --- */
typedef struct kind_nodes {
    const cw_node *choices, *count, *measure, *unit, *range, *reading_error, *text, *normal, *background;
} kind_nodes;
bool read_kind(compiler *c, fact_def *fact, const kind_nodes *nodes);
/* The unit of this symbol, if it is one of what the fact measures. */
const cw_unit_info *read_symbol(compiler *c, const fact_def *fact, const cw_node *node);

/* --- distribution.c --- */
/* {value: frequency}, or one frequency for yes or no. rest_to is the value that what is left goes to, or
 * UINT32_MAX: shared among the values not named. */
bool read_distribution(compiler *c, const fact_def *fact, const cw_node *node, uint32_t rest_to,
                       double *chances);

/* --- reference.c --- */
typedef struct reference_problem {
    cw_code code;
    size_t at, length; /* within the name */
    const char *message, *help;
} reference_problem;
/* "diode_drop", "diode_drop[d1]". False with the problem filled, which is to be told by the caller. */
bool resolve(compiler *c, const scope_def *scope, const char *text, size_t size, fact_ref *ref,
             reference_problem *problem);
/* The same, and complains. */
bool read_reference(compiler *c, const scope_def *scope, const cw_node *node, fact_ref *ref);
void tell_problem(compiler *c, const cw_node *node, size_t at, const reference_problem *problem);
/* Which of the fact's ground ones, things being chosen for the bindings. */
uint32_t ground_of(const compiler *c, const fact_ref *ref, const uint32_t *bindings);

/* --- condition.c --- */
const cond *read_condition(compiler *c, scope_def *scope, const cw_node *node, cw_vec *mentions);
/* --- test.c --- */
bool read_test(compiler *c, const cw_node *node, cond *test);

/* --- ground.c --- */
/* Pushes the premises on compiler->premises; the caller takes them off again. */
void ground_all(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin);
/* One atom that holds exactly when the condition does; a step where it must be. */
cw_atom_id ground_atom(compiler *c, const cond *when, uint32_t *bindings, uint32_t origin);
void add_ground_rule(compiler *c, cw_atom_id head, size_t first_premise, uint32_t need, uint32_t origin);

/* --- rule.c, conclude.c, formula.c, check.c, part.c, unit.c, sign.c, cause.c, word.c, stages.c,
 * description.c --- */
void collect_rules(compiler *c); /* fields, and facts that only rules speak of */
void collect_conclusions(compiler *c, rule_def *rule);
void read_conclusions(compiler *c, rule_def *rule);
/* Reads each rule and hands it over, ground: of a million none but the names stays. Facts, cautions and
 * units' names are there before. */
void read_rules(compiler *c);
bool check_formula(compiler *c, const scope_def *scope, const cw_node *node, const fact_def *result,
                   cw_vec *mentions);
const cw_formula *make_formula(compiler *c, const scope_def *scope, const cw_node *node,
                               const uint32_t *bindings);
/* --- reading.c --- */
bool read_reading(compiler *c, rule_def *rule, const cw_node *node, conclusion *then);
void emit_reading(compiler *c, const conclusion *then, const uint32_t *bindings, uint32_t origin);
void read_checks(compiler *c);
void emit_checks(compiler *c);
/* line.c; read_lines and emit_lines: the conditions of those that concern some units only */
bool has_choices(const fact_def *fact, const char *const *words, uint32_t count);
bool read_proof(compiler *c, fact_def *fact, const cw_node *const *fields);
void refuse_without_proof(compiler *c, const fact_def *fact, const cw_node *const *fields);
void read_lines(compiler *c);
void emit_lines(compiler *c);
void read_parts(compiler *c);
void emit_parts(compiler *c);
void emit_cautions(compiler *c);
void read_cautions(compiler *c);
void read_units(compiler *c);
void emit_units(compiler *c);
typedef enum sign_owner { SIGN_OF_UNIT, SIGN_OF_CAUSE } sign_owner;
bool read_signs(compiler *c, const cw_node *node, sign_owner owner, const char *source,
                const sign_list *inherited, sign_list *out);
const cw_sign_spec *sign_specs(compiler *c, const sign_list *signs);
/* --- data.c --- */
bool read_data(compiler *c, const cw_node *node, const char *source, unit_def *unit);
void emit_data(compiler *c);
void emit_unit_data(compiler *c, const unit_def *unit, cw_unit_id id);
void read_causes(compiler *c);
void emit_causes(compiler *c, bool whole);
void read_words(compiler *c);
void read_prices(compiler *c);
void emit_words(compiler *c);
/* description.c: facts that stand under a heading are looked for at identify. */
void read_description(compiler *c);
void emit_description(compiler *c);
void work_out_stages(compiler *c);

/* --- assembly.c --- */
void read_assembly(compiler *c);
void emit_assembly(compiler *c);
/* --- order.c --- */
/* Finds step_order, or complains of circles. */
void order_assembly(compiler *c);

/* --- learned.c --- */
bool is_learned(section of);
void learn_cause(compiler *c, cause_def *cause);
void learn_unit(compiler *c, unit_def *unit, bool leaf);
void learn_backgrounds(compiler *c);
/* Complains of learned entries that the book has no entry for. */
void check_learned(compiler *c, section learned, section book);
/* The pack whose header counts for all: the one named first; where that holds but learned frequencies, the
 * first one that it needs. */
const pack_def *leading_pack(const compiler *c);
/* --- unit.c --- */
void read_seen(compiler *c, const cw_node *node, unit_def *unit, bool leaf);

/* --- header.c --- */
void read_header(compiler *c, pack_def *pack);
void check_needs(compiler *c);
pack_def *find_pack(const compiler *c, const char *name);

/* --- lint.c --- */
void lint(compiler *c, const cw_model *model);
/* --- circle.c --- */
void tell_circles(compiler *c, const cw_circle *circle);
void tell_names_around(compiler *c, cw_code code, const char *what, const char *const *names,
                       const cw_span *spans, uint32_t count);
/* Follows next[] (index + 1, 0 = end) and complains of every circle once. */
typedef void (*tell_circle)(compiler *c, const uint32_t *around, uint32_t count);
void find_replacement_circles(compiler *c, const uint32_t *next, uint32_t count, tell_circle visit);

/* --- compile.c --- */
cw_status compiler_start(compiler *c, const cw_allocator *allocator, cw_sources *sources, cw_diags *diags);
void compiler_end(compiler *c);
cw_status compiler_finish(compiler *c, cw_model **out);

/* --- add.c --- */
/* `sources`: which source each file is already; NULL: none is one yet. */
pack_def *add_pack(compiler *c, const cw_pack_text *text, const uint32_t *sources, bool named);
/* The files in the order in which they are read; in the arena. */
const cw_pack_file **order_files(compiler *c, const cw_pack_text *text);
/* The name of a file without its folder. */
const char *base_name(const char *name);

/* --- load.c --- */
/* The folder `name` in the folder that holds `folder`. */
const char *beside(compiler *c, const char *folder, const char *name);
/* The name of a folder beside `folder` that is nearest to the word; NULL: none is near. */
const char *nearest_beside(compiler *c, const char *folder, const char *word);
/* Whether the same folder has been named already. */
bool named_before(const char *const *folders, size_t at);
/* The packs of the folders, then those they need. */
cw_status add_all(compiler *c, const char *const *folders, size_t count);

/* --- files.c --- */
bool is_folder(const char *path);
/* What could be read of it, in the arena; what could not has been told. CW_CANNOT_READ when there is no such
 * folder. */
/* The files are added to the sources, where their texts then are. */
cw_status read_folder(compiler *c, const char *folder, cw_pack_text *out, const uint32_t **sources);

/* --- image_file.c --- */
/* The build that an image must come from. */
const char *image_stamp(void);
/* An image in memory, read only, ready to be looked at; `hold` comes first, and letting it go unmaps it. */
typedef struct image_file {
    cw_model_hold hold;
    cw_allocator allocator;
    void *bytes;
    size_t size;
} image_file;
/* CW_OK; CW_CANNOT_READ with errno; CW_BAD_INPUT with *fault; CW_NO_MEMORY. */
cw_status image_file_open(const cw_allocator *allocator, const char *path, cw_image_fault *fault,
                          image_file **out);

#endif
