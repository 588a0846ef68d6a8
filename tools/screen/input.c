#include "screen/input.h"
#include "screen/screen.h"
#include <errno.h>
#include <signal.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <unistd.h>

enum { MOST = 10000 }; /* bytes of one line; what is longer is cut there */

static volatile sig_atomic_t stopped;

/* One reader a program: what has been read and not yet handed out. */
static struct {
    char bytes[4096];
    size_t from, to;
    char line[MOST + 1];
    sigset_t while_waiting;
    bool terminal;
} reader;

static void note(int signal)
{
    (void)signal;
    stopped = 1;
}

void input_start(void)
{
    struct sigaction action = {.sa_handler = note};
    sigset_t ours;
    sigemptyset(&action.sa_mask);
    sigemptyset(&ours);
    static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
    for (size_t i = 0; i < sizeof signals / sizeof *signals; i++) {
        sigaddset(&ours, signals[i]);
        sigaction(signals[i], &action, NULL);
    }
    /* Blocked but for the wait itself, so none can slip in between looking at the flag and waiting. */
    sigprocmask(SIG_BLOCK, &ours, &reader.while_waiting);
    for (size_t i = 0; i < sizeof signals / sizeof *signals; i++)
        sigdelset(&reader.while_waiting, signals[i]);
    reader.terminal = isatty(STDIN_FILENO) == 1;
}

/* INPUT_LINE when there are bytes to hand out. */
static input_end fill(void)
{
    while (reader.from == reader.to) {
        fd_set waiting;
        FD_ZERO(&waiting);
        FD_SET(STDIN_FILENO, &waiting);
        int ready = pselect(STDIN_FILENO + 1, &waiting, NULL, NULL, NULL, &reader.while_waiting);
        if (stopped != 0)
            return INPUT_STOPPED;
        if (ready < 0 && errno == EINTR)
            continue;
        ssize_t got = ready > 0 ? read(STDIN_FILENO, reader.bytes, sizeof reader.bytes) : -1;
        if (got < 0 && (errno == EINTR || errno == EAGAIN))
            continue;
        if (got < 0)
            return INPUT_FAILED;
        if (got == 0)
            return INPUT_EOF;
        reader.from = 0;
        reader.to = (size_t)got;
    }
    return INPUT_LINE;
}

input_end input_line(const char *prompt, const char **line)
{
    screen_prompt(prompt);
    size_t size = 0;
    for (;;) {
        input_end end = fill();
        if (end == INPUT_EOF && size > 0)
            break; /* a last line without its end */
        if (end != INPUT_LINE) {
            screen_line();
            return end;
        }
        char c = reader.bytes[reader.from++];
        if (c == '\n')
            break;
        if (c != '\0' && size < MOST)
            reader.line[size++] = c;
    }
    while (size > 0 && (unsigned char)reader.line[size - 1] <= ' ')
        size--;
    reader.line[size] = '\0';
    if (!reader.terminal)
        screen_echo(reader.line);
    *line = reader.line + strspn(reader.line, " \t\r");
    return INPUT_LINE;
}

char *input_all(size_t *size)
{
    char *text = NULL;
    size_t room = 0;
    *size = 0;
    for (;;) {
        if (*size == room) {
            char *more = realloc(text, room = room * 2 + 65536);
            if (more == NULL)
                break;
            text = more;
        }
        ssize_t got = read(STDIN_FILENO, text + *size, room - *size);
        if (got == 0)
            return text;
        if (got < 0 && errno != EINTR)
            break;
        *size += got > 0 ? (size_t)got : 0;
    }
    free(text);
    return NULL;
}
