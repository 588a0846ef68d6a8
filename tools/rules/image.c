#include "rules/image.h"
#include <limits.h>
#include <stdio.h>
#include <sys/stat.h>

bool image_named(const folder_list *found)
{
    struct stat about;
    return stat(found->items[0], &about) == 0 && S_ISREG(about.st_mode);
}

/* Whether the image in its own place can be used as it is. */
static bool is_fresh(const folder_list *found)
{
    cw_pack *pack = NULL;
    const bool fresh =
        cw_pack_open(NULL, (const char *const *)found->items, found->count, NULL, &pack) == CW_OK &&
        cw_pack_from_image(pack);
    cw_pack_free(pack);
    return fresh;
}

int image_compile(const folder_list *found, const char *file)
{
    char place[PATH_MAX];
    const char *const *folders = (const char *const *)found->items;
    if (file[0] == '\0' && !cw_pack_image_place(folders, found->count, place, sizeof place)) {
        fputs("corewright: error: too many packs to name their image after them\n"
              "help: name a file: --compile=FILE\n",
              stderr);
        return EXIT_WRONG;
    }
    const bool fresh = file[0] == '\0' && is_fresh(found);
    cw_messages *messages = NULL;
    const cw_status status =
        fresh ? CW_OK
              : cw_pack_write_image(NULL, folders, found->count, file[0] == '\0' ? NULL : file, &messages);
    int exit_status = explain_status(status, found->items[0], messages);
    if (status == CW_BAD_INPUT)
        exit_status = EXIT_NEGATIVE;
    if (status == CW_OK)
        printf("%s %s\n", file[0] == '\0' ? place : file, fresh ? "is up to date" : "written");
    cw_messages_free(messages);
    return exit_status;
}
