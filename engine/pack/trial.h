/* Patterns that run for ever ("catastrophic" ones), found when a pack is read: each is held against texts of
 * TRIAL_TIMES times one letter, what breaks the match off, and a tail of letters. Compiling and matching
 * takes a hundred times as long as reading a pattern through, so it is only tried out where its syntax leaves
 * it open whether it can reach the limit on such a text. */
#ifndef CW_PACK_TRIAL_H
#define CW_PACK_TRIAL_H

#include "base/pattern.h"

enum { TRIAL_TIMES = 40, TRIAL_LETTERS = 12, TRIAL_SIZE = TRIAL_TIMES + 1 + 2 * TRIAL_LETTERS };

/* Upper bound for the steps of a match tried from one spot of a text of TRIAL_SIZE letters, in which no two
 * different letters stand side by side: what repeats can end anywhere, alternatives add up, what follows each
 * other multiplies. Infinite where a group repeats without end or the syntax is not looked into. */
double effort_steps(const char *text, size_t size);
/* The letter, digit or blank at `at` must be there, once. */
bool trial_one_letter(const char *text, size_t size, size_t at);
bool trial_same_letter(char a, char b);
/* One past the class that opens at `at`; size + 1 where it is not a plain one. */
size_t trial_class_end(const char *text, size_t at, size_t size);
/* False only where the trial is sure to end within the limit. */
bool trial_needed(const char *text, size_t size);
/* CW_LIMIT when the pattern, compiled from that text, takes more than CW_PATTERN_MATCH_STEPS on one of the
 * texts; CW_NO_MEMORY. */
cw_status trial_run(const cw_pattern *pattern, const char *text, size_t size);

#endif
