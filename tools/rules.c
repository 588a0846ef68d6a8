/* rules: loads packs and says what is wrong with them. */
#include "commands.h"
#include "setup.h"
#include <stdio.h>

/* Those that somebody wrote: the check of the unit in hand is always there. */
static size_t written_checks(const cw_pack *pack)
{
    size_t count = 0;
    for (size_t i = 0; i < cw_pack_checks(pack); i++)
        count += cw_pack_check_at(pack, i)->kind != CW_ANSWER_UNIT;
    return count;
}

static void print_counts(const cw_pack *pack, const cw_messages *messages)
{
    const cw_pack_header *headers;
    size_t count = cw_pack_headers(pack, &headers);
    for (size_t i = 0; i < count; i++)
        printf("%s %u: %s\n", headers[i].name, (unsigned)headers[i].version, headers[i].title);
    size_t warnings = cw_messages_count(messages) - cw_messages_errors(messages);
    printf("%zu checks, no errors, %zu warning%s\n", written_checks(pack), warnings,
           warnings == 1 ? "" : "s");
}

static int load(const folder_list *found)
{
    cw_pack *pack;
    cw_messages *messages;
    cw_status status = cw_pack_open(NULL, (const char *const *)found->items, found->count, &messages, &pack);
    int exit_status = explain_status(status, found->items[0], messages);
    if (status == CW_BAD_INPUT) {
        size_t errors = cw_messages_errors(messages);
        printf("%zu error%s\n", errors, errors == 1 ? "" : "s");
        exit_status = EXIT_NEGATIVE;
    }
    if (status == CW_OK)
        print_counts(pack, messages);
    cw_messages_free(messages);
    cw_pack_free(pack);
    return exit_status;
}

int command_rules(const cli_options *options)
{
    cli_options named = *options;
    if (options->rest.count > 0)
        named.packs = options->rest;
    folder_list found;
    int exit_status = folders_find(&named, &found);
    if (exit_status != EXIT_DONE)
        return exit_status;
    exit_status = load(&found);
    folders_free(&found);
    return exit_status;
}
