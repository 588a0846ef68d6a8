/* One pack added: its files in order, hashed, each read to nodes; then its header. */
#include "base/sha256.h"
#include "pack/inside.h"

#include <stdlib.h>
#include <string.h>

const char *base_name(const char *name)
{
    const char *slash = strrchr(name, '/');
    return slash == NULL ? name : slash + 1;
}

static int by_file_name(const void *a, const void *b)
{
    const cw_pack_file *x = *(const cw_pack_file *const *)a, *y = *(const cw_pack_file *const *)b;
    int order = strcmp(base_name(x->name), base_name(y->name));
    return order != 0 ? order : strcmp(x->name, y->name);
}

const cw_pack_file **order_files(compiler *c, const cw_pack_text *text)
{
    const cw_pack_file **order = take(c, text->file_count, sizeof *order);
    for (size_t i = 0; i < text->file_count && order != NULL; i++)
        order[i] = &text->files[i];
    if (text->file_count > 1 && order != NULL)
        qsort(order, text->file_count, sizeof *order, by_file_name);
    return order;
}

/* Name, NUL, length as eight bytes from the highest, content. */
static void hash_file(cw_sha256 *sha, const cw_pack_file *file)
{
    unsigned char length[8];
    for (int i = 0; i < 8; i++)
        length[i] = (unsigned char)((uint64_t)file->size >> (56 - 8 * i));
    const char *name = base_name(file->name);
    cw_sha256_add(sha, name, strlen(name) + 1);
    cw_sha256_add(sha, length, sizeof length);
    cw_sha256_add(sha, file->text, file->size);
}

/* In that order: the hash of a pack. */
static void hash_files(const cw_pack_file *const *order, size_t count, char hex[65])
{
    cw_sha256 sha;
    cw_sha256_start(&sha);
    for (size_t i = 0; i < count; i++)
        hash_file(&sha, order[i]);
    cw_sha256_end(&sha, hex);
}

static void find_header(compiler *c, const cw_node *root, pack_def *pack)
{
    for (size_t i = 0; i < root->size; i++) {
        if (!node_is(cw_node_key(root, i), "pack"))
            continue;
        if (pack->header != NULL) {
            cw_diag *diag =
                complain(c, NO_HEADER, cw_node_key(root, i)->span, "a second header: a pack has one");
            cw_diag_second(c->diags, diag, pack->header_key->span, "first here");
            help(c, diag, "take one of the two out; a second pack lies in a folder of its own");
            continue;
        }
        pack->header = cw_node_item(root, i);
        pack->header_key = cw_node_key(root, i);
    }
}

/* source 0: it is none yet. root: where it has been read ahead. */
static void read_file(compiler *c, const cw_pack_file *file, uint32_t source, const cw_node *root,
                      pack_def *pack)
{
    if (file->size > CW_YAML_MAX_SIZE) {
        help(c, complain(c, FILE_TOO_LARGE, ((cw_span){0, 0, 0}), "'%s' is larger than 64 MiB", file->name),
             "divide the pack among several files");
        c->holes = true;
        return;
    }
    cw_status status = CW_OK;
    if (source == 0)
        status = cw_sources_add(c->sources, file->name, file->text, file->size, &source);
    if (status == CW_OK && root == NULL)
        status = cw_yaml_read(c->arena, c->sources, source, c->diags, &root);
    if (status == CW_NO_MEMORY)
        c->no_memory = true;
    if (status != CW_OK && (status != CW_BAD_INPUT || root == NULL)) {
        c->holes = true;
        return;
    }
    if (root == NULL)
        return;
    if (root->kind != CW_NODE_MAP) {
        help(c,
             complain(c, WRONG_SHAPE, root->span,
                      "a pack file is a map of sections, as 'checks:' and 'rules:'"),
             "begin each section in the first column with its name and ':'; no '-' before it");
        c->holes = true;
        return;
    }
    find_header(c, root, pack);
    pack->roots[pack->root_count++] = root;
}

/* What is read ahead while the pack is hashed; a file whose text is no source yet is read in its turn. */
static ahead_file *read_ahead(compiler *c, const cw_pack_text *text, const uint32_t *sources, pack_def *pack)
{
    const cw_pack_file *const *order = pack->files;
    ahead_file *files = take(c, text->file_count, sizeof *files);
    ahead all;
    for (size_t i = 0; i < text->file_count && files != NULL; i++)
        files[i].source = sources == NULL ? 0 : sources[order[i] - text->files];
    if (files == NULL)
        return NULL;
    ahead_begin(&all, c->hands, c->allocator, c->sources, files, sources == NULL ? 0 : text->file_count);
    hash_files(order, text->file_count, pack->info.sha256);
    ahead_end(&all, c->arena);
    return files;
}

pack_def *add_pack(compiler *c, const cw_pack_text *text, const uint32_t *sources, bool named)
{
    const cw_pack_file **order = order_files(c, text);
    pack_def *pack = append(c, &c->packs);
    if (order == NULL || pack == NULL)
        return NULL;
    pack->named = named;
    pack->folder = text->folder;
    pack->files = order;
    pack->file_count = text->file_count;
    pack->roots = take(c, text->file_count, sizeof *pack->roots);
    const ahead_file *files = read_ahead(c, text, sources, pack);
    for (size_t i = 0; i < text->file_count && !c->no_memory; i++)
        read_file(c, order[i], files[i].source, files[i].root, pack);
    if (!c->no_memory)
        read_header(c, pack);
    return c->no_memory ? NULL : pack;
}
