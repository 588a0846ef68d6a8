/* corewright: the command line. */
#include "commands.h"
#include "corewright/corewright.h"
#include "screen/screen.h"
#include <stdio.h>
#include <string.h>

static const struct {
    const char *word;
    int (*run)(const cli_options *options);
    const char *does;
} commands[] = {
#define COMMAND(word, function, does) {word, function, does},
#include "command.def"
#undef COMMAND
};
enum { COUNT = sizeof commands / sizeof *commands };

static int help(void)
{
    screen_words("", "corewright tells a rotating-electrical shop which unit lies on the counter, what has "
                     "failed in it, what "
                     "to look at next, and why.");
    screen_line();
    screen_words("", "Usage:");
    screen_words("  ", "corewright identify|triage|teardown|proof [options]     asks, question by question");
    screen_words("  ", "... --case FILE [--json]              answers once from a case file");
    screen_words("  ", "corewright reassemble [options]      goes through the steps of assembly");
    screen_words("  ", "corewright calc [NAME KEY=VALUE...]      works something out");
    screen_words("  ", "corewright listen FILE --rpm N --ratio R [options]");
    screen_words("  ", "corewright scope FILE.csv [options]");
    screen_words("  ", "corewright rules [FOLDER...] [--watch] [--compile]  checks packs, or compiles them");
    screen_words("  ", "corewright rules --explain CODE          a page on one of its messages");
    screen_words("  ", "corewright begin family|version|cause|check FOLDER [KEY=VALUE...]");
    screen_words("  ", "corewright apart [FOLDER...] [options]    what packs cannot tell apart");
    screen_words("  ", "corewright replay CORPUS... [options]     labelled cases through the packs");
    screen_words("  ", "corewright compare OLD NEW CORPUS...     through two versions of the packs");
    screen_words("  ", "corewright learn CASES... [options]      what closed jobs say of the frequencies");
    screen_words("  ", "corewright chart identify|triage [options]  draws the question order for the wall");
    screen_line();
    screen_words("", "Commands:");
    for (size_t i = 0; i < COUNT; i++) {
        char head[40];
        snprintf(head, sizeof head, "  %s", commands[i].word);
        screen_pair(head, 24, commands[i].does);
    }
    screen_pair("  --help", 24, "this page");
    screen_pair("  --version", 24, "the version");
    screen_line();
    screen_words("", "Options:");
    options_print();
    screen_line();
    screen_words("", "Exit status: 0 done; 1 done, and the finding is negative; 2 the input or the call is "
                     "wrong; 3 the machine "
                     "failed.");
    return EXIT_DONE;
}

static int unknown(const char *word)
{
    const char *words[COUNT];
    for (size_t i = 0; i < COUNT; i++)
        words[i] = commands[i].word;
    const char *near = cw_nearest_word(word, words, COUNT);
    fprintf(stderr, "corewright: error: there is no command '%s'\n", word);
    if (near != NULL)
        fprintf(stderr, "help: did you mean '%s'?\n", near);
    else
        fputs("help: corewright --help lists them\n", stderr);
    return EXIT_WRONG;
}

static bool wants_help(int argc, char **argv)
{
    for (int i = 1; i < argc && strcmp(argv[i], "--") != 0; i++) {
        if (strcmp(argv[i], "--help") == 0 || strcmp(argv[i], "-h") == 0)
            return true;
    }
    return false;
}

static int run(int argc, char **argv)
{
    if (argc < 2) {
        fputs("corewright: error: a command is wanted: identify, triage, teardown, reassemble, proof, calc, "
              "begin, listen, scope, rules, apart, replay, compare, learn or chart\n"
              "help: corewright --help\n",
              stderr);
        return EXIT_WRONG;
    }
    screen_start(false);
    if (wants_help(argc, argv))
        return help();
    if (strcmp(argv[1], "--version") == 0) {
        puts("corewright " CW_VERSION);
        return EXIT_DONE;
    }
    for (size_t i = 0; i < COUNT; i++) {
        cli_options options;
        if (strcmp(argv[1], commands[i].word) != 0)
            continue;
        int exit_status = options_read(argc, argv, &options);
        if (exit_status != EXIT_DONE)
            return exit_status;
        screen_start(options.no_color);
        exit_status = commands[i].run(&options);
        options_free(&options);
        return exit_status;
    }
    return unknown(argv[1]);
}

int main(int argc, char **argv)
{
    int exit_status = run(argc, argv);
    int written = screen_end();
    return exit_status == EXIT_DONE || exit_status == EXIT_NEGATIVE
               ? (written != EXIT_DONE ? written : exit_status)
               : exit_status;
}
