#include "setup/setup.h"
#include "screen/input.h"
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

void print_messages(const cw_messages *messages, cw_message_kind least)
{
    for (size_t i = 0; i < cw_messages_count(messages); i++) {
        const cw_message *message = cw_messages_at(messages, i);
        if (message->kind >= least)
            fputs(message->rendered, stderr);
    }
}

int explain_status(cw_status status, const char *about, const cw_messages *messages)
{
    print_messages(messages, CW_MESSAGE_WARNING);
    if (status == CW_OK)
        return EXIT_DONE;
    if (cw_messages_count(messages) == 0)
        fprintf(stderr, "corewright: error: %s: %s\n", about, cw_status_text(status));
    if (status == CW_NO_MEMORY || status == CW_CANNOT_WRITE)
        return EXIT_FAILED;
    /* A file that is not there is a wrong call; one that is and cannot be read, a failing machine. */
    if (status == CW_CANNOT_READ && access(about, F_OK) == 0)
        return EXIT_FAILED;
    return EXIT_WRONG;
}

int setup_open_pack(const cli_options *options, cw_pack **out)
{
    folder_list found;
    int exit_status = folders_find(options, &found);
    if (exit_status != EXIT_DONE)
        return exit_status;
    cw_messages *messages;
    cw_status status = cw_pack_open(NULL, (const char *const *)found.items, found.count, &messages, out);
    if (status != CW_OK)
        exit_status = explain_status(status, found.items[0], messages);
    cw_messages_free(messages);
    folders_free(&found);
    return exit_status;
}

static int read_input(cw_case **out, cw_messages **messages)
{
    size_t size;
    char *text = input_all(&size);
    if (text == NULL) {
        fprintf(stderr, "corewright: error: standard input: %s\n", strerror(errno));
        *messages = NULL;
        return EXIT_FAILED;
    }
    cw_status status = cw_case_parse(NULL, "standard input", text, size, messages, out);
    free(text);
    return explain_status(status, "standard input", *messages);
}

static int read_case(const char *path, cw_case **out)
{
    cw_messages *messages;
    int exit_status;
    if (strcmp(path, "-") == 0) {
        exit_status = read_input(out, &messages);
    } else {
        cw_status status = cw_case_read(NULL, path, &messages, out);
        exit_status = explain_status(status, path, messages);
    }
    cw_messages_free(messages);
    return exit_status;
}

static int apply_case(job_setup *setup)
{
    if (setup->job == NULL)
        return EXIT_DONE;
    cw_messages *messages;
    cw_status status = cw_case_carry(setup->job, setup->session, &setup->carried);
    if (status != CW_OK)
        return explain_status(status, "the case", NULL);
    status = cw_case_apply(setup->job, setup->session, &messages);
    int exit_status = explain_status(status, "the case", messages);
    cw_messages_free(messages);
    return exit_status;
}

int setup_wrong_place(const char *place)
{
    const char *places[8];
    size_t count = 0;
    while (count < 8 && (places[count] = cw_place_at(count)) != NULL)
        count++;
    const char *near = cw_nearest_word(place, places, count);
    fprintf(stderr, "corewright: error: '%s' is not a place\n", place);
    if (near != NULL)
        fprintf(stderr, "help: did you mean '%s'?\n", near);
    else
        fputs("help: one of: counter, vehicle, bench, teardown\n", stderr);
    return EXIT_WRONG;
}

/* Places of the command line count instead of those of the case. */
static int set_places(const job_setup *setup)
{
    const text_list *places = &setup->options->places;
    for (size_t i = 0; i < places->count; i++) {
        if (cw_session_places(setup->session, &places->items[i], 1) == CW_NOT_FOUND)
            return setup_wrong_place(places->items[i]);
    }
    if (places->count == 0)
        return EXIT_DONE;
    return explain_status(cw_session_places(setup->session, places->items, places->count), "places", NULL);
}

static int give_answer(const job_setup *setup, const char *pair)
{
    const char *equals = strchr(pair, '=');
    if (equals == NULL || equals == pair) {
        fprintf(stderr, "corewright: error: --answer %s: wants CHECK=VALUE\n", pair);
        return EXIT_WRONG;
    }
    char *check = strndup(pair, (size_t)(equals - pair));
    if (check == NULL)
        return explain_status(CW_NO_MEMORY, "--answer", NULL);
    const char *near;
    cw_messages *messages = NULL;
    int exit_status;
    if (cw_pack_check(setup->pack, check, &near) == NULL) {
        fprintf(stderr, "corewright: error: --answer %s: no pack has a check of this name\n", check);
        if (near != NULL)
            fprintf(stderr, "help: did you mean '%s'?\n", near);
        exit_status = EXIT_WRONG;
    } else {
        cw_status status = cw_session_answer(setup->session, check, equals + 1, NULL, NULL, &messages);
        exit_status = explain_status(status, check, messages);
    }
    cw_messages_free(messages);
    free(check);
    return exit_status;
}

