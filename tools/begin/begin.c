/* begin family|version|cause|check: what is needed is asked or taken from the command line, checked, and put
 * into a pack. */
#include "begin/begin.h"
#include "commands.h"
#include "screen/input.h"
#include "screen/screen.h"
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static int read_kind(const cli_options *options, begin_kind *out)
{
    static const char *const kinds[BEGIN_KINDS] = {"family", "version", "cause", "check"};
    const char *word = options->rest.count > 0 ? options->rest.items[0] : NULL;
    for (size_t i = 0; word != NULL && i < BEGIN_KINDS; i++) {
        if (strcmp(kinds[i], word) == 0) {
            *out = (begin_kind)i;
            return EXIT_DONE;
        }
    }
    const char *near = word != NULL ? cw_nearest_word(word, kinds, BEGIN_KINDS) : NULL;
    if (word == NULL)
        fputs("corewright: error: begin wants to know what: family, version, cause or check\n", stderr);
    else
        fprintf(stderr, "corewright: error: begin %s: there is family, version, cause and check\n", word);
    if (near != NULL)
        fprintf(stderr, "help: did you mean '%s'?\n", near);
    else
        fputs("help: corewright begin family FOLDER\n", stderr);
    return EXIT_WRONG;
}

static int no_pack(const char *folder)
{
    fprintf(stderr, "corewright: error: %s is no pack: it holds no *.yaml\n", folder);
    fputs("help: a pack is a folder with a file pack.yaml that begins: pack: {name: my-shop, title: My shop, "
          "version: 1, "
          "needs: [charging-basics]}\n",
          stderr);
    return EXIT_WRONG;
}

static int find_folder(const cli_options *options, begin *out)
{
    struct stat about;
    begin_files files;
    if (options->rest.count < 2 || strchr(options->rest.items[1], '=') != NULL) {
        fprintf(stderr, "corewright: error: begin %s wants the folder of a pack\n", options->rest.items[0]);
        fprintf(stderr, "help: corewright begin %s rules/my-shop\n", options->rest.items[0]);
        return EXIT_WRONG;
    }
    const char *named = options->rest.items[1];
    size_t size = strlen(named);
    while (size > 1 && named[size - 1] == '/') /* as the shell completes it */
        size--;
    out->folder = strndup(named, size);
    if (out->folder == NULL)
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    if (stat(out->folder, &about) != 0 || !S_ISDIR(about.st_mode)) {
        fprintf(stderr, "corewright: error: %s is no folder\n", out->folder);
        fputs("help: the folder of a pack is wanted\n", stderr);
        return EXIT_WRONG;
    }
    int status = begin_read_files(out->folder, &files);
    size_t count = files.count;
    begin_free_files(&files);
    return status == EXIT_DONE && count == 0 ? no_pack(out->folder) : status;
}

static int open_pack(begin *all)
{
    cw_messages *messages;
    const char *folders[] = {all->folder};
    cw_status status = cw_pack_open(NULL, folders, 1, &messages, &all->pack);
    int exit_status = EXIT_DONE;
    if (status != CW_OK) {
        exit_status = explain_status(status, all->folder, messages);
        fputs("help: the pack has errors already; put them right first\n", stderr);
    }
    cw_messages_free(messages);
    return exit_status;
}

int command_begin(const cli_options *options)
{
    begin all = {.options = options};
    signal(SIGXFSZ, SIG_IGN); /* a file over the limit is an error, like a full disk */
    int status = read_kind(options, &all.kind);
    if (status == EXIT_DONE && all.kind == BEGIN_CHECK && options->corpus != NULL) {
        fputs("corewright: error: a check alone decides nothing, so it has no first case\n"
              "help: leave --corpus out; answer the check in the case of a cause or a unit that shows it\n",
              stderr);
        status = EXIT_WRONG;
    }
    if (status == EXIT_DONE)
        status = find_folder(options, &all);
    if (status == EXIT_DONE)
        status = open_pack(&all);
    if (status == EXIT_DONE)
        status = begin_take(&all);
    input_start();
    if (status == EXIT_DONE)
        status = begin_ask(&all);
    if (status == EXIT_DONE)
        status = begin_check_and_keep(&all);
    begin_free_words(&all);
    free(all.folder);
    cw_pack_free(all.pack);
    return status;
}
