/* Random rule sets over repeated things, written twice: as a pack's YAML, and as an answer-set program with
 * variables. Neither text is made from the other, and the engine's model is not asked. */
#ifndef CW_TESTS_ASP_RULES_H
#define CW_TESTS_ASP_RULES_H

#include "support/random.h"
#include <stdbool.h>
#include <stddef.h>

enum { RULES_TEXT = 1 << 16, MAX_PREDICATES = 14, MAX_THINGS = 4, KINDS = 2, UNITS = 5 };

typedef struct predicate {
    char name[16];
    bool over[KINDS]; /* for each diode, each phase */
    bool check;
    unsigned values;          /* v0 .. ; 0: yes or no (no, yes) */
    bool measure, worked_out; /* in volts; by a formula (one at most) */
    unsigned stratum;
} predicate;

typedef struct rule_set {
    predicate predicates[MAX_PREDICATES];
    unsigned count, things[KINDS];
    char yaml[RULES_TEXT], program[RULES_TEXT];
    size_t yaml_size, program_size;
    unsigned helpers, rules;
    bool units; /* a small tree of them, with data; u0 .. u4 */
} rule_set;

/* With measures there are bands, reading errors, formulas and units too, which the program knows nothing of:
 * then the YAML alone counts. */
void rules_random(rule_set *set, random_state *random, bool measures);
/* Adds the answer to both: to the program as a fact, to *name and *value for the engine. False: this one is
 * not answered. */
bool rules_answer(rule_set *set, random_state *random, unsigned predicate, unsigned first, unsigned second,
                  char name[48], const char **value);

#endif
