/* What the files of this room share: the counts, by what they are counts of. Nobody outside learn/ includes
 * it.
 *
 * A count is known by a row of numbers: what kind, about what, which value, and what else could have made it.
 * Rows that agree but for value and makers are one sum to be worked out. */
#ifndef CW_LEARN_INSIDE_H
#define CW_LEARN_INSIDE_H

#include "base/atom.h"
#include "base/vec.h"
#include "learn/learn.h"

typedef enum row_kind {
    ROW_PRESENCE,  /* about a cause; makers: its id = itself, then the number of causes + 1 + index in
                      model->links. About 0: a job that came in because something was wrong; then for each
                      cause that  it is no ordinary one for: its id, and the two halves of `times`, which is 0
                      if ruled out */
    ROW_FINDING,   /* about the first of facts that share a background; makers: 0 = that, then 1 + index in
                      model->signs */
    ROW_UNIT,      /* about nothing; makers: the versions it may have been */
    ROW_UNIT_SHOWS /* about a unit and a fact; no makers */
} row_kind;

/* The numbers of a row. */
enum { AT_KIND, AT_ABOUT, AT_FACT, AT_VALUE, AT_TIMES, AT_TIMES_LOW, AT_MAKERS };

typedef struct row {
    uint32_t first, size; /* in learner->numbers */
    uint32_t unit;        /* UNIT_SHOWS: a version that the sign is handed down to */
    uint64_t cases;
} row;

struct cw_learner {
    cw_allocator allocator;
    const cw_model *model;
    const cw_identity_tables *tables;
    cw_arena *arena;
    cw_names *names;         /* the bytes of a row; its number - 1 is the index in rows */
    cw_vec rows;             /* row */
    cw_vec numbers;          /* uint32_t */
    cw_vec key;              /* uint32_t: the row being made */
    cw_fact_id *first_of;    /* by fact: the first of those that share its background */
    cw_run *into;            /* by cause: the links that lead to it, in links_into */
    uint32_t *links_into;    /* indices in model->links */
    bool *present, *unclear; /* by cause: of the case being added */
    bool failed;             /* memory ran out; nothing can be added any more */
};

static inline const uint32_t *numbers_of(const cw_learner *learner, const row *one)
{
    return CW_VEC_AT(&learner->numbers, uint32_t, one->first);
}

/* A number kept as its two halves. */
static inline double number_of(uint32_t high, uint32_t low)
{
    union {
        uint64_t bits;
        double number;
    } both = {.bits = (uint64_t)high << 32 | low};
    return both.number;
}

static inline double times_of(const uint32_t *numbers)
{
    return number_of(numbers[AT_TIMES], numbers[AT_TIMES_LOW]);
}

/* One sum: rows[0 .. count), in order. */
typedef struct sum {
    const cw_learner *learner;
    const row *const *rows;
    size_t count;
    cw_worth worth;
    cw_arena *arena; /* of the reply */
    cw_vec *lessons; /* cw_lesson */
    cw_lessons *out;
} sum;

/* presence.c, finding.c, units.c. Each appends lessons. */
cw_status learn_presence(const sum *of); /* of one cause; of all together where some jobs never come in */
cw_status learn_finding(const sum *of);
cw_status learn_units(const sum *of);
cw_status learn_unit_shows(const sum *of);

/* noisy_rows.c: rows to groups of noisy.h. The makers of all rows, each once, in order; the source beside
 * each is to be made by the caller, with learn_source_new. */
typedef struct makers {
    const uint32_t *numbers;
    uint32_t count;
    struct learn_source *sources;
} makers;
cw_status learn_makers(const sum *of, makers *out);
/* Source i from the book: prior, and where to start from; a value that the book never gives and a case has is
 * possible where `open`. */
cw_status learn_source_from(const sum *of, makers *all, uint32_t i, const double *book, double worth,
                            uint32_t values, bool open);
/* Index of the maker; count where it is none of them. */
uint32_t learn_maker_index(const makers *all, uint32_t maker);
/* The group of one row, its sources in the arena. */
struct learn_group;
cw_status learn_group_of(const sum *of, const makers *all, const row *one, struct learn_group *out);
/* Runs the sum, and keeps what is to be told of it. */
struct learn_noisy;
cw_status learn_noisy_sum(const sum *of, struct learn_noisy *noisy);
/* Cases in which the maker was there; and of these, those with the value. */
uint64_t learn_cases(const sum *of, uint32_t maker);
uint64_t learn_seen(const sum *of, uint32_t maker, uint32_t value);

/* lessons.c: fills what follows from the rest of the lesson, from the pseudo-cases of the book and from what
 * the posterior is worth in cases, and appends it. */
/* finding.c: the lesson that source i tells of its value. */
cw_status learn_append_from(const sum *of, const makers *all, uint32_t i, cw_lesson lesson);
cw_status learn_append(const sum *of, cw_lesson lesson, double book_cases, double worth);
/* The same where nobody knows how many of the shop's cases there are between `least` and `most`: the interval
 * holds for both. */
cw_status learn_append_between(const sum *of, cw_lesson lesson, double book_cases, double worth, double least,
                               double most);

#endif
