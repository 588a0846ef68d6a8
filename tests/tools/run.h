/* Runs the real command and keeps what it said. */
#ifndef CW_TESTS_TOOLS_RUN_H
#define CW_TESTS_TOOLS_RUN_H

#include <stddef.h>
#include <sys/types.h>

#define SHOP CW_SOURCE_DIR "/tests/session/shop"

typedef struct outcome {
    int status;      /* exit status; 128 + signal when it was killed */
    char *out, *err; /* owned; ran_free */
} outcome;

/* words: the arguments after the command's name, NULL at the end. environment: "NAME=value", NULL at the end,
 * on top of a plain one (packs of the small shop, UTF-8). input: what it reads; NULL = nothing. */
outcome run_command(const char *const *words, const char *const *environment, const char *input);
void ran_free(outcome *ran);

/* A folder of its own to work in for one test (its .init), gone with all it holds at the end (its .fini). */
void folder_enter(void);
void folder_leave(void);

/* The same, step by step, for signals and terminals. */
typedef struct process {
    pid_t pid;
    int in, out, err; /* ours; the same one for a terminal */
    char *held;       /* read, and not yet asked for */
} process;
process child_start(const char *const *words, const char *const *environment, int terminal);
/* Reads from the child's output until the words have come; what came, owned. NULL when it ended without them.
 */
char *child_read_until(process *child, const char *words);
void child_drain(process *child); /* reads to the end */
int child_wait(process *child);

#define RUN(input, ...)                                                                                      \
    run_command((const char *const[]){__VA_ARGS__, NULL}, (const char *const[]){NULL}, (input))

#endif
