/* The calculations of this room that rule formulas may call (rule.def), as quantity/formula.h wants them. */
#ifndef CW_BENCH_RULE_H
#define CW_BENCH_RULE_H

#include "quantity/formula.h"

/* In rule.def's order, ended by an entry without a name. Base units in and out; NAN for what makes no sense
 * (ohms below zero, a speed below the cut-in, a bearing that is none), so that nothing is concluded. */
const cw_function *cw_bench_functions(void);

#endif
