#include "files.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <yaml.h>

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static bool is_yaml(const char *name)
{
    size_t size = strlen(name);
    return size > 5 && strcmp(name + size - 5, ".yaml") == 0;
}

bool files_add(pack_files *files, const char *folder)
{
    DIR *open = opendir(folder);
    if (open == NULL) {
        fprintf(stderr, "cw_bench: %s: %s\n", folder, strerror(errno));
        return false;
    }
    bool done = true;
    for (struct dirent *entry; done && (entry = readdir(open)) != NULL;) {
        if (!is_yaml(entry->d_name))
            continue;
        size_t size = strlen(folder) + strlen(entry->d_name) + 2;
        char *path = files->count < FILES_MOST ? malloc(size) : NULL;
        done = path != NULL;
        if (!done)
            break;
        snprintf(path, size, "%s/%s", folder, entry->d_name);
        files->paths[files->count++] = path;
    }
    closedir(open);
    if (!done)
        fprintf(stderr, "cw_bench: %s: too many files\n", folder);
    qsort(files->paths, files->count, sizeof(char *), by_name);
    return done;
}

void files_free(pack_files *files)
{
    for (size_t i = 0; i < files->count; i++)
        free(files->paths[i]);
    files->count = 0;
}

static char *slurp(const char *path, size_t *size)
{
    FILE *file = fopen(path, "rb");
    char *text = NULL;
    if (file == NULL)
        return NULL;
    if (fseek(file, 0, SEEK_END) == 0) {
        long end = ftell(file);
        if (end >= 0 && fseek(file, 0, SEEK_SET) == 0 && (text = malloc((size_t)end + 1)) != NULL)
            *size = fread(text, 1, (size_t)end, file);
    }
    fclose(file);
    return text;
}

static bool run_events(const char *text, size_t size, size_t *events)
{
    yaml_parser_t parser;
    bool done = false, good = yaml_parser_initialize(&parser) == 1;
    if (!good)
        return false;
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, size);
    while (good && !done) {
        yaml_event_t event;
        good = yaml_parser_parse(&parser, &event) == 1;
        done = !good || event.type == YAML_STREAM_END_EVENT;
        *events += good ? 1 : 0;
        if (good)
            yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    return good;
}

bool files_parse(pack_files *files)
{
    files->bytes = files->events = 0;
    for (size_t i = 0; i < files->count; i++) {
        size_t size = 0;
        char *text = slurp(files->paths[i], &size);
        bool good = text != NULL && run_events(text, size, &files->events);
        free(text);
        if (!good) {
            fprintf(stderr, "cw_bench: %s: cannot be read as YAML\n", files->paths[i]);
            return false;
        }
        files->bytes += size;
    }
    return true;
}

bool files_read(const pack_files *files, const char *another)
{
    for (size_t i = 0; i <= files->count; i++) {
        const char *path = i < files->count ? files->paths[i] : another;
        size_t size = 0;
        char *text = slurp(path, &size);
        const bool good = text != NULL;
        free(text);
        if (!good) {
            fprintf(stderr, "cw_bench: %s: cannot be read\n", path);
            return false;
        }
    }
    return true;
}
