#include "screen/hold.h"
#include <stddef.h>

static const int signals[] = {SIGINT, SIGTERM, SIGHUP};
enum { COUNT = sizeof signals / sizeof *signals };

void hold_begin(sigset_t *before)
{
    sigset_t ours;
    sigemptyset(&ours);
    for (size_t i = 0; i < COUNT; i++)
        sigaddset(&ours, signals[i]);
    pthread_sigmask(SIG_BLOCK, &ours, before);
}

bool hold_asked(void)
{
    sigset_t waiting;
    if (sigpending(&waiting) != 0)
        return false;
    for (size_t i = 0; i < COUNT; i++) {
        struct sigaction action;
        if (sigismember(&waiting, signals[i]) == 1 &&
            (sigaction(signals[i], NULL, &action) != 0 || action.sa_handler != SIG_IGN))
            return true;
    }
    return false;
}

void hold_end(const sigset_t *before)
{
    pthread_sigmask(SIG_SETMASK, before, NULL);
}
