/* reassemble: the steps of assembly, as a sheet or one at a time. */
#include "commands.h"
#include "report/steps.h"
#include "screen/input.h"
#include "screen/screen.h"
#include "setup/setup.h"
#include "json/json.h"
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

typedef enum said { SAY_NEXT, SAY_WHY, SAY_BACK, SAY_LIST, SAY_DONE, SAY_HELP, SAY_NUMBER, SAY_NOTHING } said;

static const struct {
    const char *word;
    said means;
    const char *does; /* NULL: another word for one of those */
} words[] = {
#define WORD(word, means, does) {word, means, does},
#include "talk/reassemble_word.def"
#undef WORD
    {"next", SAY_NEXT, NULL}, {"?", SAY_WHY, NULL},     {"how", SAY_WHY, NULL},
    {"undo", SAY_BACK, NULL}, {"quit", SAY_DONE, NULL}, {"exit", SAY_DONE, NULL},
};

/* The steps that can be gone through: those that wait for the unit are left out. */
typedef struct walk {
    const cw_step_info **steps;
    size_t count, at;
} walk;

/* Greasy hands: nothing means the step is done, and the first letters of a word are enough. */
static said read_word(const char *line, size_t *number)
{
    size_t size = strlen(line);
    if (size == 0)
        return SAY_NEXT;
    if (strspn(line, "0123456789") == size) {
        *number = (size_t)strtoul(line, NULL, 10);
        return SAY_NUMBER;
    }
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strncasecmp(line, words[i].word, size) == 0)
            return words[i].means;
    return SAY_NOTHING;
}

static void show(const walk *steps)
{
    char title[320];
    const cw_step_info *step = steps->steps[steps->at];
    screen_line();
    snprintf(title, sizeof title, "Step %zu of %zu: %s", steps->at + 1, steps->count, step->title);
    screen_tone(TONE_STRONG, "", title);
    report_step(step);
}

static void list(const walk *steps)
{
    for (size_t i = 0; i < steps->count; i++) {
        char head[32];
        snprintf(head, sizeof head, "%s%3zu  ", i == steps->at ? " >" : "  ", i + 1);
        screen_say(head, "%s%s", steps->steps[i]->title, steps->steps[i]->perhaps ? " (perhaps)" : "");
    }
}

static void help(void)
{
    screen_pair("    Enter", 13, "the step is done: on to the next");
    screen_pair("    7", 13, "go to step 7");
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        char head[24];
        snprintf(head, sizeof head, "    %s", words[i].word);
        if (words[i].does != NULL)
            screen_pair(head, 13, words[i].does);
    }
}

/* True when there is another step to show. */
static bool go_to(walk *steps, size_t number)
{
    if (number == 0 || number > steps->count) {
        screen_say("  ", "There are the steps 1 to %zu.", steps->count);
        return false;
    }
    steps->at = number - 1;
    return true;
}

/* One line at a step. True when the next one is to be shown; *over when all is done, or the person has had
 * enough. */
static bool take(walk *steps, const char *line, bool *over)
{
    size_t number = 0;
    switch (read_word(line, &number)) {
    case SAY_NEXT:
        *over = ++steps->at == steps->count;
        return true;
    case SAY_WHY:
        report_mistake(steps->steps[steps->at]);
        return false;
    case SAY_BACK:
        if (steps->at == 0)
            screen_words("  ", "This is the first step.");
        return steps->at > 0 && go_to(steps, steps->at);
    case SAY_LIST:
        list(steps);
        return false;
    case SAY_DONE:
        *over = true;
        return false;
    case SAY_HELP:
        help();
        return false;
    case SAY_NUMBER:
        return go_to(steps, number);
    case SAY_NOTHING:
        break;
    }
    screen_words("  ", "Enter when it is done, or: why back list done help, or the number of a step.");
    return false;
}

static void leave(const job_setup *setup, const walk *steps, input_end end)
{
    screen_line();
    if (end == INPUT_STOPPED)
        screen_words("", "Stopped.");
    const char *kept = setup_kept(setup);
    if (steps->at == steps->count) {
        screen_say("", "All %zu steps are done. Before it goes out it is proved on the bench:", steps->count);
        screen_say("  ", "corewright proof%s%s", kept != NULL ? " --save " : "", kept != NULL ? kept : "");
    } else
        screen_say("", "Left at step %zu of %zu; %zu at the prompt goes on there.", steps->at + 1,
                   steps->count, steps->at + 1);
}

static void go_through(const job_setup *setup, walk *steps)
{
    input_end end = INPUT_LINE;
    bool over = false, fresh = true;
    screen_words("", "Enter when a step is done, or: why back list done help");
    while (!over && end == INPUT_LINE) {
        const char *line;
        if (fresh)
            show(steps);
        end = input_line("> ", &line);
        if (end == INPUT_LINE)
            fresh = take(steps, line, &over);
    }
    leave(setup, steps, end);
}

static cw_status one_at_a_time(const job_setup *setup, const cw_steps *all)
{
    walk steps = {.steps = calloc(all->count + 1, sizeof *steps.steps)};
    if (steps.steps == NULL)
        return CW_NO_MEMORY;
    for (size_t i = 0; i < all->count; i++)
        if (!steps_wait_for_unit(&all->list[i]))
            steps.steps[steps.count++] = &all->list[i];
    input_start();
    cw_status status = report_steps_head(setup->session, all);
    if (status == CW_OK && steps.count > 0)
        go_through(setup, &steps);
    free(steps.steps);
    return status;
}

/* A sheet for another program, a case, or a printer at the end of a pipe. */
static bool wants_sheet(const cli_options *options)
{
    bool printed = isatty(STDIN_FILENO) == 1 && isatty(STDOUT_FILENO) != 1;
    return (options->case_file != NULL || printed) && !options->ask;
}

int command_reassemble(const cli_options *options)
{
    if (options->rest.count > 0) {
        fprintf(stderr, "corewright: error: reassemble takes no word like '%s'\n", options->rest.items[0]);
        fprintf(stderr, "help: a case is given with --case %s\n", options->rest.items[0]);
        return EXIT_WRONG;
    }
    job_setup setup;
    int exit_status = setup_open(options, &setup);
    if (exit_status != EXIT_DONE)
        return exit_status;
    const cw_steps *steps;
    setup_say_carried(&setup, options->json || wants_sheet(options));
    exit_status = setup_save(&setup, NULL);
    if (exit_status == EXIT_DONE)
        exit_status = explain_status(cw_session_steps(setup.session, &steps), "the session", NULL);
    if (exit_status == EXIT_DONE && options->json)
        exit_status = json_print_steps(setup.pack, setup.session, steps);
    else if (exit_status == EXIT_DONE)
        exit_status = explain_status(wants_sheet(options) ? report_steps(setup.session, steps)
                                                          : one_at_a_time(&setup, steps),
                                     "the session", NULL);
    setup_close(&setup);
    return exit_status;
}
