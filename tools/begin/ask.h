/* Asking, as far as the questions share it. */
#ifndef TOOLS_BEGIN_ASK_H
#define TOOLS_BEGIN_ASK_H

#include "begin/begin.h"

enum { LINE = 4200 }; /* bytes of an answer, at most; buffers below are of that size */

/* How an answer came in. */
typedef enum got {
    GOT_LINE,
    GOT_NOTHING,
    GOT_BACK,   /* the answer before this one is taken back */
    GOT_END,    /* the answers end, or memory does */
    GOT_STOPPED /* Ctrl-C */
} got;

/* Nothing more is asked. */
bool begin_is_over(got how);

/* A line into `out`; ? explains and asks again. */
got begin_ask_line(const char *question, const char *explain, char *out);
/* Whether to write what was shown: GOT_LINE yes, GOT_NOTHING no. */
got begin_ask_yes(const char *question);

/* Capital or small. */
bool begin_same_letters(const char *a, const char *b);
bool begin_has_letters(const char *text, const char *part);

/* Something that has a name and a title; false past the end. */
typedef bool (*begin_named)(const begin *all, size_t index, const char **name, const char **title);
bool begin_part_named(const begin *all, size_t index, const char **name, const char **title);
bool begin_caution_named(const begin *all, size_t index, const char **name, const char **title);
/* Whether it is what is looked for; NULL: any is. */
typedef bool (*begin_fits)(const begin *all, size_t index);

/* The one of that name or title, or the only one that fits and has these letters: its index. Else SIZE_MAX;
 * those that have them are listed, or it is said that none has. */
size_t begin_look_up(const begin *all, begin_named at, begin_fits fits, const char *words);
/* What stands for a question that takes names: parts, cautions, a family; `line` becomes the names, which are
 * said. False, with the reason said, where one is not to be found. Other questions keep the line as it is. */
bool begin_pick(const begin *all, const begin_question *question, char *line);
/* The whole of a sign or datum "CHECK: VALUE" for the check or fact that the words name. GOT_NOTHING: there
 * was none to take. */
got begin_ask_sign(const begin *all, const begin_question *question, const char *words, char *sign);

#endif
