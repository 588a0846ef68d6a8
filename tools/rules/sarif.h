/* Messages as SARIF 2.1.0 (OASIS standard, 27 March 2020): codes as rules with their pages as help, regions
 * in characters. */
#ifndef TOOLS_RULES_SARIF_H
#define TOOLS_RULES_SARIF_H

#include "json/inside.h"

/* Owned by the caller; a failure is noted in out. */
json_t *rules_sarif(json_writer *out, const cw_messages *messages);

#endif
