/* What the files of the command apart share. */
#ifndef TOOLS_APART_APART_H
#define TOOLS_APART_APART_H

#include "corewright/corewright.h"
#include "setup/options.h"

/* For people, in 80 columns. */
void apart_report(const cw_apart *apart);
/* As in rules/schema/apart.schema.json; either may be NULL. Returns the exit status. */
int apart_json(const cw_pack *pack, const cli_options *options, const cw_apart *units,
               const cw_apart *causes);
/* Every two as a matrix. EXIT_DONE, or EXIT_WRONG or EXIT_FAILED with a message on standard error. */
int apart_draw(const cw_apart *apart, const char *path);

/* "C", "V", "B", "T"; " " for none. */
char apart_letter(const char *place);
/* The checks of a way, as words for people: "Rotation and Look of the winding (counter)"; cut to size. */
void apart_words(const cw_apart_way *way, char *out, size_t size);
/* From the hardest to the easiest: what nothing tells, then less surely, then what takes longest. */
int apart_hardest_first(const void *a, const void *b); /* of const cw_apart_two * */

#endif
