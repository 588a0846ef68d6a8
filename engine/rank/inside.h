/* What the files of this room share: arrays by id, a sign looked up, what each unit shows. Nobody outside
 * rank/ includes this. */
#ifndef CW_RANK_INSIDE_H
#define CW_RANK_INSIDE_H

#include "base/alloc.h"
#include "rank/identity.h"

/* Arrays by id: count + 1 zeroed entries; a failure sticks in *failed. */
void *rank_take(const cw_allocator *allocator, size_t count, size_t size, bool *failed);
void rank_give(const cw_allocator *allocator, void *memory, size_t count, size_t size);

/* The sign on a fact in a run of signs that is sorted by fact; NULL if there is none. */
const cw_sign *rank_sign(const cw_model *model, cw_run signs, cw_fact_id fact);

/* Fixed for one fact. */
typedef struct rank_fact {
    uint32_t average; /* finite: first of its entries in tables->averages */
    double swapped, blunders;
    uint32_t swap_group;
    double width;      /* measures: of the range */
    uint32_t patterns; /* stamped: first of its entries in tables->patterns */
    uint32_t pattern_count;
} rank_fact;

/* A finite fact that units have signs on. Kinds of sign: not listed, versions without one, then each
 * different one. */
typedef struct rank_column {
    uint32_t *lines;      /* versions with a sign, numbered from 1 in order of id; NULL: all of them */
    uint32_t *kinds;      /* beside lines */
    const double **built; /* by kind: the sign's chances; NULL for the first two */
    double *shows; /* by kind, then value: the chance, with swaps and blunders, before there is evidence */
    double *sums;  /* by kind: of P log2 P */
    uint32_t count, kind_count; /* 0 kinds: there is no column */
} rank_column;

struct cw_identity_tables {
    cw_arena *own; /* this struct's and, unless they were kept elsewhere, the rest's; NULL: another's */
    const cw_model *model;
    rank_fact *facts;   /* by id */
    cw_unit_id *listed; /* the versions, in order of id */
    double *averages;   /* seen-weighted mean over the versions with a sign */
    uint32_t *patterns; /* known patterns of each stamped fact, each once */
    size_t average_count, pattern_room;
    double seen; /* of all versions */
    uint32_t versions;
    rank_column *columns; /* by fact */
    uint32_t widest;      /* most kinds of a column */
};

/* The versions' weights: `seen`, or all alike where none was ever seen. */
double rank_seen(const cw_identity_tables *tables, cw_unit_id unit);
/* cw_identity_shown as logarithms: a density too small for a double has one all the same. */
void rank_shown_logs(const cw_identity_tables *tables, const cw_evidence *evidence, double *own,
                     double *average);

/* -- Of one piece of evidence; all before blunders -- */

/* What a version, counted from 0, says of the fact itself; NULL: nothing. */
const cw_sign *rank_sign_at(const cw_identity_tables *tables, uint32_t version, cw_fact_id fact);
/* Neither a value nor a text. */
bool rank_is_measure(const cw_identity_tables *tables, const cw_evidence *e);
/* Logarithm of the density, or of the chance to lie between the limits; what is spread evenly. */
double rank_sign_log_density(const cw_sign *sign, const cw_evidence *e, double width);
double rank_even_measure(const cw_identity_tables *tables, const cw_evidence *e);
/* The chance of the likeliest pattern that matches, 0 if none does; c of identity.h. */
double rank_text_shown(const cw_model *model, const cw_sign *sign, const char *text);
double rank_stranger(const cw_identity_tables *tables, const cw_evidence *e);
bool rank_same_texts(const cw_model *model, const cw_sign *a, const cw_sign *b);

/* Whether two pieces share one swap; whether no earlier piece of its group counts. */
bool rank_swapped_together(const cw_identity_tables *tables, const cw_evidence *a, const cw_evidence *b);
bool rank_opens_group(const cw_identity_tables *tables, const cw_evidence *evidence, size_t at);

#endif
