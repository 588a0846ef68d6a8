/* How far it is, on standard error, where that is a terminal; nowhere else a single byte. */
#ifndef TOOLS_SCREEN_PROGRESS_H
#define TOOLS_SCREEN_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>

typedef struct progress {
    bool terminal, shown;
    size_t of;
    int hundredths;
} progress;

progress progress_start(size_t of);
void progress_show(progress *bar, size_t done);
/* Takes the bar away, before something else is printed and at the end. */
void progress_clear(progress *bar);

#endif
