/* The files of a pack, read as text. */
#include "begin/begin.h"
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum { FILE_MOST = 64 << 20 };

static int failed(const char *folder, const char *name, const char *why)
{
    fprintf(stderr, "corewright: error: %s%s%s: %s\n", folder, name[0] != '\0' ? "/" : "", name, why);
    return EXIT_FAILED;
}

static int read_text(const char *path, begin_file *out)
{
    FILE *file = fopen(path, "rb");
    struct stat about;
    if (file == NULL)
        return EXIT_FAILED;
    bool good = fstat(fileno(file), &about) == 0 && about.st_size <= FILE_MOST;
    out->text = good ? malloc((size_t)about.st_size + 1) : NULL;
    good = out->text != NULL;
    if (good) {
        out->size = fread(out->text, 1, (size_t)about.st_size, file);
        out->text[out->size] = '\0';
        good = ferror(file) == 0;
    }
    fclose(file);
    return good ? EXIT_DONE : EXIT_FAILED;
}

begin_file *begin_add_file(begin_files *files, const char *name)
{
    begin_file *items = realloc(files->items, (files->count + 1) * sizeof *items);
    if (items == NULL)
        return NULL;
    files->items = items;
    items[files->count] = (begin_file){.name = strdup(name)};
    return items[files->count].name != NULL ? &items[files->count++] : NULL;
}

bool begin_is_yaml(const char *name)
{
    size_t size = strlen(name);
    return name[0] != '.' && size > 5 && strcmp(name + size - 5, ".yaml") == 0;
}

static int compare(const void *a, const void *b)
{
    return strcmp(((const begin_file *)a)->name, ((const begin_file *)b)->name);
}

int begin_read_files(const char *folder, begin_files *out)
{
    *out = (begin_files){0};
    DIR *open = opendir(folder);
    if (open == NULL)
        return failed(folder, "", strerror(errno));
    int status = EXIT_DONE;
    const struct dirent *entry;
    while (status == EXIT_DONE && (entry = readdir(open)) != NULL) {
        char path[PATH_MAX];
        int size = snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (!begin_is_yaml(entry->d_name) || size < 0 || (size_t)size >= sizeof path)
            continue;
        begin_file *file = begin_add_file(out, entry->d_name);
        status = file != NULL ? read_text(path, file) : EXIT_FAILED;
        if (status != EXIT_DONE)
            failed(folder, entry->d_name, "it cannot be read");
        else
            file->there = true;
    }
    closedir(open);
    if (out->count > 1)
        qsort(out->items, out->count, sizeof *out->items, compare);
    return status;
}

void begin_free_files(begin_files *files)
{
    for (size_t i = 0; i < files->count; i++) {
        free(files->items[i].name);
        free(files->items[i].text);
    }
    free(files->items);
    *files = (begin_files){0};
}
