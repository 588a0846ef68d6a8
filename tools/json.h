/* The whole state of a session as JSON, as in rules/schema/result.schema.json. */
#ifndef TOOLS_JSON_H
#define TOOLS_JSON_H

#include "corewright/corewright.h"

/* Prints it; words may be NULL. Returns the exit status. */
int json_print(const cw_pack *pack, cw_session *session, const char *words);

#endif
