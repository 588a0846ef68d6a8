#define _XOPEN_SOURCE 700 /* posix_openpt, nftw */
#include "run.h"
#include <criterion/criterion.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { MOST = 24 };

static char **environment_of(const char *const *more)
{
    static char *list[MOST];
    size_t count = 0;
    list[count++] = "COREWRIGHT_PACKS=" SHOP;
    list[count++] = "LC_ALL=C.UTF-8";
    list[count++] = "PATH=/usr/bin:/bin";
    list[count++] = "TERM=xterm";
    for (size_t i = 0; more != NULL && more[i] != NULL && count + 1 < MOST; i++)
        list[count++] = (char *)(size_t)more[i];
    list[count] = NULL;
    /* The last of a name counts. */
    for (size_t i = 0; i < count; i++) {
        size_t name = strcspn(list[i], "=") + 1;
        for (size_t k = i + 1; k < count; k++) {
            if (strncmp(list[i], list[k], name) == 0)
                list[i] = list[k];
        }
    }
    return list;
}

static pid_t spawn(const char *const *words, const char *const *environment, int in, int out, int err)
{
    char *arguments[MOST] = {"corewright"};
    for (size_t i = 0; words[i] != NULL && i + 2 < MOST; i++)
        arguments[i + 1] = (char *)(size_t)words[i];
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, in, 0);
    posix_spawn_file_actions_adddup2(&actions, out, 1);
    posix_spawn_file_actions_adddup2(&actions, err, 2);
    posix_spawnattr_t attributes;
    posix_spawnattr_init(&attributes);
    pid_t pid;
    int error = posix_spawn(&pid, CW_BINARY_DIR "/tools/corewright", &actions, &attributes, arguments,
                            environment_of(environment));
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&actions);
    cr_assert_eq(error, 0, "cannot start the command: %s", strerror(error));
    return pid;
}

static void make_pipe(int ends[2])
{
    cr_assert_eq(pipe(ends), 0);
    fcntl(ends[0], F_SETFD, FD_CLOEXEC);
    fcntl(ends[1], F_SETFD, FD_CLOEXEC);
}

process child_start(const char *const *words, const char *const *environment, int terminal)
{
    process child = {0};
    if (terminal) {
        child.in = child.out = child.err = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
        cr_assert(child.in >= 0 && grantpt(child.in) == 0 && unlockpt(child.in) == 0);
        int other = open(ptsname(child.in), O_RDWR | O_NOCTTY | O_CLOEXEC);
        cr_assert_geq(other, 0);
        child.pid = spawn(words, environment, other, other, other);
        close(other);
        return child;
    }
    int in[2];
    int out[2];
    int err[2];
    make_pipe(in);
    make_pipe(out);
    make_pipe(err);
    child.pid = spawn(words, environment, in[0], out[1], err[1]);
    close(in[0]);
    close(out[1]);
    close(err[1]);
    child.in = in[1];
    child.out = out[0];
    child.err = err[0];
    return child;
}

typedef struct buffer {
    char *text;
    size_t size;
} buffer;

static ssize_t take(int file, buffer *into)
{
    char *more = realloc(into->text, into->size + 4097);
    cr_assert_not_null(more);
    into->text = more;
    ssize_t got = read(file, into->text + into->size, 4096);
    into->size += got > 0 ? (size_t)got : 0;
    into->text[into->size] = '\0';
    return got;
}

char *child_read_until(process *child, const char *words)
{
    buffer got = {child->held, child->held != NULL ? strlen(child->held) : 0};
    child->held = NULL;
    const char *found = NULL;
    while (got.text == NULL || (found = strstr(got.text, words)) == NULL) {
        if (take(child->out, &got) <= 0) {
            fprintf(stderr, "ended without \"%s\":\n%s\n", words, got.text);
            free(got.text);
            return NULL;
        }
    }
    size_t size = (size_t)(found - got.text) + strlen(words);
    child->held = strdup(got.text + size); /* what came behind is for the next reading */
    got.text[size] = '\0';
    return got.text;
}

void child_drain(process *child)
{
    buffer rest = {NULL, 0};
    while (take(child->out, &rest) > 0)
        ;
    free(rest.text);
}

int child_wait(process *child)
{
    int status;
    cr_assert_eq(waitpid(child->pid, &status, 0), child->pid);
    free(child->held);
    child->held = NULL;
    close(child->in);
    if (child->out != child->in) {
        close(child->out);
        close(child->err);
    }
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

/* Feeds and reads at once, so that neither side waits for the other. */
static void exchange(process *child, const char *input, buffer *out, buffer *err)
{
    size_t left = input != NULL ? strlen(input) : 0;
    signal(SIGPIPE, SIG_IGN);
    fcntl(child->in, F_SETFL, O_NONBLOCK);
    bool out_open = true;
    bool err_open = true;
    while (out_open || err_open) {
        if (left == 0 && child->in >= 0) {
            close(child->in);
            child->in = -1;
        }
        struct pollfd waiting[3] = {{out_open ? child->out : -1, POLLIN, 0},
                                    {err_open ? child->err : -1, POLLIN, 0},
                                    {child->in, POLLOUT, 0}};
        poll(waiting, 3, -1);
        if (waiting[0].revents != 0 && take(child->out, out) <= 0)
            out_open = false;
        if (waiting[1].revents != 0 && take(child->err, err) <= 0)
            err_open = false;
        if (waiting[2].revents != 0 && child->in >= 0) {
            ssize_t done = write(child->in, input, left);
            if (done > 0) {
                input += done;
                left -= (size_t)done;
            } else if (errno != EAGAIN) {
                left = 0;
            }
        }
    }
}

outcome run_command(const char *const *words, const char *const *environment, const char *input)
{
    process child = child_start(words, environment, 0);
    buffer out = {calloc(1, 1), 0};
    buffer err = {calloc(1, 1), 0};
    exchange(&child, input, &out, &err);
    outcome ran = {0, out.text, err.text};
    if (child.in < 0)
        child.in = open("/dev/null", O_RDONLY);
    ran.status = child_wait(&child);
    if (strstr(ran.err, "Sanitizer") != NULL || strstr(ran.err, "runtime error") != NULL)
        cr_assert_fail("%s", ran.err);
    return ran;
}

void ran_free(outcome *ran)
{
    free(ran->out);
    free(ran->err);
}

static char folder[] = "/tmp/cw-tools-XXXXXX";

void folder_enter(void)
{
    cr_assert_not_null(mkdtemp(folder));
    cr_assert_eq(chdir(folder), 0);
}

static int remove_entry(const char *path, const struct stat *about, int kind, struct FTW *where)
{
    (void)about, (void)kind, (void)where;
    return remove(path);
}

void folder_leave(void)
{
    cr_assert_eq(chdir("/"), 0);
    cr_assert_eq(nftw(folder, remove_entry, 8, FTW_DEPTH | FTW_PHYS), 0);
}
