/* Whether an image may stand for its packs: the folders are walked as load.c walks them, and every file is
 * read and summed. The sums find what has been changed, not who hides a change: images are taken from nobody
 * (model/image.h), and who can write beside them can write into them. */
#include "pack/inside.h"

#include <errno.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

typedef struct user {
    compiler c; /* no more than is needed to read files; nothing of it is kept */
    const char *path;
    bool outright; /* it was named itself, and what is wrong is to be told */
    cw_diags *diags;
    const cw_image_pack *packs;
    size_t count, named;
    const char **folders;        /* beside packs; the first `found` are known */
    const cw_pack_file ***files; /* beside packs: each one's, in order */
    size_t *file_counts;
    size_t found;
} user;

static const char *last_name(const char *folder, size_t *size)
{
    size_t end = strlen(folder);
    while (end > 1 && folder[end - 1] == '/')
        end--;
    size_t start = end;
    while (start > 0 && folder[start - 1] != '/')
        start--;
    *size = end - start;
    return folder + start;
}

bool cw_image_place(const char *const *folders, size_t count, char *out, size_t size)
{
    const size_t first = count == 0 ? 0 : strlen(folders[0]);
    if (first == 0)
        return false;
    const char *slash = folders[0][first - 1] == '/' ? "" : "/";
    int at = snprintf(out, size, "%s%spack", folders[0], slash);
    for (size_t i = 1; i < count && at >= 0 && (size_t)at < size; i++) {
        size_t length = 0;
        const char *name = last_name(folders[i], &length);
        if (!named_before(folders, i))
            at += snprintf(out + at, size - (size_t)at, "+%.*s", (int)length, name);
    }
    if (at >= 0 && (size_t)at < size)
        at += snprintf(out + at, size - (size_t)at, ".image");
    return at >= 0 && (size_t)at < size && (size_t)at - first <= NAME_MAX;
}

/* Tells, if anybody is to be told. */
__attribute__((format(printf, 2, 3))) static cw_status refuse(user *u, const char *format, ...)
{
    if (!u->outright)
        return CW_BAD_INPUT;
    char words[PATH_MAX + 200];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(words, sizeof words, format, arguments);
    va_end(arguments);
    cw_diag *diag =
        cw_diags_add(u->diags, CW_DIAG_IMAGE, (cw_span){0, 0, 0}, "'%s' cannot be used: %s", u->path, words);
    cw_diag_help(u->diags, diag, "compile its packs again: corewright rules FOLDER --compile");
    return CW_BAD_INPUT;
}

static cw_status refuse_fault(user *u, cw_image_fault fault)
{
    switch (fault) {
    case CW_IMAGE_NONE:
        return refuse(u, "it is no compiled image of packs");
    case CW_IMAGE_OTHER_MACHINE:
        return refuse(u, "it was compiled for another kind of machine");
    case CW_IMAGE_OTHER_BUILD:
        return refuse(u, "it was compiled by another build of corewright");
    case CW_IMAGE_DAMAGED:
    case CW_IMAGE_GOOD:
        break;
    }
    return refuse(u, "it is damaged");
}

static bool is_known(const user *u, const char *name)
{
    for (size_t i = 0; i < u->found; i++)
        if (strcmp(u->packs[i].name, name) == 0)
            return true;
    return false;
}

/* The needed ones that are not there yet must be those that came next when the image was made. */
static cw_status find_needed(user *u, size_t at)
{
    for (uint64_t k = 0; k < u->packs[at].needs_count; k++) {
        const char *need = u->packs[at].needs[k];
        if (is_known(u, need))
            continue;
        const char *folder = beside(&u->c, u->folders[at], need);
        if (folder == NULL)
            return CW_NO_MEMORY;
        if (!is_folder(folder))
            continue;
        if (u->found == u->count || strcmp(u->packs[u->found].name, need) != 0)
            return refuse(u, "the pack '%s' has come from elsewhere", need);
        u->folders[u->found++] = folder;
    }
    return CW_OK;
}

static bool is_as_it_was(const cw_pack_file *file, const cw_image_file *was)
{
    if (file->size != was->size || strcmp(base_name(file->name), was->name) != 0)
        return false;
    const cw_checksum sum = cw_checksum_of(file->text, file->size, 0);
    return sum.low == was->sum.low && sum.high == was->sum.high;
}

static bool are_as_they_were(const user *u, size_t at)
{
    const cw_image_pack *pack = &u->packs[at];
    bool same = u->file_counts[at] == pack->files_count;
    for (size_t i = 0; i < u->file_counts[at] && same; i++)
        same = is_as_it_was(u->files[at][i], &pack->files[i]);
    return same;
}

static cw_status check_pack(user *u, size_t at)
{
    cw_pack_text text;
    const uint32_t *sources;
    const cw_image_pack *pack = &u->packs[at];
    cw_status status = read_folder(&u->c, u->folders[at], &text, &sources);
    if (status == CW_NO_MEMORY)
        return status;
    if (status != CW_OK || u->c.holes)
        return refuse(u, "the pack '%s' cannot be read in '%s'", pack->name, u->folders[at]);
    u->files[at] = order_files(&u->c, &text);
    if (u->files[at] == NULL)
        return CW_NO_MEMORY;
    u->file_counts[at] = text.file_count;
    if (!are_as_they_were(u, at))
        return refuse(u, "the pack '%s' in '%s' has changed since", pack->name, u->folders[at]);
    return find_needed(u, at);
}

static cw_status check_packs(user *u)
{
    for (size_t i = 0; i < u->count; i++) {
        if (i >= u->found)
            return refuse(u, "the pack '%s' is not to be found", u->packs[i].name);
        const cw_status status = check_pack(u, i);
        if (status != CW_OK)
            return status;
    }
    return CW_OK;
}

