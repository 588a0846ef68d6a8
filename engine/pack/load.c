/* Packs from the disk: the folders named, and beside them those that are needed. */
#include "pack/inside.h"

#include <string.h>

const char *beside(compiler *c, const char *folder, const char *name)
{
    size_t size = strlen(folder);
    while (size > 1 && folder[size - 1] == '/')
        size--;
    size_t start = size;
    while (start > 0 && folder[start - 1] != '/')
        start--;
    const char *last = folder + start;
    bool dots = size - start <= 2 && strspn(last, ".") >= size - start;
    const char *made = dots ? cw_arena_format(c->arena, "%.*s/../%s", (int)size, folder, name)
                            : cw_arena_format(c->arena, "%.*s%s", (int)start, folder, name);
    c->no_memory |= made == NULL;
    return made;
}

static cw_status add_folder(compiler *c, const char *folder, bool named)
{
    cw_pack_text text;
    const uint32_t *sources;
    cw_status status = read_folder(c, folder, &text, &sources);
    if (status != CW_OK)
        return status;
    return add_pack(c, &text, sources, named) == NULL ? CW_NO_MEMORY : CW_OK;
}

bool named_before(const char *const *folders, size_t at)
{
    for (size_t i = 0; i < at; i++)
        if (strcmp(folders[i], folders[at]) == 0)
            return true;
    return false;
}

/* The list of packs grows while it is worked through. A needed pack that is not there is told by check_needs.
 */
static cw_status add_needed(compiler *c)
{
    for (size_t i = 0; i < c->packs.count; i++) {
        uint32_t count = CW_VEC_AT(&c->packs, pack_def, i)->needs_count;
        for (uint32_t k = 0; k < count; k++) {
            const pack_def *pack = CW_VEC_AT(&c->packs, pack_def, i);
            const cw_node *need = &pack->needs[k];
            if (need->kind != CW_NODE_SCALAR || find_pack(c, need->text) != NULL ||
                strchr(need->text, '/') != NULL)
                continue;
            const char *folder = beside(c, pack->folder, need->text);
            if (c->no_memory)
                return CW_NO_MEMORY;
            cw_status status = is_folder(folder) ? add_folder(c, folder, false) : CW_OK;
            if (status != CW_OK && status != CW_CANNOT_READ)
                return status;
        }
    }
    return CW_OK;
}

cw_status add_all(compiler *c, const char *const *folders, size_t count)
{
    c->from_disk = true;
    for (size_t i = 0; i < count; i++) {
        cw_status status = named_before(folders, i) ? CW_OK : add_folder(c, folders[i], true);
        if (status != CW_OK && status != CW_CANNOT_READ)
            return status;
    }
    return add_needed(c);
}

cw_status cw_pack_load(const cw_allocator *allocator, const char *const *folders, size_t count,
                       cw_sources *sources, cw_diags *diags, cw_model **out)
{
    *out = NULL;
    if (count == 0)
        return cw_pack_compile(allocator, NULL, 0, sources, diags, out);
    compiler c;
    cw_status status = compiler_start(&c, allocator, sources, diags);
    if (status == CW_OK)
        status = add_all(&c, folders, count);
    if (status == CW_OK && c.packs.count > 0) {
        check_needs(&c);
        status = compiler_finish(&c, out);
    }
    if (status != CW_NO_MEMORY && c.unreadable)
        status = CW_CANNOT_READ;
    compiler_end(&c);
    return cw_diags_lost(diags) ? CW_NO_MEMORY : status;
}
