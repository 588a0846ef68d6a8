/* YAML as packs are mostly written, read several times faster than libyaml reads it: maps and lists in either
 * style, plain and quoted texts, text blocks. libyaml remains the judge of what YAML is. Whatever is wrong,
 * or not plainly in the part read here (anchors, tags, escapes, tabs, explicit keys ...), makes this reader
 * give the whole file up without a word, and yaml.c lets libyaml read it from its beginning. So all messages
 * are its, and a file that is read here gives the tree that it would give; tests/pack/test_quick.c compares
 * the two. */
#ifndef CW_PACK_QUICK_H
#define CW_PACK_QUICK_H

#include "pack/yaml.h"

/* The text is UTF-8 without control characters, terminated by a NUL; `ascii` when it holds nothing else.
 * CW_BAD_INPUT: given up, *root is NULL. Nodes live in the arena. */
cw_status quick_read(cw_arena *arena, uint32_t source, const char *text, bool ascii, const cw_node **root);

#endif
