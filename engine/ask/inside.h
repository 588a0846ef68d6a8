/* What the files of this room share. Nobody outside ask/ includes this.
 *
 *     choose ──▶ ahead ──▶ outcomes, after, gain    what a check can give, tried out, weighed, ordered
 *        ├─────▶ twins ─▶ reach                     what no check allowed can tell apart
 *        ├─────▶ pair                               checks that tell something only together
 *        └─────▶ cost ──▶ table, policy             what comes first so that the job costs least
 */
#ifndef CW_ASK_INSIDE_H
#define CW_ASK_INSIDE_H

#include "ask/ask.h"
#include "ask/policy.h"

/* Which facts and atoms can make a difference to a ranking, through any number of rules. */
typedef struct ask_matter {
    bool *facts;   /* signs on it, or one of its atoms makes a difference */
    bool *signs;   /* units or causes have signs on it */
    bool *through; /* facts: a rule that makes a difference reads it */
    bool *atoms;
} ask_matter;

struct cw_asker {
    const cw_model *model;
    const cw_identity_tables *tables;
    cw_allocator allocator;
    cw_arena *fixed;                     /* as long as the asker */
    cw_arena *call;                      /* as long as one cw_ask_next */
    cw_arena *check;                     /* as long as one check is weighed */
    cw_arena *trial;                     /* as long as one answer is tried */
    cw_chain *ahead;                     /* one answer further on than the footing ... */
    uint64_t ahead_of;                   /* ... of this number; 0 = of none */
    cw_fact_id ahead_given;              /* by this answer; 0 = none */
    cw_chain *between;                   /* the first of a pair answered; NULL until pairs are looked at */
    cw_causes_scratch *causes;           /* NULL until causes are ranked */
    ask_matter matter[2];                /* by cw_about */
    cw_evidence_facts evidence_facts[2]; /* likewise */
    cw_unit_id *hypotheses;              /* units: [0] = 0 (not listed), then the versions in order of id */
    uint32_t hypothesis_count;
    double *log_prior;         /* beside hypotheses */
    cw_atom_id *circumstances; /* atoms that shift causes or rule them out, each once */
    uint32_t circumstance_count;
    cw_rule_id *measuring; /* rules that work out a measure */
    uint32_t measuring_count;
    uint32_t *measuring_first;  /* by fact: the first of them that works it out, its place + 1; 0 = none */
    uint32_t *measuring_next;   /* beside measuring: the next one of the same fact, its place + 1 */
    const cw_fact_id **resting; /* by fact: measures worked out from it, directly or not, ended by 0; NULL:
                                   not looked at yet */
    const char **samples; /* by pattern: a text that matches it, made when first asked for; "" = none found */
};

/* What a check's answers say of the hypotheses of a table: P(answer | hypothesis), as for policy_check. */
typedef struct ask_row {
    cw_check_id check;
    uint32_t values;
    const double *chance;
} ask_row;

/* A few hypotheses that hold nearly all of what is believed, one of them true, and what the checks tried say
 * of each. Causes can be true together. Two likely ones that are so often enough are a hypothesis of their
 * own, with the chance of both (of three, that of the two likeliest); all else is taken one at a time: what
 * is left of each cause, in proportion, beside one hypothesis for all other causes and one for nothing listed
 * being wrong. */
enum { ASK_BOTH = 3 };
typedef struct ask_table {
    uint32_t count; /* of hypotheses; 0: they are too many to be weighed one by one */
    uint32_t named; /* those that are one unit or cause; causes: others, nothing, pairs behind */
    policy_pair pairs[ASK_BOTH];
    uint32_t pair_count;
    uint32_t members[POLICY_HYPOTHESES]; /* of the named: hypothesis index or cause id, most probable first */
    double chance[POLICY_HYPOTHESES];
    double all;    /* causes: what all of them come to, summed */
    double others; /* those of them without a name */
    double held;   /* share of what is believed that the named hold, nothing being wrong apart */
    double faults; /* causes: how many are to be expected where anything is wrong; a pair counts as one */
    ask_row *rows;
    uint32_t row_count;
} ask_table;

/* One cw_ask_next. */
typedef struct ask_call {
    cw_asker *asker;
    const cw_ask_limits *limits;
    cw_about about;
    uint64_t steps, max_steps;
    uint64_t footings; /* numbered from 1 */
    const ask_table
        *table; /* causes: what classes are to be told by; NULL outside weighing the open checks */
    bool cut_short;
} ask_call;

/* Probabilities, each of a question of its own, yes or no, and one over them and over the rest of 1 (0 where
 * they are 0 or 1, and nothing can be gained). By cause id, from 0. */
