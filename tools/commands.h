/* The commands behind the words of command.def. Each returns the exit status. */
#ifndef TOOLS_COMMANDS_H
#define TOOLS_COMMANDS_H

#include "setup/options.h"

/* identify, triage, teardown, proof: in conversation, or once from a case. */
int command_stage(const cli_options *options);
/* reassemble: the steps of assembly, as a sheet or one at a time. */
int command_reassemble(const cli_options *options);
/* calc: bench calculations. */
int command_calc(const cli_options *options);
/* listen: a recording. scope: a scope's trace. */
int command_listen(const cli_options *options);
int command_scope(const cli_options *options);
/* rules: all that can be said of packs; pages on codes; once, or whenever a file changes. */
int command_rules(const cli_options *options);
/* begin: a new family, cause or check in a pack. */
int command_begin(const cli_options *options);
/* apart: what the packs cannot tell apart. */
int command_apart(const cli_options *options);
/* replay: labelled cases through today's rules. */
int command_replay(const cli_options *options);
/* chart: the question order on one sheet. */
int command_chart(const cli_options *options);
/* compare: labelled cases through two versions of the packs. */
int command_compare(const cli_options *options);
/* learn: from closed jobs to frequencies. */
int command_learn(const cli_options *options);

#endif
