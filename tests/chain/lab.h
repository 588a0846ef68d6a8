/* Small models written as a few lines, for tests that say what they mean:
 *
 *     chain_lab lab = lab_new();
 *     lab_check(&lab, "lamp", "off glow on");          a finite check; one word stands for the unit of a
 * measure or a text lab_fact(&lab, "weak", "no yes"); lab_rule(&lab, "weak=yes", "lamp=glow, ~noise=yes");
 *     lab_at_least(&lab, 2, "weak=yes", "a=yes, b=yes, c=yes");
 *     lab_rule(&lab, "loss = stud - battery", "running=yes");
 *     lab_start(&lab);                                  from here on there is lab.chain
 *     lab_answer(&lab, "lamp=glow");  "stud=14.2+-0.1"  "label=T90"  "lamp=?" (can't tell)
 *     lab_truth(&lab, "weak=yes")
 *     lab_end(&lab);
 *
 * Atoms: a=value, a? (known), m>3 m>=3 m<3 m<=3, t~pattern, #name (a step). A `~` in front is absence. Rules
 * are known by the order in which they were written, from 1. */
#ifndef CW_TESTS_CHAIN_LAB_H
#define CW_TESTS_CHAIN_LAB_H

#include "chain/chain.h"
#include "model/build.h"

enum { LAB_STEPS = 20 };

typedef struct chain_lab {
    cw_builder *builder;
    cw_model *model;
    cw_chain *chain;
    const cw_allocator *allocator;
    uint32_t rules;
    char step_names[LAB_STEPS][16];
    cw_atom_id steps[LAB_STEPS];
} chain_lab;

chain_lab lab_new(void);
cw_fact_id lab_check(chain_lab *lab, const char *name,
                     const char *kind); /* "off glow on", "measure", "text", "count 3" (1 .. 3) */
cw_fact_id lab_fact(chain_lab *lab, const char *name, const char *kind);
uint32_t lab_rule(chain_lab *lab, const char *head, const char *premises);
uint32_t lab_at_least(chain_lab *lab, uint32_t need, const char *head, const char *premises);
/* measure: read of the text by the first group of the pattern, in amps between the two. */
uint32_t lab_reading(chain_lab *lab, const char *measure, const char *text, const char *pattern, double low,
                     double high, const char *premises);
void lab_start(chain_lab *lab);
void lab_end(chain_lab *lab);

cw_atom_id lab_atom(chain_lab *lab, const char *atom);
cw_fact_id lab_find(const chain_lab *lab, const char *name);
cw_answer lab_read_answer(chain_lab *lab, const char *answer);
void lab_answer(chain_lab *lab, const char *answer); /* must succeed */
void lab_withdraw(chain_lab *lab, const char *name);
cw_truth lab_truth(chain_lab *lab, const char *atom);
/* The written rules among the reasons of an atom, as "1 3"; the answer is "answer", a doubtful one has "?".
 */
const char *lab_reasons(chain_lab *lab, const char *atom, char *out, size_t size);
const char *lab_readings(chain_lab *lab, const char *name, char *out, size_t size);

#define expect_truth(lab, atom, want)                                                                        \
    cr_expect_eq(lab_truth((lab), (atom)), (want), "%s is %d, not %d", (atom),                               \
                 (int)lab_truth((lab), (atom)), (int)(want))

#endif
