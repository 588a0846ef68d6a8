/* Exit status of the command. */
#ifndef TOOLS_SCREEN_EXIT_H
#define TOOLS_SCREEN_EXIT_H

enum {
    EXIT_DONE = 0,
    EXIT_NEGATIVE =
        1, /* done, and the finding is negative: a pack with errors, a case not as labelled or worse */
    EXIT_WRONG = 2, /* the input or the call is wrong */
    EXIT_FAILED = 3 /* the machine failed: disk full, no permission, no memory */
};

#endif
