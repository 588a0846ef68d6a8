/* Whole files in; they go out by pack/write.h. */
#include "job/inside.h"
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { CHUNK = 1 << 16 };

static void say(int error, char *reason, size_t size)
{
    if (strerror_r(error, reason, size) != 0)
        snprintf(reason, size, "error %d", error);
}

cw_status cw_file_read(const char *path, size_t limit, cw_text *out, char *reason, size_t reason_size)
{
    int file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0) {
        say(errno, reason, reason_size);
        return CW_CANNOT_READ;
    }
    char buffer[CHUNK];
    cw_status status = CW_OK;
    while (status == CW_OK) {
        ssize_t got = read(file, buffer, sizeof buffer);
        if (got == 0)
            break;
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            say(errno, reason, reason_size);
            status = CW_CANNOT_READ;
        } else if (out->size + (size_t)got > limit) {
            snprintf(reason, reason_size, "over %zu MiB", limit >> 20);
            status = CW_LIMIT;
        } else {
            cw_text_add_bytes(out, buffer, (size_t)got);
            status = out->status;
        }
    }
    close(file);
    return status;
}

cw_status cw_file_message(const cw_allocator *allocator, cw_code code, const char *path, const char *reason,
                          cw_messages **messages)
{
    if (messages == NULL)
        return CW_OK;
    cw_sources *sources = cw_sources_new(allocator);
    cw_diags *diags = cw_diags_new(allocator);
    cw_status status = CW_NO_MEMORY;
    if (sources != NULL && diags != NULL) {
        cw_diags_add(diags, code, (cw_span){0, 0, 0}, "%s: %s", path, reason);
        status = cw_messages_make(allocator, sources, diags, messages);
    }
    cw_diags_free(diags);
    cw_sources_free(sources);
    return status;
}
