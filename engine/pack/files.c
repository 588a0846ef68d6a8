/* Folders and files: the only place of this room that touches the disk. */
#include "pack/inside.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool is_folder(const char *path)
{
    struct stat about;
    return stat(path, &about) == 0 && S_ISDIR(about.st_mode);
}

const char *nearest_beside(compiler *c, const char *folder, const char *word)
{
    const char *around = beside(c, folder, "."), *best = NULL;
    DIR *listing = around != NULL ? opendir(around) : NULL;
    size_t least = SIZE_MAX;
    for (struct dirent *at; listing != NULL && (at = readdir(listing)) != NULL;) {
        cw_nearest nearest = cw_nearest_start(word);
        cw_nearest_try(&nearest, at->d_name);
        const char *path = nearest.best != NULL ? beside(c, folder, at->d_name) : NULL;
        bool nearer = nearest.distance < least ||
                      (nearest.distance == least && best != NULL && strcmp(at->d_name, best) < 0);
        if (path == NULL || at->d_name[0] == '.' || !nearer || !is_folder(path))
            continue;
        least = nearest.distance;
        best = cw_arena_text(c->arena, at->d_name, strlen(at->d_name));
        c->no_memory |= best == NULL;
    }
    if (listing != NULL)
        closedir(listing);
    return best;
}

static cw_status cannot_read_because(compiler *c, const char *path, const char *why)
{
    complain(c, FILE_READ, ((cw_span){0, 0, 0}), "'%s' cannot be read: %s", path, why);
    c->holes = c->unreadable = true;
    return CW_CANNOT_READ;
}

static cw_status cannot_read(compiler *c, const char *path, int error)
{
    char words[128];
    if (strerror_r(error, words, sizeof words) != 0)
        words[0] = '\0';
    return cannot_read_because(c, path, words);
}

/* As much of the open file as there is, up to `size` bytes. */
static cw_status read_bytes(compiler *c, int handle, const char *path, char *text, size_t size,
                            size_t *filled)
{
    for (*filled = 0; *filled < size;) {
        ssize_t more = read(handle, text + *filled, size - *filled);
        if (more < 0 && errno == EINTR)
            continue;
        if (more < 0)
            return cannot_read(c, path, errno);
        if (more == 0)
            break;
        *filled += (size_t)more;
    }
    return CW_OK;
}

/* The whole file, which is open, becomes a source; its size may be wrong for a file that is being written. */
static cw_status read_open(compiler *c, int handle, const char *path, size_t size, uint32_t *source)
{
    char *text = cw_sources_room(c->sources, size);
    size_t filled;
    cw_status status = text == NULL ? CW_NO_MEMORY : read_bytes(c, handle, path, text, size, &filled);
    if (status != CW_OK) {
        cw_sources_give_back(c->sources, text, size);
    } else if (filled == size) {
        status = cw_sources_take(c->sources, path, text, size, source);
    } else {
        status = cw_sources_add(c->sources, path, text, filled, source);
        cw_sources_give_back(c->sources, text, size);
    }
    c->no_memory |= status == CW_NO_MEMORY;
    return status;
}

static cw_status read_path(compiler *c, const char *path, uint32_t *source)
{
    /* Without waiting: a pipe in the folder must not hold everything up. */
    int handle = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat about;
    if (handle < 0)
        return cannot_read(c, path, errno);
    cw_status status;
    if (fstat(handle, &about) != 0) {
        status = cannot_read(c, path, errno);
    } else if (!S_ISREG(about.st_mode)) {
        status = cannot_read_because(c, path, "it is no plain file");
    } else if (about.st_size > (off_t)CW_YAML_MAX_SIZE) {
        help(c, complain(c, FILE_TOO_LARGE, ((cw_span){0, 0, 0}), "'%s' is larger than 64 MiB", path),
             "divide the pack among several files");
        c->holes = true;
        status = CW_LIMIT;
    } else {
        status = read_open(c, handle, path, (size_t)about.st_size, source);
    }
    close(handle);
    return status;
}

static bool is_pack_file(const char *name)
{
    size_t size = strlen(name);
    return name[0] != '.' && size > 5 && strcmp(name + size - 5, ".yaml") == 0;
}

/* The names of the pack's files, joined to the folder. */
static cw_status list_folder(compiler *c, const char *folder, cw_vec *paths)
{
    DIR *listing = opendir(folder);
    if (listing == NULL)
        return cannot_read(c, folder, errno);
    cw_status status = CW_OK;
    size_t size = strlen(folder);
    const char *slash = size > 0 && folder[size - 1] == '/' ? "" : "/";
    for (struct dirent *at; status == CW_OK && (at = readdir(listing)) != NULL;) {
        if (!is_pack_file(at->d_name))
            continue;
        const char **slot = append(c, paths);
        const char *path =
            slot == NULL ? NULL : cw_arena_format(c->arena, "%s%s%s", folder, slash, at->d_name);
        if (path == NULL) {
            c->no_memory = true;
            status = CW_NO_MEMORY;
            break;
        }
        *slot = path;
    }
    closedir(listing);
    return status;
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static cw_pack_file file_of(const compiler *c, uint32_t source)
{
    cw_pack_file file = {.name = cw_source_name(c->sources, source)};
    file.text = cw_source_text(c->sources, source, &file.size);
    return file;
}

cw_status read_folder(compiler *c, const char *folder, cw_pack_text *out, const uint32_t **sources)
{
    cw_vec paths = CW_VEC_INIT(c->allocator, const char *);
    cw_status status = list_folder(c, folder, &paths);
    if (status == CW_OK && paths.count > 1)
        qsort(paths.items, paths.count, sizeof(const char *), by_text);
    cw_pack_file *files = status == CW_OK ? take(c, paths.count, sizeof *files) : NULL;
    uint32_t *numbers = status == CW_OK ? take(c, paths.count, sizeof *numbers) : NULL;
    size_t count = 0;
    for (size_t i = 0; i < paths.count && !c->no_memory && status != CW_NO_MEMORY && files != NULL; i++) {
        status = read_path(c, *CW_VEC_AT(&paths, const char *, i), &numbers[count]);
        if (status == CW_OK) {
            files[count] = file_of(c, numbers[count]);
            count++;
        }
    }
    cw_vec_dispose(&paths);
    *out = (cw_pack_text){folder, files, count};
    *sources = numbers;
    if (c->no_memory)
        return CW_NO_MEMORY;
    return files == NULL ? status : CW_OK;
}
