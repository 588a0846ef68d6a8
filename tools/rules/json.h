/* The messages about packs for programs: rules/schema/rules.schema.json, or SARIF 2.1.0 (OASIS, 27 March
 * 2020). */
#ifndef TOOLS_RULES_JSON_H
#define TOOLS_RULES_JSON_H

#include "corewright/corewright.h"
#include <stdbool.h>

/* pack is NULL unless status is CW_OK. Exit status: a pack with errors is a negative finding. */
int rules_print_json(const cw_pack *pack, const cw_messages *messages, cw_status status, const char *about,
                     bool sarif);

#endif
