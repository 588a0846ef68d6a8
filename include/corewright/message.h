/* Messages for people about a pack, an answer or a case file: errors, warnings, notes.
 *
 * Owner: whoever got the list frees it. Threads: a list is only read. */
#ifndef COREWRIGHT_MESSAGE_H
#define COREWRIGHT_MESSAGE_H

#include "corewright/status.h"
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct cw_messages cw_messages;

typedef enum cw_message_kind { CW_MESSAGE_NOTE, CW_MESSAGE_WARNING, CW_MESSAGE_ERROR } cw_message_kind;

typedef struct cw_message {
    cw_message_kind kind;
    const char *code;     /* "E105"; keeps its meaning for ever */
    const char *summary;  /* what the code stands for, whatever the spot */
    const char *file;     /* "" when it is about no file */
    uint32_t line;        /* from 1; 0 = nowhere */
    uint32_t column;      /* from 1, as the eye counts */
    const char *text;     /* what is wrong, one line */
    const char *help;     /* what to do, or NULL */
    const char *rendered; /* the whole message with the line and a caret, several lines */
    /* For programs that mark the spot: it ends before end_column of end_line, and the same counted in characters. */
    uint32_t end_line, end_column, character, end_character;
    /* A second spot, as where a name was used first; other_text is NULL when there is none. */
    const char *other_file, *other_text;
    uint32_t other_line, other_column, other_character;
} cw_message;

CW_API size_t cw_messages_count(const cw_messages *messages);              /* NULL: 0 */
CW_API const cw_message *cw_messages_at(const cw_messages *messages, size_t index); /* NULL past the end */
CW_API size_t cw_messages_errors(const cw_messages *messages);             /* how many are errors */
CW_API void cw_messages_free(cw_messages *messages);                       /* NULL allowed */

/* The nearest of some words to a misspelt one; NULL if none is near. */
CW_API const char *cw_nearest_word(const char *word, const char *const *words, size_t count);

#ifdef __cplusplus
}
#endif

#endif
