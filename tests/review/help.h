/* What the tests of this room share: packs compiled and looked through. */
#ifndef CW_TESTS_REVIEW_HELP_H
#define CW_TESTS_REVIEW_HELP_H

#include "pack/help.h"
#include "review/review.h"

#define CORNER_SHOP CW_SOURCE_DIR "/tests/review/corner-shop"

/* One pack of these files, looked through when it has no errors; diags sorted. */
compiled review_files(const cw_pack_file *files, size_t count, cw_review_limits limits);
/* The corner shop, with this text as a second file of it. */
compiled review_beside_shop(const char *text, size_t size);
/* The codes of all messages, each once, in order: "E105 W122". Lives until the next call. */
const char *codes_of(const compiled *made);
/* Names in a folder with this ending, sorted; how many. */
size_t names_in(const char *folder, const char *ending, char names[][80], size_t room);

#endif
