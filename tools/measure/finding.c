#include "measure/finding.h"
#include "screen/screen.h"
#include <errno.h>
#include <stdio.h>
#include <string.h>

void finding_caution(const char *first)
{
    screen_tone(TONE_ALARM, "Caution: ", first);
    screen_tone(TONE_QUIET, "         ",
                "Local codes and licensed practice come first; a hybrid, 48 V or orange cables are for "
                "qualified people.");
    screen_line();
}

void finding_print(const cli_options *options, const char *check, const char *value)
{
    screen_rule("For triage");
    if (value == NULL) {
        screen_words("", "Nothing sure enough to be taken as an answer.");
        return;
    }
    printf("%s: %s\n", check, value);
    if (options->case_file != NULL)
        screen_say("", "Kept in %s; go on with: corewright triage --ask --case %s", options->case_file,
                   options->case_file);
    else
        screen_say("", "Go on with: corewright triage --answer %s=%s", check, value);
}

/* A YAML text between single quotes. */
static void put_quoted(FILE *file, const char *text)
{
    fputc('\'', file);
    for (; *text != '\0'; text++) {
        if (*text == '\'')
            fputc('\'', file);
        fputc((unsigned char)*text < 0x20 ? ' ' : *text, file);
    }
    fputs("'\n", file);
}

int finding_keep(const cli_options *options, const char *check, const char *value, const char *from)
{
    if (options->case_file == NULL)
        return EXIT_DONE;
    FILE *file = fopen(options->case_file, "wx"); /* never over another job */
    if (file == NULL) {
        int reason = errno;
        fprintf(stderr, "corewright: error: %s: %s\n", options->case_file, strerror(reason));
        if (reason == EEXIST)
            fprintf(stderr, "help: name a new file, or give the answer to that job: --answer %s=%s\n", check,
                    value != NULL ? value : "...");
        return reason == EEXIST || reason == ENOENT ? EXIT_WRONG : EXIT_FAILED;
    }
    const char *slash = strrchr(from, '/');
    fputs("case: ", file);
    put_quoted(file, slash != NULL ? slash + 1 : from);
    fputs("stage: triage\n", file);
    if (value != NULL)
        fprintf(file, "answers:\n  %s: %s\n", check, value);
    else
        fputs("answers: {}\n", file);
    fprintf(file, "source: ");
    put_quoted(file, strcmp(check, "sound_source") == 0 ? "a recording, by corewright listen"
                                                        : "a scope's trace, by corewright scope");
    int broken = ferror(file);
    if ((fclose(file) | broken) != 0) {
        fprintf(stderr, "corewright: error: %s: it could not be written whole\n", options->case_file);
        return EXIT_FAILED;
    }
    return EXIT_DONE;
}
