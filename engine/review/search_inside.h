/* What search.c and witness.c share. */
#ifndef CW_REVIEW_SEARCH_INSIDE_H
#define CW_REVIEW_SEARCH_INSIDE_H

#include "chain/chain.h"
#include "review/search.h"

enum { SIDES = 2, MASK_WORDS = 4 };

/* What a fact must be so far: the answer to a check, or what is concluded. */
typedef struct wanted_answer {
    bool wanted;
    uint64_t mask[MASK_WORDS];
    cw_interval band;
    cw_unit_id unit;
    bool unit_set;
} wanted_answer;

/* Something still to be brought about: that a rule concludes, that an atom holds, or that a fact is known. */
typedef struct goal {
    cw_rule_id rule;
    cw_atom_id atom;
    cw_fact_id fact;
    const struct goal *next;
} goal;

struct review_search {
    reviewer *r;
    const cw_model *model;
    cw_chain *chain;
    wanted_answer *wants; /* by fact */
    cw_fact_id *wanted;   /* those wanted, in the order they came */
    uint32_t wanted_count;
    bool *busy;                               /* by atom: its rules are being followed */
    cw_rule_id *first_measure, *next_measure; /* by fact, by rule: rules that work a measure out */
    cw_rule_id rules[SIDES];                  /* those that are to conclude at once; or none, and */
    cw_fact_id facts[SIDES];                  /* those that are to be known */
    cw_fact_id quarrel;                       /* what the rules are to differ about */
    cw_fact_id *disputed;                     /* room for all facts */
    uint64_t steps, limit;                    /* of this search */
    uint32_t depth;
    bool formulas; /* a formula stands between, so that several readings are tried */
};

/* The i-th of those wanted is somebody's answer, not a conclusion. */
bool is_answer(const review_search *search, uint32_t i);
/* Forward: answers that fit the wants are given to the engine. True when that makes both rules conclude, or
 * both facts known. */
bool witness_holds(review_search *search);
/* The answers that witness_holds has just given. */
const char *witness_say(review_search *search);

#endif
