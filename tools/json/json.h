/* The whole state of a session as JSON, as in rules/schema/result.schema.json. */
#ifndef TOOLS_JSON_JSON_H
#define TOOLS_JSON_JSON_H

#include "corewright/corewright.h"

/* Prints it; words may be NULL. Returns the exit status. */
int json_print(const cw_pack *pack, cw_session *session, const char *words);
/* The steps of assembly, as in rules/schema/steps.schema.json. */
int json_print_steps(const cw_pack *pack, cw_session *session, const cw_steps *steps);

#endif
