/* gringo and clasp as a judge: grounds and solves a program, and gives back the atoms of its only answer set.
 */
#ifndef CW_TESTS_SOLVER_H
#define CW_TESTS_SOLVER_H

#include <stdbool.h>
#include <stddef.h>

typedef struct solver_answer {
    char **atoms; /* sorted */
    size_t count;
    size_t sets; /* answer sets found: 1 for a stratified program */
    char *text;
} solver_answer;

void solver_needed(void); /* fails the test, and names the packages, where they are missing */
/* The program is kept in a file of this name while it runs. */
solver_answer solver_run(const char *path, const char *program);
void solver_forget(solver_answer *answer);

/* Sorted lists of names, compared; *first tells where they part (NULL: nowhere). */
bool solver_same(char *const *a, size_t a_count, char *const *b, size_t b_count, const char **first);

#endif
