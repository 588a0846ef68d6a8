/* The case files of a corpus: those named, and every *.yaml in and below the folders named, in a fixed order.
 */
#ifndef TOOLS_TRIAL_CORPUS_H
#define TOOLS_TRIAL_CORPUS_H

#include "setup/options.h"
#include <stdint.h>

/* Names alone, packed: a hundred thousand cases take three megabytes. */
typedef struct corpus_entry {
    uint32_t folder, name;
} corpus_entry;

typedef struct corpus_files {
    char **folders; /* owned; "" for files that were named themselves */
    size_t folder_count;
    char *names; /* owned: one after another, each with its NUL */
    size_t names_size, names_room;
    corpus_entry *entries; /* owned */
    size_t count, room;
} corpus_files;

/* count: at least 1. In the order of the words; within a folder by the bytes of their names, files and
 * folders mixed. Hidden ones are left out, links to folders are not followed. The reason for anything but
 * EXIT_DONE is on standard error: nothing of that name, no case at all, a folder that cannot be read. */
int corpus_find(const char *const *words, size_t count, corpus_files *out);
/* The path of a case; false when the buffer is too small. */
bool corpus_path(const corpus_files *files, size_t index, char *buffer, size_t size);
void corpus_free(corpus_files *files);

#endif
