/* rules: all that can be said of packs without running a case; or their image. */
#include "commands.h"
#include "rules/image.h"
#include "rules/json.h"
#include "rules/pages.h"
#include "rules/watch.h"
#include "screen/screen.h"
#include "setup/setup.h"
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/* Those that somebody wrote: the check of the unit in hand is always there. */
static size_t written_checks(const cw_pack *pack)
{
    size_t count = 0;
    for (size_t i = 0; i < cw_pack_checks(pack); i++)
        count += cw_pack_check_at(pack, i)->kind != CW_ANSWER_UNIT;
    return count;
}

static size_t count_of(const cw_messages *messages, cw_message_kind kind)
{
    size_t count = 0;
    for (size_t i = 0; i < cw_messages_count(messages); i++)
        count += cw_messages_at(messages, i)->kind == kind;
    return count;
}

static void print_counts(const cw_pack *pack, const cw_messages *messages)
{
    const cw_pack_header *headers;
    size_t count = cw_pack_headers(pack, &headers);
    for (size_t i = 0; i < count; i++)
        printf("%s %u: %s\n", headers[i].name, (unsigned)headers[i].version, headers[i].title);
    size_t warnings = count_of(messages, CW_MESSAGE_WARNING);
    printf("%zu checks, no errors, %zu warning%s\n", written_checks(pack), warnings,
           warnings == 1 ? "" : "s");
}

static bool came_before(const cw_messages *messages, size_t at)
{
    const char *code = cw_messages_at(messages, at)->code;
    for (size_t i = 0; i < at; i++)
        if (strcmp(cw_messages_at(messages, i)->code, code) == 0)
            return true;
    return false;
}

/* Each code once, so that its page can be asked for. */
static void print_codes(const cw_messages *messages)
{
    char list[400] = "";
    size_t filled = 0;
    for (size_t i = 0; i < cw_messages_count(messages) && filled + 16 < sizeof list; i++)
        if (!came_before(messages, i))
            filled += (size_t)snprintf(list + filled, sizeof list - filled, "%s%s", filled > 0 ? ", " : "",
                                       cw_messages_at(messages, i)->code);
    if (filled > 0)
        screen_say("", "Codes: %s. 'corewright rules --explain CODE' tells more.", list);
}

static int say(const cw_pack *pack, const cw_messages *messages, cw_status status, const char *about)
{
    int exit_status = EXIT_DONE;
    if (status != CW_OK && status != CW_BAD_INPUT)
        return explain_status(status, about, messages);
    print_messages(messages, CW_MESSAGE_NOTE);
    fflush(stderr);
    if (status == CW_BAD_INPUT) {
        size_t errors = cw_messages_errors(messages);
        printf("%zu error%s\n", errors, errors == 1 ? "" : "s");
        exit_status = EXIT_NEGATIVE;
    } else {
        print_counts(pack, messages);
    }
    print_codes(messages);
    return exit_status;
}

/* Where packs that are needed lie: beside the one named first. */
static void watch_needed(watch_list *watched, const folder_list *found, const cw_pack *pack)
{
    const cw_pack_header *headers;
    size_t count = cw_pack_headers(pack, &headers);
    for (size_t i = found->count; i < count; i++) {
        char folder[PATH_MAX];
        struct stat about;
        int size = snprintf(folder, sizeof folder, "%s/../%s", found->items[0], headers[i].name);
        if (size > 0 && (size_t)size < sizeof folder && stat(folder, &about) == 0 && S_ISDIR(about.st_mode))
            watch_add(watched, folder);
    }
}

/* Nothing can be said of an image but what it holds: its texts are not there. */
static int check_once(const cli_options *options, const folder_list *found, watch_list *watched)
{
    cw_pack *pack = NULL;
    cw_messages *messages = NULL;
    cw_status status = (image_named(found) ? cw_pack_open : cw_pack_review)(
        NULL, (const char *const *)found->items, found->count, &messages, &pack);
    int exit_status;
    if (options->json || options->sarif)
        exit_status = rules_print_json(pack, messages, status, found->items[0], options->sarif);
    else
        exit_status = say(pack, messages, status, found->items[0]);
    if (pack != NULL && watched != NULL)
        watch_needed(watched, found, pack);
    cw_messages_free(messages);
    cw_pack_free(pack);
    return exit_status;
}

/* The packs named, and once they could be read those that they need. */
static int check_again_and_again(const cli_options *options, const folder_list *found)
{
    watch_list *watched = watch_new();
    if (watched == NULL) {
        fputs("corewright: error: out of memory\n", stderr);
        return EXIT_FAILED;
    }
    for (size_t i = 0; i < found->count; i++)
        watch_add(watched, found->items[i]);
    do {
        (void)check_once(options, found, watched);
        screen_line();
        screen_words("", "Waiting for a file to be saved; Ctrl-C ends.");
        fflush(stdout);
    } while (watch_wait(watched));
    watch_free(watched);
    return EXIT_DONE;
}

static int fits_together(const cli_options *options)
{
    if (!options->watch || (!options->json && !options->sarif && options->compile == NULL))
        return EXIT_DONE;
    fputs("corewright: error: --watch is for people, --json, --sarif and --compile are done once: take one "
          "of them\n",
          stderr);
    return EXIT_WRONG;
}

static int check_or_compile(const cli_options *options, const folder_list *found)
{
    const bool image = image_named(found);
    if (image && (options->compile != NULL || options->watch)) {
        fprintf(stderr, "corewright: error: %s is an image already\nhelp: name the folder of the pack\n",
                found->items[0]);
        return EXIT_WRONG;
    }
    if (options->compile != NULL)
        return image_compile(found, options->compile);
    return options->watch ? check_again_and_again(options, found) : check_once(options, found, NULL);
}

int command_rules(const cli_options *options)
{
    if (options->explain != NULL)
        return page_explain(options->explain);
    int exit_status = fits_together(options);
    if (exit_status != EXIT_DONE)
        return exit_status;
    cli_options named = *options;
    if (options->rest.count > 0)
        named.packs = options->rest;
    folder_list found;
    exit_status = folders_find(&named, &found);
    if (exit_status != EXIT_DONE)
        return exit_status;
    exit_status = check_or_compile(options, &found);
    folders_free(&found);
    return exit_status;
}
