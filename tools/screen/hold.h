/* The end of the program held back while something temporary is there: SIGINT (Ctrl-C), SIGTERM and SIGHUP
 * wait until it is gone. */
#ifndef TOOLS_SCREEN_HOLD_H
#define TOOLS_SCREEN_HOLD_H

#include <signal.h>
#include <stdbool.h>

/* Of this thread and those that it starts from here on; *before: what was let through. */
void hold_begin(sigset_t *before);
/* One of them waits, and is not ignored: whoever takes long ends now. */
bool hold_asked(void);
/* Those that wait come through, which may be the end of the program. */
void hold_end(const sigset_t *before);

#endif
