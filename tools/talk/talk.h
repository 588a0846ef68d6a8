/* The conversation in the terminal: one question at a time, until nothing more is worth asking or the person
 * leaves. */
#ifndef TOOLS_TALK_TALK_H
#define TOOLS_TALK_TALK_H

#include "setup/setup.h"

/* Returns the exit status. */
int talk_run(const job_setup *setup);

#endif
