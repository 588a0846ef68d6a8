/* identify and triage. */
#include "commands.h"
#include "json.h"
#include "report.h"
#include "screen.h"
#include "talk.h"
#include <stdio.h>

/* Once, for people: where it stands, without a question. */
static cw_status report_once(const job_setup *setup)
{
    cw_status status = report_conflicts(setup->session);
    const cw_ranking *ranking;
    if (status == CW_OK)
        status = cw_session_ranking(setup->session, 0, &ranking);
    if (status == CW_OK && !ranking->stopped) {
        screen_rule("So far");
        status = report_top(setup->session);
        screen_line();
    }
    return status == CW_OK ? report_end(setup->pack, setup->session) : status;
}

static int once(const job_setup *setup)
{
    int exit_status = setup_save(setup, NULL);
    const char *words = setup->options->words;
    if (words == NULL && setup->job != NULL)
        words = cw_case_get(setup->job)->complaint;
    if (exit_status != EXIT_DONE)
        return exit_status;
    if (setup->options->json)
        return json_print(setup->pack, setup->session, words);
    return explain_status(report_once(setup), "the session", NULL);
}

int command_stage(const cli_options *options)
{
    if (options->rest.count > 0) {
        fprintf(stderr, "corewright: error: %s takes no word like '%s'\n", options->command,
                options->rest.items[0]);
        fprintf(stderr, "help: a case is given with --case %s\n", options->rest.items[0]);
        return EXIT_WRONG;
    }
    job_setup setup;
    int exit_status = setup_open(options, &setup);
    if (exit_status != EXIT_DONE)
        return exit_status;
    bool at_once = options->json || (options->case_file != NULL && !options->ask);
    exit_status = at_once ? once(&setup) : talk_run(&setup);
    setup_close(&setup);
    return exit_status;
}
