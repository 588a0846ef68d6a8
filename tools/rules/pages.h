/* The pages of rules/messages: what each code means, with a bad and a good example. Built into the command by
 * pages.cmake, so that they are there wherever it is put. */
#ifndef TOOLS_RULES_PAGES_H
#define TOOLS_RULES_PAGES_H

#include <stddef.h>

typedef struct code_page {
    const char *code; /* "E105" */
    const char *text; /* the file: headed paragraphs and fenced examples */
} code_page;

extern const code_page code_pages[];
extern const size_t code_page_count;

/* NULL if there is none; capital or small. */
const code_page *page_find(const char *code);
/* Prints the page of a code. Exit status; an unknown code is a wrong call, with the nearest one named. */
int page_explain(const char *code);

#endif
