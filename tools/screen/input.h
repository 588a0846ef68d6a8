/* Lines from standard input; Ctrl-C and the end of input are told apart and lose nothing. */
#ifndef TOOLS_SCREEN_INPUT_H
#define TOOLS_SCREEN_INPUT_H

#include <stddef.h>

typedef enum input_end { INPUT_LINE, INPUT_EOF, INPUT_STOPPED, INPUT_FAILED } input_end;

/* From here on SIGINT, SIGTERM and SIGHUP only raise a flag, and are let through while a line is waited for.
 */
void input_start(void);
/* Prints the prompt and waits for a line. *line, without its end, is the caller's until the next call. */
input_end input_line(const char *prompt, const char **line);
/* Everything there is; NULL on failure (errno). The caller frees it. */
char *input_all(size_t *size);

#endif
