/* replay: every labelled case through today's rules. */
#include "replay/replay.h"
#include "commands.h"
#include "screen/screen.h"
#include "setup/number.h"
#include "setup/setup.h"
#include "trial/crew.h"
#include <limits.h>
#include <stdio.h>
#include <string.h>

static void work(void *context, size_t index, void *result)
{
    const replay *all = context;
    trial *out = result;
    char path[PATH_MAX];
    cw_case *job = NULL;
    if (!corpus_path(&all->over.files, index, path, sizeof path)) {
        out->problem = "its path is too long";
        return;
    }
    cw_status status = cw_case_read(NULL, path, &out->messages, &job);
    if (status == CW_NO_MEMORY)
        out->status = status;
    if (status != CW_OK)
        return; /* a bad file, as zeroed memory says */
    cw_messages_free(out->messages);
    out->messages = NULL;
    trial_run(all->over.pack, job, out, NULL);
    if (all->options->ask)
        trial_ask(all->over.pack, job, out);
    cw_case_free(job);
}

static void take(void *context, size_t index, void *result)
{
    replay *all = context;
    trial *one = result;
    char path[PATH_MAX];
    if (!corpus_path(&all->over.files, index, path, sizeof path))
        path[sizeof path - 1] = '\0';
    tally_add(&all->tally, one);
    if (one->status == CW_OK) {
        if (one->end == TRIAL_BAD) {
            progress_clear(&all->bar);
            print_messages(one->messages, CW_MESSAGE_WARNING);
            if (one->problem != NULL)
                fprintf(stderr, "%s: error: %s\n", path, one->problem);
        }
        replay_junit_case(all, path, one);
        if (all->options->json)
            replay_json_case(all, path, one, index == 0);
        else
            replay_report_case(all, path, one);
    }
    trial_free(one);
    progress_show(&all->bar, index + 1);
}

/* How it ends: the machine, then what could not be read, then what is not as labelled. */
static int end_of(const replay *all, int written)
{
    if (all->tally.status != CW_OK)
        return explain_status(all->tally.status, "a case", NULL);
    if (written != EXIT_DONE)
        return written;
    if (all->tally.bad > 0)
        return EXIT_WRONG;
    return tally_missed(&all->tally) > 0 ? EXIT_NEGATIVE : EXIT_DONE;
}

static int run(replay *all)
{
    crew hands = {.count = all->over.files.count,
                  .size = sizeof(trial),
                  .threads = all->over.threads,
                  .work = work,
                  .take = take,
                  .context = all};
    int status = junit_open(all->options->junit, &all->junit);
    if (status != EXIT_DONE)
        return status;
    tally_start(&all->tally);
    all->bar = progress_start(all->over.files.count);
    if (all->options->json)
        replay_json_open(all);
    status = crew_run(&hands);
    progress_clear(&all->bar);
    tally_sort(&all->tally);
    if (status == EXIT_DONE && all->options->json)
        status = replay_json_close(all);
    else if (status == EXIT_DONE)
        replay_report_sums(all);
    int written = junit_close(&all->junit, "corewright replay");
    status = end_of(all, status != EXIT_DONE ? status : written);
    tally_free(&all->tally);
    return status;
}

int command_replay(const cli_options *options)
{
    replay all = {.options = options};
    if (options->rest.count == 0) {
        fputs("corewright: error: replay wants a corpus: a folder of labelled cases, or case files\n"
              "help: corewright replay corpus\n",
              stderr);
        return EXIT_WRONG;
    }
    int status = rounds_open(options, &all.over);
    if (status != EXIT_DONE)
        return status;
    status = run(&all);
    rounds_close(&all.over);
    return status;
}
