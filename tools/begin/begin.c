/* begin family|cause|check: what is needed is asked or taken from the command line, checked, and put into a
 * pack. */
#include "begin/begin.h"
#include "commands.h"
#include "screen/input.h"
#include "screen/screen.h"
#include <errno.h>
#include <limits.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static int read_kind(const cli_options *options, begin_kind *out)
{
    static const char *const kinds[] = {"family", "cause", "check"};
    const char *word = options->rest.count > 0 ? options->rest.items[0] : NULL;
    for (size_t i = 0; word != NULL && i < 3; i++) {
        if (strcmp(kinds[i], word) == 0) {
            *out = (begin_kind)i;
            return EXIT_DONE;
        }
    }
    const char *near = word != NULL ? cw_nearest_word(word, kinds, 3) : NULL;
    if (word == NULL)
        fputs("corewright: error: begin wants to know what: family, cause or check\n", stderr);
    else
        fprintf(stderr, "corewright: error: begin %s: there is family, cause and check\n", word);
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

static int refuse(const begin *all, const begin_file *file, const begin_layout *layout)
{
    const char *section = begin_section(all->kind);
    fprintf(stderr, "%s/%s:%zu: error: ", all->folder, file->name, layout->line > 0 ? layout->line : 1);
    if (layout->whole_flow)
        fputs("the file is written in braces, in which no entry can be put line by line\n", stderr);
    else
        fprintf(stderr,
                "'%s' is written behind its colon or in braces, in which no entry can be put line by line\n",
                section);
    fprintf(stderr,
            "help: write '%s:' alone, each entry on lines of its own below it; or name another file with "
            "--file\n",
            section);
    return EXIT_WRONG;
}

/* The change that is to be made of one file. */
typedef struct change {
    begin_files files;
    begin_file *file;
    char *was; /* owned: its text before */
    size_t was_size;
    bool was_there;
    size_t lines[2];
} change;

static void change_free(change *one)
{
    begin_free_files(&one->files);
    free(one->was);
}

static int make_change(const begin *all, change *out)
{
    begin_layout layout;
    int status = begin_read_files(all->folder, &out->files);
    if (status != EXIT_DONE)
        return status;
    out->file = begin_choose(all, &out->files);
    if (out->file == NULL)
        return EXIT_WRONG;
    begin_read_layout(out->file->text, out->file->size, begin_section(all->kind), &layout);
    if (layout.whole_flow || layout.refused)
        return refuse(all, out->file, &layout);
    char *entry = begin_compose(all, &layout);
    if (entry == NULL)
        return explain_status(CW_NO_MEMORY, "begin", NULL);
    out->was = out->file->text;
    out->was_size = out->file->size;
    out->was_there = out->file->there;
    out->file->text = begin_insert(out->was, out->was_size, &layout, begin_section(all->kind), entry,
                                   &out->file->size, out->lines);
    if (out->file->text != NULL && all->asked) {
        screen_line();
        fputs(entry, stdout);
        screen_line();
    }
    free(entry);
    return out->file->text != NULL ? EXIT_DONE : explain_status(CW_NO_MEMORY, "begin", NULL);
}

/* What is there now and was not before. */
static bool is_there(const begin *all, const cw_pack *pack)
{
    const char *name = begin_value(all, 0, "name");
    if (all->kind == BEGIN_CHECK)
        return cw_pack_check(pack, name, NULL) != NULL &&
               cw_pack_checks(pack) == cw_pack_checks(all->pack) + 1;
    if (all->kind == BEGIN_CAUSE)
        return cw_pack_cause_title(pack, name) != NULL;
    size_t versions = 0;
    for (size_t i = begin_version(all, 0); i < all->count; i = begin_version(all, i + 1))
        versions++;
    return cw_pack_unit_title(pack, name) != NULL &&
           cw_pack_units(pack) == cw_pack_units(all->pack) + 1 + versions;
}

static bool was_stopped(void)
{
    sigset_t waiting;
    return sigpending(&waiting) == 0 &&
           (sigismember(&waiting, SIGINT) == 1 || sigismember(&waiting, SIGTERM) == 1 ||
            sigismember(&waiting, SIGHUP) == 1);
}

static int try_change(const begin *all, const change *made, begin_trial *trial)
{
    int status = begin_try(all, &made->files, made->file, made->lines, trial);
    if (status == EXIT_DONE && !is_there(all, trial->pack)) {
        fprintf(stderr, "corewright: error: %s/%s: the place for it was not found in this file\n",
                all->folder, made->file->name);
        fputs("help: nothing was written; name another file with --file\n", stderr);
        return EXIT_WRONG;
    }
    if (status == EXIT_WRONG) {
        fputs("help: with this the pack would have errors, so nothing was written. To mend a word and say it "
              "again:\n",
              stderr);
        begin_print_command(all, stderr);
    }
    return status;
}

static int keep_case(const begin *all, const begin_case *first)
{
    if (first->path == NULL)
        return EXIT_DONE;
    if (mkdir(all->options->corpus, 0777) != 0 && errno != EEXIST) {
        fprintf(stderr, "corewright: error: %s: %s; the first case was not written\n", all->options->corpus,
                strerror(errno));
        return EXIT_FAILED;
    }
    return begin_write(first->path, NULL, 0, first->text, strlen(first->text));
}

static void say_written(const begin *all, const change *made)
{
    screen_say("", "Written: %s/%s, %s %zu to %zu.", all->folder, made->file->name,
               made->was_there ? "lines" : "a new file, lines", made->lines[0], made->lines[1]);
}

static int keep(const begin *all, const change *made, const begin_trial *trial, const begin_case *first)
{
    char path[PATH_MAX];
    int size = snprintf(path, sizeof path, "%s/%s", all->folder, made->file->name);
    if (size < 0 || (size_t)size >= sizeof path)
        return explain_status(CW_LIMIT, all->folder, NULL);
    int status = begin_write(path, made->was_there ? made->was : NULL, made->was_size, made->file->text,
                             made->file->size);
    if (status != EXIT_DONE)
        return status;
    say_written(all, made);
    status = keep_case(all, first);
    if (status == EXIT_DONE && first->path != NULL)
        status = begin_run_case(trial->pack, first);
    else if (status == EXIT_DONE && all->options->corpus != NULL)
        screen_words(
            "", "No first case: none of its signs is something that a person answers. Write one by hand.");
    return status;
}

static int check_and_keep(const begin *all)
{
    change made = {0};
    begin_trial trial = {0};
    begin_case first = {0};
    int status = make_change(all, &made);
    if (status == EXIT_DONE && all->asked && !begin_ask_yes("Write this? (yes, no)")) {
        screen_words("", "The same in one command:");
        begin_print_command(all, stdout);
        status = EXIT_NEGATIVE;
    }
    if (status == EXIT_DONE)
        status = begin_make_case(all, &first);
    if (status == EXIT_DONE)
        status = try_change(all, &made, &trial);
    if (status == EXIT_DONE && was_stopped()) {
        screen_words("", "Stopped. Nothing was written.");
        status = EXIT_NEGATIVE;
    }
    if (status == EXIT_DONE)
        status = keep(all, &made, &trial, &first);
    free(first.path);
    free(first.text);
    cw_pack_free(trial.pack);
    cw_messages_free(trial.messages);
    change_free(&made);
    return status;
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
        status = check_and_keep(&all);
    begin_free_words(&all);
    free(all.folder);
    cw_pack_free(all.pack);
    return status;
}
