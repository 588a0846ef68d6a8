#include "trial/corpus.h"
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { DEEPEST = 32 };

static int no_memory(void)
{
    fputs("corewright: error: out of memory\n", stderr);
    return EXIT_FAILED;
}

static int cannot(const char *path)
{
    int reason = errno;
    fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(reason));
    return reason == ENOENT || reason == ENOTDIR ? EXIT_WRONG : EXIT_FAILED;
}

static int add_folder(corpus_files *out, const char *path, uint32_t *id)
{
    char **folders = realloc(out->folders, (out->folder_count + 1) * sizeof *folders);
    if (folders == NULL)
        return no_memory();
    out->folders = folders;
    folders[out->folder_count] = strdup(path);
    if (folders[out->folder_count] == NULL)
        return no_memory();
    *id = (uint32_t)out->folder_count++;
    return EXIT_DONE;
}

static int add_file(corpus_files *out, uint32_t folder, const char *name)
{
    size_t size = strlen(name) + 1;
    if (out->names_size + size > out->names_room) {
        size_t room = (out->names_room + size) * 2 + 4096;
        char *names = room <= UINT32_MAX ? realloc(out->names, room) : NULL;
        if (names == NULL)
            return no_memory();
        out->names = names;
        out->names_room = room;
    }
    if (out->count == out->room) {
        size_t room = out->room * 2 + 256;
        corpus_entry *entries = realloc(out->entries, room * sizeof *entries);
        if (entries == NULL)
            return no_memory();
        out->entries = entries;
        out->room = room;
    }
    memcpy(out->names + out->names_size, name, size);
    out->entries[out->count++] = (corpus_entry){folder, (uint32_t)out->names_size};
    out->names_size += size;
    return EXIT_DONE;
}

static bool is_case(const char *name)
{
    size_t size = strlen(name);
    return size > 5 && strcmp(name + size - 5, ".yaml") == 0;
}

static int compare(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* The names in a folder, sorted; the hidden ones left out. */
static int list_names(const char *path, char ***out, size_t *count)
{
    DIR *folder = opendir(path);
    if (folder == NULL)
        return cannot(path);
    int status = EXIT_DONE;
    size_t room = 0;
    const struct dirent *entry;
    while (status == EXIT_DONE && (entry = readdir(folder)) != NULL) {
        if (entry->d_name[0] == '.')
            continue;
        if (*count == room) {
            room = room * 2 + 64;
            char **names = realloc(*out, room * sizeof *names);
            if (names == NULL) {
                status = no_memory();
                break;
            }
            *out = names;
        }
        (*out)[*count] = strdup(entry->d_name);
        status = (*out)[*count] != NULL ? EXIT_DONE : no_memory();
        *count += status == EXIT_DONE;
    }
    closedir(folder);
    if (*count > 0)
        qsort(*out, *count, sizeof **out, compare);
    return status;
}

static int walk(corpus_files *out, const char *path, unsigned depth);

/* A file or folder in a folder that is walked. */
static int take(corpus_files *out, const char *path, uint32_t folder, const char *name, unsigned depth)
{
    char inner[PATH_MAX];
    struct stat about;
    if (is_case(name))
        return add_file(out, folder, name);
    int size = snprintf(inner, sizeof inner, "%s/%s", path, name);
    if (size < 0 || (size_t)size >= sizeof inner || depth >= DEEPEST || lstat(inner, &about) != 0 ||
        !S_ISDIR(about.st_mode))
        return EXIT_DONE;
    return walk(out, inner, depth + 1);
}

static int walk(corpus_files *out, const char *path, unsigned depth)
{
    char **names = NULL;
    size_t count = 0;
    uint32_t folder = 0;
    int status = list_names(path, &names, &count);
    if (status == EXIT_DONE)
        status = add_folder(out, path, &folder);
    for (size_t i = 0; i < count; i++) {
        if (status == EXIT_DONE)
            status = take(out, path, folder, names[i], depth);
        free(names[i]);
    }
    free(names);
    return status;
}

/* A word of the command line, without slashes at its end. */
static int take_word(corpus_files *out, const char *word, uint32_t named)
{
    char path[PATH_MAX];
    struct stat about;
    if (stat(word, &about) != 0)
        return cannot(word);
    if (!S_ISDIR(about.st_mode))
        return add_file(out, named, word);
    size_t size = strlen(word);
    while (size > 1 && word[size - 1] == '/')
        size--;
    if (size >= sizeof path) {
        errno = ENAMETOOLONG;
        return cannot(word);
    }
    memcpy(path, word, size);
    path[size] = '\0';
    return walk(out, path, 0);
}

int corpus_find(const char *const *words, size_t count, corpus_files *out)
{
    uint32_t named = 0;
    *out = (corpus_files){0};
    int status = add_folder(out, "", &named);
    for (size_t i = 0; status == EXIT_DONE && i < count; i++)
        status = take_word(out, words[i], named);
    if (status == EXIT_DONE && out->count == 0) {
        fprintf(stderr, "corewright: error: there is no case in %s\n", words[0]);
        fputs("help: a corpus is a folder of case files, *.yaml, in it and in its folders\n", stderr);
        status = EXIT_WRONG;
    }
    if (status != EXIT_DONE)
        corpus_free(out);
    return status;
}

bool corpus_path(const corpus_files *files, size_t index, char *buffer, size_t size)
{
    const corpus_entry *entry = &files->entries[index];
    const char *folder = files->folders[entry->folder];
    int wrote =
        snprintf(buffer, size, "%s%s%s", folder, folder[0] != '\0' ? "/" : "", files->names + entry->name);
    return wrote >= 0 && (size_t)wrote < size;
}

void corpus_free(corpus_files *files)
{
    for (size_t i = 0; i < files->folder_count; i++)
        free(files->folders[i]);
    free(files->folders);
    free(files->names);
    free(files->entries);
    *files = (corpus_files){0};
}
