/* The change that the words come to: made, checked, shown to whoever was asked, kept. */
#include "begin/ask.h"
#include "screen/hold.h"
#include "screen/screen.h"
#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static int refuse(const begin *all, const begin_file *file, const begin_layout *layout)
{
    const char *section = all->kind == BEGIN_VERSION ? BEGIN_VERSIONS : begin_section(all->kind);
    fprintf(stderr, "%s/%s:%zu: error: ", all->folder, file->name, layout->line > 0 ? layout->line : 1);
    if (layout->whole_flow)
        fputs("the file is written in braces, in which no entry can be put line by line\n", stderr);
    else
        fprintf(stderr,
                "'%s' is written behind its colon or in braces, in which no entry can be put line by line\n",
                section);
    fprintf(stderr, "help: write '%s:' alone, each entry on lines of its own below it%s\n", section,
            all->kind == BEGIN_VERSION ? "" : "; or name another file with --file");
    return EXIT_WRONG;
}

/* The unit has children, which no 'versions:' holds: frames of which each is a version itself. */
static int no_versions(const begin *all, const begin_file *file, const begin_layout *layout)
{
    fprintf(stderr, "%s/%s:%zu: error: '%s' has no 'versions:' that a line can be added to\n", all->folder,
            file->name, layout->line, begin_value(all, 0, "family"));
    fputs("help: write 'versions:' below it, with its first version; the next one can be begun then\n",
          stderr);
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
    begin_layout_for(all, out->file->text, out->file->size, &layout);
    if (all->kind == BEGIN_VERSION && !layout.there && !layout.whole_flow)
        return no_versions(all, out->file, &layout);
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
        fflush(stdout); /* before what is wrong with it */
    }
    free(entry);
    return out->file->text != NULL ? EXIT_DONE : explain_status(CW_NO_MEMORY, "begin", NULL);
}

static bool stands_below(const cw_pack *pack, const char *name, const char *above)
{
    cw_unit_entry unit;
    for (size_t i = 0; cw_pack_unit_at(pack, i, &unit); i++)
        if (strcmp(unit.name, name) == 0)
            return unit.above != NULL && strcmp(unit.above, above) == 0;
    return false;
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
    if (all->kind == BEGIN_VERSION)
        return stands_below(pack, name, begin_value(all, 0, "family")) &&
               cw_pack_units(pack) == cw_pack_units(all->pack) + 1;
    for (size_t i = begin_version(all, 0); i < all->count; i = begin_version(all, i + 1))
        versions++;
    return cw_pack_unit_title(pack, name) != NULL &&
           cw_pack_units(pack) == cw_pack_units(all->pack) + 1 + versions;
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
    return status;
}

/* Where a line of the file came from: the word whose value it is, or whose key it begins with; count:
 * neither. */
static size_t word_of_line(const begin *all, const change *made, size_t line)
{
    const char *at = made->file->text;
    for (size_t i = 1; i < line && (at = strchr(at, '\n')) != NULL; i++)
        at++;
    if (at == NULL)
        return all->count;
    at += strspn(at, " ");
    size_t size = strcspn(at, "\r\n"), key = strcspn(at, ":\r\n");
    for (size_t i = 0; i < all->count; i++)
        if (strlen(all->words[i].value) == size && strncmp(all->words[i].value, at, size) == 0)
            return i;
    for (size_t i = 0; i < all->count; i++)
        if (strlen(all->words[i].key) == key && strncmp(all->words[i].key, at, key) == 0)
            return i;
    return all->count;
}

/* The word behind the first error within the lines that are new; count: there is none. */
static size_t wrong_word(const begin *all, const change *made, const begin_trial *trial)
{
    for (size_t i = 0; i < cw_messages_count(trial->messages); i++) {
        const cw_message *one = cw_messages_at(trial->messages, i);
        const char *slash = strrchr(one->file, '/');
        if (one->kind == CW_MESSAGE_ERROR && slash != NULL && strcmp(slash + 1, made->file->name) == 0 &&
            one->line >= made->lines[0] && one->line <= made->lines[1])
            return word_of_line(all, made, one->line);
    }
    return all->count;
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

/* All that came of one round of words. */
typedef struct attempt {
    change made;
    begin_trial trial;
    begin_case first;
} attempt;

static void attempt_free(attempt *one)
{
    free(one->first.path);
    free(one->first.text);
    cw_pack_free(one->trial.pack);
    cw_messages_free(one->trial.messages);
    change_free(&one->made);
    *one = (attempt){0};
}

/* What the words come to, checked. */
static int attempt_make(const begin *all, attempt *out)
{
    int status = make_change(all, &out->made);
    if (status == EXIT_DONE)
        status = try_change(all, &out->made, &out->trial);
    if (status == EXIT_DONE)
        status = begin_make_case(all, out->trial.pack, &out->first);
    return status;
}

static void say_again(const begin *all)
{
    fputs("help: with this the pack would have errors, so nothing was written. To mend a word and say it "
          "again:\n",
          stderr);
    begin_print_command(all, stderr);
}

/* Until it can stand, one word after the other is asked for again; on the command line it is only said. */
static int attempt_until_right(begin *all, attempt *out)
{
    for (;;) {
        int status = attempt_make(all, out);
        if (status != EXIT_WRONG || out->trial.messages == NULL || out->trial.pack != NULL)
            return status;
        size_t word = wrong_word(all, &out->made, &out->trial);
        if (!all->asked || word == all->count) {
            say_again(all);
            return status;
        }
        attempt_free(out);
        status = begin_mend(all, word);
        if (status != EXIT_DONE)
            return status;
    }
}

/* Whether it is wanted: EXIT_DONE, or EXIT_NEGATIVE where it is not or the answers end. *again: an answer was
 * taken back, and others told. */
static int confirm(begin *all, bool *again)
{
    *again = false;
    if (!all->asked)
        return EXIT_DONE;
    got how = begin_ask_yes("Write this? (yes, no, back)");
    if (how == GOT_BACK) {
        *again = true;
        begin_step_back(all);
        return begin_ask(all);
    }
    if (how == GOT_LINE)
        return EXIT_DONE;
    screen_words("", "The same in one command:");
    begin_print_command(all, stdout);
    return EXIT_NEGATIVE;
}

int begin_check_and_keep(begin *all)
{
    attempt one = {0};
    bool again = true;
    int status = EXIT_DONE;
    while (status == EXIT_DONE && again) {
        attempt_free(&one);
        status = attempt_until_right(all, &one);
        if (status == EXIT_DONE)
            status = confirm(all, &again);
    }
    if (status == EXIT_DONE && hold_asked()) {
        screen_words("", "Stopped. Nothing was written.");
        status = EXIT_NEGATIVE;
    }
    if (status == EXIT_DONE)
        status = keep(all, &one.made, &one.trial, &one.first);
    attempt_free(&one);
    return status;
}
