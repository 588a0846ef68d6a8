/* Shared by the files of the checker, and by the exporter of answer-set programs, which starts from the same
 * parse. */
#ifndef CW_TESTS_CHECKER_INSIDE_H
#define CW_TESTS_CHECKER_INSIDE_H

#include "checker/checker.h"

/* --- tree.c: YAML as a tree --- */

typedef struct tree tree;
struct tree {
    enum { TREE_WORD, TREE_LIST, TREE_MAP } kind;
    const char *text; /* of a word */
    bool quoted;
    size_t count;
    tree **keys; /* of a map */
    tree **items;
};

tree *ck_tree_read(const char *text, size_t size, const char *name);
void ck_tree_free(tree *node);
const tree *ck_tree_get(const tree *map, const char *key); /* NULL when there is none */
const char *ck_tree_word(const tree *map, const char *key);

/* --- quantity.c: in base units --- */

/* "4 3/8 in", "13,3 cm", "12.4"; a bare number is taken in `bare` (a unit's symbol, NULL: as it is). False if
 * not understood. *used: how many bytes were read. */
bool ck_quantity_read(const char *text, const char *bare, double *number);
/* A pair "A to B". */
/* "A +/- B": how far it may be off on either side. */
bool ck_quantity_tolerance(const char *text, const char *bare, double *middle, double *tolerance);
bool ck_quantity_range(const char *text, const char *bare, double *low, double *high);

/* --- packs --- */

typedef struct kind_of_thing {
    const char *name;
    const tree *things; /* list */
} kind_of_thing;

/* A thing that `each` or `some` has bound. */
typedef struct binding {
    const char *kind, *thing;
} binding;

enum { MAX_BINDINGS = 8, MAX_TESTED = 256 };

typedef struct bound {
    binding bindings[MAX_BINDINGS];
    size_t count;
} bound;

typedef enum fact_kind { FACT_FINITE, FACT_COUNT, FACT_MEASURE, FACT_TEXT, FACT_UNIT } fact_kind;

#define FROM_UNIT ((size_t)-1)

typedef struct source {
    size_t rule; /* ground rule + 1; 0 = the answer, FROM_UNIT = its data */
    checker_truth truth;
    double number, error;
} source;

typedef struct fact {
    char *name; /* ground */
    const char *base;
    fact_kind kind;
    const tree *body; /* declaration, NULL for one that only rules speak of */
    bool check;
    char **values;
    size_t value_count;
    int first;   /* the number of value 0 of a count */
    size_t node; /* the first of its nodes: one for each value, or one */
    checker_reading answer;
    char *text;
    /* derived */
    checker_truth *truths; /* of values */
    source *sources;
    size_t source_count;
} fact;

/* A conclusion: the node of a value or a number, or that of a caution. */
typedef struct head {
    size_t node;
    const tree *conclusion; /* NULL for a caution */
} head;

typedef struct ground_rule {
    const tree *body;
    const char *name;
    bound scope;
    struct head *heads; /* what it concludes */
    size_t head_count;
} ground_rule;

/* A unit, wherever it stands in the tree. */
typedef struct listed_unit {
    const char *name;
    const tree *body;
    size_t above; /* index + 1; 0 at the top */
} listed_unit;

struct checker {
    tree **roots;
    size_t root_count;
    char **texts;
    size_t text_count;
    kind_of_thing *kinds;
    size_t kind_count;
    fact *facts;
    size_t fact_count;
    size_t *fact_table; /* by name: open addressing, index + 1 */
    size_t fact_table_size;
    size_t *fact_of_node;
    ground_rule *rules;
    size_t rule_count;
    listed_unit *units; /* parents first */
    size_t unit_count;
    const char **cautions;
    checker_truth *caution_truths;
    size_t caution_count;
    size_t node_count; /* values and facts, then cautions */
    size_t *layers;    /* of nodes */
};