typedef struct ask_beliefs {
    const double *chance, *over, *over_rest;
} ask_beliefs;

/* What is believed before a check: the chain and its ranking. */
typedef struct ask_footing {
    uint64_t number; /* within the call */
    const cw_chain *chain;
    const cw_evidence *evidence; /* those that count */
    size_t count;
    bool possible;
    const bool *circumstances;    /* which of them hold */
    const double *chance;         /* units: by hypothesis; causes: by cause id */
    const double *joint;          /* units: log P(hypothesis, evidence) */
    const double *const *swapped; /* units: by swap group, then hypothesis: P(swapped | it, evidence); NULL
                                     where no evidence is of the group */
    double log_evidence;          /* log P(evidence) */
    ask_beliefs beliefs;          /* causes: the chances */
    double at_fault, nothing;     /* causes */
    bool alone;                   /* as if nothing else had been seen: for a cheap order only */
    uint64_t steps;               /* that one ranking more is likely to cost */
} ask_footing;

/* An answer that a check can give. */
typedef struct ask_outcome {
    cw_answer answer;
    double low, high; /* measures: the piece, base unit; the outermost reach to infinity */
} ask_outcome;

/* Answers that lead to the same evidence. */
typedef struct ask_class {
    uint32_t outcomes; /* how many */
    uint32_t first;    /* one of them */
    bool same;         /* nothing new */
    bool new_evidence; /* else only circumstances change */
    const cw_evidence *evidence;
    size_t count;
    const bool *circumstances;
    double weight; /* P(evidence after) / P(evidence before) */
    double bits;
    const double *moved;             /* units: by hypothesis, its likelihood after over before */
    double given[POLICY_HYPOTHESES]; /* causes: the same for each hypothesis of the call's table */
    uint32_t ticket;                 /* causes: foreseen (causes.h); 0 = not, or done */
} ask_class;

typedef struct ask_weighed {
    const ask_class *classes; /* in the asker's check arena */
    uint32_t class_count, outcome_count;
    double bits;
    bool complete;     /* false: the steps ran out, and so the call is cut short */
    cw_fact_id column; /* weighed as a column of units, without classes; 0 = not */
} ask_weighed;

/* open.c */
bool ask_place(const cw_model *model, cw_check_id check, uint32_t places, cw_where here, cw_proposal *out);
/* As cw_ask_open, but only_if and place are not looked at. */
bool ask_unanswered(const cw_chain *chain, cw_check_id check, cw_stage stage);
/* The same, and those left open with "can't tell" as well: not to be asked again, but to be named as what
 * would tell. */
bool ask_unknown(const cw_chain *chain, cw_check_id check, cw_stage stage);

/* outcomes.c: in the check arena. */
cw_status ask_outcomes(cw_asker *asker, const cw_chain *chain, cw_check_id check, cw_about about,
                       const ask_outcome **out, uint32_t *count);
/* cuts.c: where the range of a measured check is to be cut, in order, strictly inside the range. */
cw_status ask_cuts(cw_asker *asker, const cw_chain *chain, cw_check_id check, cw_about about, double **cuts,
                   uint32_t *count);
/* The sign on a fact in a run that is sorted by fact; NULL: there is none. */
const cw_sign *ask_sign(const cw_model *model, cw_run signs, cw_fact_id fact);
static inline const cw_sign *ask_unit_sign(const cw_model *model, cw_unit_id unit, cw_fact_id fact)
{
    return ask_sign(model, model->units[unit].signs, fact);
}
/* sample.c: a text that the pattern matches, at most size - 1 bytes. */
cw_status ask_sample(const cw_pattern *pattern, char *out, size_t size, bool *found);

/* stand.c: ranks where the chain stands. The footing lives in the arena. */
cw_status ask_stand(ask_call *call, const cw_chain *chain, cw_arena *arena, ask_footing *out);
/* The same as if nothing had been seen yet. */
cw_status ask_stand_alone(ask_call *call, const ask_footing *footing, cw_arena *arena, ask_footing *out);
/* The pieces that count, and which circumstances hold; in the arena. */
cw_status ask_collect(const ask_call *call, const cw_chain *chain, cw_arena *arena, const cw_evidence **out,
                      size_t *count);
cw_status ask_circumstances(const ask_call *call, const cw_chain *chain, cw_arena *arena, const bool **out);
/* Log of the sum of exponentials; fills the shares where there is one. */
double ask_share_out(const double *joint, size_t count, double *chance);
uint32_t ask_swap_group(const cw_model *model, cw_fact_id fact);

