/* Written beside the old file and renamed over it, so that a full disk or a cut leaves the old one whole. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "begin/begin.h"
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int failed(const char *path, const char *why)
{
    fprintf(stderr, "corewright: error: %s: %s\n", path, why);
    fputs("help: nothing was written; what stood there is as it was\n", stderr);
    return EXIT_FAILED;
}

/* Nobody has changed the file since it was read, or made one where there was none. */
static bool still(const char *path, const char *was, size_t was_size)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return was == NULL && errno == ENOENT;
    char *now = was != NULL ? malloc(was_size + 1) : NULL;
    bool same =
        now != NULL && fread(now, 1, was_size + 1, file) == was_size && memcmp(now, was, was_size) == 0;
    free(now);
    fclose(file);
    return same;
}

static bool write_all(int file, const char *text, size_t size)
{
    while (size > 0) {
        ssize_t wrote = write(file, text, size);
        if (wrote < 0 && errno == EINTR)
            continue;
        if (wrote <= 0)
            return false;
        text += wrote;
        size -= (size_t)wrote;
    }
    return fsync(file) == 0;
}

static int write_beside(const char *path, mode_t mode, const char *was, size_t was_size, const char *text,
                        size_t size)
{
    char beside[PATH_MAX];
    int length = snprintf(beside, sizeof beside, "%s.%ld.new", path, (long)getpid());
    if (length < 0 || (size_t)length >= sizeof beside)
        return failed(path, strerror(ENAMETOOLONG));
    int file = open(beside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (file < 0)
        return failed(path, strerror(errno));
    bool good = write_all(file, text, size) && (mode == 0 || fchmod(file, mode) == 0);
    int reason = errno;
    good = close(file) == 0 && good;
    if (good && !still(path, was, was_size)) {
        unlink(beside);
        return failed(path, "somebody else has changed it meanwhile");
    }
    if (good && rename(beside, path) == 0)
        return EXIT_DONE;
    reason = good ? errno : reason;
    unlink(beside);
    return failed(path, strerror(reason));
}

int begin_write(const char *path, const char *was, size_t was_size, const char *text, size_t size)
{
    char real[PATH_MAX];
    struct stat about;
    if (was == NULL)
        return write_beside(path, 0, was, was_size, text, size);
    /* A link stays a link: what it points to is written. */
    if (realpath(path, real) == NULL || stat(real, &about) != 0)
        return failed(path, strerror(errno));
    if ((about.st_mode & 0222) == 0)
        return failed(path, "it is read-only");
    return write_beside(real, about.st_mode & 07777, was, was_size, text, size);
}