/* The folders of the packs that were named when the image was made. */
static cw_status start_folders(user *u, const char *const *folders, size_t count)
{
    u->folders = take(&u->c, u->count, sizeof *u->folders);
    u->files = take(&u->c, u->count, sizeof *u->files);
    u->file_counts = take(&u->c, u->count, sizeof *u->file_counts);
    if (u->c.no_memory)
        return CW_NO_MEMORY;
    const char *slash = strrchr(u->path, '/');
    const int above = slash == NULL ? 0 : (int)(slash - u->path) + 1;
    for (size_t i = 0; u->outright && i < u->named; i++) {
        const bool same = above > 1 && strcmp(u->packs[i].way, ".") == 0;
        u->folders[i] = same ? cw_arena_format(u->c.arena, "%.*s", above - 1, u->path)
                             : cw_arena_format(u->c.arena, "%.*s%s", above, u->path, u->packs[i].way);
        if (u->folders[i] == NULL)
            return CW_NO_MEMORY;
    }
    u->found = u->outright ? u->named : 0;
    for (size_t i = 0; !u->outright && i < count; i++) {
        if (named_before(folders, i))
            continue;
        if (u->found == u->named)
            return CW_BAD_INPUT;
        u->folders[u->found++] = folders[i];
    }
    return u->found == u->named ? CW_OK : CW_BAD_INPUT;
}

/* As reading the packs would have left them. */
static cw_status give_messages(const user *u, const image_file *image, cw_sources *sources)
{
    if (cw_image_messages(image->bytes, NULL) == 0)
        return CW_OK;
    for (size_t i = 0; i < u->count; i++) {
        for (size_t k = 0; k < u->file_counts[i]; k++) {
            const cw_pack_file *file = u->files[i][k];
            uint32_t source;
            const cw_status status = cw_sources_add(sources, file->name, file->text, file->size, &source);
            if (status != CW_OK)
                return status;
        }
    }
    cw_image_messages(image->bytes, u->diags);
    return cw_diags_lost(u->diags) ? CW_NO_MEMORY : CW_OK;
}

static cw_status use(user *u, image_file *image, const char *const *folders, size_t count,
                     cw_sources *sources, cw_model **out)
{
    u->packs = cw_image_packs(image->bytes, &u->count, &u->named);
    cw_status status = start_folders(u, folders, count);
    if (status == CW_OK)
        status = check_packs(u);
    if (u->c.no_memory)
        status = CW_NO_MEMORY;
    cw_model *model = NULL;
    if (status == CW_OK) {
        status = cw_image_model(u->c.allocator, image->bytes, &image->hold, &model);
        if (status == CW_BAD_INPUT)
            refuse_fault(u, CW_IMAGE_OTHER_BUILD);
    }
    if (status == CW_OK)
        status = give_messages(u, image, sources);
    if (status == CW_OK)
        *out = model;
    else if (model != NULL)
        cw_model_free(model);
    else
        image->hold.let_go(&image->hold);
    return status;
}

static cw_status open_and_use(user *u, const char *const *folders, size_t count, cw_sources *sources,
                              cw_model **out)
{
    image_file *image = NULL;
    cw_image_fault fault = CW_IMAGE_GOOD;
    const cw_status status = image_file_open(u->c.allocator, u->path, &fault, &image);
    if (status == CW_OK)
        return use(u, image, folders, count, sources, out);
    if (status == CW_BAD_INPUT)
        return refuse_fault(u, fault);
    if (status == CW_CANNOT_READ && u->outright) {
        char words[128];
        if (strerror_r(errno, words, sizeof words) != 0)
            words[0] = '\0';
        cw_diags_add(u->diags, CW_DIAG_FILE_READ, (cw_span){0, 0, 0}, "'%s' cannot be read: %s", u->path,
                     words);
    }
    return status;
}

static bool is_file(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && S_ISREG(about.st_mode);
}

static cw_status refuse_others(user *u, const char *const *folders, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        u->path = folders[i];
        if (is_file(folders[i]))
            return refuse(u, "a compiled image stands alone, its packs are in it");
    }
    return CW_OK;
}

cw_status cw_image_load(const cw_allocator *allocator, const char *const *folders, size_t count,
                        cw_sources *sources, cw_diags *diags, cw_model **out)
{
    char place[PATH_MAX];
    *out = NULL;
    if (count == 0)
        return CW_OK;
    user u = {.c = {.allocator = allocator}, .diags = diags, .outright = is_file(folders[0]) || count > 1};
    cw_status status = count > 1 ? refuse_others(&u, folders, count) : CW_OK;
    u.outright = is_file(folders[0]);
    u.path = u.outright ? folders[0] : place;
    if (status != CW_OK || (!u.outright && !cw_image_place(folders, count, place, sizeof place)))
        return cw_diags_lost(diags) ? CW_NO_MEMORY : status;
    u.c.arena = cw_arena_new(allocator);
    u.c.diags = u.c.arena == NULL ? NULL : cw_diags_new(allocator);
    u.c.sources = u.c.diags == NULL ? NULL : cw_sources_new(allocator);
    status = u.c.sources == NULL ? CW_NO_MEMORY : open_and_use(&u, folders, count, sources, out);
    cw_sources_free(u.c.sources);
    cw_diags_free(u.c.diags);
    cw_arena_free(u.c.arena);
    if (cw_diags_lost(diags) && *out == NULL)
        status = CW_NO_MEMORY;
    return status == CW_NO_MEMORY || u.outright ? status : CW_OK;
}