/* All wrong answers are reported, not the first alone. */
static int give_answers(const job_setup *setup)
{
    int worst = EXIT_DONE;
    for (size_t i = 0; i < setup->options->answers.count; i++) {
        int exit_status = give_answer(setup, setup->options->answers.items[i]);
        worst = exit_status > worst ? exit_status : worst;
    }
    return worst;
}

static int take_unit(const job_setup *setup)
{
    if (setup->options->unit == NULL)
        return EXIT_DONE;
    cw_messages *messages = NULL;
    cw_status status = cw_session_answer(setup->session, "unit", setup->options->unit, NULL, NULL, &messages);
    int exit_status = explain_status(status, "--unit", messages);
    cw_messages_free(messages);
    return exit_status;
}

static bool holds_something(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && S_ISREG(about.st_mode) && about.st_size > 0;
}

/* What is kept already is gone on with; another job's file is not written over. */
static int find_job(const cli_options *options, job_setup *setup)
{
    setup->save = options->save;
    const char *path = options->case_file;
    if (options->save != NULL && holds_something(options->save)) {
        if (path == NULL) {
            path = options->save;
            setup->resumed = true;
        } else if (strcmp(path, options->save) != 0) {
            fprintf(stderr, "corewright: error: %s holds a job already\n", options->save);
            fputs("help: give it with --case as well, or save under another name\n", stderr);
            return EXIT_WRONG;
        }
    }
    return path != NULL ? read_case(path, &setup->job) : EXIT_DONE;
}

/* A command that goes on with what another one found works at its stage; a chart is drawn of the one named.
 */
static const char *stage_of(const cli_options *options)
{
    if (strcmp(options->command, "chart") == 0)
        return options->rest.items[0];
    return strcmp(options->command, "reassemble") == 0 ? "teardown" : options->command;
}

int setup_open(const cli_options *options, job_setup *out)
{
    *out = (job_setup){.options = options};
    int exit_status = find_job(options, out);
    if (exit_status == EXIT_DONE)
        exit_status = setup_open_pack(options, &out->pack);
    if (exit_status == EXIT_DONE)
        exit_status = explain_status(cw_session_new(out->pack, stage_of(options), &out->session),
                                     options->command, NULL);
    if (exit_status == EXIT_DONE)
        exit_status = apply_case(out);
    if (exit_status == EXIT_DONE)
        exit_status = set_places(out);
    if (exit_status == EXIT_DONE)
        exit_status = give_answers(out);
    if (exit_status == EXIT_DONE)
        exit_status = take_unit(out);
    if (exit_status != EXIT_DONE)
        setup_close(out);
    return exit_status;
}

void setup_close(job_setup *setup)
{
    cw_session_free(setup->session);
    cw_pack_free(setup->pack);
    cw_case_free(setup->job);
    *setup = (job_setup){.options = setup->options};
}

int setup_save(const job_setup *setup, const char *complaint)
{
    if (setup->save == NULL)
        return EXIT_DONE;
    cw_case_info about = {0};
    if (setup->job != NULL)
        about = *cw_case_get(setup->job);
    if (complaint != NULL)
        about.complaint = complaint;
    cw_messages *messages;
    cw_status status = cw_case_save(setup->session, setup->save, &about, &messages);
    int exit_status = explain_status(status, setup->save, messages);
    cw_messages_free(messages);
    return exit_status;
}

const char *setup_kept(const job_setup *setup)
{
    const char *path = setup->options->case_file;
    if (setup->save != NULL)
        return setup->save;
    return path != NULL && strcmp(path, "-") != 0 ? path : NULL;
}

int setup_finding(const job_setup *setup, int exit_status)
{
    const cw_proof_sum *sum;
    if (exit_status != EXIT_DONE || strcmp(cw_session_stage(setup->session), "proof") != 0)
        return exit_status;
    cw_status status = cw_session_proof_sum(setup->session, &sum);
    if (status != CW_OK)
        return explain_status(status, "the proof sheet", NULL);
    return strcmp(sum->result, "failed") == 0 ? EXIT_NEGATIVE : EXIT_DONE;
}
