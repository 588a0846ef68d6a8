/* The engine's side: a pack from a text or a folder, and all that its chain holds for true as sorted names
 * like "fact[d1]=value", with a "?" behind what is doubtful. */
#ifndef CW_TESTS_ASP_ENGINE_H
#define CW_TESTS_ASP_ENGINE_H

#include "chain/chain.h"

cw_model *engine_compile(const char *text);
cw_model *engine_load(const char *folder);
char **engine_facts(const cw_chain *chain, size_t *count); /* finite facts; lines and list are the caller's */
void engine_forget(char **lines, size_t count);

#endif
