/* The pack with the change in it, checked before anything of it is kept: a scratch folder in which every
 * other file is a link to the one there is, and so is every pack that is needed. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "begin/begin.h"
#include "screen/screen.h"
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct scratch {
    char top[PATH_MAX];    /* the scratch folder */
    char folder[PATH_MAX]; /* the pack in it */
} scratch;

static int machine(const char *what)
{
    fprintf(stderr, "corewright: error: %s: %s\n", what, strerror(errno));
    return EXIT_FAILED;
}

static bool join_path(char *out, const char *folder, const char *name)
{
    int size = snprintf(out, PATH_MAX, "%s/%s", folder, name);
    return size > 0 && size < PATH_MAX;
}

static int link_to(const char *from, const char *folder, const char *name)
{
    char real[PATH_MAX], path[PATH_MAX];
    if (!join_path(path, folder, name) || realpath(from, real) == NULL || symlink(real, path) != 0)
        return machine(from);
    return EXIT_DONE;
}

static int put_text(const char *folder, const char *name, const char *text, size_t size)
{
    char path[PATH_MAX];
    FILE *file = join_path(path, folder, name) ? fopen(path, "wb") : NULL;
    if (file == NULL)
        return machine(path);
    bool good = fwrite(text, 1, size, file) == size;
    good = fclose(file) == 0 && good;
    return good ? EXIT_DONE : machine(path);
}

static int link_needed(const begin *all, const scratch *to)
{
    const cw_pack_header *headers;
    size_t count = cw_pack_headers(all->pack, &headers);
    int status = EXIT_DONE;
    for (size_t i = 1; i < count && status == EXIT_DONE; i++) {
        char up[PATH_MAX], from[PATH_MAX];
        if (join_path(up, all->folder, "..") && join_path(from, up, headers[i].name) &&
            access(from, R_OK) == 0)
            status = link_to(from, to->top, headers[i].name);
    }
    return status;
}

static int fill(const begin *all, const begin_files *files, const begin_file *changed, const scratch *to)
{
    int status = mkdir(to->folder, 0700) == 0 ? link_needed(all, to) : machine(to->folder);
    for (size_t i = 0; i < files->count && status == EXIT_DONE; i++) {
        const begin_file *file = &files->items[i];
        char from[PATH_MAX];
        if (file == changed)
            status = put_text(to->folder, file->name, file->text, file->size);
        else if (file->there && join_path(from, all->folder, file->name))
            status = link_to(from, to->folder, file->name);
    }
    return status;
}

static void empty_folder(const char *folder)
{
    DIR *open = opendir(folder);
    const struct dirent *entry;
    while (open != NULL && (entry = readdir(open)) != NULL) {
        char path[PATH_MAX];
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0 &&
            join_path(path, folder, entry->d_name))
            unlink(path); /* links and the one file; the pack's own folder is emptied beforehand */
    }
    if (open != NULL)
        closedir(open);
    rmdir(folder);
}

/* A message with the pack's own folder in place of the scratch one. */
static void print_message(const char *text, const char *scratch_folder, const char *folder)
{
    size_t size = strlen(scratch_folder);
    const char *found;
    while ((found = strstr(text, scratch_folder)) != NULL) {
        fprintf(stderr, "%.*s%s", (int)(found - text), text, folder);
        text = found + size;
    }
    fputs(text, stderr);
}

static void print_all(const begin *all, const scratch *from, const char *name, const size_t lines[2],
                      const cw_messages *messages)
{
    for (size_t i = 0; i < cw_messages_count(messages); i++) {
        const cw_message *one = cw_messages_at(messages, i);
        const char *slash = strrchr(one->file, '/');
        bool ours =
            slash != NULL && strcmp(slash + 1, name) == 0 && one->line >= lines[0] && one->line <= lines[1];
        if (one->kind == CW_MESSAGE_ERROR || (one->kind == CW_MESSAGE_WARNING && ours))
            print_message(one->rendered, from->folder, all->folder);
    }
}

static bool choose_names(const begin *all, scratch *out)
{
    char real[PATH_MAX];
    const char *tmp = getenv("TMPDIR");
    int size = snprintf(out->top, sizeof out->top, "%s/corewright-begin-XXXXXX",
                        tmp != NULL && tmp[0] != '\0' ? tmp : "/tmp");
    return size > 0 && (size_t)size < sizeof out->top && realpath(all->folder, real) != NULL &&
           mkdtemp(out->top) != NULL && join_path(out->folder, out->top, strrchr(real, '/') + 1);
}

int begin_try(const begin *all, const begin_files *files, const begin_file *changed, const size_t lines[2],
              begin_trial *out)
{
    scratch to;
    *out = (begin_trial){0};
    if (!choose_names(all, &to))
        return machine("a scratch folder");
    int status = fill(all, files, changed, &to);
    if (status == EXIT_DONE) {
        const char *folders[] = {to.folder};
        cw_status loaded = cw_pack_review(NULL, folders, 1, &out->messages, &out->pack);
        print_all(all, &to, changed->name, lines, out->messages);
        if (loaded == CW_BAD_INPUT)
            status = EXIT_WRONG;
        else if (loaded != CW_OK)
            status = explain_status(loaded, all->folder, NULL);
    }
    empty_folder(to.folder);
    empty_folder(to.top);
    return status;
}
