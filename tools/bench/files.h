/* The yardstick: the pack files, and how long libyaml alone needs to go over them, event by event. */
#ifndef CW_BENCH_FILES_H
#define CW_BENCH_FILES_H

#include <stdbool.h>
#include <stddef.h>

enum { FILES_MOST = 256 };

typedef struct pack_files {
    char *paths[FILES_MOST];
    size_t count;
    size_t bytes; /* found by the first reading */
    size_t events;
} pack_files;

/* Every *.yaml directly in the folder, by name. False, and says why on standard error, when it cannot be
 * read. */
bool files_add(pack_files *files, const char *folder);
void files_free(pack_files *files);
/* Reads each file into memory and runs the events to the end of the stream; nothing is kept. False as above.
 */
bool files_parse(pack_files *files);
/* Reads each file, and one more, into memory and looks at none. False as above. */
bool files_read(const pack_files *files, const char *another);

#endif