typedef struct ask_rest ask_rest;
/* after.c: fills weight, bits and moved of a class. */
cw_status ask_rank_units(ask_call *call, const ask_footing *footing, ask_class *class);
/* chain: with the answer. *complete: false when the steps ran out. */
cw_status ask_rank_causes(ask_call *call, const ask_footing *footing, const cw_chain *chain, ask_class *class,
                          ask_rest *rest, bool *complete);
/* rest.c: what the other values of a finding leave is the last one's: weights sum to 1, and beliefs weighed
 * by them to what was believed before. Saves ranking the normal value, the likeliest of all. */
cw_status ask_rest_new(ask_call *call, ask_rest **out);
/* True when the class is to wait for the others; its ranking is then ask_rest_take's affair. */
bool ask_rest_waits(ask_rest *rest, const ask_call *call, const ask_footing *footing, const ask_class *class,
                    uint32_t index);
/* Notes what a class that did not wait has come to. */
void ask_rest_note(ask_rest *rest, const ask_call *call, const ask_class *class,
                   const cw_causes_tried *tried);
/* The index of the class that waits, UINT32_MAX if none does. */
uint32_t ask_rest_waiting(const ask_rest *rest);
/* Ranks it by what is left; false when that is not known, or so little that rounding would show. */
bool ask_rest_take(ask_rest *rest, const ask_call *call, const ask_footing *footing, ask_class *class);

/* column.c: units told by a finite check that no rule reads: all answers weighed in one pass. */
bool ask_is_column(const ask_call *call, const ask_footing *footing, cw_fact_id fact);
/* Steps that it takes. */
uint64_t ask_column_steps(const ask_call *call, cw_fact_id fact);
cw_status ask_weigh_column(ask_call *call, const ask_footing *footing, cw_fact_id fact, ask_weighed *out);
/* One that was foreseen; *complete as above. *done: false where ask_rank_causes must do it. */
cw_status ask_take_causes(ask_call *call, const ask_footing *footing, ask_class *class, bool *complete,
                          bool *done);
/* Foresees it; its ticket stays 0 where that does not help. */
cw_status ask_foresee_causes(ask_call *call, const ask_footing *footing, const cw_chain *chain,
                             ask_class *class);

/* ahead.c */
bool ask_same_piece(const cw_evidence *a, const cw_evidence *b);
/* All answers of one check: begun, they are in classes, and what can be foreseen is; ended, they are weighed.
 * Both in the check arena, which ask_try_anew empties. */
typedef struct ask_trial {
    ask_call *call;
    const ask_footing *footing;
    cw_check_id check;
    const ask_outcome *outcomes;
    ask_class *classes;
    uint32_t *class_of; /* by outcome, UINT32_MAX: the answer is refused; NULL: not asked for */
    ask_rest *rest;     /* causes; NULL until one is ranked by itself */
    ask_weighed weighed;
} ask_trial;
enum { ASK_TOGETHER = 32 }; /* so many are begun before the first is ended, at most */
void ask_try_anew(ask_call *call);
cw_status ask_try_begin(ask_call *call, const ask_footing *footing, cw_check_id check, ask_trial *r);
cw_status ask_try_end(ask_trial *r);
/* Both, of one check alone; empties the check arena first. */
cw_status ask_try_all(ask_call *call, const ask_footing *footing, cw_check_id check, ask_weighed *out);
/* The same, each answer by itself even where a column would do, with the class that it led to (class_of). */
cw_status ask_try_each(ask_call *call, const ask_footing *footing, cw_check_id check, ask_trial *r,
                       uint32_t *count);
/* gain.c: information in one set of beliefs over another, bits. */
double ask_gained(const double *before, const double *after, size_t count);
/* One over another; the rest of `out` lives in the arena. */
cw_status ask_beliefs_new(const double *chance, size_t count, cw_arena *arena, ask_beliefs *out);
/* `among`: only these can have moved; NULL: any of the first ones. */
double ask_gained_each(const ask_beliefs *before, const double *after, const uint32_t *among, size_t count);
double ask_gained_one(double before, double after);
/* Fills bits from the classes. */
void ask_expect(ask_weighed *weighed);
/* P(answer of the class), of all its answers together; beside the classes. Sums to 1, or to 0 where no answer
 * is possible. */
void ask_class_chances(const ask_weighed *weighed, double *chance);

/* reach.c */
cw_status ask_matter_new(const cw_model *model, cw_about about, cw_arena *arena, ask_matter *out);
/* What could still come to hold with the checks of these places. */
typedef struct ask_reach {
    bool *atoms;  /* could hold */
    bool *checks; /* could be asked, now or after another */
    bool *values; /* facts: measured ones that could be worked out */
} ask_reach;
cw_status ask_reach_new(ask_call *call, const cw_chain *chain, uint32_t places, bool left_open_too,
                        cw_arena *arena, ask_reach *out);
