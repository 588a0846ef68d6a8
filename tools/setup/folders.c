/* Which folders are packs. */
#include "setup/setup.h"
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int no_memory(void)
{
    fputs("corewright: error: out of memory\n", stderr);
    return EXIT_FAILED;
}

static int add(folder_list *list, const char *path)
{
    char **items = realloc(list->items, (list->count + 1) * sizeof *items);
    if (items == NULL)
        return no_memory();
    list->items = items;
    items[list->count] = strdup(path);
    if (items[list->count] == NULL)
        return no_memory();
    list->count++;
    return EXIT_DONE;
}

void folders_free(folder_list *folders)
{
    for (size_t i = 0; i < folders->count; i++)
        free(folders->items[i]);
    free(folders->items);
    *folders = (folder_list){NULL, 0};
}

static bool is_yaml(const char *name)
{
    size_t size = strlen(name);
    return name[0] != '.' && size > 5 && strcmp(name + size - 5, ".yaml") == 0;
}

/* 1 = a pack; 0 = a folder without YAML; -1 = cannot be read (errno). */
static int look_into(const char *path)
{
    DIR *folder = opendir(path);
    if (folder == NULL)
        return -1;
    int found = 0;
    const struct dirent *entry;
    while (found == 0 && (entry = readdir(folder)) != NULL)
        found = is_yaml(entry->d_name);
    closedir(folder);
    return found;
}

static int compare(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* The packs within a folder, in the order of their names. */
static int add_within(folder_list *list, const char *path)
{
    DIR *folder = opendir(path);
    if (folder == NULL)
        return EXIT_DONE;
    size_t first = list->count;
    int status = EXIT_DONE;
    const struct dirent *entry;
    while (status == EXIT_DONE && (entry = readdir(folder)) != NULL) {
        char inner[PATH_MAX];
        int size = snprintf(inner, sizeof inner, "%s/%s", path, entry->d_name);
        if (entry->d_name[0] != '.' && size > 0 && (size_t)size < sizeof inner && look_into(inner) == 1)
            status = add(list, inner);
    }
    closedir(folder);
    if (list->count > first)
        qsort(list->items + first, list->count - first, sizeof *list->items, compare);
    return status;
}

/* What was named: a pack, a folder of packs, or an image. */
static int add_named(folder_list *list, const char *path)
{
    struct stat about;
    if (stat(path, &about) == 0 && S_ISREG(about.st_mode)) /* a compiled image, or what is taken for one */
        return add(list, path);
    int kind = look_into(path);
    if (kind == 1)
        return add(list, path);
    if (kind < 0) {
        fprintf(stderr, "corewright: error: %s: %s\n", path, strerror(errno));
        if (errno == ENOENT)
            fputs("help: --packs wants the folder of a pack, or a folder that holds packs\n", stderr);
        return errno == ENOENT || errno == ENOTDIR ? EXIT_WRONG : EXIT_FAILED;
    }
    size_t before = list->count;
    int status = add_within(list, path);
    if (status == EXIT_DONE && list->count == before) {
        fprintf(stderr, "corewright: error: %s holds no pack: no *.yaml in it, nor in its folders\n", path);
        return EXIT_WRONG;
    }
    return status;
}

static int add_environment(folder_list *list, const char *paths)
{
    int status = EXIT_DONE;
    while (status == EXIT_DONE && *paths != '\0') {
        size_t size = strcspn(paths, ":");
        char path[PATH_MAX];
        if (size > 0 && size < sizeof path) {
            memcpy(path, paths, size);
            path[size] = '\0';
            status = add_named(list, path);
        }
        paths += size + (paths[size] == ':');
    }
    return status;
}

/* Where the command lies tells where its packs were installed, wherever the whole was moved to. */
static bool beside_program(char *out, size_t size)
{
    char path[PATH_MAX];
    ssize_t length = readlink("/proc/self/exe", path, sizeof path - 1);
    if (length <= 0)
        return false;
    path[length] = '\0';
    for (int up = 0; up < 2; up++) {
        char *slash = strrchr(path, '/');
        if (slash == NULL)
            return false;
        *slash = '\0';
    }
    int wrote = snprintf(out, size, "%s/" CW_DATA_BELOW "/corewright/rules", path);
    return wrote > 0 && (size_t)wrote < size && access(out, R_OK) == 0;
}

int folders_find(const cli_options *options, folder_list *out)
{
    *out = (folder_list){NULL, 0};
    int status = EXIT_DONE;
    const char *environment = getenv("COREWRIGHT_PACKS");
    char installed[PATH_MAX];
    if (options->packs.count > 0) {
        for (size_t i = 0; status == EXIT_DONE && i < options->packs.count; i++)
            status = add_named(out, options->packs.items[i]);
    } else if (environment != NULL && environment[0] != '\0') {
        status = add_environment(out, environment);
    } else if (beside_program(installed, sizeof installed)) {
        status = add_named(out, installed);
    } else if (access(CW_DATA_FOLDER "/rules", R_OK) == 0) {
        status = add_named(out, CW_DATA_FOLDER "/rules");
    } else if (access(CW_SOURCE_RULES, R_OK) == 0) {
        status = add_named(out, CW_SOURCE_RULES);
    }
    if (status == EXIT_DONE && out->count == 0) {
        fputs("corewright: error: no pack to work with\n"
              "help: name one with --packs FOLDER, or in the variable COREWRIGHT_PACKS\n",
              stderr);
        status = EXIT_WRONG;
    }
    if (status != EXIT_DONE)
        folders_free(out);
    return status;
}
