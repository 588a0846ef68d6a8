/* rules: loads packs and says what is wrong with them, or compiles them. */
#include "commands.h"
#include "setup.h"
#include <limits.h>
#include <stdio.h>
#include <sys/stat.h>

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

static int load(const folder_list *found, bool image)
{
    cw_pack *pack = NULL;
    cw_messages *messages = NULL;
    cw_status status = (image ? cw_pack_open : cw_pack_read)(NULL, (const char *const *)found->items,
                                                             found->count, &messages, &pack);
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

/* One image was named, instead of folders. */
static bool is_image(const folder_list *found)
{
    struct stat about;
    return stat(found->items[0], &about) == 0 && S_ISREG(about.st_mode);
}

/* Whether the image in its own place can be used as it is. */
static bool is_fresh(const folder_list *found)
{
    cw_pack *pack = NULL;
    const bool fresh =
        cw_pack_open(NULL, (const char *const *)found->items, found->count, NULL, &pack) == CW_OK &&
        cw_pack_from_image(pack);
    cw_pack_free(pack);
    return fresh;
}

static int compile(const folder_list *found, const char *file)
{
    char place[PATH_MAX];
    const char *const *folders = (const char *const *)found->items;
    if (file[0] == '\0' && !cw_pack_image_place(folders, found->count, place, sizeof place)) {
        fputs("corewright: error: too many packs to name their image after them\n"
              "help: name a file: --compile=FILE\n",
              stderr);
        return EXIT_WRONG;
    }
    const bool fresh = file[0] == '\0' && is_fresh(found);
    cw_messages *messages = NULL;
    const cw_status status =
        fresh ? CW_OK
              : cw_pack_write_image(NULL, folders, found->count, file[0] == '\0' ? NULL : file, &messages);
    int exit_status = explain_status(status, found->items[0], messages);
    if (status == CW_BAD_INPUT)
        exit_status = EXIT_NEGATIVE;
    if (status == CW_OK)
        printf("%s %s\n", file[0] == '\0' ? place : file, fresh ? "is up to date" : "written");
    cw_messages_free(messages);
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
    const bool image = is_image(&found);
    if (image && options->compile != NULL) {
        fprintf(stderr, "corewright: error: %s is an image already\nhelp: name the folder of the pack\n",
                found.items[0]);
        exit_status = EXIT_WRONG;
    } else if (options->compile != NULL) {
        exit_status = compile(&found, options->compile);
    } else {
        exit_status = load(&found, image);
    }
    folders_free(&found);
    return exit_status;
}
