/* One labelled case through today's rules: what came first, where the right one stands, how well its chances
 * were told, what it took to ask.
 *
 * A ranking has a label where `outcome` names units (identify) or causes (every other stage). Right are:
 *
 *     identify                    any of the units named; `not_listed` stands among the lines by its own
 * chance triage, teardown            a cause that was confirmed, or one that a fair judge accepts proof the
 * same, among the causes inside the unit
 *
 * The probability given to the truth: identify: of any of the units named together, for exactly one is true;
 * causes: the mean of those confirmed, for each may be there beside the others.
 *
 * Scores that honest chances alone make best (Brier 1950; Good 1952), of one case:
 *
 *     log loss   identify: -ln P(truth). Causes: the sum of -ln P(what it was), there or not, over every
 * listed cause. No chance counts as less than TRIAL_FLOOR, for no shop's frequencies are known any finer and
 * one surprise must not outweigh all else. Brier      the sum of (chance - what it was)^2 over the units,
 * those named as one, or over the causes.
 *
 * Of the causes those that would be accepted are left out of both: nobody knows whether they were there.
 * Others that are not named count as not there. */
#ifndef TOOLS_TRIAL_TRIAL_H
#define TOOLS_TRIAL_TRIAL_H

#include "corewright/corewright.h"

#define TRIAL_FLOOR 0.001
enum { TRIAL_NAME = 80, TRIAL_BANDS = 10 };

typedef enum trial_end {
    TRIAL_BAD, /* the file or an answer is wrong: messages or problem say how, nothing below them counts */
    TRIAL_STOPPED, /* a caution ended the advice: there is nothing to hold against the label */
    TRIAL_DONE
} trial_end;

/* Chances from a tenth up to the next, and how many of them came true. */
typedef struct trial_band {
    size_t count, came_true;
    double said; /* sum */
} trial_band;

/* A line of the proof sheet or the description that is not as labelled. */
typedef struct trial_wrong {
    bool sheet;
    char fact[TRIAL_NAME]; /* "": what the whole sheet comes to */
    char says[TRIAL_NAME], wanted[TRIAL_NAME];
} trial_wrong;

/* How the ranking came out. */
typedef struct trial_score {
    char first[TRIAL_NAME]; /* name of the first; "" when there is no line */
    double first_said;
    bool labelled;
    /* the rest only where it is labelled */
    char right[TRIAL_NAME]; /* the first of the right ones */
    char truth[TRIAL_NAME]; /* the likeliest of those named in `outcome` */
    size_t place;           /* of the right one, from 1; 0: it is no line */
    double right_said;      /* its own chance */
    double truth_said, log_loss, brier;
    trial_band bands[TRIAL_BANDS]; /* every line that was scored */
} trial_score;

/* The engine asked, the case answered. */
typedef struct trial_asked {
    const char **checks; /* owned: names, in the order asked; they live as long as the pack */
    size_t questions;
    double minutes;    /* with changes of place */
    const char *stop;  /* "sure_enough", "nothing_helps", "caution", "costs_more", "case_ends": it would ask
                          for what the case does not tell */
    trial_score score; /* with what was told by then */
} trial_asked;

typedef struct trial {
    trial_end end;
    cw_messages *messages; /* owned; NULL */
    const char *problem;   /* lives for ever; NULL */
    const char *stage;     /* lives for ever */
    char *name;            /* owned; as the case calls itself, or NULL */
    size_t answers;
    double minutes; /* of the checks answered */
    trial_score score;
    bool sheet_labelled;
    size_t described;   /* lines labelled */
    trial_wrong *wrong; /* owned */
    size_t wrong_count;
    bool asked_too;
    trial_asked asked;
    cw_status status; /* CW_NO_MEMORY and the like: the machine failed */
} trial;

/* Gives the case to a session of its own and fills out. session: NULL, or where to leave it, the caller's to
 * free; NULL is left there unless the case was done. */
void trial_run(const cw_pack *pack, const cw_case *job, trial *out, cw_session **session);
/* Asks in the order that the engine would, from nothing but the unit in hand, as long as the case knows an
 * answer: what it does not know is passed over. */
void trial_ask(const cw_pack *pack, const cw_case *job, trial *out);
void trial_free(trial *one);

/* What a ranking comes to against a label. */
void trial_score_ranking(const cw_ranking *ranking, const cw_case_info *info, bool inside, trial_score *out);
/* Something is labelled and could be held against it. */
bool trial_labelled(const trial *one);
/* It came out as labelled: identify: the right one first; else: among the first three; every line as
 * labelled. */
bool trial_held(const trial *one);
/* The name as people say it; not listed and unknown names too. */
const char *trial_title(const cw_pack *pack, bool of_units, const char *name);
/* Whether units are ranked at the stage. */
bool trial_of_units(const char *stage);

#endif