/* Everything ground: things, facts, rules, cautions. */
void ck_packs_read(checker *c);
fact *ck_new_fact(checker *c, const char *base, const bound *scope);
void *ck_room(size_t count, size_t size); /* zeroed; ends the program without memory */
const kind_of_thing *ck_find_kind(const checker *c, const char *name);
fact *ck_find_fact(const checker *c, const char *name);
/* The fact a name in a rule means: itself, or that of the bound things. Ends the program when there is none.
 */
fact *ck_resolve(const checker *c, const char *name, const bound *scope);
size_t ck_find_value(const fact *fact, const char *name); /* value_count when there is none */

/* --- units.c: the check `unit` --- */
void ck_units_read(checker *c); /* and its fact */
bool ck_unit_choose(const checker *c, const char *text, const char **name);
/* How far the unit in hand is the one asked for: yes for itself and all above it, doubtful for what stands
 * below. */
checker_truth ck_unit_truth(const checker *c, const char *in_hand, const char *asked);
/* What the unit in hand says of itself: fact and value as written. */
typedef void unit_visit(void *context, const char *fact, const char *text);
void ck_unit_says(const checker *c, unit_visit *visit, void *context);
/* Concludes it: the first thing that follows. */
void ck_unit_data(checker *c);
checker_truth ck_unit_test(const checker *c, const fact *f, const tree *test);

/* --- condition.c --- */

/* What a condition is made of. */
typedef enum cond_form { COND_TEST, COND_ALL, COND_ANY, COND_NONE } cond_form;

/* A member of a condition: a test of a fact, or a group over parts, each in its own scope. */
typedef struct member {
    cond_form form;
    size_t need;            /* of COND_ANY: how many parts must hold */
    const tree *node;       /* the test, or the group */
    const char *fact;       /* of a test */
    const char *thing_kind; /* of a group over things; NULL: over the members of `node` */
} member;

/* The i-th member of a condition that is a map or a list (all of its members must hold). */
member ck_member_at(const tree *condition, size_t i);
checker_truth ck_condition_truth(const checker *c, const tree *condition, const bound *scope);
checker_truth ck_member_truth(const checker *c, const member *member, const bound *scope);
/* The parts of a group: calls back with each as a condition of its own, in its scope. */
typedef void part_visit(void *context, const member *part, const tree *condition, const bound *scope);
void ck_member_parts(const checker *c, const member *group, const bound *scope, part_visit *visit,
                     void *context);
/* The values that a test on a finite fact accepts, as indices. */
size_t ck_tested_values(const fact *fact, const tree *test, size_t values[MAX_TESTED]);
checker_truth ck_test_truth(const checker *c, const fact *fact, const tree *test);
checker_known ck_settle_number(const fact *fact, double *number, double *error, checker_truth *truth);

/* --- formula.c --- */

/* Works out "a - 2 * b"; false when something is not known or the outcome is not finite. *truth: that of the
 * inputs. */
bool ck_formula_value(const checker *c, const char *text, const bound *scope, double *number, double *error,
                      checker_truth *truth);
/* Calls back for each fact it names. */
void ck_formula_names(const checker *c, const char *text, const bound *scope,
                      void (*visit)(void *context, fact *fact), void *context);

/* --- bench.c --- */

/* What the bench's function of this name gives, NAN for nothing; false when there is none of this name. */
bool ck_bench_value(const char *name, const double *arguments, double *out, bool *stepped);

/* --- reading.c: conclusions that are read of a text --- */

bool ck_is_reading(const tree *conclusion);
bool ck_reads_number(const checker *c, const fact *f, const tree *reading, const bound *scope, double *out);
bool ck_reads_value(const checker *c, const fact *f, const tree *reading, const bound *scope, size_t value);

/* --- derive.c --- */
void ck_layers_find(checker *c);
bool ck_is_formula(const tree *node);

void ck_die(const char *format, ...) __attribute__((format(printf, 1, 2), noreturn));
void *ck_grow(void *items, size_t count,
              size_t size); /* room for one more; ends the program without memory */
char *ck_copy_text(const char *text, size_t size);

#endif
