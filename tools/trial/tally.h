/* Sums over many trials, stage by stage. */
#ifndef TOOLS_TRIAL_TALLY_H
#define TOOLS_TRIAL_TALLY_H

#include "trial/trial.h"

enum { TALLY_STAGES = 4 };

typedef struct tally_rank { /* of rankings that have a label */
    size_t count, first, top3;
    double truth, log_loss, brier; /* sums */
} tally_rank;

typedef struct tally_stage {
    const char *stage;
    size_t cases;          /* that could be read and answered */
    size_t labelled, held; /* held: came out as labelled */
    size_t stopped;        /* by a caution */
    tally_rank ranks;
    size_t answers;
    double minutes;
    size_t sheets, sheets_right;
    size_t described, described_right; /* lines */
    size_t asked, questions;           /* cases, questions */
    double asked_minutes;
    tally_rank asked_ranks;
    trial_band first[TRIAL_BANDS]; /* of what came first: right or not */
    trial_band all[TRIAL_BANDS];   /* of every line */
} tally_stage;

/* Who is taken for whom: the truth, and what came before it. */
typedef struct tally_mistake {
    bool of_units;
    const char *stage;
    char truth[TRIAL_NAME], taken_for[TRIAL_NAME];
    size_t count;
} tally_mistake;

typedef struct tally {
    tally_stage stages[TALLY_STAGES]; /* in the order of cw_stage_at */
    size_t bad;
    tally_mistake *mistakes; /* owned; sorted as tally_sort leaves them */
    size_t mistake_count, mistake_room;
    cw_status status; /* the first failure of the machine */
} tally;

void tally_start(tally *out);
/* In the order of the cases: sums of real numbers depend on it. */
void tally_add(tally *all, const trial *one);
/* Mistakes: by stage, the commonest first, equal ones by name. After this nothing can be added. */
void tally_sort(tally *all);
/* All stages together; without bands. */
tally_stage tally_sum(const tally *all);
/* Cases with a label that did not come out so. */
size_t tally_missed(const tally *all);
void tally_free(tally *all);

/* The interval that holds a share with 90 %, from how many of how many came true (Wilson 1927): honest for
 * small counts too. count 0: from 0 to 1. */
void tally_interval(size_t came_true, size_t count, double *low, double *high);

#endif
