/* The command line, read once. */
#ifndef TOOLS_SETUP_OPTIONS_H
#define TOOLS_SETUP_OPTIONS_H

#include "screen/exit.h"
#include <stdbool.h>
#include <stddef.h>

typedef struct text_list {
    const char **items;
    size_t count;
} text_list;

typedef struct cli_options {
    const char *command;
    const char *case_file, *save, *words, *unit;
    const char *rpm, *ratio, *speed_error, *poles, *slots, *blades, *bearing, *rear_bearing, *belt,
        *pulley;                           /* listen, scope */
    const char *rate, *svg, *compile;      /* compile: "" where no file is named */
    const char *junit, *threads;           /* replay, compare */
    const char *corpus, *file;             /* begin */
    const char *explain;                   /* rules */
    const char *sure;                      /* apart */
    const char *into, *worth, *worth_seen; /* learn */
    const char *deep, *paper, *pdf;        /* chart */
    text_list answers, places, packs;
    text_list rest; /* words that belong to no option */
    bool ask, json, no_color;
    bool sarif, watch;        /* rules */
    bool of_units, of_causes; /* apart */
} cli_options;

/* EXIT_DONE, or EXIT_WRONG with a message on standard error. The texts stay those of argv. */
int options_read(int argc, char **argv, cli_options *out);
void options_free(cli_options *options);
/* The table of options, for the help. */
void options_print(void);

#endif
