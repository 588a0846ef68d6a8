/* A version of packs: a folder, or REVISION:PATH of the git repository that one stands in. */
#ifndef TOOLS_COMPARE_REVISION_H
#define TOOLS_COMPARE_REVISION_H

#include <limits.h>

typedef struct revision {
    char folder[PATH_MAX];  /* a pack, or a folder of packs */
    char fetched[PATH_MAX]; /* what was made for it below TMPDIR or /tmp, gone with revision_close; "" */
} revision;

/* A folder of that name comes first. Of a revision the pack files at PATH are fetched through git, without a
 * shell, and beside them those of the folders next to it, where needed packs lie. EXIT_DONE, or the reason is
 * on standard error: git is not installed, no repository, no such revision, no such path in it; or the end
 * is asked for (screen/hold.h). */
int revision_open(const char *word, revision *out);
void revision_close(revision *of);

#endif
