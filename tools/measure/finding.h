/* What a measurement gives to triage: one answer, as a line and as a case file. */
#ifndef TOOLS_MEASURE_FINDING_H
#define TOOLS_MEASURE_FINDING_H

#include "setup/options.h"

/* Cautions before the step, in the words of charging-basics. */
void finding_caution(const char *first);
/* The line "check: value", and how to go on with it. value NULL: there is none to give. */
void finding_print(const cli_options *options, const char *check, const char *value);
/* Writes the case file that --case names, if it does: a new one, never over another. */
int finding_keep(const cli_options *options, const char *check, const char *value, const char *from);

#endif
