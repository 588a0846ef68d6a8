/* Packs: folders of YAML to one checked model. Reads files (one of the few rooms that does), reports every
 * error of every file, never stops at the first. */
#ifndef CW_PACK_PACK_H
#define CW_PACK_PACK_H

#include "base/diag.h"
#include "model/model.h"

/* A file that is already in memory: for tests, editors, fuzzing. */
typedef struct cw_pack_file {
    const char *name; /* as it is to be shown: "rules/tern.yaml" */
    const char *text;
    size_t size;
} cw_pack_file;

typedef struct cw_pack_text {
    const char *folder; /* shown in messages about the pack as a whole */
    const cw_pack_file *files;
    size_t file_count;
} cw_pack_text;

/* Folders in the order named; a needed pack not named is looked for beside the folder that needs it. Only
 * this call touches the disk. Errors and warnings go to diags (sorted), sources keep the texts for them.
 * CW_OK leaves a model in *out that the caller frees; warnings do not hinder. */
cw_status cw_pack_load(const cw_allocator *allocator, const char *const *folders, size_t count,
                       cw_sources *sources, cw_diags *diags, cw_model **out);
/* The same without a disk. */
cw_status cw_pack_compile(const cw_allocator *allocator, const cw_pack_text *packs, size_t count,
                          cw_sources *sources, cw_diags *diags, cw_model **out);

/* --- Images: what cw_pack_load gives, kept in a file (model/image.h) --- */

/* Where the image of these folders lies, unless another file is named: in the first one, as pack.image, or
 * pack+SECOND+THIRD.image for several. False when that is too long for the buffer, or for a file's name. */
bool cw_image_place(const char *const *folders, size_t count, char *out, size_t size);
/* The model out of the image, if there is one there, it is whole, of this very build, and every file of every
 * pack is still the one it was made of; messages and sources as cw_pack_load gives them. Else CW_OK and NULL:
 * the packs themselves have to be read. One folder that is no folder but a file is taken for an image; then
 * what is wrong is told, with CW_BAD_INPUT or CW_CANNOT_READ. */
cw_status cw_image_load(const cw_allocator *allocator, const char *const *folders, size_t count,
                        cw_sources *sources, cw_diags *diags, cw_model **out);
/* Makes in the model's arena what is to be kept beside it. */
struct cw_image_beside;
typedef cw_status cw_image_more(const cw_model *model, struct cw_image_beside *out);
/* Loads the packs and writes their image; path NULL: to its place; more NULL: the model alone. As
 * cw_pack_load for what is wrong with them; CW_CANNOT_WRITE with a message. */
cw_status cw_image_make(const cw_allocator *allocator, const char *const *folders, size_t count,
                        const char *path, cw_image_more *more, cw_sources *sources, cw_diags *diags);

#endif
