/* Answers that make two rules conclude at once, or two facts known: backward from the premises of both to
 * what a person can answer, then forward through the engine itself, which has the last word. Every goal costs
 * a counted step.
 */
#ifndef CW_REVIEW_SEARCH_H
#define CW_REVIEW_SEARCH_H

#include "review/inside.h"

typedef struct review_search review_search;

typedef enum review_found {
    REVIEW_NOTHING, /* no answers do it, as far as this search goes */
    REVIEW_ANSWERS,
    REVIEW_ENDED /* the steps did not reach */
} review_found;

/* NULL when memory fails, or the model is too large for a chain. */
review_search *review_search_new(reviewer *r);
void review_search_free(review_search *search); /* NULL allowed */
/* Two rules that conclude different values of one fact. *answers: as a case file has them ("lamp: on, ripple:
 * 0.55 V"), in the review's arena. Steps come out of the reviewer's. */
review_found review_search_conflict(review_search *search, cw_rule_id a, cw_rule_id b, const char **answers);
/* Two facts that are both known. */
review_found review_search_known(review_search *search, cw_fact_id a, cw_fact_id b, const char **answers);

#endif
