/* identify, triage, teardown and proof. */
#include "commands.h"
#include "report/report.h"
#include "screen/screen.h"
#include "talk/talk.h"
#include "json/json.h"
#include <stdio.h>
#include <string.h>

/* Once, for people: where it stands, without a question. */
static cw_status report_once(const job_setup *setup)
{
    cw_status status = report_conflicts(setup->session);
    const cw_ranking *ranking;
    if (status == CW_OK)
        status = cw_session_ranking(setup->session, 0, &ranking);
    bool proof = strcmp(cw_session_stage(setup->session), "proof") == 0;
    if (status == CW_OK && !ranking->stopped && !proof) {
        screen_rule("So far");
        status = report_top(setup->session);
        screen_line();
    }
    return status == CW_OK ? report_end(setup->pack, setup->session, setup_kept(setup)) : status;
}

/* What the customer's words suggest: told, not taken over. */
static cw_status report_words(const job_setup *setup, const char *words)
{
    const cw_hint_info *hints;
    size_t count = 0;
    cw_status status = words != NULL ? cw_session_hints(setup->session, words, &hints, &count) : CW_OK;
    if (status == CW_OK && count > 0)
        screen_words("", "The customer's words sound like this; none of it has been taken over:");
    for (size_t i = 0; status == CW_OK && i < count; i++)
        screen_words("  - ", hints[i].say);
    if (status == CW_OK && count > 0)
        screen_line();
    return status;
}

static int once(const job_setup *setup)
{
    const char *words = setup->options->words;
    int exit_status = setup_save(setup, words);
    if (words == NULL && setup->job != NULL)
        words = cw_case_get(setup->job)->complaint;
    if (exit_status != EXIT_DONE)
        return exit_status;
    if (setup->options->json)
        return json_print(setup->pack, setup->session, words);
    cw_status status = report_words(setup, words);
    return explain_status(status == CW_OK ? report_once(setup) : status, "the customer's words", NULL);
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
    if (at_once)
        setup_say_carried(&setup, true);
    exit_status = at_once ? once(&setup) : talk_run(&setup);
    exit_status = setup_finding(&setup, exit_status);
    setup_close(&setup);
    return exit_status;
}
