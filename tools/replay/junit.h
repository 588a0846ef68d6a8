/* Results as the XML that test benches of build servers read: one suite, one test a case. */
#ifndef TOOLS_REPLAY_JUNIT_H
#define TOOLS_REPLAY_JUNIT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

typedef enum junit_end { JUNIT_PASSED, JUNIT_FAILED, JUNIT_ERROR, JUNIT_SKIPPED } junit_end;

typedef struct junit {
    const char *path;
    FILE *file;  /* opened at once, so that a path that cannot be written ends the run before it begins */
    FILE *tests; /* the tests, until their number is known */
    size_t count, ends[4];
} junit;

/* EXIT_DONE, or the reason is on standard error. path NULL: nothing is ever written. */
int junit_open(const char *path, junit *out);
/* group: the stage; name: the file. message: one line, and details, several; both may be "". */
void junit_add(junit *out, const char *group, const char *name, junit_end end, const char *message,
               const char *details);
int junit_close(junit *out, const char *suite);

#endif
