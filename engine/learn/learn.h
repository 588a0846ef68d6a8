/* From closed jobs to frequencies: what was seen in each is kept as counts, and these are set against the
 * book's values, each of which is worth a stated number of cases.
 *
 * Counted are, as far as they are known (what is missing is missing, and never "no"):
 *     causes     present or not, by which of those that lead to them were present and what circumstances did
 * to their odds; not where they were ruled out findings   each that counts as evidence (rank/evidence.h), by
 * which present causes have a sign on it units      which it was, and what it showed
 *
 * Counts are whole numbers and are worked on in an order of their own, so that the order of cases means
 * nothing. The arithmetic is in noisy.h and shown.h; a share of chances has a Beta posterior (beta.h). */
#ifndef CW_LEARN_LEARN_H
#define CW_LEARN_LEARN_H

#include "rank/evidence.h"
#include "rank/identity.h"

typedef struct cw_learner cw_learner;

/* tables: those of the model; both outlive the learner. */
cw_status cw_learner_new(const cw_model *model, const cw_identity_tables *tables,
                         const cw_allocator *allocator, cw_learner **out);
void cw_learner_free(cw_learner *learner); /* NULL allowed */

/* A job whose causes are known: `present` and no other, but for `unclear` ones, of which nobody knows whether
 * they were there: nothing that they can have made counts. Evidence is about causes. CW_NO_MEMORY: part of it
 * may be counted. */
cw_status cw_learner_add_causes(cw_learner *learner, const cw_chain *chain, const cw_evidence *evidence,
                                size_t evidence_count, const cw_cause_id *present, size_t present_count,
                                const cw_cause_id *unclear, size_t unclear_count);
/* A job whose unit is known to be one of these versions, which differ. Evidence is about units. A finding
 * counts where all of them have the same sign on it. */
cw_status cw_learner_add_unit(cw_learner *learner, const cw_evidence *evidence, size_t evidence_count,
                              const cw_unit_id *units, size_t unit_count);

typedef enum cw_lesson_kind {
    CW_LESSON_CAUSE,      /* how often `cause` comes about by itself */
    CW_LESSON_SIGN,       /* how often `cause` alone shows `value` of `fact` */
    CW_LESSON_LEADS_TO,   /* how often `cause` brings `to` about */
    CW_LESSON_BACKGROUND, /* how often `value` of `fact` is seen with nothing listed wrong */
    CW_LESSON_UNIT,       /* how many of the cores are `unit`, a version, of all versions */
    CW_LESSON_UNIT_SIGN   /* how often `unit`, of any height, shows `value` of `fact` */
} cw_lesson_kind;

typedef struct cw_lesson {
    cw_lesson_kind kind;
    cw_cause_id cause, to;
    cw_unit_id unit;
    cw_fact_id fact; /* BACKGROUND of a fact with `each`: the first of them; it is that of all */
    uint32_t value;
    double book;
    uint64_t seen, of; /* cases as they stand: so many, of so many in which it could be seen */
    double laid_to;    /* of `seen`, how many are laid to it and not to something else that was there */
    double unseen; /* CAUSE: jobs besides `of` in which nothing was wrong, so that nobody came; as expected */
    double posterior, low, high; /* 90 % interval */
    double whole; /* cases of book and shop together, doubtful or not: `posterior` of that many */
    double
        weight;  /* UNIT: its `seen`, on the scale of the book, so that versions without a case keep theirs */
    bool needed; /* it differs from the book */
    double shop_low, shop_high; /* 99 % interval from the shop's cases alone */
    double worth;               /* cases that the book counts for */
    double shop_worth;          /* cases that the shop's own are worth, what is in doubt left out */
    bool contradicts; /* the book lies outside that interval, which rests on LEARN_ENOUGH cases or more */
} cw_lesson;
#define LEARN_ENOUGH 10

typedef struct cw_lessons {
    const cw_lesson *lessons; /* causes, then backgrounds, then units, each by id, kind, fact and value;
                                  only what the shop has cases of */
    size_t count;
    uint64_t impossible; /* findings that the packs call impossible; they count for nothing */
    bool settled;        /* false: some sum was stopped before its last digit came to rest */
} cw_lessons;

/* How many cases a value of the book counts for, above 0: how often causes come about by themselves and which
 * units come, jobs; anything else, cases that could show it. */
typedef struct cw_worth {
    double seen, rest;
} cw_worth;

/* Lives in the arena. CW_NO_MEMORY; CW_LIMIT:
 * too many values of one fact that cannot be told apart. */
cw_status cw_learner_work_out(const cw_learner *learner, cw_worth worth, cw_arena *arena, cw_lessons *out);

#endif
