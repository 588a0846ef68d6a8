/* What the files of apart.h share.
 *
 *     apart ──▶ looks ──▶ route, tried    which checks go together, and what their answers say
 *       ├─────▶ pairs ──▶ search, set     the cheapest looks for two members
 *       ├─────▶ groups                    who stands together
 *       ├─────▶ settle ──▶ cover.h        the smallest set for all pairs
 *       └─────▶ shape                     what two members show of a look
 */
#ifndef CW_ASK_APART_INSIDE_H
#define CW_ASK_APART_INSIDE_H

#include "ask/apart.h"
#include "ask/inside.h"
#include "base/vec.h"

enum {
    APART_CHECKS = 8,     /* most checks of a look */
    APART_LOOKS = 4000,   /* most looks */
    APART_ANSWERS = 4096, /* most answers of a look, taken together */
    APART_MEMO = 1 << 24, /* for so many twos of shapes V is kept, of all looks together: 64 MiB */
    APART_BINS = 128,     /* outcomes of several looks together are merged by how much they speak for a */
    APART_SET = 12,       /* most looks of a set */
    APART_CELLS = 400     /* most outcomes of a look: values, pieces, patterns of two members */
};

/* Who shows what: rows of chances; sizes and texts by sign. */
typedef enum apart_kind { APART_ROWS, APART_SIZES, APART_TEXTS } apart_kind;

typedef struct apart_look {
    cw_check_id checks[APART_CHECKS]; /* by id */
    uint32_t count;
    const cw_fact_id *facts; /* evidence that it can give, by id */
    uint32_t fact_count;
    uint32_t swap_group; /* 0: none */
    apart_kind kind;
    uint32_t *shape; /* by member: which of the shapes it has */
    uint32_t shapes, values;
    const double *rows;          /* ROWS: by shape, then outcome */
    const cw_sign *const *signs; /* SIZES, TEXTS: by shape; NULL: no sign */
    double plain;                /* SIZES, TEXTS: share neither swapped nor misread */
    float *memo;                 /* by shape, then shape: V; below 0: not worked out. NULL: too many */
    float *unsigned_memo;        /* by shape: V beside the one without a sign */
    const double *average;       /* SIZES: distribution of what is swapped in, on a grid over the range */
    bool allowed;
    double minutes; /* with the ways */
    uint32_t went;  /* mask of places */
} apart_look;

typedef struct apart {
    cw_asker *asker;
    const cw_model *model;
    cw_about about;
    uint32_t places, stages; /* masks */
    double sure;
    ask_call call;
    ask_footing footing; /* evidence that nothing needs to be told for */
    cw_arena *arena;     /* of the result; looks too */
    cw_chain *none, *work;
    const uint32_t *members;
    uint32_t count;
    apart_look *looks;
    uint32_t look_count;
    uint32_t left_out;
    size_t kept; /* twos of shapes */
    uint64_t steps, max_steps;
    bool cut_short;
    bool *lost; /* set where memory failed while texts were matched: all is void then */
} apart;

/* One outcome for two members. */
typedef struct apart_cell {
    double a, b;
} apart_cell;

/* apart_route.c: the cheapest checks from which something follows, at these places, as if each were done for
 * it alone. */
typedef struct apart_route {
    const apart *of;
    uint32_t places;
    double *cost, *fact_cost;   /* by atom; by fact: of its number or text. INFINITY: never */
    cw_rule_id *by, *fact_by;   /* the rule; 0: the check itself */
    uint32_t *seen, *fact_seen; /* the last extraction that was here */
    uint32_t round;
    uint32_t *stack;
} apart_route;
cw_status apart_route_new(const apart *p, uint32_t places, cw_arena *arena, apart_route *r);
/* Adds the checks behind the atom to the list, each once, by id; false when there are more than
 * APART_CHECKS. */
bool apart_route_atom(apart_route *route, cw_atom_id atom, cw_check_id *checks, uint32_t *count);
bool apart_route_check(apart_route *route, cw_check_id check, cw_check_id *checks, uint32_t *count);

/* apart_looks.c: fills p->looks. */
cw_status apart_looks(apart *p);
/* Of so many places: whether the look can be done there, its minutes, and where one has to go. */
bool apart_look_at(const apart *p, const apart_look *look, uint32_t places, double *minutes, uint32_t *went);
bool apart_check_at(const cw_model *model, cw_check_id check, uint32_t places, cw_where *where);

/* apart_tried.c: rows of a look by trying its answers. *done is false where that is too much. */
cw_status apart_try(apart *p, apart_look *look, bool *done);
/* Each different row once. values doubles for each member, by member. */
cw_status apart_rows(apart *p, apart_look *look, double *rows, uint32_t values);

/* apart_shape.c */
cw_status apart_shapes_of_signs(apart *p, apart_look *look);
/* V of two members by one look. */
double apart_parts(const apart *p, const apart_look *look, uint32_t a, uint32_t b);
/* Its outcomes; at most APART_CELLS; returns how many. */
uint32_t apart_cells(const apart *p, const apart_look *look, uint32_t a, uint32_t b, apart_cell *cells);

/* apart_set.c */
/* What several looks have come to: their outcomes together, merged. */
typedef struct apart_joint {
    apart_cell cells[APART_BINS];
    uint32_t count;
    double certainty;
} apart_joint;
void apart_joint_start(apart_joint *joint); /* nothing looked at */
/* Certainty with one look more. */
double apart_joint_with(apart *p, const apart_joint *from, const apart_cell *cells, uint32_t count);
void apart_joint_add(apart *p, const apart_joint *from, const apart_cell *cells, uint32_t count,
                     apart_joint *out);
/* Whether the two count as independent. */
bool apart_together(const apart *p, const apart_look *x, const apart_look *y);
/* Of a set: each check, and each way, once. */
double apart_minutes(const apart *p, const apart_look *const *set, uint32_t count);
/* That a look adds to any set at the least: of its checks that no other look may share. */
double apart_least_minutes(const apart *p, const apart_look *look);
/* The checks in the order of doing, in the arena; minutes and certainty stay. */
cw_status apart_set_of(const apart *p, const cw_check_id *checks, uint32_t count, uint32_t places,
                       cw_arena *arena, cw_apart_set *out);

/* apart_search.c: a search of so many nodes; 0: only what is found at once. */
typedef struct apart_found {
    const apart_look *set[APART_SET];
    uint32_t count; /* 0: nothing parts them */
    double minutes, certainty;
    bool sure, proven;
} apart_found;
cw_status apart_search(apart *p, uint32_t a, uint32_t b, uint32_t nodes, apart_found *out);

/* apart_pairs.c: fills pairs, by_place, list and all. */
cw_status apart_pairs(apart *p, cw_apart_result *out);

/* apart_groups.c */
cw_status apart_groups(apart *p, cw_apart_result *out);

/* apart_settle.c */
cw_status apart_settle(apart *p, cw_apart_cover *out);

#endif
