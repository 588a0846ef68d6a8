/* realpath wants the X/Open names. */
#define _XOPEN_SOURCE 700
#include "pack/write.h"
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int write_all(int file, const char *text, size_t size)
{
    while (size > 0) {
        ssize_t done = write(file, text, size);
        if (done < 0 && errno == EINTR)
            continue;
        if (done < 0)
            return errno;
        text += done;
        size -= (size_t)done;
    }
    return 0;
}

/* Writes and closes; 0 or an errno. Devices and pipes know no fsync. */
static int put(int file, const char *text, size_t size, bool regular)
{
    int error = write_all(file, text, size);
    if (error == 0 && regular && fsync(file) != 0)
        error = errno;
    if (close(file) != 0 && error == 0)
        error = errno;
    return error;
}

/* The name must survive a cut as well. */
static void sync_folder(const char *path)
{
    char folder[PATH_MAX];
    const char *slash = strrchr(path, '/');
    size_t size = slash != NULL ? (size_t)(slash - path) : 0;
    if (slash == NULL)
        memcpy(folder, ".", 2);
    else if (size == 0)
        memcpy(folder, "/", 2);
    else {
        memcpy(folder, path, size);
        folder[size] = '\0';
    }
    int file = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (file >= 0) {
        (void)fsync(file);
        close(file);
    }
}

static int replace(const char *path, mode_t mode, const char *text, size_t size)
{
    char fresh[PATH_MAX];
    int length = snprintf(fresh, sizeof fresh, "%s.%ld.new", path, (long)getpid());
    if (length < 0 || (size_t)length >= sizeof fresh)
        return ENAMETOOLONG;
    int file = open(fresh, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, mode);
    if (file < 0)
        return errno;
    int error = put(file, text, size, true);
    if (error == 0 && rename(fresh, path) != 0)
        error = errno;
    if (error != 0)
        unlink(fresh);
    else
        sync_folder(path);
    return error;
}

static int write_to(const char *path, const char *text, size_t size)
{
    struct stat about;
    char real[PATH_MAX];
    if (stat(path, &about) != 0)
        return errno == ENOENT ? replace(path, 0666, text, size) : errno;
    if (S_ISDIR(about.st_mode))
        return EISDIR;
    if (!S_ISREG(about.st_mode)) { /* a device or a pipe is written to, never replaced */
        int file = open(path, O_WRONLY | O_CLOEXEC);
        return file >= 0 ? put(file, text, size, false) : errno;
    }
    if (access(path, W_OK) != 0) /* a file that is write-protected on purpose */
        return errno;
    /* A link stays a link: the file it points to is replaced. */
    return realpath(path, real) != NULL ? replace(real, about.st_mode & 0777, text, size) : errno;
}

cw_status cw_file_write(const char *path, const char *bytes, size_t size, char *reason, size_t reason_size)
{
    int error = write_to(path, bytes, size);
    if (error == 0)
        return CW_OK;
    if (strerror_r(error, reason, reason_size) != 0)
        snprintf(reason, reason_size, "error %d", error);
    return CW_CANNOT_WRITE;
}
