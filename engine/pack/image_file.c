/* Mapping an image: where it asks to lie, if that is free, so that nothing in it has to be moved. */
#include "bench/rule.h"
#include "pack/inside.h"
#include "pack/stamp.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

const char *image_stamp(void)
{
    return CW_PACK_STAMP;
}

static void unmap(cw_model_hold *hold)
{
    image_file *image = (image_file *)(void *)hold;
    munmap(image->bytes, image->size);
    cw_allocator allocator = image->allocator;
    cw_release(&allocator, image, sizeof *image);
}

/* Bytes past the end of a short file stay 0. */
static cw_status read_head(int handle, cw_image_head *head)
{
    size_t filled = 0;
    *head = (cw_image_head){.order = 0};
    while (filled < sizeof *head) {
        const ssize_t more = pread(handle, (char *)head + filled, sizeof *head - filled, (off_t)filled);
        if (more < 0 && errno == EINTR)
            continue;
        if (more < 0)
            return CW_CANNOT_READ;
        if (more == 0)
            break;
        filled += (size_t)more;
    }
    return CW_OK;
}

/* Written to, it is ours alone: the file stays as it is. */
static cw_status settle(const image_file *image, cw_image_fault *fault)
{
    *fault = cw_image_check(image->bytes);
    if (*fault != CW_IMAGE_GOOD)
        return CW_BAD_INPUT;
    if (mprotect(image->bytes, image->size, PROT_READ | PROT_WRITE) != 0)
        return CW_NO_MEMORY;
    if (cw_image_settle(image->bytes, cw_bench_functions()) != CW_OK) {
        *fault = CW_IMAGE_OTHER_BUILD;
        return CW_BAD_INPUT;
    }
    return mprotect(image->bytes, image->size, PROT_READ) == 0 ? CW_OK : CW_NO_MEMORY;
}

static cw_status map(const cw_allocator *allocator, int handle, const cw_image_head *head,
                     cw_image_fault *fault, image_file **out)
{
    image_file *image = cw_allocate(allocator, sizeof *image);
    if (image == NULL)
        return CW_NO_MEMORY;
    *image = (image_file){{.let_go = unmap}, *allocator, MAP_FAILED, (size_t)head->size};
    image->bytes =
        mmap((void *)(uintptr_t)head->base, image->size, PROT_READ, MAP_PRIVATE, handle, 0); /* NOLINT */
    if (image->bytes == MAP_FAILED) {
        cw_release(allocator, image, sizeof *image);
        return errno == ENOMEM ? CW_NO_MEMORY : CW_CANNOT_READ;
    }
    const cw_status status = settle(image, fault);
    if (status == CW_OK)
        *out = image;
    else
        unmap(&image->hold);
    return status;
}

cw_status image_file_open(const cw_allocator *allocator, const char *path, cw_image_fault *fault,
                          image_file **out)
{
    const int handle = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (handle < 0)
        return CW_CANNOT_READ;
    struct stat about;
    cw_image_head head;
    cw_status status = fstat(handle, &about) == 0 ? CW_OK : CW_CANNOT_READ;
    if (status == CW_OK && !S_ISREG(about.st_mode)) {
        *fault = CW_IMAGE_NONE;
        status = CW_BAD_INPUT;
    }
    if (status == CW_OK)
        status = read_head(handle, &head);
    if (status == CW_OK) {
        *fault = cw_image_look(&head, (uint64_t)about.st_size, image_stamp());
        status = *fault == CW_IMAGE_GOOD ? map(allocator, handle, &head, fault, out) : CW_BAD_INPUT;
    }
    const int error = errno;
    close(handle);
    errno = error;
    return status;
}
