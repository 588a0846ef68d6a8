/* Compiling packs into an image. realpath wants the X/Open names. */
#define _XOPEN_SOURCE 700
#include "pack/inside.h"
#include "pack/write.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

static cw_status cannot_write(compiler *c, const char *path, const char *why)
{
    complain(c, FILE_WRITE, ((cw_span){0, 0, 0}), "'%s' cannot be written: %s", path, why);
    return cw_diags_lost(c->diags) ? CW_NO_MEMORY : CW_CANNOT_WRITE;
}

static cw_status cannot_write_because(compiler *c, const char *path, int error)
{
    char words[128];
    if (strerror_r(error, words, sizeof words) != 0)
        words[0] = '\0';
    return cannot_write(c, path, words);
}

static bool ends(char c)
{
    return c == '/' || c == '\0';
}

/* The way from one folder to another, both from the root on: up to what they share, then down. */
static const char *way_between(compiler *c, const char *from, const char *to)
{
    size_t shared = 0;
    for (size_t at = 0; from[at] == to[at] || (ends(from[at]) && ends(to[at])); at++) {
        if (ends(from[at]) && ends(to[at]))
            shared = at;
        if (from[at] == '\0' || to[at] == '\0')
            break;
    }
    cw_text way = CW_TEXT_INIT(c->allocator);
    for (const char *up = from + shared; *up != '\0'; up++)
        if (*up == '/' && up[1] != '\0')
            cw_text_add(&way, "../");
    const char *down = to + shared;
    cw_text_add(&way, *down == '/' ? down + 1 : down);
    if (way.status == CW_OK && way.size == 0)
        cw_text_add(&way, ".");
    const char *made = way.status == CW_OK ? cw_arena_text(c->arena, way.data, way.size) : NULL;
    cw_text_dispose(&way);
    c->no_memory |= made == NULL;
    return made;
}

static const char *const *take_needs(compiler *c, const pack_def *pack)
{
    const char **needs = take(c, pack->needs_count, sizeof *needs);
    for (uint32_t k = 0; k < pack->needs_count && needs != NULL; k++)
        needs[k] = pack->needs[k].kind == CW_NODE_SCALAR ? pack->needs[k].text : "";
    return needs;
}

static const cw_image_file *take_files(compiler *c, const pack_def *pack)
{
    cw_image_file *files = take(c, pack->file_count, sizeof *files);
    for (size_t i = 0; i < pack->file_count && files != NULL; i++) {
        const cw_pack_file *from = pack->files[i];
        files[i] =
            (cw_image_file){base_name(from->name), from->size, cw_checksum_of(from->text, from->size, 0)};
    }
    return files;
}

/* The packs as they were read, before they are put in their order. */
static cw_image_pack *take_packs(compiler *c, size_t *named)
{
    cw_image_pack *packs = take(c, c->packs.count, sizeof *packs);
    *named = 0;
    for (size_t i = 0; i < c->packs.count && packs != NULL; i++) {
        const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, i);
        packs[i].name = pack->info.name;
        packs[i].needs = take_needs(c, pack);
        packs[i].needs_count = pack->needs_count;
        packs[i].files = take_files(c, pack);
        packs[i].files_count = pack->file_count;
        packs[i].way = pack->named ? pack->folder : NULL;
        *named += pack->named;
    }
    return c->no_memory ? NULL : packs;
}

/* From where the image will lie to the folders that were named. */
static cw_status find_ways(compiler *c, const char *path, cw_image_pack *packs, size_t named)
{
    char above[PATH_MAX], real_above[PATH_MAX], real[PATH_MAX];
    const char *slash = strrchr(path, '/');
    const size_t size = slash == NULL ? 0 : (size_t)(slash - path) + 1;
    if (size >= sizeof above)
        return cannot_write_because(c, path, ENAMETOOLONG);
    memcpy(above, path, size);
    above[size] = '\0';
    if (realpath(size == 0 ? "." : above, real_above) == NULL)
        return cannot_write_because(c, path, errno);
    for (size_t i = 0; i < named; i++) {
        if (realpath(packs[i].way, real) == NULL)
            return cannot_write_because(c, path, errno);
        packs[i].way = way_between(c, real_above, real);
    }
    return c->no_memory ? CW_NO_MEMORY : CW_OK;
}

/* All but those of people's own words, which most sessions never match, lie in the image compiled. */
static cw_status ready_patterns(compiler *c, const cw_model *model)
{
    bool *of_words = take(c, (size_t)model->patterns_count + 1, sizeof *of_words);
    cw_status status = of_words == NULL ? CW_NO_MEMORY : CW_OK;
    for (uint32_t i = 1; i <= model->hints_count && status == CW_OK; i++) {
        const cw_hint *hint = &model->hints[i];
        of_words[hint->like] = of_words[hint->not_like] = of_words[hint->before] = true;
    }
    for (uint32_t i = 1; i <= model->patterns_count && status == CW_OK; i++)
        if (!of_words[i])
            status = cw_pattern_ready(model->patterns[i]);
    return status;
}

static cw_status write_image(compiler *c, const char *path, const cw_model *model, const cw_image_rest *rest)
{
    unsigned char *bytes = NULL;
    size_t size = 0;
    char reason[128];
    cw_status status = cw_image_write(c->allocator, model, rest, &bytes, &size);
    if (status != CW_OK)
        return status;
    status = cw_file_write(path, (const char *)bytes, size, reason, sizeof reason);
    cw_release(c->allocator, bytes, size);
    return status == CW_CANNOT_WRITE ? cannot_write(c, path, reason) : status;
}

static cw_status make(compiler *c, const char *path, cw_image_more *more)
{
    size_t named;
    cw_image_pack *packs = take_packs(c, &named);
    if (packs == NULL)
        return CW_NO_MEMORY;
    cw_model *model = NULL;
    cw_image_beside beside = {.root = NULL};
    const size_t count = c->packs.count;
    check_needs(c);
    cw_status status = compiler_finish(c, &model);
    if (status == CW_OK)
        status = find_ways(c, path, packs, named);
    if (status == CW_OK && more != NULL)
        status = more(model, &beside);
    if (status == CW_OK)
        status = ready_patterns(c, model);
    if (status == CW_OK)
        status = write_image(c, path, model,
                             &(cw_image_rest){.stamp = image_stamp(),
                                              .packs = packs,
                                              .packs_count = count,
                                              .named = named,
                                              .messages = c->diags,
                                              .beside = beside});
    cw_model_free(model);
    return status;
}

cw_status cw_image_make(const cw_allocator *allocator, const char *const *folders, size_t count,
                        const char *path, cw_image_more *more, cw_sources *sources, cw_diags *diags)
{
    char place[PATH_MAX];
    if (path == NULL && !cw_image_place(folders, count, place, sizeof place))
        return CW_LIMIT;
    compiler c;
    cw_status status = compiler_start(&c, allocator, sources, diags);
    if (status == CW_OK)
        status = add_all(&c, folders, count);
    if (status == CW_OK && c.packs.count > 0)
        status = make(&c, path != NULL ? path : place, more);
    if (status != CW_NO_MEMORY && c.unreadable)
        status = CW_CANNOT_READ;
    compiler_end(&c);
    return cw_diags_lost(diags) ? CW_NO_MEMORY : status;
}