/* Atoms that rules can conclude from an answer to this check, whatever else holds; by atom. */
cw_status ask_forward(const cw_asker *asker, cw_check_id check, cw_arena *arena, bool **out);

/* twins.c */
typedef struct ask_suspects {
    uint32_t *members; /* hypothesis index or cause id, most probable first */
    uint32_t count;
    bool *apart;       /* count * count: told apart */
    uint64_t together; /* pairs that are not */
} ask_suspects;
cw_status ask_suspects_new(ask_call *call, const ask_footing *footing, ask_suspects *out);
/* Notes whom the answers tell apart. */
cw_status ask_suspects_seen(const ask_call *call, ask_suspects *suspects, const ask_weighed *weighed);
/* Fills the advice's twins, and whether they are all that remains: then nothing more is worth asking. */
cw_status ask_twins(ask_call *call, const ask_footing *footing, ask_suspects *suspects, cw_arena *arena,
                    cw_advice *advice, bool *all_that_remains);

/* pair.c: the best pairs, appended to the list, which has room for ASK_PAIRS more. */
enum { ASK_PAIRS = 12 };
cw_status ask_pairs(ask_call *call, const ask_footing *footing, cw_proposal *list, size_t *count);

/* walk.c: checks from which a fact that is not known could yet be concluded. */
typedef struct ask_walk {
    const ask_call *call;
    const cw_model *model;
    const cw_chain *chain;
    const ask_reach *reach;
    bool left_open_too;
    uint32_t round, group; /* the fact walked from, and the group that it belongs to */
    uint32_t *atom_round, *fact_round, *check_group;
    cw_atom_id *atoms; /* to be followed */
    cw_fact_id *facts;
    uint32_t atom_count, fact_count;
    cw_check_id *found; /* for the group, each once */
    uint32_t found_count;
    bool waits; /* the fact walked from last */
} ask_walk;
/* Lives in the arena. left_open_too: checks that were answered with "can't tell" count as well. */
cw_status ask_walk_new(const ask_call *call, const cw_chain *chain, const ask_reach *reach,
                       bool left_open_too, cw_arena *arena, ask_walk *out);
/* Begins a new group: what is found from here on is found for it. */
void ask_walk_group(ask_walk *walk);
/* True when a check that can be asked could still tell of the fact; such checks are added to those found. */
bool ask_walk_from(ask_walk *walk, cw_fact_id fact);
/* The same for something that does not hold yet: a check that could make it hold. */
bool ask_walk_to(ask_walk *walk, cw_atom_id atom);
/* Those found for the group, fewest minutes first, at the place allowed that is nearest. */
cw_status ask_walk_list(const ask_walk *walk, cw_arena *arena, cw_proposal **out, size_t *count);

/* due.c: puts what is due for verdicts on parts before the rest, and goes on where the rest has stopped. */
cw_status ask_due_first(ask_call *call, const cw_chain *chain, cw_arena *arena, cw_advice *advice);
/* lines.c: what is due for lines of the proof sheet, and nothing else. */
cw_status ask_lines_only(ask_call *call, const cw_chain *chain, cw_arena *arena, cw_advice *advice);

/* missing.c: where asking has stopped and no unit of the list holds, goes on with what the description lacks.
 */
cw_status ask_missing_next(ask_call *call, const ask_footing *footing, cw_arena *arena, cw_advice *advice);

/* table.c: an empty one, in the call arena, with room for so many rows. */
cw_status ask_table_new(ask_call *call, const ask_footing *footing, size_t rows, ask_table *out);
/* Causes: fills class->given from what is believed with the answer; nothing where the call has no table. */
void ask_table_given(const ask_call *call, const ask_footing *footing, const cw_causes_tried *tried,
                     ask_class *class);
/* Adds a row for a check that was tried. */
cw_status ask_table_row(const ask_call *call, ask_table *table, cw_check_id check,
                        const ask_weighed *weighed);

/* cost.c: puts the check first with which the job costs least, where that can be told; in triage says what
 * the ways come to, and stops where no check is worth its minutes. The list is that of the advice, in order.
 */
cw_status ask_cost(ask_call *call, const ask_footing *footing, const ask_table *table, cw_proposal *list,
                   size_t count, cw_arena *arena, cw_advice *advice);

/* choose.c: best worth first; ties by minutes, then name. Worth is compared to nine figures, so that the
 * order in which a sum was taken has no say. */
void ask_sort(const cw_model *model, cw_proposal *list, size_t count);

#endif
