#include "process.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/ptrace.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

enum { NOT_FOUND = 127 };

static double milliseconds_of(struct timeval time)
{
    return (double)time.tv_sec * 1e3 + (double)time.tv_usec / 1e3;
}

/* Of children that have ended. */
static double used(void)
{
    struct rusage usage;
    getrusage(RUSAGE_CHILDREN, &usage);
    return milliseconds_of(usage.ru_utime) + milliseconds_of(usage.ru_stime);
}

process_end process_run(const char *program, const char *argument, double *milliseconds)
{
    int status = 0;
    const double before = used();
    const pid_t child = fork();
    if (child == 0) {
        const int nowhere = open("/dev/null", O_WRONLY);
        dup2(nowhere, STDOUT_FILENO);
        execlp(program, program, argument, (char *)NULL);
        _exit(NOT_FOUND);
    }
    if (child < 0 || waitpid(child, &status, 0) != child || !WIFEXITED(status))
        return PROCESS_FAILED;
    *milliseconds = used() - before;
    return WEXITSTATUS(status) == 0           ? PROCESS_DONE
           : WEXITSTATUS(status) == NOT_FOUND ? PROCESS_MISSING
                                              : PROCESS_FAILED;
}

/* The copy stops before the work, and after it. */
static void be_watched(bool (*work)(void *context), void *context)
{
    if (ptrace(PTRACE_TRACEME, 0, NULL, NULL) != 0)
        _exit(1);
    raise(SIGSTOP);
    const bool done = work(context);
    raise(SIGSTOP);
    _exit(done ? 0 : 1);
}

static bool stopped_by(pid_t child, int by)
{
    int status = 0;
    return waitpid(child, &status, 0) == child && WIFSTOPPED(status) && WSTOPSIG(status) == by;
}

bool process_count(bool (*work)(void *context), void *context, double *instructions)
{
    int status = 0;
    const pid_t child = fork();
    if (child == 0)
        be_watched(work, context);
    bool right = child > 0 && stopped_by(child, SIGSTOP);
    *instructions = 0;
    while (right && ptrace(PTRACE_SINGLESTEP, child, NULL, NULL) == 0 && stopped_by(child, SIGTRAP))
        ++*instructions;
    right = right && ptrace(PTRACE_CONT, child, NULL, NULL) == 0 && waitpid(child, &status, 0) == child &&
            WIFEXITED(status) && WEXITSTATUS(status) == 0;
    if (!right)
        fprintf(stderr, "cw_bench: instructions cannot be counted: %s\n", strerror(errno));
    return right;
}
