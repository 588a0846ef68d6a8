/* Learning: from closed jobs to frequencies, set beside those of the packs.
 *
 * Every value of the book counts as so many cases; with the shop's own cases that makes a Beta (several values: Dirichlet)
 * posterior. Where several causes were there at once, what each of them made is worked out (expectation-maximisation).
 * What nobody answered is missing, and never "no".
 *
 * Owner: the caller frees it; the pack must outlive it. Threads: one at a time. Order: that of the jobs means nothing, to
 * the last bit. Failures: CW_NO_MEMORY; after it nothing can be added any more. */
#ifndef COREWRIGHT_LEARN_H
#define COREWRIGHT_LEARN_H

#include "corewright/job.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_learning cw_learning;

CW_API cw_status cw_learning_new(const cw_pack *pack, cw_learning **out);
CW_API void cw_learning_free(cw_learning *learning); /* NULL allowed */

/* What a job is good for. */
typedef enum cw_learn_use {
    CW_LEARN_CAUSES,   /* it was counted: what was wrong is known */
    CW_LEARN_UNITS,    /* it was counted: which unit it was is known */
    CW_LEARN_NO_LABEL, /* its outcome does not say */
    CW_LEARN_UNLISTED, /* its unit is in no list */
    CW_LEARN_STOPPED,  /* a caution ended the advice */
    CW_LEARN_REBUILT   /* stage proof: what is wrong with rebuilt units says nothing of those that come in */
} cw_learn_use;

/* Counts the job that the session holds by its outcome in `about`; causes that would be accepted are those of which nobody
 * knows whether they were there, so what they show does not count. use may be NULL. CW_NOT_FOUND: the outcome names a unit
 * or cause that the pack does not know. */
CW_API cw_status cw_learning_add(cw_learning *learning, cw_session *session, const cw_case_info *about, cw_learn_use *use);

typedef enum cw_learned_kind {
    CW_LEARNED_CAUSE,      /* `seen` of a cause */
    CW_LEARNED_SIGN,       /* how often the cause `owner` shows the value of the fact `about` */
    CW_LEARNED_LEADS_TO,   /* how often the cause `owner` brings the cause `about` about */
    CW_LEARNED_BACKGROUND, /* how often the value of the fact `about` is seen with nothing listed wrong */
    CW_LEARNED_UNIT,       /* the version's share of all listed ones */
    CW_LEARNED_UNIT_SIGN   /* how often the unit shows the value of the fact `about` */
} cw_learned_kind;

typedef struct cw_learned {
    cw_learned_kind kind;
    const char *owner, *owner_title; /* cause or unit; NULL for a background */
    const char *about, *about_title; /* fact or cause; NULL where there is none */
    const char *value, *value_title; /* of the fact; NULL where there is none */
    double book;
    size_t seen, of;  /* cases: the value was seen in so many, of so many in which the owner was there and the fact was known */
    double laid_to;   /* of `seen`, how many are laid to the owner, and not to something else that was there */
    double unseen;    /* a cause where packs say `no_fault`: jobs besides `of` in which nothing was wrong, so that nobody
                         came; as expected */
    double posterior, low, high; /* 90 % interval */
    double whole;     /* cases of book and shop together */
    double weight;    /* a unit's `seen`, on the scale of the book's; 0 otherwise */
    bool needed;      /* a pack has to say it; a version without a case keeps what it has */
    double shop_low, shop_high; /* 99 % interval of the shop's cases alone, what is in doubt left out */
    bool contradicts; /* the book lies outside that, and those cases are worth CW_LEARN_ENOUGH or more */
} cw_learned;
#define CW_LEARN_ENOUGH 10

/* How many cases a value of the book counts for, above 0. */
typedef struct cw_learn_worth {
    double seen; /* how often a cause comes about by itself, which versions come: in jobs */
    double rest; /* everything else: in cases that could show it */
} cw_learn_worth;
/* Usual: a sign is known to half a step on the scale of words; what comes how often, as after a hundred jobs. */
#define CW_LEARN_WORTH_SEEN 100
#define CW_LEARN_WORTH 10

typedef struct cw_learned_list {
    const cw_learned *items; /* causes, backgrounds, units, each with its own together; only what there are cases of */
    size_t count;
    size_t causes_jobs, units_jobs; /* jobs counted */
    size_t impossible; /* findings that the packs call impossible; they count for nothing */
    bool settled;      /* false: a sum was stopped before its last digit came to rest */
} cw_learned_list;

/* *out belongs to the learning, until the next call. CW_LIMIT:
 * more values of one fact than can be told apart at once. */
CW_API cw_status cw_learning_result(cw_learning *learning, const cw_learn_worth *worth,
                                    const cw_learned_list **out);

#ifdef __cplusplus
}
#endif

#endif
