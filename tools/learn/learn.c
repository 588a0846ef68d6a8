/* learn: from closed jobs to frequencies. */
#include "learn/learn.h"
#include "commands.h"
#include "screen/screen.h"
#include "setup/number.h"
#include "setup/setup.h"
#include "trial/crew.h"
#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* A file read, and its answers given. */
typedef struct lesson {
    cw_case *job;
    cw_session *session; /* NULL: it could not be taken */
    cw_messages *messages;
    const char *problem; /* lives for ever; NULL */
    cw_status status;    /* the machine failed */
} lesson;

static const char *stage_of(const cw_case *job)
{
    const char *stage = cw_case_get(job)->stage;
    for (size_t i = 0; cw_stage_at(i) != NULL; i++)
        if (stage != NULL && strcmp(cw_stage_at(i), stage) == 0)
            return stage;
    return NULL;
}

static void work(void *context, size_t index, void *result)
{
    const learn *all = context;
    lesson *out = result;
    char path[PATH_MAX];
    if (!corpus_path(&all->over.files, index, path, sizeof path)) {
        out->problem = "its path is too long";
        return;
    }
    cw_status status = cw_case_read(NULL, path, &out->messages, &out->job);
    if (status == CW_OK) {
        cw_messages_free(out->messages);
        out->messages = NULL;
        if (stage_of(out->job) == NULL) {
            out->problem = "it names no stage, so nobody knows what is asked of it";
            return;
        }
        status = cw_session_new(all->over.pack, stage_of(out->job), &out->session);
    }
    if (status == CW_OK)
        status = cw_case_apply(out->job, out->session, &out->messages);
    if (status == CW_OK)
        return;
    cw_session_free(out->session);
    out->session = NULL;
    out->status = status == CW_NO_MEMORY ? status : CW_OK;
}

static void count(learn *all, const lesson *one)
{
    cw_learn_use use;
    const cw_status status = cw_learning_add(all->learning, one->session, cw_case_get(one->job), &use);
    if (status != CW_OK) {
        all->status = status;
        return;
    }
    learn_counts *counts = &all->counts;
    size_t *const of[] = {[CW_LEARN_CAUSES] = &counts->causes,     [CW_LEARN_UNITS] = &counts->units,
                          [CW_LEARN_NO_LABEL] = &counts->no_label, [CW_LEARN_UNLISTED] = &counts->unlisted,
                          [CW_LEARN_STOPPED] = &counts->stopped,   [CW_LEARN_REBUILT] = &counts->rebuilt};
    ++*of[use];
}

static void take(void *context, size_t index, void *result)
{
    learn *all = context;
    lesson *one = result;
    char path[PATH_MAX] = "";
    if (one->status != CW_OK) {
        all->status = one->status;
    } else if (one->session != NULL) {
        count(all, one);
    } else {
        all->counts.bad++;
        progress_clear(&all->bar);
        print_messages(one->messages, CW_MESSAGE_WARNING);
        if (one->problem != NULL && corpus_path(&all->over.files, index, path, sizeof path))
            fprintf(stderr, "%s: error: %s\n", path, one->problem);
    }
    cw_messages_free(one->messages);
    cw_session_free(one->session);
    cw_case_free(one->job);
    progress_show(&all->bar, index + 1);
}

static int failed_to_write(const char *path)
{
    const int error = errno;
    if (error == EEXIST) {
        fprintf(stderr,
                "corewright: error: '%s' is there already\nhelp: name a new file, or take that one away\n",
                path);
        return EXIT_WRONG;
    }
    fprintf(stderr, "corewright: error: '%s' cannot be written: %s\n", path, strerror(error));
    return EXIT_FAILED;
}

/* A new file, never over another. */
static int write_into(const learn *all, const cw_learned_list *learned, const char *path)
{
    FILE *file = fopen(path, "wx");
    if (file == NULL)
        return failed_to_write(path);
    learn_write_pack(all, learned, file);
    const bool bad = ferror(file) != 0;
    if (fclose(file) == 0 && !bad)
        return EXIT_DONE;
    return failed_to_write(path);
}

static int tell(const learn *all, const cw_learned_list *learned)
{
    int status = EXIT_DONE;
    if (all->options->into != NULL)
        status = write_into(all, learned, all->options->into);
    if (status != EXIT_DONE)
        return status;
    if (all->options->json)
        return learn_print_json(all, learned);
    if (all->options->into != NULL)
        learn_report(all, learned);
    else
        learn_write_pack(all, learned, stdout);
    return EXIT_DONE;
}

static int finish(const learn *all)
{
    const cw_learned_list *learned;
    if (all->status != CW_OK)
        return explain_status(all->status, "a case", NULL);
    if (all->counts.causes + all->counts.units == 0) {
        fprintf(
            stderr,
            "corewright: error: none of %zu file%s is a closed job to learn from\n"
            "help: a closed job says what was found: outcome: {causes: [...]}, or at identify {unit: ...}\n",
            all->over.files.count, all->over.files.count == 1 ? "" : "s");
        return EXIT_WRONG;
    }
    const cw_status status = cw_learning_result(all->learning, &all->worth, &learned);
    int exit_status = status == CW_OK ? tell(all, learned) : explain_status(status, "what was learned", NULL);
    return exit_status == EXIT_DONE && all->counts.bad > 0 ? EXIT_WRONG : exit_status;
}

static int run(learn *all)
{
    crew hands = {.count = all->over.files.count,
                  .size = sizeof(lesson),
                  .threads = all->over.threads,
                  .work = work,
                  .take = take,
                  .context = all};
    cw_status status = cw_learning_new(all->over.pack, &all->learning);
    if (status != CW_OK)
        return explain_status(status, "learn", NULL);
    all->bar = progress_start(all->over.files.count);
    int exit_status = crew_run(&hands);
    progress_clear(&all->bar);
    if (exit_status == EXIT_DONE)
        exit_status = finish(all);
    cw_learning_free(all->learning);
    return exit_status;
}

int command_learn(const cli_options *options)
{
    learn all = {.options = options, .worth = {CW_LEARN_WORTH_SEEN, CW_LEARN_WORTH}};
    if (options->rest.count == 0) {
        fputs("corewright: error: learn wants closed jobs: a folder of cases with their outcome, or case "
              "files\n"
              "help: corewright learn jobs --into rules/learned/learned.yaml\n",
              stderr);
        return EXIT_WRONG;
    }
    int status = number_read("--worth", options->worth, 0.01, 1000000, &all.worth.rest);
    if (status == EXIT_DONE)
        status = number_read("--worth-seen", options->worth_seen, 0.01, 1000000, &all.worth.seen);
    if (status == EXIT_DONE)
        status = rounds_open(options, &all.over);
    if (status != EXIT_DONE)
        return status;
    status = run(&all);
    rounds_close(&all.over);
    return status;
}
