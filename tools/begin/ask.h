/* Asking, as far as the questions share it. */
#ifndef TOOLS_BEGIN_ASK_H
#define TOOLS_BEGIN_ASK_H

#include "begin/begin.h"

enum { LINE = 4200 }; /* bytes of an answer, at most; buffers below are of that size */

/* How an answer came in. */
typedef enum got {
    GOT_LINE,
    GOT_NOTHING,
    GOT_END,    /* the answers end, or memory does */
    GOT_STOPPED /* Ctrl-C */
} got;

/* Nothing more is asked. */
bool begin_is_over(got how);

/* Something that has a name and a title. */
typedef bool (*begin_named)(const cw_pack *pack, size_t index, const char **name, const char **title);

/* A line into `out`; ? explains and asks again. */
got begin_ask_line(const char *question, const char *explain, char *out);
/* Capital or small. */
bool begin_same_letters(const char *a, const char *b);
/* The one of that name or title, or the only one that has these letters: its index. Else SIZE_MAX; those that
 * have them are listed, or it is said that none has. */
size_t begin_look_up(const cw_pack *pack, begin_named at, const char *words);
/* The whole of a sign "CHECK: VALUE" for the check or fact that the words name. GOT_NOTHING: there was none
 * to take. */
got begin_ask_sign(const begin *all, const char *words, char *sign);

#endif
