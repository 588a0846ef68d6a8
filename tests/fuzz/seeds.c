#include "fuzz/seeds.h"
#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int only_yaml(const struct dirent *entry)
{
    size_t size = strlen(entry->d_name);
    return size > 5 && strcmp(entry->d_name + size - 5, ".yaml") == 0;
}

static cw_pack_file read_file(const char *folder, const char *name)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s/%s", CW_SOURCE_DIR, folder, name);
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s cannot be read", path);
    fseek(file, 0, SEEK_END);
    long size = ftell(file);
    rewind(file);
    char *text = malloc((size_t)size + 1);
    cr_assert_eq(fread(text, 1, (size_t)size, file), (size_t)size);
    text[size] = '\0';
    fclose(file);
    return (cw_pack_file){strdup(name), text, (size_t)size};
}

seeds seeds_read(const char *folder)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", CW_SOURCE_DIR, folder);
    struct dirent **entries;
    int count = scandir(path, &entries, only_yaml, alphasort);
    cr_assert_gt(count, 0, "no files in %s", path);
    seeds found = {malloc((size_t)count * sizeof *found.files), (size_t)count};
    for (int i = 0; i < count; i++) {
        found.files[i] = read_file(folder, entries[i]->d_name);
        free(entries[i]);
    }
    free(entries);
    return found;
}

void seeds_free(seeds *all)
{
    for (size_t i = 0; i < all->count; i++) {
        free((char *)all->files[i].name);
        free((char *)all->files[i].text);
    }
    free(all->files);
    *all = (struct seeds){NULL, 0};
}
