/* Holds the engine's chain against the checker: every fact, every caution, every condition that hangs on a
 * check or a cause. */
#ifndef CW_TESTS_CHECKER_AGAINST_H
#define CW_TESTS_CHECKER_AGAINST_H

#include "chain/chain.h"
#include "checker/checker.h"

/* Gives the chain the answer that the checker has read for this fact, or withdraws it. */
void against_answer(cw_chain *chain, const checker *judge, const char *fact);
/* Differences go to the test's messages; returns how many facts, cautions and conditions were looked at. */
size_t against_all(const cw_chain *chain, const checker *judge, const char *where);

#endif
