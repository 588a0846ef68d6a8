/* Inside the room: a question remembered with its plan, so that one more finding, or other circumstances, are
 * a matter of a few variations of it (lanes.h), however many causes they touch. What more findings, or
 * others, would come to is left to base.h. */
#ifndef CW_RANK_VARY_H
#define CW_RANK_VARY_H

#include "base/vec.h"
#include "rank/lanes.h"

typedef struct vary_change { /* a cause's circumstances */
    cw_cause_id cause;
    double own;
    bool ruled;
} vary_change;

typedef struct vary_job { /* a variation: the finding is at most this (0: none), in these circumstances */
    cw_fact_id fact;
    uint32_t most;
    const vary_change *changes;
    uint32_t change_count;
    cw_run moved;   /* in rank_vary.moved: causes that it can move, or another job of the same ticket */
    cw_run touches; /* in rank_vary.touches */
} vary_job;

typedef struct vary_ticket { /* a question foreseen: one finding more, or none; other circumstances, or not */
    cw_fact_id fact;
    uint32_t value, first_change, change_count;
    uint32_t
        row; /* with other circumstances: 1 + that of "at most the value"; the next is of "less than it" */
    cw_run moved; /* with other circumstances, likewise */
} vary_ticket;

typedef enum vary_kind { /* how a cause that varies is dealt with: see vary_rows.c */
                         VARY_ALONE,
                         VARY_SINGLE,
                         VARY_LANE
} vary_kind;

typedef struct vary_touch { /* what a variation says of a cause */
    cw_cause_id cause;
    vary_kind kind;
    double times;       /* where present */
    double own, absent; /* over what they were */
    const vary_change *change;
} vary_touch;

typedef struct vary_turn { /* whose turn it is: those that cost alike share their lanes */
    double cost;           /* of what they are summed with */
    uint32_t job;
} vary_turn;

typedef struct vary_root { /* what a variation says of the causes that are summed together */
    uint32_t touched;
    uint64_t listed_in; /* the last list of those moved that its causes are in */
    bool linked;        /* circumstances of a cause that others lead to */
    double cost;        /* of summing them */
} vary_root;

typedef struct rank_vary {
    const cw_model *model;
    const cw_allocator *allocator;
    bool valid;
    int made; /* of the parts that follow */
    network net;
    rank_sweep whole, unit_free;
    rank_lanes lanes, unit_lanes;
    double log_all, log_unit_free, log_free;
    double *by_cause;
    bool *ruled, *in_unit; /* by cause */
    cw_cause_id *hinging;  /* causes that circumstances shift or rule out */
    uint32_t hinging_count;
    uint32_t *value_of; /* by fact: 1 + the value seen */
    vary_change *changes;
    cw_vec tickets, kept; /* of vary_ticket; of vary_change */
    size_t worked_out;    /* of the tickets */
    cw_vec jobs, turns;   /* of vary_job; of vary_turn */
    cw_vec moved;         /* of cw_cause_id: lists of those that one ticket can move */
    cw_run *moved_of;     /* by fact, where row_of is not 0 */
    double *tried;        /* by cause: what the ticket taken last comes to; as remembered but for ... */
    cw_run tried_moved;   /* ... these */
    /* What the jobs touch, of vary_touch; of the last one, by cause: 1 + the place there, and by root. */
    cw_vec touches;
    uint32_t *touch_of;
    uint64_t *listed_in, lists; /* by cause: the last list of those moved that it is in; how many there are */
    vary_root *roots;
    uint32_t *members, *first_member; /* causes by root */
    cw_cause_id *wanted;
    size_t root_room;
    /* What has been worked out: by fact, 1 + the row of "at most 0", the next ones follow; by cause, 1 + the
     * row of its absence. */
    uint32_t *row_of, *absence_of;
    double *rows; /* each: logarithms of the two ratios, whole and unit free, then posteriors by cause, from
                     1: only of those that the job can move, or that are summed with the absent one */
    size_t row_count, row_room;
} rank_vary;

cw_status rank_vary_new(rank_vary *vary, const cw_model *model, const cw_allocator *allocator);
void rank_vary_dispose(rank_vary *vary);

/* valid stays false where the plan is too dear, or the evidence impossible. *steps: numbers touched. */
cw_status rank_vary_set(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                        double max_steps, double *steps);
/* vary_touch.c: the causes of each root; those in `members` that a cause is summed with. */
void rank_vary_sort_members(rank_vary *vary);
cw_run rank_vary_beside(const rank_vary *vary, cw_cause_id id);
/* Lists what a job touches, and what that can move; at the end of `touches` and `moved`. */
cw_status rank_vary_find_touches(rank_vary *vary, vary_job *job);
cw_status rank_vary_list_moved(rank_vary *vary, const vary_job *job, cw_run *out);
static inline vary_touch *vary_touch_at(const rank_vary *vary, const vary_job *job, uint32_t i)
{
    return CW_VEC_AT(&vary->touches, vary_touch, job->touches.first + i);
}
static inline vary_root *vary_root_of(const rank_vary *vary, cw_cause_id id)
{
    return &vary->roots[vary->lanes.root_of[id]];
}
/* vary_rows.c: works out all that was foreseen; *done is false where that takes too many steps. */
cw_status rank_vary_work_out(rank_vary *vary, double max_steps, double *steps, bool *done);
void rank_vary_forget(rank_vary *vary);
static inline size_t vary_row_size(const rank_vary *vary)
{
    return (size_t)vary->model->causes_count + 2;
}

/* Of no list: some address all the same. */
static inline const cw_cause_id *vary_moved_at(const rank_vary *vary, cw_run moved)
{
    return moved.count > 0 ? CW_VEC_AT(&vary->moved, cw_cause_id, moved.first) : vary->hinging;
}

/* Notes a question that will be asked (chain NULL: circumstances are those remembered); several are then
 * worked out at once. *ticket: 1 + its number, 0 where it takes more than that. Numbers hold until the next
 * rank_vary_set or rank_vary_anew. */
cw_status rank_vary_foresee(rank_vary *vary, const cw_chain *chain, const cw_evidence *evidence, size_t count,
                            uint32_t *ticket);
void rank_vary_anew(rank_vary *vary);
/* *done is false where the steps do not suffice, or the difference would lose its figures. Posteriors are in
 * vary->tried. */
cw_status rank_vary_take(rank_vary *vary, uint32_t number, double max_steps, cw_causes_tried *out,
                         bool *done);

#endif
